"""The set's pages: what they say, that they keep what was typed, and that hostile words stay words."""

from __future__ import annotations

import copy
import datetime
import json
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from tests.conftest import PASSWORD
from trusses import sheet
from trusses.models import Job, Membership, Placement, Revision, Role, Stage, Truss
from trusses.sets import add_mark, issue_revision, read_and_analyse

HOSTILE = "<script>alert('O&\"')</script>"
LONG = "N" * 150


def text(response) -> str:
    """The page's words, without its marks, spaces run together."""
    return " ".join(
        re.sub(r"<[^>]+>", " ", response.content.decode()).replace("&#x27;", "'").replace("&quot;", '"').split()
    )


@pytest.fixture
def second_revision(truss, designer):
    """K1 with its revision 1: a better web and an opening; copies 1 and 2 were built to revision 0."""
    truss.copies.filter(number__lte=2).update(stage=Stage.BUILT, built_to=truss.current)
    document = copy.deepcopy(truss.current.document)
    document["members"][4]["lumber"] = "2x6 SPF No.1/No.2"
    document["openings"] = [
        {"id": "O1", "shape": "circle", "centre_in": [80, 16], "diameter_in": 8, "clearance_in": 1, "note": HOSTILE}
    ]
    return issue_revision(truss, truss.current, *read_and_analyse(document), designer)


class TestSigningIn:
    def test_with_a_name_as_long_as_a_name_can_be(self, make_person):
        make_person(LONG)
        answer = Client().post("/sign-in/", {"username": LONG, "password": PASSWORD}, follow=True)
        assert answer.status_code == 200
        assert LONG in text(answer)

    def test_keeps_the_name_when_the_password_is_wrong(self, builder):
        answer = Client().post("/sign-in/", {"username": "builder", "password": "wrong"})
        assert 'value="builder"' in answer.content.decode()
        assert "correct username and password" in text(answer)

    def test_comes_back_to_the_page_that_was_asked_for(self, builder, truss, job):
        page = f"/jobs/{job.pk}/trusses/{truss.pk}/"
        client = Client()
        answer = client.post(client.get(page)["Location"], {"username": "builder", "password": PASSWORD, "next": page})
        assert answer["Location"] == page

    def test_never_leads_elsewhere(self, builder):
        body = {"username": "builder", "password": PASSWORD, "next": "https://example.org/"}
        assert Client().post("/sign-in/", body)["Location"] == "/"

    def test_signing_out_takes_a_post(self, client_of, builder):
        client = client_of(builder)
        assert client.get("/sign-out/").status_code == 405
        assert client.post("/sign-out/")["Location"] == "/sign-in/"
        assert client.get("/")["Location"].startswith("/sign-in/")


class TestTheDemosDoor:
    def test_is_not_there_outside_the_demo(self, builder, settings):
        settings.DEMO = False
        assert Client().post("/demo/enter/builder/").status_code == 404
        assert "demo" not in text(Client().get("/sign-in/")).lower()

    def test_lets_in_the_invented_people_only(self, builder, make_person, django_user_model, settings):
        settings.DEMO = True
        make_person("somebody")
        django_user_model.objects.create_superuser("outsider", password=PASSWORD)
        answers = {
            name: Client().post(f"/demo/enter/{name}/").status_code
            for name in ("builder", "somebody", "outsider", "designer")
        }
        assert answers == {"builder": 302, "somebody": 404, "outsider": 404, "designer": 404}
        assert Client().get("/demo/enter/builder/").status_code == 405

    def test_bar_says_that_everything_is_invented(self, client_of, builder, job, settings):
        settings.DEMO = True
        page = client_of(builder).get(f"/jobs/{job.pk}/")
        assert "everything here is invented" in text(page)
        assert re.findall(r'aria-pressed="(\w+)">([\w ]+)<', page.content.decode()) == [
            ("true", "Builder"),
            ("false", "Designer"),
            ("false", "Site lead"),
            ("false", "Outsider"),
        ]


class TestHome:
    def test_goes_into_the_only_job(self, client_of, builder, job):
        assert client_of(builder).get("/")["Location"] == f"/jobs/{job.pk}/"

    def test_lists_several_with_the_role_in_each(self, client_of, builder, job):
        other = Job.objects.create(name=HOSTILE)
        Membership.objects.create(job=other, user=builder, role=Role.SITE_LEAD)
        page = client_of(builder).get("/")
        assert "you are the builder" in text(page)
        assert "you are the site lead" in text(page)
        assert HOSTILE not in page.content.decode()

    def test_says_so_where_there_is_none(self, client_of, outsider):
        assert "You are not a member of any job." in text(client_of(outsider).get("/"))


class TestTheListOfMarks:
    def test_says_how_many_where_and_until_when(self, client_of, builder, job, truss):
        truss.copies.filter(number=1).update(stage=Stage.CUT)
        Truss.objects.update(can_change_until=job.today() + datetime.timedelta(days=3))
        said = text(client_of(builder).get(f"/jobs/{job.pk}/"))
        assert "K1 3 trusses King post over the porch" in said
        assert "2 designing 1 cut" in said
        assert f"Can change until {job.today() + datetime.timedelta(days=3):%a, %b} " in said

    @pytest.mark.parametrize(
        ("days", "says"), [(-1, "Changes ended"), (0, "Last day for changes: today"), (None, "No last day")]
    )
    def test_says_when_changes_are_over(self, client_of, builder, job, truss, days, says):
        Truss.objects.update(can_change_until=None if days is None else job.today() + datetime.timedelta(days=days))
        assert says in text(client_of(builder).get(f"/jobs/{job.pk}/"))

    @pytest.mark.parametrize("address", ["/jobs/{job}/", "/jobs/{job}/sheets/"])
    def test_more_marks_take_no_more_queries(self, client_of, builder, job, truss, king_post, designer, address):
        client, counts = client_of(builder), []
        for mark in ("K2", "K3", None):
            with CaptureQueriesContext(connection) as queries:
                client.get(address.format(job=job.pk))
            counts.append(len(queries))
            if mark:
                add_mark(job, {**king_post, "mark": mark}, 2, designer)
        assert counts[0] == counts[1] == counts[2] <= 8

    def test_counts_marks_as_people_do(self, client_of, builder, job, king_post, designer):
        for mark in ("R10", "R2", "F1"):
            add_mark(job, {**king_post, "mark": mark}, 1, designer)
        html = client_of(builder).get(f"/jobs/{job.pk}/").content.decode()
        assert re.findall(r'class="mark">(\w+)<', html) == ["F1", "R2", "R10"]

    def test_stays_small(self, client_of, builder, job, king_post, designer):
        for n in range(14):
            add_mark(job, {**king_post, "mark": f"K{n}"}, 1, designer)
        assert len(client_of(builder).get(f"/jobs/{job.pk}/").content) < 100_000

    def test_shows_each_mark_by_a_picture_that_is_fetched_once(self, client_of, builder, job, truss):
        client = client_of(builder)
        (address,) = re.findall(r'<img src="([^"]+)"', client.get(f"/jobs/{job.pk}/").content.decode())
        picture = client.get(address)
        assert picture["Content-Type"].startswith("image/svg+xml")
        assert "immutable" in picture["Cache-Control"]
        assert "private" in picture["Cache-Control"]

    def test_shows_hostile_names_as_words(self, client_of, builder, job, king_post, designer):
        Job.objects.filter(pk=job.pk).update(name=HOSTILE, place=HOSTILE)
        mark = add_mark(job, {**king_post, "mark": "<b>K</b>", "title": HOSTILE}, 1, designer)
        client = client_of(builder)
        for page in (
            f"/jobs/{job.pk}/",
            f"/jobs/{job.pk}/trusses/{mark.pk}/",
            f"/jobs/{job.pk}/trusses/{mark.pk}/revisions/0/",
        ):
            html = client.get(page).content.decode()
            assert "<script>alert" not in html
            assert "<b>K</b>" not in html
            assert "&lt;script&gt;" in html


class TestAMarksPage:
    def test_offers_a_change_to_the_builder_alone(self, client_of, cast, job, truss):
        pages = {
            who: text(client_of(cast[who]).get(f"/jobs/{job.pk}/trusses/{truss.pk}/"))
            for who in ("builder", "designer", "site lead")
        }
        assert {who for who, said in pages.items() if "Ask for a change" in said} == {"builder"}

    def test_tells_every_revision_and_what_was_built_to_which(self, client_of, builder, job, truss, second_revision):
        said = text(client_of(builder).get(f"/jobs/{job.pk}/trusses/{truss.pk}/"))
        assert said.index("Revision 1 current") < said.index("Revision 0 superseded")
        assert "Built to revision 0 : 1–2." in said

    def test_more_copies_take_no_more_queries(self, client_of, designer, job, king_post):
        client, counts = client_of(designer), []
        for n in (1, 3, 30):
            mark = add_mark(job, {**king_post, "mark": f"K{n}"}, n, designer)
            with CaptureQueriesContext(connection) as queries:
                client.get(f"/jobs/{job.pk}/trusses/{mark.pk}/")
            counts.append(len(queries))
        assert counts[0] == counts[1] == counts[2] <= 14


class TestTicking:
    def tick(self, client, truss, **body):
        return client.post(f"/jobs/{truss.job_id}/trusses/{truss.pk}/copies/", body, follow=True)

    def test_delivered_with_what_was_found(self, client_of, site_lead, truss):
        truss.copies.update(stage=Stage.BUILT, built_to=truss.current)
        first = truss.copies.first()
        page = self.tick(client_of(site_lead), truss, to="delivered", copy=first.pk, found=HOSTILE)
        first.refresh_from_db()
        assert (first.stage, first.found_at_delivery) == ("delivered", HOSTILE)
        assert "1 copy is delivered now." in text(page)
        assert "<script>alert" not in page.content.decode()

    def test_twice_is_harmless(self, client_of, site_lead, truss):
        truss.copies.update(stage=Stage.BUILT, built_to=truss.current)
        first, client = truss.copies.first(), client_of(site_lead)
        self.tick(client, truss, to="delivered", copy=first.pk, found="a split")
        page = self.tick(client, truss, to="delivered", copy=first.pk, found="another word")
        first.refresh_from_db()
        assert (first.stage, first.found_at_delivery) == ("delivered", "a split")
        assert "They were delivered already." in text(page)

    @pytest.mark.parametrize(
        ("body", "says"),
        [
            ({"to": "delivered", "copy": "first"}, "Choose copies from the list."),
            ({"to": "delivered"}, "Choose at least one copy."),
            ({"to": "sold", "copy": "1"}, "Say to which stage the copies go"),
            (
                {"to": "delivered", "all": "designing", "found": "rain-soaked"},
                "is designing, not built yet, so it can't be delivered",
            ),
        ],
    )
    def test_that_makes_no_sense_changes_nothing(self, client_of, site_lead, truss, body, says):
        page = self.tick(client_of(site_lead), truss, **body)
        assert page.status_code == 409
        assert says in text(page)
        assert set(truss.copies.values_list("stage", flat=True)) == {"designing"}

    def test_keeps_a_text_that_is_too_long(self, client_of, site_lead, truss):
        truss.copies.update(stage=Stage.BUILT, built_to=truss.current)
        page = self.tick(client_of(site_lead), truss, to="delivered", all="built", found="x" * 501)
        assert "can have 500 characters; this has 501" in text(page)
        assert "x" * 501 in page.content.decode()

    def test_a_cut_is_to_the_revision_on_the_page(self, client_of, designer, truss, second_revision):
        truss.copies.update(stage=Stage.RELEASED, built_to=None)
        old = truss.revisions.get(number=0)
        page = self.tick(client_of(designer), truss, to="cut", all="released", seen=old.pk)
        assert "newer revision than the one on your page" in text(page)
        assert set(truss.copies.values_list("stage", flat=True)) == {"released"}
        chosen = truss.copies.values_list("pk", flat=True)
        self.tick(client_of(designer), truss, to="cut", copy=chosen, seen=second_revision.pk)
        assert set(truss.copies.values_list("stage", "built_to")) == {("cut", second_revision.pk)}


class TestASheet:
    def page(self, client_of, person, truss, number=0):
        return client_of(person).get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/revisions/{number}/")

    def test_says_no_first_until_the_sealed_drawing_is_attached(self, client_of, site_lead, truss):
        page = self.page(client_of, site_lead, truss)
        said = text(page)
        main = said[said.index("No. Do not build") :]
        assert main.startswith("No. Do not build from this: no sealed drawing is attached.")
        assert "Lumber passes" in main
        assert "Plates not checked" in main
        assert "Restraint not checked" in main
        assert "Seal missing" in main
        first = page.content.decode().index('class="first-line"')
        assert first < page.content.decode().index("<h1")

    def test_says_what_whoever_sets_it_needs(self, client_of, site_lead, truss):
        Placement.objects.create(
            truss=truss, level="Porch roof", origin_x_in=12, origin_y_in=30, spacing_in=24, count=3
        )
        said = text(self.page(client_of, site_lead, truss))
        for words in (
            "Bottom chord: held sideways at 4'-0\" on center or closer.",
            "Copies 1–3 of K1.",
            "Porch roof: 3 at 2'-0\", the first with its left end at 1'-0\" along x and 2'-6\" along y",
            "T1, T2 top chord 2x6 DF-L No.1 11'-2",
            "Snow, left: 20 psf on the top chord, per level foot, up to 10'-0\" from the left bearing",
            "Plates",
            "do not cut, drill, notch",
            "IRC R502.11.3 (2012)",
            "Truss document SHA-256 " + truss.current.sha256,
            sheet.code(truss.current),
        ):
            assert words.lower() in said.lower()

    def test_of_an_old_revision_says_by_what_it_is_superseded(self, client_of, site_lead, truss, second_revision):
        said = text(self.page(client_of, site_lead, truss, 0))
        assert "No. Superseded by revision 1: do not build from this." in said
        assert "Go to revision 1" in said
        assert "Copies 1–2 of K1." in said

    def test_of_the_current_revision_says_what_changed_and_for_whom_it_is(
        self, client_of, site_lead, truss, second_revision
    ):
        page = self.page(client_of, site_lead, truss, 1)
        said = text(page)
        assert "Copy 3 of K1. Not for 1–2: built to revision 0 ." in said
        assert "Web W1 is 2x6 SPF No.1/No.2 now, was 2x4 SPF No.1/No.2." in said
        assert 'Opening O1 is new: 8" round, with 1" clear all round.' in said
        assert "clear Opening O1" in said
        assert "<script>alert" not in page.content.decode()

    def test_repeats_what_was_accepted_with_its_reason(self, client_of, site_lead, truss, designer):
        document, analysis = read_and_analyse({**truss.current.document, "title": "Softer"})
        check = next(check for check in analysis["checks"] if check["rule"] == "live deflection")
        check |= {"passes": False, "ratio": 1.25, "demand": 1.25, "capacity": 1.0}
        analysis |= {"passes": False, "worst_ratio": 1.25}
        accept = {"rule": "live deflection", "reason": "No ceiling below <b>it</b>"}
        issue_revision(truss, truss.current, document, analysis, designer, [accept])
        said = text(self.page(client_of, site_lead, truss, 1))
        assert 'Accepted although it fails: live deflection, 1 1/4" against a limit of 1"' in said
        assert "No ceiling below &lt;b&gt;it&lt;/b&gt;" in said
        assert "Lumber passes, with an exception" in said

    def test_is_dated_where_the_building_stands(self, client_of, site_lead, job, king_post, designer, monkeypatch):
        """03:00 UTC on March 11 is still the evening of March 10 in Denver."""
        now = datetime.datetime(2027, 3, 11, 3, tzinfo=datetime.UTC)
        issued_at = Revision._meta.get_field("issued_at")
        monkeypatch.setattr(issued_at, "default", lambda: now)
        monkeypatch.setitem(issued_at.__dict__, "_get_default", lambda: now)
        mark = add_mark(job, {**king_post, "mark": "K7"}, 1, designer)
        assert mark.current.issued_at == now
        assert "issued Mar 10, 2027" in text(self.page(client_of, site_lead, mark))

    def test_has_a_code_to_scan_that_leads_back_to_it(self, client_of, site_lead, truss):
        assert "<svg" in self.page(client_of, site_lead, truss).content.decode()
        assert 'class="qr"' in self.page(client_of, site_lead, truss).content.decode()

    def test_has_a_code_to_read_over_the_phone(self, client_of, site_lead, job, truss, second_revision):
        client = client_of(site_lead)
        for number in (0, 1):
            code = sheet.code(truss.revisions.get(number=number))
            assert re.fullmatch(r"\d{3} \d{3}", code)
            answer = client.get(f"/jobs/{job.pk}/sheets/", {"code": code})
            assert answer["Location"] == f"/jobs/{job.pk}/trusses/{truss.pk}/revisions/{number}/"

    @pytest.mark.parametrize("code", ["000 000", "12", HOSTILE, "٣٣٣٣٣٣"])
    def test_a_code_of_no_sheet_says_so(self, client_of, site_lead, job, truss, code):
        page = client_of(site_lead).get(f"/jobs/{job.pk}/sheets/", {"code": code})
        assert "Do not build from that paper." in text(page)
        assert "<script>alert" not in page.content.decode()

    def test_a_code_of_another_job_is_not_known_here(self, client_of, site_lead, job, truss, other_job):
        page = client_of(site_lead).get(f"/jobs/{job.pk}/sheets/", {"code": sheet.code(other_job.current)})
        assert "No sheet of this job has the code" in text(page)

    @pytest.mark.parametrize("number", [7, 10**30])
    def test_that_does_not_exist(self, client_of, site_lead, truss, number):
        assert self.page(client_of, site_lead, truss, number).status_code == 404


class TestANewTruss:
    TYPED = {
        "kind": "king-post",
        "mark": "P1",
        "span": "16'",
        "pitch": "6",
        "quantity": "2",
        "spacing": "2'",
        "measured": "joints",
        "ceiling": "gypsum",
    }

    def add(self, client, job, **typed):
        return client.post(f"/jobs/{job.pk}/trusses/new/", {**self.TYPED, **typed})

    def test_is_added_with_its_copies(self, client_of, designer, job):
        answer = self.add(client_of(designer), job, can_change_until="2027-03-01")
        mark = Truss.objects.get()
        assert answer["Location"] == f"/jobs/{job.pk}/trusses/{mark.pk}/"
        assert (mark.mark, mark.copies.count(), mark.can_change_until) == ("P1", 2, datetime.date(2027, 3, 1))
        assert mark.current.document["joints"]["t2"][0] - mark.current.document["joints"]["t0"][0] == 192

    def test_sent_twice_is_added_once(self, client_of, designer, job):
        client = client_of(designer)
        self.add(client, job)
        again = self.add(client, job)
        assert again.status_code == 422
        assert "This job has a mark P1 already." in text(again)
        assert 'value="16&#x27;"' in again.content.decode()
        assert Truss.objects.count() == 1

    @pytest.mark.parametrize(
        ("typed", "says"),
        [
            ({"span": "12' 13\""}, "13 inches after the feet make another foot"),
            ({"span": "-3"}, "a length can't be negative here"),
            ({"span": "4000'"}, "the most that is possible here"),
            ({"span": ""}, "Span: say how much, such as 36'."),
            ({"pitch": "steep"}, "Pitch: steep won't do; give a number"),
            ({"pitch": "nan"}, "Pitch: nan won't do"),
            ({"quantity": "0"}, "greater than or equal to 1"),
            ({"quantity": "100000"}, "less than or equal to 500"),
            ({"top_lumber": "2x4 Balsa"}, "Balsa"),
            ({"mark": "R" * 21}, "Mark: at most 20 characters."),
            ({"can_change_until": "soon"}, "Enter a valid date."),
            ({"span": "16' " + "x" * 300}, "at most 200 characters"),
        ],
    )
    def test_that_is_wrong_says_where_and_keeps_what_was_typed(self, client_of, designer, job, typed, says):
        answer = self.add(client_of(designer), job, title="Over the <porch>", **typed)
        assert answer.status_code == 422
        assert says in text(answer)
        assert 'value="Over the &lt;porch&gt;"' in answer.content.decode()
        assert not Truss.objects.exists()

    def test_every_wrong_parameter_says_so_at_once(self, client_of, designer, job):
        said = text(self.add(client_of(designer), job, span="12' 13\"", pitch="steep", top_lumber="2x4 Balsa"))
        assert "another foot" in said
        assert "steep won't do" in said
        assert "Balsa" in said

    def test_is_drawn_while_typing(self, client_of, designer, job):
        draw = f"/jobs/{job.pk}/trusses/new/draw/"
        client = client_of(designer)
        drawn = client.post(draw, self.TYPED)
        assert 'data-member="W1"' in drawn.content.decode()
        assert "Lumber:" in text(drawn)
        broken = client.post(draw, {**self.TYPED, "span": "12' 13\""})
        assert broken.status_code == 200
        assert "It can't be drawn yet." in text(broken)
        assert "another foot" in text(broken)
        assert "<svg" not in broken.content.decode()
        assert not Truss.objects.exists()

    def test_another_shape_keeps_what_was_typed(self, client_of, designer, job):
        page = client_of(designer).get(
            f"/jobs/{job.pk}/trusses/new/", {"kind": "howe", "span": "31'", "title": HOSTILE}
        )
        assert 'value="31&#x27;"' in page.content.decode()
        assert 'name="kind" value="howe"' in page.content.decode()
        assert "<script>alert" not in page.content.decode()

    @pytest.mark.parametrize("kind", ["", "geodesic", HOSTILE])
    def test_an_unknown_shape_starts_from_the_usual_one(self, client_of, designer, job, kind):
        page = client_of(designer).get(f"/jobs/{job.pk}/trusses/new/", {"kind": kind})
        assert 'name="kind" value="w"' in page.content.decode()


class TestUploading:
    def send(self, client, job, content: bytes, name="K1.json", quantity="2"):
        file = SimpleUploadedFile(name, content, content_type="application/json")
        return client.post(f"/jobs/{job.pk}/trusses/upload/", {"file": file, "quantity": quantity})

    def test_stores_the_document(self, client_of, designer, job, king_post):
        answer = self.send(client_of(designer), job, json.dumps(king_post).encode(), name="whatever.exe")
        assert answer.status_code == 302
        assert Truss.objects.get().current.document == king_post

    @pytest.mark.parametrize(
        ("content", "says"),
        [
            (b"", "the document is empty"),
            (b"\x89PNG\r\n\x1a\n\x00\x00", ""),
            (bytes(range(256)) * 20, ""),
            (b"{}", "format"),
            (b"[" * 50_000, ""),
            (b" " * 5_000_000, "5,000,000 bytes; a truss document can have"),
            (b'{"format": NaN}', "NaN"),
            (b'{"mark": "A", "mark": "B"}', "mark"),
        ],
    )
    def test_judges_by_content(self, client_of, designer, job, content, says):
        page = self.send(client_of(designer), job, content)
        assert page.status_code == 422
        (trouble,) = re.findall(r'<ul class="errorlist"[^>]*>(.*?)</ul>', page.content.decode(), re.S)
        assert says in trouble
        assert len(re.sub("<[^>]+>", "", trouble)) > 15
        assert 'value="2"' in page.content.decode()
        assert not Truss.objects.exists()

    @pytest.mark.parametrize(
        ("count", "says"), [(1_000_000, "bytes; a truss document can have"), (60_000, "60,000 joints are more than")]
    )
    def test_refuses_a_million_joints(self, client_of, designer, job, king_post, count, says):
        joints = ",".join(f'"J{n}":[0,0]' for n in range(count))
        content = json.dumps({**king_post, "joints": 0}).replace('"joints": 0', f'"joints": {{{joints}}}').encode()
        page = self.send(client_of(designer), job, content)
        assert page.status_code == 422
        assert says in text(page)

    def test_what_would_fill_the_disk_is_not_even_read(self, client_of, designer, job, settings):
        settings.UPLOAD_MAX_BYTES = 100_000
        answer = self.send(client_of(designer), job, b" " * 200_000)
        assert answer.status_code == 400
        assert "What was sent is too large" in text(answer)

    def test_without_a_file_says_so(self, client_of, designer, job):
        page = client_of(designer).post(f"/jobs/{job.pk}/trusses/upload/", {"quantity": "7"})
        assert "Choose the file of a truss document." in text(page)
        assert 'value="7"' in page.content.decode()


class TestEveryPage:
    def test_keeps_the_policy_against_inline_script_and_style(self, client_of, designer, job, truss):
        client = client_of(designer)
        pages = [
            "/",
            f"/jobs/{job.pk}/",
            f"/jobs/{job.pk}/sheets/",
            f"/jobs/{job.pk}/trusses/new/",
            f"/jobs/{job.pk}/trusses/upload/",
        ]
        pages += [f"/jobs/{job.pk}/trusses/{truss.pk}/", f"/jobs/{job.pk}/trusses/{truss.pk}/revisions/0/"]
        for address in pages:
            page = client.get(address, follow=True)
            html = page.content.decode()
            assert "default-src 'self'" in page["Content-Security-Policy"]
            assert "unsafe-inline" not in page["Content-Security-Policy"]
            assert not re.search(r"<style|\sstyle=|<script(?![^>]*src=)|\son\w+=", html), address
            assert len(html) < 100_000, address

    def test_a_form_without_its_token_is_refused_in_words(self, builder, truss, job):
        client = Client(enforce_csrf_checks=True)
        client.force_login(builder)
        answer = client.post(f"/jobs/{job.pk}/trusses/{truss.pk}/copies/", {"to": "released"})
        assert answer.status_code == 403
        assert "That page was too old" in text(answer)
