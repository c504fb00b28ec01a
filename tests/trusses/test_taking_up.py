"""Loads of what stands on a mark, written into its drawing before anything is released; and what waits until then."""

from __future__ import annotations

import pytest
from django.core.exceptions import PermissionDenied

from tests.refused import refused
from tests.trusses.sent import sent, take_up, work
from tests.trusses.standing import girder, girder_document, loaded, place, stand
from trusses.analysis.load_path.taken_up import NOTHING_TAKEN, TakenUp
from trusses.bearings import links, standing
from trusses.models import Revision, Stage, Submission
from trusses.production import move
from trusses.refusals import Refused
from trusses.revisions import add_mark, issue_revision, read_and_analyse


@pytest.fixture
def g1(job, designer, request):
    return girder(job, designer, **getattr(request, "param", {}))


@pytest.fixture
def k5(job, designer, king_post, g1):
    return stand(job, designer, king_post, "K5", g1)


@pytest.fixture
def g2(job, designer, g1):
    above = add_mark(job, girder_document("G2"), 1, designer)
    links.set_link(designer, g1, "B", carrier=above, hung=[{"member": "B1", "at_in": 90}])
    take_up(designer, above)
    return above


def dead(truss) -> dict[str, float]:
    truss.refresh_from_db()
    return {joint: up for joint, (_, up) in truss.current.analysis["cases"]["dead"]["reactions_lb"].items()}


def test_the_chain_is_written_to_its_end(g2, k5, g1, designer):
    before, above = dead(g1), dead(g2)
    each = k5.current.analysis["cases"]["dead"]["reactions_lb"]["C"][1]
    issued = take_up(designer, g1)
    assert [(one.truss.mark, one.number, one.issued_by) for one in issued] == [("G1", 1, designer), ("G2", 2, designer)]
    assert dead(g1) == pytest.approx({joint: lb + each for joint, lb in before.items()}, abs=0.02)
    assert dead(g2)["A"] - above["A"] == pytest.approx(each * 270 / 360, abs=0.02)
    assert standing.carried(g1).behind == standing.carried(g2).behind == ()


def test_what_is_below_the_girder_is_told_to_its_analysis(k5, g1, designer):
    links.set_link(designer, g1, "A", wall="post", plate="2x6 DF-L No.2")
    take_up(designer, g1)
    g1.refresh_from_db()
    assert g1.current.analysis["surroundings"] == {"wall_plates": {"A": "2x6 DF-L No.2"}}


def test_a_second_time_there_is_nothing_to_write(k5, g1, designer):
    take_up(designer, g1)
    with refused(Refused, "nothing-behind"):
        take_up(designer, g1)


def test_what_stands_there_no_longer_goes(k5, g1, designer):
    bare = g1.current.document["loads"]
    take_up(designer, g1)
    links.set_link(designer, k5, "C", wall="north wall")
    g1.refresh_from_db()
    assert standing.carried(g1).behind == ("K5",)
    take_up(designer, g1)
    g1.refresh_from_db()
    assert {sort: loads for sort, loads in g1.current.document["loads"].items() if loads} == bare


def test_from_the_release_on_it_takes_a_request(g2, k5, g1, designer):
    g2.copies.update(stage=Stage.RELEASED)
    with refused(Refused, "taken-up-by-a-request"):
        take_up(designer, g1)
    assert g1.revisions.count() == 1, "all of them or none"


@pytest.mark.parametrize("g1", [{"plies": 2}], indirect=True)
def test_a_girder_that_fails_gets_no_revision(k5, g1, designer):
    with refused(Refused, "with-what-stands-on-it"):
        take_up(designer, g1)
    assert g1.revisions.count() == 1


@pytest.mark.parametrize("person", ["builder", "site lead", "outsider"])
def test_a_designer_alone_writes_it(k5, g1, cast, person):
    with pytest.raises(PermissionDenied):
        take_up(cast[person], g1)
    assert not Revision.objects.filter(number__gt=0).exists()


def test_the_saw_waits_for_what_the_drawing_lacks(k5, g1, designer):
    g1.copies.update(stage=Stage.RELEASED, released_to=g1.current)
    copies = list(g1.copies.values_list("pk", flat=True))
    with refused(Refused, "not-taken-up"):
        move(designer, g1, copies, Stage.CUT)
    g1.copies.update(stage=Stage.DESIGNING)
    take_up(designer, g1)
    g1.copies.update(stage=Stage.RELEASED, released_to=g1.current)
    g1.refresh_from_db()
    assert move(designer, g1, copies, Stage.CUT) == 1


def test_the_sheet_says_that_its_lumber_leaves_it_out(client_of, designer, k5, g1, job):
    client, sheet = client_of(designer), f"/jobs/{job.pk}/trusses/{g1.pk}/revisions/0/"
    assert "What K5 put on it today is not what this drawing has" in client.get(sheet).content.decode()
    page = client.get(f"/jobs/{job.pk}/trusses/{g1.pk}/").content.decode()
    assert "Write them into the next revision" in page
    told = sent(client, f"/jobs/{job.pk}/trusses/{g1.pk}/loads/", {}).content.decode()
    assert "Written: G1 revision 1, and what carries it." in told
    assert "Write them into the next revision" not in told
    assert "leave that out" not in client.get(sheet).content.decode(), "an old revision is superseded, no more"


def test_the_api_writes_it(api_of, designer, k5, g1):
    answer = api_of(designer).post(f"/api/v1/trusses/{g1.pk}/loads/", {}, format="json")
    assert (answer.status_code, answer.json()["kind"], answer.json()["mark"]) == (202, "loads", "G1")
    work()
    g1.refresh_from_db()
    assert standing.carried(g1).behind == ()
    again = api_of(designer).post(f"/api/v1/trusses/{g1.pk}/loads/", {}, format="json")
    assert (again.status_code, again.json()) == (400, {"detail": "The drawing of G1 has all that stands on it."})


def test_a_load_typed_by_hand_is_nobody_elses_whatever_its_note_says(designer, job, king_post):
    """Its note reads as if K5 put it there; K5 comes and goes, and the load stays."""
    typed = {"case": "dead", "member": "B1", "at_in": 60, "down_lb": 75, "note": "from K5 at 5'-0\""}
    document = girder_document("G7")
    document["loads"]["point"] = [typed]
    carrier = add_mark(job, document, 1, designer)
    place(carrier, 0, 240, "x")
    carried = stand(job, designer, king_post, "K5", carrier)
    loaded(carrier, designer)
    assert typed in carrier.current.document["loads"]["point"]
    assert TakenUp.read(carrier.current.taken_up).marks == ["K5"]
    carried.stands_on.all().delete()
    loaded(carrier, designer)
    assert carrier.current.document["loads"]["point"] == [typed]
    assert carrier.current.taken_up == NOTHING_TAKEN.written()


def test_a_revision_that_changes_something_else_keeps_the_record(designer, g1, k5):
    loaded(g1, designer)
    document, analysis = read_and_analyse({**g1.current.document, "title": "Another title"})
    revision = issue_revision(g1, g1.current, document, analysis, designer)
    assert TakenUp.read(revision.taken_up) == TakenUp.read(g1.revisions.get(number=1).taken_up)
    assert TakenUp.read(revision.taken_up).marks == ["K5"]


@pytest.mark.parametrize("g1", [{"plies": 2}], indirect=True)
def test_the_page_says_what_the_worker_found(client_of, k5, g1, designer, job):
    page = sent(client_of(designer), f"/jobs/{job.pk}/trusses/{g1.pk}/loads/", {}).content.decode()
    assert "Nothing was written." in page
    assert "G1 with what stands on it:" in page
    assert f'href="/jobs/{job.pk}/trusses/{g1.pk}/"' in page
    assert Submission.objects.get().trouble["code"] == "with-what-stands-on-it"


def test_what_breaks_above_is_told_by_code(k5, g1, g2, designer):
    """G1 hangs on a member that G2 has not: what the chain found is the reason of the refusal."""
    g1.stands_on.filter(carrier=g2).update(hung=[{"member": "B9", "at_in": 90}])
    with pytest.raises(Refused) as why:
        take_up(designer, g1)
    assert (why.value.code, why.value.values["why"]["code"]) == ("carrier-not-worked-out", "carrier-without-member")
