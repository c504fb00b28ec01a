"""What is asked of copies that a decision on something else turned end for end: it stays at its place of the wood, by
whichever way they were turned and however it is looked at since."""

from __future__ import annotations

import copy
import io
import re
from typing import Any

import pytest
import trimesh
from django.urls import reverse

from changes import workflow
from changes.asks.kinds import HERE
from changes.asks.on_walls import moving
from changes.asks.pending import pending
from changes.asks.standing_asks import standing_asks
from changes.asks.wishes import Over
from changes.models import Ask, Kind
from changes.pages.sections import sections
from changes.refusals import Refused
from changes.worker import compute as results
from changes.worker import queue
from tests.changes.asking import FITS, LOAD, answer_of, approve, compute
from tests.trusses.reading import text
from trusses.analysis.alike import alike_turned, mirrored
from trusses.bearings import links
from trusses.models import BearingLink, MarkEvent, Placement, Truss, WallLine
from trusses.plan.on_walls import Number
from trusses.plan.under import Walls, across, walls_of
from trusses.variants.homes import Wanted, homes
from trusses.variants.moving import turns_of

WALL = "basement bearing wall"
LEFT = '8" to the left on the plan'
MOVED = {"change": "moved", "joint": "C", "to_in": 232}
HUNG = {**LOAD, "weight_lb": 90, "at_in": 60}


@pytest.fixture
def placed(truss) -> Truss:
    row = Placement.objects.create(truss=truss, origin_x_in=0, origin_y_in=0, spacing_in=24, count=3)
    truss.copies.update(placement=row)
    return truss


@pytest.fixture
def asked(job, builder, needed_by):
    def make(truss, kind, wanted, copies):
        asks = [{"truss": truss.pk, "kind": kind, kind: wanted, "copies": copies}]
        return workflow.file(builder, job, reason="The house changed", needed_by=needed_by, asks=asks)

    return make


@pytest.fixture
def revised(designer):
    """A designer's own revision of some copies, issued: the web stands at another place of the bottom chord."""

    def make(truss: Truss, copies: list[int], web_at: float) -> None:
        document = copy.deepcopy(truss.current.document)
        document["joints"]["D"] = [web_at, 0]
        change = workflow.start_revision(designer, truss, reason="A beam there", document=document, copies=copies)
        approve(designer, compute(change))

    return make


@pytest.fixture
def join(placed, revised):
    """Copy 2 joins the mark that copy 1 became, turned: its web is asked 140 in. from the left, copy 1's at 100 in."""
    revised(placed, [1], 100)

    def make() -> Truss:
        revised(placed, [2], 140)
        return Truss.objects.get(mark="K1-b")

    return make


@pytest.fixture
def revise(placed, designer, job, builder, needed_by):
    """K1 is revised for all of its copies, and copy 3 is turned for it."""

    def make() -> Truss:
        openings = [([1, 2], FITS), ([3], {**FITS, "centre_in": [140, 20]})]
        asks = [{"truss": placed.pk, "kind": "opening", "opening": what, "copies": those} for those, what in openings]
        change = workflow.file(builder, job, reason="A duct", needed_by=needed_by, asks=asks)
        approve(designer, compute(change))
        placed.refresh_from_db()
        assert placed.current.number == 1
        assert list(placed.placements.filter(turned=True).values_list("copies__number", flat=True)) == [3]
        return placed

    return make


def test_of_copies_that_stay_with_their_mark_it_is_on_record_as_of_those_that_leave(revise, designer):
    truss = revise()
    event = MarkEvent.objects.get(code="copies turned")
    assert (event.truss, event.by) == (truss, designer)
    assert event.values == {"copies": [3], "turned": [3], "about_in": {"3": 120.0}}
    [turn] = turns_of([truss.pk])
    assert turn[1:] == (truss.pk, 3, 120.0)


def test_an_open_wall_and_an_open_weight_stay_where_they_are_asked(placed, asked, revise, job):
    BearingLink.objects.create(truss=placed, joint="C", wall=WallLine.objects.create(job=job, label=WALL))
    wall, weight = asked(placed, "bearing", MOVED, [3]), asked(placed, "load", HUNG, [1, 3])
    for change in (wall, weight):
        compute(change)
    revise()
    assert [one.does for one in moving(job)] == [f"Request {wall.pk} asks to move {WALL} {LEFT} under K1"]
    turned = {one.ask.kind: {number for _, number in one.turned} for one in standing_asks(job, "load", "bearing")}
    assert turned == {"load": {3}, "bearing": {3}}


def test_computed_again_it_is_asked_by_the_drawing_turned(placed, asked, revise, job, builder):
    BearingLink.objects.create(truss=placed, joint="C", wall=WallLine.objects.create(job=job, label=WALL))
    wall, weight = asked(placed, "bearing", MOVED, [3]), asked(placed, "load", HUNG, [1, 3])
    for change in (wall, weight):
        compute(change)
    revise()
    for change in (wall, weight):
        workflow.compute_again(builder, change)
        told = change.events.get(verb="asks turned")
        assert told.values == {"mark": "K1", "copies": [3]}
    ask = wall.asks.get()
    assert ask.wish == {"change": "moved", "joint": "A", "to_in": 8.0}
    assert [one.does for one in moving(job)] == [f"Request {wall.pk} asks to move {WALL} {LEFT} under K1"]
    by = {tuple(one.copies): one.wish["at_in"] for one in weight.asks.all()}
    assert by == {(1,): 60, (3,): 180}
    assert [one.turned for one in standing_asks(job, "load", "bearing")] == [frozenset()] * 3
    # a second time nothing has turned since
    weight.refresh_from_db()
    compute(weight)
    workflow.decide(placed.current.issued_by, weight, verdict="send back", reason="How heavy?")
    workflow.answer(builder, weight, says="As asked")
    assert {tuple(one.copies): one.wish["at_in"] for one in weight.asks.all()} == by


@pytest.mark.parametrize("then", ["compute", "answer"])
def test_what_a_lopsided_truss_takes_is_that_of_the_end_that_was_meant(join, placed, asked, builder, designer, then):
    """Of K1-b the web stands 100 in. from the left. Copy 2 stands turned in it, and 60 in. from the left of the
    drawing by which it was asked is 180 in. from the left of this one."""
    change = compute(asked(placed, "load", HUNG, [2]))
    lopsided = join()
    assert lopsided.current.document["joints"]["D"] == [100, 0]
    if then == "compute":
        workflow.compute_again(builder, change)
    else:
        workflow.decide(designer, change, verdict="send back", reason="How heavy?")
        workflow.answer(builder, change, says="As asked")
    ask = answer_of(change)
    assert (ask.truss, ask.copies, ask.wish["at_in"]) == (lopsided, [2], 180)
    at = {at_in: answer_of(asked(lopsided, "load", {**HUNG, "at_in": at_in}, [1])) for at_in in (60, 180)}
    assert ask.figures["most_lb"] == at[180].figures["most_lb"]
    assert at[180].figures["most_lb"] != at[60].figures["most_lb"]


def test_one_weight_over_copies_that_stand_both_ways_is_refused_by_their_names(revise, asked):
    """60 in. from the left of the drawing are 60 from one wall in copies 1 and 2, and 60 from the other in copy 3."""
    truss = revise()
    for wanted in (HUNG, {**HUNG, "shared": "stiff"}):
        with pytest.raises(Refused) as refused:
            asked(truss, "load", wanted, [1, 2, 3])
        assert (refused.value.code, refused.value.values["copies"]) == ("weight-both-ways", [3])
        for copies in ([1, 2], [3]):
            assert asked(truss, "load", {**wanted, "note": f"{copies}"}, copies).asks.get().copies == copies


def test_a_question_that_stays_is_turned_with_its_copy_when_all_else_is_asked_anew(
    placed, revise, job, builder, designer, needed_by
):
    opening = {"truss": placed.pk, "kind": "opening", "opening": {**FITS, "centre_in": [70, 14]}, "copies": [3]}
    place = {"on": "drawing", "x_in": 60, "y_in": 5}
    question = {"says": "What is this?", "place": place}
    asks = [opening, {"truss": placed.pk, "kind": "question", "question": question, "copies": [3]}]
    change = compute(workflow.file(builder, job, reason="A pipe", needed_by=needed_by, asks=asks))
    workflow.decide(designer, change, verdict="send back", reason="Where?")
    revise()
    stay = [ask.pk for ask in change.asks.all() if ask.kind == Kind.QUESTION]
    opening["opening"]["centre_in"] = [160, 14]
    workflow.answer(builder, change, says="There", asks=[opening], stay=stay)
    there = change.asks.get(kind=Kind.QUESTION)
    assert there.wish["place"] == {**place, "x_in": 180}
    # what is asked just now is asked by today's drawing
    assert change.asks.get(kind=Kind.OPENING, replaced=False).opening["centre_in"] == [160, 14]


def test_what_was_being_computed_then_is_computed_anew(join, placed, asked):
    """The worker had read it by the drawing that was: what it writes doesn't count."""
    change = asked(placed, "load", HUNG, [2])
    mine = queue.claim(change.computations.get().pk)
    write = results.compute(mine)
    lopsided = join()
    assert not queue.finish(mine, write)
    ask = answer_of(change)
    assert (ask.truss, ask.revision, ask.wish["at_in"]) == (lopsided, lopsided.current, 180)
    assert Ask.objects.filter(request=change).count() == 1


def test_what_others_ask_is_drawn_where_it_is_of_the_drawing_of_today(join, placed, asked):
    change = compute(asked(placed, "opening", FITS, [2]))
    lopsided = join()
    [one] = pending([lopsided.pk])[lopsided.pk]
    assert (one.request, one.opening["centre_in"], one.copies) == (change.pk, [140, 20], (2,))


def test_beside_a_request_that_turned_copies_overtook_others_are_where_its_own_drawing_has_them(
    placed, asked, revise, client_of, designer
):
    """Both were asked 1 in. apart; one keeps the drawing of before, by which the other lies there still."""
    mine, theirs = (
        compute(asked(placed, "opening", {**FITS, "centre_in": [x, 14], "diameter_in": 4}, [3])) for x in (70, 71)
    )
    [section] = sections(mine)
    assert [one.opening["centre_in"] for one in section.pending] == [[71, 14]]
    before = [one.overlap for one in section.others]
    revise()
    mine.refresh_from_db()
    [section] = sections(mine)
    assert [one.opening["centre_in"] for one in section.pending] == [[71, 14]]
    assert [one.overlap for one in section.others] == before
    assert all(before)
    assert f"request {theirs.pk}" in text(client_of(designer).get(f"/requests/{mine.pk}/")).lower()
    # by the new drawing both lie at the other end
    workflow.compute_again(designer, mine)
    compute(mine)
    [section] = sections(mine)
    assert [one.opening["centre_in"] for one in section.pending] == [[169, 14]]


def test_in_three_dimensions_it_stands_as_it_was_asked(join, placed, asked, client_of, builder):
    """By the drawing that it was asked by until it is computed again, and then by today's: at one place."""
    change = compute(asked(placed, "load", HUNG, [2]))

    def hangs() -> list[tuple[float, float]]:
        answer = client_of(builder).get(f"/requests/{change.pk}/set.glb")
        found = trimesh.load(io.BytesIO(answer.content), file_type="glb")
        shown = [mesh.bounds / 0.0254 for name, mesh in found.geometry.items() if "how large it is" in name]
        return [(round(float(x)), round(float(z))) for x, _, z in (box.mean(axis=0) for box in shown)]

    asked_at = hangs()
    join()
    assert hangs() == asked_at == [(60, -24)]
    workflow.compute_again(builder, change)
    assert hangs() == asked_at


def test_an_option_that_was_drawn_the_other_way_round_is_not_carried_over(placed, designer, revise):
    document = copy.deepcopy(placed.current.document)
    document["joints"]["D"] = [100, 0]
    change = compute(workflow.start_revision(designer, placed, reason="A beam", document=document, copies=[3]))
    revise()
    workflow.compute_again(designer, change)
    compute(change)
    assert not change.options.filter(stale=False).exists()


def test_said_of_walls_before_it_holds_with_the_ends_changed_over(revise, placed, job):
    """K1 stands on `front` at its left and `back` at its right; copy 3 is turned since that was said."""
    front, back = (WallLine.objects.create(job=job, label=label) for label in ("front", "back"))
    for joint, wall in (("A", front), ("C", back)):
        BearingLink.objects.create(truss=placed, joint=joint, wall=wall)
    truss = revise()

    def under(number: int, **more: bool) -> list[WallLine | None]:
        walls = Walls(truss, truss.current.document, truss.stands_on.all(), turns_of([truss.pk]))
        return [walls.under(joint, Number(truss.pk, number), **more) for joint in "AC"]

    assert (under(1), under(3)) == ([front, back], [back, front])
    assert under(3, turned=True) == [front, back]


def test_bearings_that_press_on_two_kinds_of_plate_change_no_ends(placed, king_post, job):
    document = {**king_post, "openings": [FITS]}
    other = mirrored(document)
    assert alike_turned(document, other)

    def gone() -> list[frozenset[int]]:
        wanted = [Wanted(placed, (1, 2), document, None), Wanted(placed, (3,), other, None)]
        return [one.turned for one in homes(wanted)]

    assert gone() == [frozenset({3})]
    for joint, plate in (("A", "2x6 DF-L No.2"), ("C", "2x6 SPF No.1/No.2")):
        wall = WallLine.objects.create(job=job, label=joint, plate=plate)
        BearingLink.objects.create(truss=placed, joint=joint, wall=wall)
    assert gone() == [frozenset(), frozenset()]


STANDS = {
    "bearings": [{"joint": "A"}, {"joint": "M"}, {"joint": "C"}],
    "joints": {"A": [0, 0], "M": [100, 0], "C": [240, 0]},
}
TURNED = {
    "bearings": [{"joint": "a"}, {"joint": "m"}, {"joint": "c"}],
    "joints": {"a": [0, 0], "m": [140, 0], "c": [240, 0]},
}


def test_the_bearings_at_each_other_s_mirrored_places():
    assert across(STANDS) == {"A": "C", "C": "A"}


@pytest.mark.parametrize(
    ("kind", "wish", "by_today"),
    [
        ("bearing", MOVED, {"change": "moved", "joint": "a", "to_in": 8}),
        ("bearing", {"change": "taken away", "joint": "M"}, {"change": "taken away", "joint": "m"}),
        (
            "bearing",
            {"change": "added", "at_in": 50, "width_in": 3.5},
            {"change": "added", "at_in": 190, "width_in": 3.5},
        ),
        (
            "bearing",
            {"change": "measured", "walls": [{"joint": "A", "x_in": 1, "y_in": -0.5}]},
            {"change": "measured", "walls": [{"joint": "c", "x_in": 239, "y_in": -0.5}]},
        ),
        ("load", {"at_in": 60, "over": [1, 2]}, {"at_in": 180, "over": [1, 2]}),
        ("passage", {"along_in": 60, "across_in": 36}, {"along_in": 180, "across_in": 36}),
        (
            "question",
            {"says": "?", "place": {"on": "drawing", "x_in": 60, "y_in": 5}},
            {"says": "?", "place": {"on": "drawing", "x_in": 180, "y_in": 5}},
        ),
        ("question", {"says": "?", "place": {"on": "plan", "x_in": 60, "y_in": 5}}, None),
        ("run", {"letters": ["A"], "crossings": [{"at_in": [60, 5]}]}, None),
    ],
)
def test_each_kind_is_asked_at_the_same_place_of_the_wood(kind, wish, by_today):
    assert kind in Kind.values
    over = Over(True, 240.0, STANDS, TURNED)
    assert HERE[kind].turned(wish, over) == (by_today or wish)


def test_a_bearing_that_is_there_no_more_is_no_other():
    gone: dict[str, Any] = {**TURNED, "bearings": [{"joint": "a"}, {"joint": "c"}]}
    assert Over(True, 240.0, STANDS, gone).bearing("M") == "M as it was before"


def test_a_bearing_that_today_s_drawing_has_not_is_answered_in_words(placed, asked):
    change = asked(placed, "bearing", MOVED, [3])
    Ask.objects.filter(request=change).update(wish={**MOVED, "joint": "M as it was before"})
    ask = answer_of(change)
    assert ask.says.startswith("Today's truss can't bear so. K1 has no bearing at joint \"M as it was before\".")


@pytest.fixture
def turned(placed, job, revise) -> Truss:
    """Before copy 3 was turned it was said that A stands on the front wall, C on the back one."""
    for joint, label in (("A", "front"), ("C", "back")):
        BearingLink.objects.create(truss=placed, joint=joint, wall=WallLine.objects.create(job=job, label=label))
    return revise()


def under(truss: Truss) -> dict[int, list[str]]:
    truss = Truss.objects.get(pk=truss.pk)
    [walls] = walls_of(truss.job, [(truss, truss.current.document)])
    return {n: [str(walls.under(joint, Number(truss.pk, n))) for joint in "AC"] for n in (1, 3)}


def test_the_order_of_setting_names_the_wall_under_the_marked_end_of_each_copy(turned, job, client_of, site_lead):
    page = client_of(site_lead).get(reverse("trusses:setting", args=[job.pk]))
    rows = [(row["end"], row["stands"].number, row["stands"].marked_end) for row in page.context["rows"]]
    assert rows == [("front", 1, "left"), ("front", 2, "left"), ("back", 3, "right")]
    assert re.search(r"marked end toward [^<]*right[^<]*, <bdi>back</bdi>", page.content.decode())


def test_the_same_said_again_turns_nothing_round(turned, designer):
    as_stood = {1: ["front", "back"], 3: ["back", "front"]}
    assert under(turned) == as_stood
    links.set_link(designer, turned, "A", wall="front", plate="2x6 DF-L No.2")
    links.set_link(designer, turned, "C", wall="back", plate="2x6 DF-L No.2")
    assert under(turned) == as_stood


def test_what_is_said_of_a_mark_with_turned_copies_alone_is_of_these(turned, designer):
    turned.copies.exclude(number=3).delete()
    links.set_link(designer, turned, "A", wall="front")
    links.set_link(designer, turned, "C", wall="back")
    assert under(turned)[3] == ["front", "back"]


BOTH = "back (copies 1–2); front (copy 3, turned end for end)"


def test_whoever_asks_of_a_bearing_reads_what_is_under_each(turned, job, client_of, builder):
    said = text(client_of(builder).get(reverse("changes:ask-kind", args=[job.pk, turned.pk, "bearing"])))
    assert f"{BOTH} (C), at 20'" in said


@pytest.mark.parametrize(("copies", "under"), [([1, 2, 3], BOTH), ([3], "front")])
def test_a_request_tells_what_is_under_the_copies_that_it_is_about(turned, asked, client_of, builder, copies, under):
    change = compute(asked(turned, "bearing", MOVED, copies))
    said = text(client_of(builder).get(reverse("changes:request", args=[change.pk])))
    assert f"Asked: bearing C ( {under} ) moved to" in said
    assert f"Bearing C: {under}" in said


def test_what_was_asked_of_a_copy_before_it_turned_is_of_the_wall_that_was_meant(
    placed, asked, revise, job, client_of, builder
):
    for joint, label in (("A", "front"), ("C", "back")):
        BearingLink.objects.create(truss=placed, joint=joint, wall=WallLine.objects.create(job=job, label=label))
    change = compute(asked(placed, "bearing", MOVED, [3]))
    revise()
    said = text(client_of(builder).get(reverse("changes:request", args=[change.pk])))
    assert "Asked: bearing C ( back ) moved to" in said
