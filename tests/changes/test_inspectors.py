"""Inspectors' links: what they show without an account, to whom, for how long, and corrections answered in place."""

from __future__ import annotations

import html
import io
import logging
import re
from datetime import timedelta
from urllib.parse import urljoin
from uuid import uuid4

import pytest
from django.core.cache import cache
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from changes import workflow
from changes.inspection import corrections, links
from changes.inspection import page as inspection_page
from changes.models import Correction, InspectorLink
from tests.changes.asking import DAMAGE, HITS_WEB, approve
from tests.sealed import SAID, drawing
from trusses import kept_drawings
from trusses.copies import looks
from trusses.copies.models import Fixed, Look
from trusses.models import MarkEvent, Placement, Stage, Truss
from trusses.pictures import Sent
from trusses.plan import on_walls
from trusses.refusals import NotAllowed, Refused
from trusses.revisions import add_mark, issue_revision, read_and_analyse
from trusses.sealing import recording, seals
from trusses.sheets import fixing


@pytest.fixture
def handed(job, truss, builder):
    """(link, token) of the job that has mark K1."""
    cache.clear()
    return links.hand_out(builder, job, for_whom="Plans examiner", days=30)


def sent(colour):
    made = io.BytesIO()
    Image.new("RGB", (64, 48), colour).save(made, "JPEG")
    return Sent(io.BytesIO(made.getvalue()), len(made.getvalue()))


def opened(client, token, **more):
    return client.get(reverse("changes:inspect", args=[token]), more)


def words(answer) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


class TestTheLink:
    def test_it_shows_the_set_and_says_that_nothing_is_sealed(self, handed, client, job):
        answer = opened(client, handed[1])
        told = words(answer)
        assert answer.status_code == 200
        assert job.name in told
        assert "K1 revision 0, 3 trusses" in told
        assert "no sealed drawing of K1 revision 0 is attached" in told
        assert "1–3 designing" in told
        assert "no copies" not in told
        assert "for Plans examiner ; this link opens until" in told
        assert re.search(r"until \w+ \d+, \d{4}, \d+(:\d+)? [ap]\.m\. M[SD]T", told), "the zone is named"
        assert answer["X-Robots-Tag"] == "noindex, nofollow"
        assert "no-store" in answer["Cache-Control"]

    def test_who_asked_and_who_decided_is_told(self, handed, client, answered, designer, builder):
        change = answered()
        workflow.decide(designer, change, verdict="decline", reason="The chase stays clear.")
        told = words(opened(client, handed[1]))
        assert f"Request {change.pk}, K1 : " in told
        assert f"by {designer.username} : “ The chase stays clear. ”" in told
        gone = answered()
        workflow.withdraw(builder, gone)
        assert f"Request {gone.pk}," not in words(opened(client, handed[1]))

    def test_what_was_changed_comes_before_what_is_only_asked(self, handed, client, answered, designer, truss):
        changed, asked = answered(), answered(HITS_WEB)
        approve(designer, changed, reason="It is clear")
        answer = opened(client, handed[1])
        parts = re.split(r"Changed: a revision was issued|Asked or told of: no revision was issued", words(answer))
        assert [f"Request {changed.pk}," in part for part in parts] == [False, True, False]
        assert [f"Request {asked.pk}," in part for part in parts] == [False, False, True]
        shown = reverse("changes:inspect-mark", args=[handed[1], truss.pk])
        assert f'issued <a href="{shown}">K1 revision 1</a>' in answer.content.decode()
        truss.refresh_from_db()
        issue_revision(truss, truss.current, *read_and_analyse({**truss.current.document, "title": "Next"}), designer)
        assert "issued K1 revision 1, superseded since" in words(opened(client, handed[1]))

    def test_its_address_is_kept_nowhere(self, handed, client_of, builder, job):
        _link, token = handed
        assert token not in str(InspectorLink.objects.values().get())
        assert token not in client_of(builder).get(reverse("changes:inspectors", args=[job.pk])).content.decode()

    @pytest.mark.parametrize("how", ["expired", "ended"])
    def test_once_over_it_shows_nothing(self, handed, client, builder, job, how):
        link, token = handed
        if how == "ended":
            links.end(builder, link)
        else:
            InspectorLink.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
        for name, more in (("inspect", []), ("inspect-mark", [job.trusses.get().pk]), ("inspect-seal", [1])):
            answer = client.get(reverse(f"changes:{name}", args=[token, *more]))
            assert answer.status_code == 410
            assert job.name not in answer.content.decode()
        sent = client.post(
            reverse("changes:inspect-correct", args=[token]), {"key": uuid4(), "says": "x", "by_name": "y"}
        )
        assert sent.status_code == 410
        assert not Correction.objects.exists()

    def test_no_other_address_opens_anything(self, handed, client, other_job):
        assert opened(client, "x" * 32).status_code == 404
        assert opened(client, handed[1][:-1]).status_code == 404
        foreign = client.get(reverse("changes:inspect-mark", args=[handed[1], other_job.pk]))
        assert foreign.status_code == 404

    def test_that_it_was_opened_is_noted_once_an_hour(self, handed, client):
        opened(client, handed[1])
        first = InspectorLink.objects.get().opened_at
        opened(client, handed[1])
        assert first is not None
        assert InspectorLink.objects.get().opened_at == first

    @pytest.mark.parametrize(
        ("who", "status"), [("builder", 200), ("designer", 200), ("site lead", 403), ("outsider", 404)]
    )
    def test_who_may_hand_one_out(self, truss, job, client_of, cast, who, status):
        typed = {"for_whom": "Examiner", "days": 7}
        answer = client_of(cast[who]).post(reverse("changes:inspectors", args=[job.pk]), typed)
        assert answer.status_code == status
        assert InspectorLink.objects.count() == (status == 200)
        if status == 200:
            (address,) = re.findall(r'id="address"[^>]*>http://testserver(/inspect/[^<]+)<', answer.content.decode())
            assert client_of(None).get(address).status_code == 200
            assert answer["Cache-Control"] == "no-store"

    @pytest.mark.parametrize(("for_whom", "days"), [(" ", 7), ("E", 0), ("E", 366), ("E", "x"), ("", "")])
    def test_what_is_typed_wrong_is_said_and_kept(self, truss, job, client_of, builder, for_whom, days):
        answer = client_of(builder).post(
            reverse("changes:inspectors", args=[job.pk]), {"for_whom": for_whom, "days": days}
        )
        assert answer.status_code == 422
        assert "Not done." in answer.content.decode()
        assert f'value="{days}"' in answer.content.decode() or days == ""
        assert not InspectorLink.objects.exists()

    def test_the_rules_stand_below_the_page_too(self, job, site_lead, builder):
        with pytest.raises(NotAllowed):
            links.hand_out(site_lead, job, for_whom="E", days=7)
        for wish in ({"for_whom": " ", "days": 7}, {"for_whom": "E", "days": 0}, {"for_whom": "E", "days": 366}):
            with pytest.raises(Refused):
                links.hand_out(builder, job, **wish)


class TestPhotos:
    @pytest.fixture
    def shown(self, truss, site_lead):
        """Addresses below the link's of a photo of a tick and of one that was taken at delivery."""
        truss.copies.update(stage="built", built_to=truss.current)
        one = truss.copies.filter(number=1).values_list("pk", flat=True)
        looks.tick(site_lead, truss, one, "delivered", points={"wood": True}, photos=[sent("blue")])
        truss.copies.update(stage="set")
        key = fixing.items(truss)[0].key
        fixing.tick(site_lead, truss, key, done=True, anchored="gable", photos=[sent("red")])
        return [f"fixed/{Fixed.objects.get().pk}/1.jpg", f"looks/{Look.objects.get().pk}/1.jpg"]

    def test_are_told_of_and_served_by_that_link_alone(self, handed, client, shown, truss, other_job, builder):
        where = reverse("changes:inspect", args=[handed[1]])
        assert "Restraint, hangers and ties of K1: 1 in place, 2 photos" in words(client.get(where))
        page = client.get(f"{where}marks/{truss.pk}/").content.decode()
        assert [one for one in shown if f'<img src="{where}{one}"' not in page] == []
        assert "Anchored to gable ." in re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))
        for one in shown:
            answer = client.get(f"{where}{one}")
            assert (answer.status_code, answer["Content-Type"]) == (200, "image/jpeg")
            assert "no-store" in answer["Cache-Control"]
            assert client.get(f"/inspect/{'x' * 32}/{one}").status_code == 404
            assert client.get(f"/{one}").status_code == 302, "its own address wants an account"
        Truss.objects.filter(pk=truss.pk).update(job=other_job.job, mark="Z1")
        assert [client.get(f"{where}{one}").status_code for one in shown] == [404, 404], "of another job"
        links.end(builder, handed[0])
        assert [client.get(f"{where}{one}").status_code for one in shown] == [410, 410]

    def test_that_no_page_shows_open_for_nobody(self, handed, client, shown, truss, site_lead):
        """Of a tick that was taken back, of one that another took the place of, of a mark that was withdrawn."""
        where = reverse("changes:inspect", args=[handed[1]])
        fixed, look = shown
        key = Fixed.objects.get().item
        fixing.tick(site_lead, truss, key, done=True, anchored="wall")
        now = f"fixed/{Fixed.objects.last().pk}/1.jpg"
        assert [client.get(f"{where}{one}").status_code for one in (fixed, now, look)] == [404, 200, 200]
        fixing.tick(site_lead, truss, key, done=False)
        assert [client.get(f"{where}{one}").status_code for one in (fixed, now, look)] == [404, 404, 200]
        fixing.tick(site_lead, truss, key, done=True, anchored="wall", photos=[sent("red")])
        Truss.objects.filter(pk=truss.pk).update(withdrawn_at=timezone.now())
        again = f"fixed/{Fixed.objects.last().pk}/1.jpg"
        assert [client.get(f"{where}{one}").status_code for one in (again, look)] == [404, 404]

    def test_of_a_truss_made_anew_since_are_neither_counted_nor_opened(self, handed, client, shown, truss, designer):
        where = reverse("changes:inspect", args=[handed[1]])
        made = {"copies": [1], "from": "delivered"}
        MarkEvent.objects.create(truss=truss, by=designer, code=MarkEvent.Code.ANEW, values=made)
        assert "1 in place, 1 photo" in words(client.get(where))
        assert [client.get(f"{where}{one}").status_code for one in shown] == [200, 404]

    def test_what_waits_for_a_truss_again_is_not_in_place(self, handed, client, shown, truss):
        where = reverse("changes:inspect", args=[handed[1]])
        truss.copies.filter(number=3).update(stage="delivered")
        said = words(client.get(where))
        assert ("K1: 1 photo" in said, "K1: 1 in place" in said) == (True, False)
        assert "Copy 3 delivered, built to revision 0; copies 1–2 set, built to revision 0. 0 of 2 rows" in said

    def test_are_no_looks_of_their_own(self, handed, client, shown, monkeypatch):
        monkeypatch.setattr("trusses.sheets.code_page.Looks.get_rate", lambda _: "1/min")
        where = reverse("changes:inspect", args=[handed[1]])
        assert [client.get(f"{where}{one}").status_code for one in shown * 2] == [200] * 4
        assert [opened(client, handed[1]).status_code for _ in range(2)] == [200, 429]
        assert client.get(f"/inspect/{'x' * 32}/{shown[0]}").status_code == 429, "guesses are counted"


def test_the_log_has_no_token(handed, client, builder, monkeypatch):
    """Whatever is answered, also what Django logs of itself; as the office's log is written."""
    monkeypatch.setattr("trusses.sheets.code_page.Looks.get_rate", lambda _: "2/min")
    (handler,) = [one for one in logging.getLogger().handlers if isinstance(one.formatter, logging.Formatter)][:1]
    monkeypatch.setattr(handler, "stream", log := io.StringIO())
    assert client.get(f"/inspect/{handed[1]}/marks/99999/").status_code == 404
    links.end(builder, handed[0])
    assert [opened(client, handed[1]).status_code for _ in range(2)] == [410, 429]
    logging.getLogger("django.server").info('"%s" %s %s', f"GET /inspect/{handed[1]}/ HTTP/1.1", "200", "9")
    assert handed[1] not in log.getvalue()
    assert log.getvalue().count("/inspect/…/") == 4


class TestSealedDrawings:
    @pytest.fixture
    def seal(self, judged_here, designer, truss):
        sent = drawing()
        said = {**SAID, "sealed_on": truss.job.today(), "covers": ("plates", "restraint")}
        return recording.attach(designer, truss.current, sent, len(sent.getvalue()), **said)

    def test_the_one_of_the_current_revision_is_handed_out_whole(self, handed, client, seal, designer, job):
        assert "sealed drawing attached Sealed by An invented engineer" in words(opened(client, handed[1]))
        seals.say_what_is_asked(designer, job, review=True, acceptance=True, without="blocks")
        told = words(opened(client, handed[1]))
        assert "attached; not recorded: the building designer's review and the building department's acceptance" in told
        answer = client.get(reverse("changes:inspect-seal", args=[handed[1], seal.pk]))
        assert answer.status_code == 200
        assert answer["Content-Type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF")
        for kind in ("reviewed", "accepted"):
            recording.record(designer, seal, kind, name="An invented reviewer", on=job.today(), told_by="letter 7")
        told = words(opened(client, handed[1]))
        assert "sealed drawing attached, all that the job asks for recorded" in told
        assert "Save the PDF of K1 revision 0, copies 1–3" in told
        recorded = r"recorded by designer on [A-Z][a-z]+ [0-9, ]+:\d\d [ap]\.m\. M[SD]T, as told by letter 7"
        assert re.search(f"building department: An invented reviewer , [A-Z][a-z]+ [0-9, ]+, {recorded}", told)

    def test_one_file_for_two_marks_is_told_of_both(self, handed, client, seal, designer, job, king_post):
        other, sent = add_mark(job, {**king_post, "mark": "R3"}, 1, designer).current, drawing()
        said = {**SAID, "sealed_on": job.today(), "also_shows": True}
        recording.attach(designer, other, sent, len(sent.getvalue()), **said)
        told = words(opened(client, handed[1]))
        assert "The very file is on record for R3 revision 0 too: see that it shows K1." in told
        assert "The very file is on record for K1 revision 0 too: see that it shows R3." in told

    def test_one_that_was_withdrawn_or_is_of_another_job_is_not(self, handed, client, seal, designer):
        recording.withdraw(designer, seal, reason="Wrong file")
        assert client.get(reverse("changes:inspect-seal", args=[handed[1], seal.pk])).status_code == 404
        assert client.get(reverse("changes:inspect-seal", args=[handed[1], 99999])).status_code == 404


class TestCorrections:
    def send(self, client, token, **said):
        typed = {"key": uuid4(), "says": "Show the hanger at G1.", "by_name": "R. Examiner", "mark": "", **said}
        return client.post(reverse("changes:inspect-correct", args=[token]), typed)

    def test_asked_and_answered_on_both_pages(self, handed, client, client_of, builder, designer, job, truss):
        assert self.send(client, handed[1], mark=truss.pk).status_code == 302
        (row,) = Correction.objects.all()
        assert (row.truss, row.by_name) == (truss, "R. Examiner")
        assert "not answered yet" in words(opened(client, handed[1]))
        members = reverse("changes:inspectors", args=[job.pk])
        assert "Show the hanger at G1." in client_of(builder).get(members).content.decode()
        client_of(designer).post(
            reverse("changes:answer-correction", args=[row.pk]), {"says": "It is on the seal, page 2."}
        )
        for page in (opened(client, handed[1]), client_of(builder).get(members)):
            assert "It is on the seal, page 2." in words(page)
            assert "not answered yet" not in words(page)

    def test_the_form_is_about_the_mark_that_the_address_names(self, handed, client, truss):
        at = f"{reverse('changes:inspect', args=[handed[1]])}?about={truss.pk}"
        assert f'<option value="{truss.pk}" selected>K1</option>' in client.get(at).content.decode()
        for about in ("99999", "x", "\x00"):
            assert "K1</option>" in opened(client, handed[1], about=about).content.decode()

    def test_the_same_form_sent_twice_is_one(self, handed, client):
        key = uuid4()
        assert [self.send(client, handed[1], key=key).status_code for _ in range(2)] == [302, 302]
        assert Correction.objects.count() == 1

    def test_other_words_of_the_same_form_are_not_lost(self, handed, client):
        key = uuid4()
        self.send(client, handed[1], key=key)
        answer = self.send(client, handed[1], key=key, says="And the strap.")
        assert answer.status_code == 409
        assert "And the strap." in answer.content.decode()
        assert Correction.objects.get().says == "Show the hanger at G1."

    def test_what_comes_too_late_is_given_back(self, handed, client, builder):
        links.end(builder, handed[0])
        answer = self.send(client, handed[1])
        assert answer.status_code == 410
        assert "Show the hanger at G1." in answer.content.decode()

    def test_half_of_one_is_said_and_nothing_lost(self, handed, client):
        answer = self.send(client, handed[1], by_name="")
        assert answer.status_code == 422
        assert "Show the hanger at G1." in answer.content.decode()
        assert not Correction.objects.exists()

    def test_hostile_words_stay_words(self, handed, client, client_of, builder, job):
        self.send(client, handed[1], says="<script>alert(1)</script>", by_name='"><img src=x>')
        for page in (opened(client, handed[1]), client_of(builder).get(reverse("changes:inspectors", args=[job.pk]))):
            assert "<script>alert" not in page.content.decode()
            assert "<img src=x>" not in page.content.decode()

    def test_a_mark_of_another_job_is_none_to_correct(self, handed, client, other_job):
        assert self.send(client, handed[1], mark=other_job.pk).status_code == 422

    def test_no_flood(self, handed, client, monkeypatch):
        monkeypatch.setattr(corrections, "MOST_OPEN", 2)
        assert [self.send(client, handed[1]).status_code for _ in range(3)] == [302, 302, 409]

    def test_it_is_answered_once_and_the_second_answer_is_not_lost(self, handed, client, client_of, builder, designer):
        self.send(client, handed[1])
        row = Correction.objects.get()
        corrections.answer(designer, row, "First")
        late = client_of(builder).post(reverse("changes:answer-correction", args=[row.pk]), {"says": "Second thought"})
        assert late.status_code == 409
        assert "Somebody answered it meanwhile" in late.content.decode()
        assert "Second thought" in late.content.decode()
        assert [one.says for one in row.words.all()] == ["First"]

    @pytest.mark.parametrize(("who", "status"), [("site lead", 302), ("outsider", 404)])
    def test_the_people_of_the_job_answer_and_nobody_else(self, handed, client, client_of, cast, who, status):
        self.send(client, handed[1])
        where = reverse("changes:answer-correction", args=[Correction.objects.get().pk])
        assert client_of(cast[who]).post(where, {"says": "x"}).status_code == status


def test_one_mark_has_its_elevation_lumber_loads_and_restraint(handed, client, truss):
    answer = client.get(reverse("changes:inspect-mark", args=[handed[1], truss.pk]))
    told = words(answer)
    assert answer.content.decode().count("<svg") >= 2
    assert "Lumber" in told
    assert "Loads it is designed for" in told
    assert "no sealed drawing of K1 revision 0 is attached" in told


AT = {"origin_x_in": 0, "origin_y_in": 0}


class TestThePlan:
    @pytest.fixture
    def placed(self, truss):
        return Placement.objects.create(truss=truss, level="Roof", direction="x", spacing_in=24, count=3, **AT)

    def test_leads_to_the_marks_below_the_link_and_keeps_its_address_nowhere(self, handed, client, placed, monkeypatch):
        kept = []
        draw = kept_drawings.level
        monkeypatch.setattr(kept_drawings, "level", lambda drawn: kept.append(repr(drawn)) or draw(drawn))
        top = reverse("changes:inspect", args=[handed[1]])
        at = f"{top}plan/"
        listed = opened(client, handed[1]).content.decode()
        assert f'<span class="no-print">Where the trusses stand: <a href="{at}">the plan</a>.</span>' in listed
        page = client.get(at)
        links_there = re.findall(r'<a [^>]*href="([^"]+)"', page.content.decode())
        assert links_there.count(f"../marks/{placed.truss_id}/") >= 3
        leads = {urljoin(at, html.unescape(one)) for one in links_there}
        assert [one for one in leads if not one.startswith(top)] == []
        assert "K1 3 trusses, set as numbers 1–3 not sealed" in words(page)
        assert kept
        assert handed[1] not in "".join(kept)

    def test_is_told_of_only_where_there_is_one(self, handed, client, truss):
        where = reverse("changes:inspect-plan", args=[handed[1]])
        assert where not in opened(client, handed[1]).content.decode()
        assert "Nothing stands on a plan yet." in words(client.get(where))
        assert client.get(where, {"level": "Cellar"}).status_code == 404
        assert client.get(f"/inspect/{'x' * 32}/plan/").status_code == 404


def test_the_index_has_every_mark_by_what_stands_sealed_and_leads_to_its_page_of_the_list(
    handed, client, truss, job, designer, king_post, judged_here, monkeypatch
):
    monkeypatch.setattr(inspection_page, "_PAGE", 1)
    sent = drawing()
    said = {**SAID, "sealed_on": job.today(), "covers": ("plates",)}
    recording.attach(designer, truss.current, sent, len(sent.getvalue()), **said)
    other = add_mark(job, {**king_post, "mark": "K2"}, 1, designer)
    page = opened(client, handed[1])
    told = words(page)
    assert "not sealed 1 mark K2 sealed drawing not complete 1 mark K1" in told
    assert f'href="#mark-{truss.pk}"' in page.content.decode()
    assert f'href="?page=2#mark-{other.pk}"' in page.content.decode()
    assert f'id="mark-{other.pk}"' in opened(client, handed[1], page=2).content.decode()


def test_a_wall_that_moves_from_under_what_is_set_is_told(handed, client, truss, monkeypatch):
    on_it = {on_walls.Number(truss.pk, n): stage for n, stage in ((1, "set"), (2, "delivered"))}
    bears = on_walls.Bears(truss.pk, "K1", on_it)
    asked = on_walls.Moving(1, "Request 9 asks to move wall 3", "/requests/9/", (bears,), request=9)
    decided = on_walls.Moving(1, "Request 9 moves wall 3", "/requests/9/", (bears,), decided=True, request=9)
    mark = reverse("changes:inspect-mark", args=[handed[1], truss.pk])
    for moves, says in ((asked, "may move (asked in request 9, not decided)"), (decided, "moves")):
        monkeypatch.setattr(on_walls, "told_by", [lambda job, moves=moves: [moves]])
        for page in (opened(client, handed[1]), client.get(mark)):
            held = "ask the designer how what is set on it (1) is held, and before any more is set."
            assert f"The wall under it {says}: {held}" in words(page)
    for page in (opened(client, handed[1]), client.get(mark)):
        told = words(page)
        assert "Request 9 moves wall 3. Copies 1–2 of K1 bear on it too, and nobody asked" in told
        assert "/requests/9/" not in page.content.decode()


def test_a_damaged_copy_is_told_before_the_sealed_drawing_on_both_pages(handed, client, truss, site_lead):
    truss.copies.update(stage=Stage.DELIVERED, built_to=truss.current)
    workflow.file(
        site_lead,
        truss.job,
        reason="A plumber's saw.",
        needed_by=truss.job.today(),
        asks=[{"truss": truss, "kind": "damage", "copies": [3], "damage": DAMAGE}],
    )
    for page in (opened(client, handed[1]), client.get(reverse("changes:inspect-mark", args=[handed[1], truss.pk]))):
        told = words(page)
        assert told.index("Copy 3: damaged, keep off.") < told.index("no sealed drawing of K1")


def test_its_pages_name_themselves_on_each_sheet_of_paper(handed, client, truss):
    """Paper gets separated; the stylesheet that does it opens without an account, as the page does."""
    for page in (opened(client, handed[1]), client.get(reverse("changes:inspect-mark", args=[handed[1], truss.pk]))):
        (link,) = re.findall(r'media="print" href="(/print\.css\?[^"]+)"', page.content.decode())
        edges = client.get(html.unescape(link))
        assert edges.status_code == 200
        assert (
            "Nothing here authorizes" in (told := edges.content.decode().replace("\\", "")) or "Not a drawing" in told
        )
