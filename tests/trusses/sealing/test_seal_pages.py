"""The pages and calls of sealed drawings: attached by hand and by program, handed out so that nothing in them runs."""

from __future__ import annotations

import re
from datetime import timedelta
from types import SimpleNamespace

import pytest

from tests.refused import refused
from tests.sealed import SAID, drawing
from tests.trusses.reading import text
from trusses.refusals import Refused
from trusses.revisions import add_mark
from trusses.sealing import files, recording, seals
from trusses.sheets.words import sealed_but


@pytest.fixture
def typed(judged_here, truss):
    def typed(**other):
        return {
            **SAID,
            "sealed_on": truss.job.today().isoformat(),
            "covers": ["plates", "restraint"],
            "drawing": drawing(),
        } | other

    return typed


@pytest.fixture
def at(job, truss):
    return f"/jobs/{job.pk}/trusses/{truss.pk}/revisions/0/seal/"


def test_by_hand_from_nothing_to_a_yes(asks_all, client_of, designer, builder, site_lead, truss, job, at, typed):
    sheet = f"/jobs/{job.pk}/trusses/{truss.pk}/revisions/0/"
    desk, phone = client_of(designer), client_of(builder)
    assert "No. Do not build from this: no sealed drawing is attached." in desk.get(sheet).content.decode()
    hostile = typed(sealed_by="<script>alert(1)</script>")
    assert desk.post(at, hostile).status_code == 302
    page = phone.get(at).content.decode()
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    seal = seals.seal_of(truss.current).drawing
    for kind in ("reviewed", "accepted"):
        assert client_of(site_lead).post(f"/seals/{seal.pk}/record/", {"kind": kind}).status_code == 403
        empty = phone.post(f"/seals/{seal.pk}/record/", {"kind": kind, "name": "", "on": ""})
        assert empty.status_code == 422
        sent = {"kind": kind, "name": "A name", "on": job.today().isoformat()}
        assert phone.post(f"/seals/{seal.pk}/record/", sent).status_code == 302
    told = desk.get(sheet).content.decode()
    assert "Not yet: its sealed drawing is on record, and copies 1–3 aren’t released to revision 0." in told
    release = '<input type="hidden" name="to" value="released">'
    assert release in told
    asked = desk.post(f"/jobs/{job.pk}/trusses/{truss.pk}/copies/", {"to": "released", "all": "designing"})
    assert "Release all 3 copies of K1?" in " ".join(asked.content.decode().split())
    truss.copies.update(stage="released", released_to=truss.current)
    told = desk.get(sheet).content.decode()
    assert release not in told
    assert "Yes: build by its sealed drawing, which is attached." in told
    assert f"/seals/{seal.pk}/1.png" in told
    assert "on record</span>" in desk.get(f"/jobs/{job.pk}/sheets/").content.decode()
    assert 'content: "Yes' in desk.get(f"{sheet}margins.css").content.decode()
    assert 'class="verdict-line yes"' in told
    type(job).objects.filter(pk=job.pk).update(is_demo=True)
    told = desk.get(sheet).content.decode()
    assert "A demonstration: build nothing from it. A real sheet would say “Yes: build by" in told
    assert 'class="verdict-line demo"' in told
    assert "verdict-line yes" not in told


def test_what_another_decided_is_recorded_as_theirs(asks_all, attach, client_of, builder, designer, truss, job, at):
    """Whose decision it is, what tells of it, and whose name stands by the record, on each page that tells of it."""
    drawing, phone = attach(), client_of(builder)
    page = text(phone.get(at))
    assert page.count("You record what another person decided; your name stands by it.") == 2
    for label in ("The building designer who reviewed it", "The building department, and who accepted it there"):
        assert label in page
    sent = {"kind": "reviewed", "name": "An invented reviewer", "on": job.today().isoformat(), "told_by": "l" * 201}
    refused_page = phone.post(f"/seals/{drawing.pk}/record/", sent)
    assert refused_page.status_code == 422
    assert 'value="An invented reviewer"' in refused_page.content.decode()
    assert phone.post(f"/seals/{drawing.pk}/record/", sent | {"told_by": "their letter 7"}).status_code == 302
    told = "as told by their letter 7"
    sent = {"name": "A department", "on": job.today().isoformat(), "told_by": ""}
    assert phone.post(f"/seals/{drawing.pk}/record/", sent | {"kind": "accepted"}).status_code == 302
    page = text(client_of(designer).get(at))
    assert re.search(rf"An invented reviewer , \w+ \d+, \d+ recorded by builder on [^,]+, \d+, [^,]+, {told}", page)
    assert page.count("as told by") == 1
    assert "You record what another person decided" not in page
    truss.copies.update(stage="released", released_to=truss.current)
    sheet = text(client_of(designer).get(f"/jobs/{job.pk}/trusses/{truss.pk}/revisions/0/"))
    day = f"{job.today():%b} {job.today().day}, {job.today().year}"
    assert f"reviewed by An invented reviewer on {day}, recorded by builder;" in sheet
    assert re.search(rf"An invented reviewer , {day} recorded by builder on {day}, [^,]+, {told}", sheet)
    event = truss.events.get(code="reviewed")
    assert event.values["told_by"] == "their letter 7"


@pytest.mark.parametrize("kind", ["plates", "restraint", "withdrawn"])
def test_nobody_records_by_another_name_what_it_covers(attach, client_of, designer, truss, kind):
    drawing = attach(covers=(), sealed_on=truss.job.today() - timedelta(days=9))
    sent = {"kind": kind, "name": "Another", "on": (truss.job.today() - timedelta(days=3)).isoformat()}
    page = client_of(designer).post(f"/seals/{drawing.pk}/record/", sent, follow=True)
    assert not drawing.records.exists()
    assert "Recorded are a review, an acceptance," in page.content.decode()
    with refused(Refused, "no-such-record"):
        recording.record(designer, drawing, kind, name="Another", on=truss.job.today())


def test_what_is_wrong_is_said_and_nothing_typed_is_lost(client_of, designer, at, typed):
    answer = client_of(designer).post(at, typed(licence="", sealed_by="Kept as typed"))
    assert answer.status_code == 422
    assert "Kept as typed" in answer.content.decode()
    refused = client_of(designer).post(at, typed(state="", drawing=""))
    assert "Choose the PDF of the sealed drawing." in refused.content.decode()


def test_another_mark_s_file_is_taken_with_a_tick(attach, client_of, api_of, designer, king_post, job, typed):
    """On the page and by program; the next drawing is filled in from the last, but for its day."""
    attach(licence="Kept for the next")
    other = add_mark(job, {**king_post, "mark": "R3"}, 1, designer)
    at, desk = f"/jobs/{job.pk}/trusses/{other.pk}/revisions/0/seal/", client_of(designer)
    page = desk.get(at).content.decode()
    assert 'value="Kept for the next"' in page
    assert f'value="{job.today().isoformat()}"' not in page
    assert "also shows" not in page
    asked = desk.post(at, typed(sealed_by="Kept as typed"))
    assert asked.status_code == 422
    page = asked.content.decode()
    assert "on record for K1 revision 0 (attached by designer on" in page
    assert "This file also shows R3, revision 0" in page
    assert "Kept as typed" in page
    told = api_of(designer).post(f"/api/v1/trusses/{other.pk}/seals/", typed(revision=0), format="multipart")
    assert (told.status_code, list(told.json())) == (400, ["also_shows"])
    assert desk.post(at, typed(also_shows="on")).status_code == 302
    assert "The very file is on record for K1 revision 0 too" in desk.get(at).content.decode()


def test_the_file_goes_out_as_it_came_and_runs_nowhere(client_of, attach, builder, outsider, at, truss):
    seal = attach()
    answer = client_of(builder).get(f"/seals/{seal.pk}/drawing.pdf")
    assert answer.content == drawing().getvalue()
    assert answer["Content-Disposition"] == 'attachment; filename="K1-revision-0-sealed.pdf"'
    assert answer["Content-Security-Policy"] == "sandbox; default-src 'none'"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Type"] == "application/pdf"
    assert client_of(builder).get(f"/seals/{seal.pk}/1.png")["Content-Type"] == "image/png"
    for address in (f"/seals/{seal.pk}/drawing.pdf", f"/seals/{seal.pk}/1.png", at):
        assert client_of(outsider).get(address).status_code == 404
    files.path_of(truss.job_id, seal.sha256).write_bytes(b"%PDF-another")
    assert client_of(builder).get(f"/seals/{seal.pk}/drawing.pdf").status_code == 409


def test_by_program(asks_all, api_of, designer, builder, site_lead, outsider, truss, typed):
    at, program = f"/api/v1/trusses/{truss.pk}/seals/", api_of(designer)
    for who, status in ((builder, 403), (site_lead, 403), (outsider, 404)):
        assert api_of(who).post(at, typed(revision=0), format="multipart").status_code == status
    made = program.post(at, typed(revision=0), format="multipart")
    assert made.status_code == 201
    first = made.json()
    assert (first["counts"], first["lacks"], first["covers"]) == (
        False,
        ["reviewed", "accepted"],
        ["plates", "restraint"],
    )
    said = {"name": "A name", "on": truss.job.today().isoformat()}
    for step in ("review", "acceptance"):
        assert api_of(site_lead).post(f"/api/v1/seals/{first['id']}/{step}/", said, format="json").status_code == 403
        assert api_of(builder).post(f"/api/v1/seals/{first['id']}/{step}/", said, format="json").status_code == 201
    assert api_of(site_lead).get(at).json()[0]["counts"] is True
    again = program.post(f"/api/v1/seals/{first['id']}/review/", said, format="json")
    assert again.status_code == 400
    assert "recorded already" in str(again.json())
    gone = program.post(f"/api/v1/seals/{first['id']}/withdraw/", {"reason": "Wrong sheet"}, format="json").json()
    assert gone["counts"] is False
    assert program.get(f"/api/v1/seals/{first['id']}/drawing.pdf").content == drawing().getvalue()
    bad = program.post(at, typed(revision=0, drawing=""), format="multipart")
    assert bad.status_code == 400


def test_what_a_job_asks_is_said_by_its_designer(client_of, api_of, job, designer, builder):
    at = f"/jobs/{job.pk}/sealed-drawings/"
    assert client_of(builder).post(at, {"without": "warns"}).status_code == 403
    assert client_of(designer).post(at, {"review": "on", "without": "blocks"}).status_code == 302
    assert seals.asked(job) == seals.Asked(review=True, acceptance=False, blocks=True)
    page = client_of(builder).get(at).content.decode()
    assert "nothing is cut or set" in page
    assert "No review, no acceptance; cutting and setting" in page
    said_so_far = job.seal_rules.count()
    assert client_of(designer).post(at, {"review": "on", "without": "blocks"}).status_code == 302
    assert job.seal_rules.count() == said_so_far, "what is said again is no change"
    said = {"review": True, "acceptance": True, "without": "warns"}
    assert api_of(builder).post(f"/api/v1/jobs/{job.pk}/seal-rule/", said, format="json").status_code == 403
    assert api_of(designer).post(f"/api/v1/jobs/{job.pk}/seal-rule/", said, format="json").json() == said


def test_the_mark_s_page_warns_before_the_saw(asks_all, client_of, designer, truss, job):
    truss.copies.update(stage="released", released_to=truss.current)
    at = f"/jobs/{job.pk}/trusses/{truss.pk}/"
    page = client_of(designer).get(at).content.decode()
    assert "This job lets nothing be cut without one." in page
    copies = page.partition('id="copies"')[2]
    assert copies.index("<p>Copies 1–3</p>") < copies.index("No sealed drawing counts for"), (
        "which copies, then what keeps them"
    )
    assert 'name="to" value="cut"' not in page, "what is refused anyway reads as leave to cut"
    refused = client_of(designer).post(f"{at}copies/", {"to": "cut", "all": "released", "seen": truss.current.pk})
    assert refused.status_code == 422
    assert "no sealed drawing of their revision is on record" in refused.content.decode().replace("&#x27;", "'")


def test_what_was_attached_meanwhile_is_not_replaced(client_of, designer, truss, job, at, typed):
    """Two designers: one's correction of the first drawing doesn't withdraw the other's, which she never saw."""
    desk = client_of(designer)
    assert desk.post(at, typed()).status_code == 302
    first = truss.sealed_drawings.get()
    assert f'name="replaces" value="{first.pk}"' in desk.get(at).content.decode()
    correction = {"reason": "Wrong span", "replaces": first.pk}
    assert desk.post(at, typed(drawing=drawing("second")) | correction).status_code == 302
    late = desk.post(at, typed(drawing=drawing("third")) | correction)
    assert late.status_code == 422
    assert "correct it by replacing it" in late.content.decode()
    standing = truss.sealed_drawings.exclude(records__kind="withdrawn").get()
    assert standing.replaces == first


def test_one_word_everywhere_until_both_ticks_are_there(client_of, designer, truss, job, at, typed):
    """The seal's page, the mark's, the list of sheets and the sheet agree; ticks are recorded without a new file."""
    seals.say_what_is_asked(designer, job, review=False, acceptance=False, without="blocks")
    truss.copies.update(stage="released", released_to=truss.current)
    desk, mark = client_of(designer), f"/jobs/{job.pk}/trusses/{truss.pk}/"
    job.place = "Lot 1, <b>CO"
    job.save()
    assert "The job stands at Lot 1, &lt;b&gt;CO." in desk.get(at).content.decode()
    assert "Without both of these the sheet stays at “No”." in desk.get(at).content.decode()
    desk.post(at, typed(covers=[]))
    pages = [at, mark, f"/jobs/{job.pk}/sheets/"]
    for page in pages:
        told = desk.get(page).content.decode()
        badge = (
            "sealed drawing not complete" if page.endswith("sheets/") else "sealed, plates and restraint not covered"
        )
        assert f"{badge}</span>" in told
        assert "on record</span>" not in told
    lacks = "that it covers the plates and that it covers the restraint and bracing are missing"
    assert lacks in desk.get(f"{mark}revisions/0/").content.decode()
    assert desk.get(at).content.decode().count("missing</span>") == 2
    for one in ("plates", "restraint"):
        assert desk.post(f"/seals/{truss.sealed_drawings.get().pk}/covers/", {"covers": one}).status_code == 302
    assert [desk.get(page).content.decode().count("not co") for page in pages] == [0, 0, 0]
    assert "Yes: build by its sealed drawing" in desk.get(f"{mark}revisions/0/").content.decode()


def test_the_same_file_corrects_what_was_typed(attach, designer, truss):
    first = attach(covers=())
    again = attach(replaces=first, reason="The ticks were forgotten")
    assert (again.sha256, again.covers) == (first.sha256, ["plates", "restraint"])
    with refused(Refused, "seal-unchanged"):
        attach(replaces=again, reason="Once more")


def test_what_it_covers_is_recorded_by_program(attach, api_of, designer, builder):
    seal = attach(covers=())
    at, both = f"/api/v1/seals/{seal.pk}/covers/", {"covers": ["plates", "restraint"]}
    assert api_of(builder).post(at, both, format="json").status_code == 403
    said = api_of(designer).post(at, both, format="json")
    assert (said.status_code, said.json()["covers"]) == (201, both["covers"])
    for refused_now in (both, {"covers": ["roof"]}, {"covers": []}):
        assert api_of(designer).post(at, refused_now, format="json").status_code == 400
    assert seal.records.count() == 2


@pytest.mark.parametrize(
    ("missing", "says"),
    [
        (("reviewed",), "sealed, not reviewed"),
        (("reviewed", "accepted"), "sealed, not reviewed or accepted"),
        (("reviewed", "accepted", "carried out"), "sealed, not reviewed, accepted or carried out"),
        (("accepted", "plates"), "sealed, not accepted, plates not covered"),
        (("plates", "restraint"), "sealed, plates and restraint not covered"),
    ],
)
def test_a_badge_says_what_is_missing(missing, says):
    assert sealed_but(SimpleNamespace(missing=missing)) == says
