"""A wall that bearings are asked to leave, and the other trusses that bear on it."""

from __future__ import annotations

import pytest
from django.db import connection
from django.template.loader import render_to_string
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from changes import workflow
from changes.asks.leaving import Leaving
from changes.asks.on_walls import Shared, alike, leaves, moving
from changes.models import Ask, Request
from tests.changes.asking import DAMAGE, answer_of, approve, compute
from tests.changes.on_a_wall import K2, LEFT, MOVED, WALL, read, stand
from tests.refused import refused
from trusses import paper_codes
from trusses.bearings import links
from trusses.models import BearingLink, Copy, Job, MarkEvent, Placement, WallLine
from trusses.plan.on_walls import Bears, Number, bearing_on
from trusses.plan.ways import Goes
from trusses.production import move
from trusses.refusals import Refused
from trusses.revisions import add_mark

STANDS = {"bearings": [{"joint": "A"}, {"joint": "C"}], "joints": {"A": [0, 0], "C": [240, 0]}}


@pytest.mark.parametrize(
    ("wish", "by"),
    [
        ({"change": "moved", "joint": "C", "to_in": 232}, {"C": -8}),
        ({"change": "moved", "joint": "gone", "to_in": 232}, {}),
        ({"change": "taken away", "joint": "A"}, {"A": None}),
        ({"change": "added", "at_in": 120, "width_in": 3.5}, {}),
        (
            {
                "change": "measured",
                "walls": [{"joint": "A", "x_in": 0.1, "y_in": 1}, {"joint": "C", "x_in": 242, "y_in": 0}],
            },
            {"C": 2},
        ),
    ],
)
def test_which_bearings_leave_their_wall(wish, by):
    assert leaves(wish, STANDS) == by


def test_two_go_alike_only_the_same_way():
    assert alike(Goes("x", 8), Goes("x", 8.2))
    assert alike(None, None)
    assert not alike(Goes("x", 8), Goes("x", -8))
    assert not alike(Goes("x", 8), Goes("y", 8))
    assert not alike(Goes("x", 8), Goes("", 8))
    assert not alike(None, Goes("x", 0.0))
    assert not alike(Goes("x", 8), Goes("x", 9))


def test_what_bears_on_a_wall_is_told_by_how_far_it_is():
    stages = ["set", "set", "delivered", "released", "designing"]
    five = Bears(2, "F2", {Number(2, n): stage for n, stage in enumerate(stages)})
    assert five.says == "F2, 5 copies: 2 set, 1 delivered, 2 not cut yet"
    left = five.besides({Number(2, 2), Number(2, 3), Number(2, 4)})
    assert left.says == "F2, 2 copies: all set"
    assert left.is_cut
    assert five.besides(five.copies) is None


@pytest.mark.parametrize("several", [False, True])
def test_several_marks_on_a_wall_and_several_sentences_are_lists(several):
    marks = [Bears(pk, f"F{pk}", {Number(pk, 1): "set"}) for pk in ((2, 3) if several else (2,))]
    one = Shared(Leaving(WallLine(label=WALL), None, frozenset()), tuple(marks))
    walls = render_to_string("changes/_walls.html", {"walls": [one]})
    assert [f'<li class="breaking">{bears.says}</li>' in walls for bears in marks] == [several] * len(marks)
    assert (f'<bdi>{WALL}</bdi>: <span class="breaking">F2, 1 copy: set</span>.</strong>' in walls) != several
    told = ["bearing-fits", "walls-as-drawn", "bearing-strains"][: 3 if several else 2]
    ask = Ask(kind="bearing", verdict="options", told=[{"code": code, "values": {}} for code in told])
    answer = render_to_string("changes/_answer.html", {"ask": ask, "change": Request(state="computing")})
    assert answer.count("<li>") == (3 if several else 0)
    assert "within its limits." in answer


def test_whoever_asks_decides_or_sets_is_told_who_else_bears_on_the_wall(
    ask, beside, row, job, client_of, api_of, builder, designer, site_lead
):
    typed = {"change": "moved", "joint": "C", "by": '8"', "toward": "left", "copies": ""}
    form = reverse("changes:ask-kind", args=[job.pk, row.pk, "bearing"])
    live = client_of(builder).post(form, typed, headers={"HX-Request": "true"}).content.decode()
    assert K2 in live
    assert "If the wall moves 8&quot; to the left on the plan, it moves from under them too" in live
    assert f"/jobs/{job.pk}/trusses/{beside.pk}/ask/question/?says=A%20wall%20under%20K2" in live
    beside.copies.filter(number=3).update(stage="released")
    live = client_of(builder).post(form, typed, headers={"HX-Request": "true"}).content.decode()
    assert f"/jobs/{job.pk}/trusses/{beside.pk}/ask/bearing/?change=moved&amp;joint=A" in live
    beside.copies.filter(number=3).update(stage="delivered")
    unsaid = client_of(builder).post(form, typed | {"by": ""}, headers={"HX-Request": "true"}).content.decode()
    assert "If the wall moves, it moves from under them too" in unsaid
    change = ask("bearing", MOVED)
    sheet = reverse("trusses:sheet", args=[job.pk, beside.pk, 0])
    own = reverse("trusses:sheet", args=[job.pk, row.pk, 0])
    asked = f"Request {change.pk} asks to move {WALL} {LEFT} under K1. Copies 1–3 of K2 bear on it too, and nobody"
    first = read(client_of(site_lead), sheet).partition("Appendix")[0]
    assert "ask the designer how what is set on it (1–2) is held, and before any more is set." in first
    assert asked in first
    paper = reverse("trusses:paper", args=[paper_codes.counting(beside.current).token])
    may = f"The wall under it may move (asked in request {change.pk}, not decided): ask the designer how what is set on"
    assert f"{may} it (1–2)" in read(client_of(None), paper)
    one = answer_of(change)
    assert one.options.filter(passes=True).exists()
    address = reverse("changes:request", args=[change.pk])
    assert f"Other trusses bear on the same wall, {WALL}: {K2}." in read(client_of(builder), address)
    decide = read(client_of(designer), address)
    assert f"{WALL} also carries {K2}." in decide.partition("Decide")[2]
    [told] = api_of(builder).get(f"/api/v1/requests/{change.pk}/").json()["asks"]
    assert told["others_on_walls"] == [f"{WALL}: {K2}"]
    approve(designer, change, {one.pk: one.options.filter(passes=True).first().pk}, reason="The wall comes in")
    assert K2 in read(client_of(builder), address)
    assert f"By the decision on request {change.pk}, {WALL} moves {LEFT} under K1" in read(client_of(site_lead), sheet)
    assert "The wall under it moves: ask the designer how what is set on it (1–2)" in read(client_of(None), paper)
    assert "The wall under it moves" not in read(client_of(site_lead), own.replace("/0/", "/1/"))
    mark = read(client_of(designer), reverse("trusses:mark", args=[job.pk, beside.pk]))
    assert "until the like is decided for them, or a designer says anew what they stand on" in mark
    # the bearing went with its wall, and its plate was checked where it stands now
    row.refresh_from_db()
    [new] = [b["joint"] for b in row.current.document["bearings"] if b["joint"] != "A"]
    assert new != "C"
    assert BearingLink.objects.get(truss=row, joint=new).wall.label == WALL
    assert row.current.analysis["surroundings"]["wall_plates"] == {new: "2x6 DF-L No.2"}
    # until a designer says anew what they bear on
    links.set_link(designer, beside, "A", wall=WALL)
    assert "before setting: the wall" not in read(client_of(site_lead), sheet)


def test_those_for_whom_the_like_is_asked_are_told_no_more(ask, beside, job, designer):
    Copy.objects.filter(truss=beside).update(stage="released")
    links.set_link(designer, beside, "C", wall=WALL)
    ask("bearing", MOVED)
    [told] = moving(job)
    assert [one.says for one in told.others] == ["K2, 3 copies: all not cut yet"]
    # the other way is not the like, nor is the wall taken away
    ask("bearing", {"change": "moved", "joint": "A", "to_in": 8}, truss=beside.pk, copies=[1])
    assert [[one.mark for one in told.others] for told in moving(job)] == [["K2"], ["K1", "K2"]]
    ask("bearing", MOVED, truss=beside.pk, copies=[1, 3])
    assert [one.says for one in moving(job)[0].others] == ["K2, 1 copy: not cut yet"]


def test_a_mark_of_which_nobody_said_anything_bears_where_the_plan_draws_a_wall(beside, row, job):
    BearingLink.objects.filter(truss=row).delete()
    WallLine.objects.filter(label=WALL).update(level="Roof", points=[[240, -10], [240, 200]])
    [on] = bearing_on(job).on.values()
    assert [one.mark for one in on] == ["K1", "K2"]


class TestDecidedBesideDamage:
    """One decision moves the bearings of K1-1 to 4 and has K1-5 made anew; then K1-5 is kept off all the same."""

    @pytest.fixture
    def change(self, beside, row, job, builder, designer, needed_by):
        asks = [
            {"kind": "bearing", "truss": row.pk, "bearing": MOVED, "copies": [1, 2, 3, 4]},
            {"kind": "damage", "truss": row.pk, "damage": DAMAGE, "copies": [5]},
        ]
        change = compute(workflow.file(builder, job, reason="Both", needed_by=needed_by, asks=asks))
        moved = change.asks.get(kind="bearing")
        options = {moved.pk: moved.options.filter(passes=True).first().pk}
        said = {"verdict": "approve", "reason": "The wall comes in"}
        workflow.decide(designer, change, **said, options=options, ends_by="new truss")
        return change

    def keep_off(self, designer, change):
        workflow.decide(designer, change, verdict="approve", reason="It bows", ends_by="keep off")

    def under_k2(self, job):
        return [told for told in moving(job) if K2 in [one.says for one in told.others]]

    @pytest.mark.parametrize("declined", [False, True])
    def test_the_wall_moves_also_once_its_request_is_open_again(
        self, change, beside, job, designer, site_lead, declined
    ):
        self.keep_off(designer, change)
        if declined:
            workflow.decide(designer, compute(change), verdict="decline", reason="It isn't damaged")
        [told] = self.under_k2(job)
        assert told.does == f"By the decision on request {change.pk}, {WALL} moves {LEFT} under K1"
        assert told.decided
        beside.copies.filter(number=3).update(built_to=beside.current, released_to=beside.current)
        with refused(Refused, "wall-moves", "asked", mark="K2", copies=[3], does=told.does):
            move(site_lead, beside, [beside.copies.get(number=3).pk], "set")

    def test_what_is_asked_since_is_not_decided_with_it(self, change, row, job, builder, designer):
        self.keep_off(designer, change)
        workflow.decide(designer, change, verdict="send back", reason="And copy 5?")
        asks = [
            {"kind": "bearing", "truss": row.pk, "bearing": MOVED, "copies": [5]},
            {"kind": "damage", "truss": row.pk, "damage": DAMAGE, "copies": [5]},
        ]
        workflow.answer(builder, change, says="That one too", asks=asks)
        assert [told.decided for told in moving(job)] == [True, False]
        assert moving(job)[1].does.startswith(f"Request {change.pk} asks to move {WALL}")

    def test_what_was_said_anew_since_stays_the_answer_to_it(self, change, beside, job, designer):
        assert len(self.under_k2(job)) == 1
        links.set_link(designer, beside, "A", wall=WALL)
        self.keep_off(designer, change)
        assert self.under_k2(job) == []


def test_copies_that_join_a_mark_by_a_decision_count_as_decided(ask, beside, job, designer):
    """The second finds its design drawn already, so no revision is issued for it."""
    for number in (1, 2):
        one = answer_of(change := ask("bearing", MOVED, copies=[number]))
        approve(designer, change, {one.pk: one.options.filter(passes=True).first().pk}, reason="The wall comes in")
    assert [decision.issues.count() for decision in change.decisions.all()] == [0]
    assert [told.decided for told in moving(job)] == [True, True]


def test_how_much_is_read_does_not_grow_with_what_is_asked(ask, beside, row, job):
    Copy.objects.filter(truss=beside).update(stage="released")
    read = []
    for number, truss in [(1, row), (1, beside), (2, row), (2, beside), (3, row), (4, row)]:
        ask("bearing", {**MOVED, "to_in": 232 - number}, truss=truss.pk, copies=[number])
        with CaptureQueriesContext(connection) as queries:
            moving(Job.objects.get(pk=job.pk))
        read.append(len(queries))
    assert read[1] == read[-1]


def test_walls_are_read_once_for_however_many_marks(ask, row, job, king_post, designer):
    """Of none of them anybody said what it stands on: the plan draws walls under all."""
    for x in (0, 240):
        WallLine.objects.create(job=job, label=f"at {x}", level="Roof", points=[[x, -10], [x, 200]])
    read = []
    for mark in ("K2", "K3", "K4"):
        other = add_mark(job, {**king_post, "mark": mark}, 2, designer)
        stand(other)
        ask("bearing", {**MOVED, "to_in": 200}, truss=other.pk, copies=[1])
        with CaptureQueriesContext(connection) as queries:
            told = moving(Job.objects.get(pk=job.pk))
        with CaptureQueriesContext(connection) as of_bearings:
            bearing_on(Job.objects.get(pk=job.pk))
        read.append((len(queries), len(of_bearings)))
    assert len(told) == 3
    assert [one.mark for one in told[0].others] == ["K1", "K2", "K3", "K4"]
    assert read[0] == read[-1]


class TestWhereTo:
    def asked(self, job):
        return [(told.does, [one.says for one in told.others]) for told in moving(job)]

    def test_of_one_mark_copies_that_stand_turned_go_the_other_way(self, ask, row, job):
        """Two wings end on the wall between them. What is 8 in. to the left of one drawing is both ways of the plan at
        once: for each side the like isn't asked for the other."""
        BearingLink.objects.create(truss=row, joint="C", wall=WallLine.objects.create(job=job, label="w"))
        stand(row, 4, 5, turned=True, x=240)
        ask("bearing", MOVED)
        (left, others), (right, theirs) = self.asked(job)
        assert left.endswith('asks to move w 8" to the left on the plan under copies 1–3 of K1')
        assert right.endswith('asks to move w 8" to the right on the plan under copies 4–5 of K1')
        assert (others, theirs) == (["K1, 2 copies: all not cut yet"], ["K1, 3 copies: all not cut yet"])

    @pytest.mark.parametrize(
        ("direction", "turned", "north", "far"),
        [
            ("y", False, None, '8" down the plan'),
            ("y", True, None, '8" up the plan'),
            ("y", False, 0.0, '8" south (down the plan)'),
            ("y", True, 45.0, '8" north-west (up the plan)'),
            ("x", True, 90.0, '8" north (to the right on the plan)'),
        ],
    )
    def test_is_told_as_the_plan_shows_it(self, ask, beside, row, job, direction, turned, north, far):
        Job.objects.filter(pk=job.pk).update(north_deg=north)
        job.refresh_from_db()
        stand(row, direction=direction, turned=turned)
        request = ask("bearing", MOVED)
        assert self.asked(job)[0][0] == f"Request {request.pk} asks to move {WALL} {far} under K1"

    def test_two_ends_of_drawings_go_one_way_with_their_wall(self, ask, beside, row, job):
        """K2 stands turned, so its left end is on the wall: 8 in. to the right of its drawing is K1's 8 in. left."""
        Copy.objects.filter(truss=beside).update(stage="released")
        Placement.objects.filter(truss=beside).update(turned=True, origin_x_in=0)
        ask("bearing", MOVED)
        ask("bearing", {"change": "moved", "joint": "A", "to_in": 8}, truss=beside.pk, copies=[1, 2, 3])
        assert [others for _, others in self.asked(job)] == [[], []]
        # not turned, the same words move it the other way
        Placement.objects.filter(truss=beside).update(turned=False)
        both = self.asked(job)
        assert [others for _, others in both] == [["K2, 3 copies: all not cut yet"], ["K1, 5 copies: all not cut yet"]]
        assert "to the right on the plan under K2" in both[1][0]

    def test_without_a_place_in_plan_it_is_told_by_the_drawing(self, ask, beside, row, job):
        row.copies.update(placement=None)
        request = ask("bearing", MOVED)
        does, others = self.asked(job)[0]
        assert does == f'Request {request.pk} asks to move {WALL} 8" toward the left end of the drawing under K1'
        assert others == [K2]

    def test_some_copies_without_a_place_are_asked_for_with_the_others_of_their_ask(
        self, ask, beside, row, job, designer, site_lead
    ):
        """Of K1 only 1 to 3 have a place in plan: after the decision 4 and 5 are set as the rest is."""
        row.copies.filter(number__in=(4, 5)).update(placement=None)
        one = answer_of(change := ask("bearing", MOVED))
        assert [others for _, others in self.asked(job)] == [[K2], [K2]]
        approve(designer, change, {one.pk: one.options.filter(passes=True).first().pk}, reason="The wall comes in")
        row.refresh_from_db()
        row.copies.update(stage="delivered", built_to=row.current, released_to=row.current)
        assert move(site_lead, row, row.copies.values_list("pk", flat=True), "set") == 5
        assert [others for _, others in self.asked(job)] == [[K2], [K2]]

    def test_without_a_place_it_goes_as_its_own_ask_has_it_and_not_as_another_s(self, ask, beside, job, designer):
        """Of K1 and of K2 only the first copy has a place; K2's moves the other way in plan."""
        Copy.objects.filter(truss=beside).update(stage="released")
        Placement.objects.filter(truss=beside).update(turned=True, origin_x_in=0)
        Copy.objects.filter(number__gt=1).update(placement=None)
        links.set_link(designer, beside, "C", wall=WALL)
        ask("bearing", MOVED)
        ask("bearing", MOVED, truss=beside.pk, copies=[1, 2, 3])
        assert [others for _, others in self.asked(job)] == [
            ["K2, 3 copies: all not cut yet"],
            ["K2, 1 copy: not cut yet"],
            ["K1, 5 copies: all not cut yet"],
            ["K1, 1 copy: not cut yet"],
        ]

    def test_a_copy_that_a_decision_turned_since_goes_as_it_was_asked(self, ask, beside, row, job, designer):
        ask("bearing", MOVED)
        Placement.objects.filter(truss=row).update(turned=True)
        assert "to the right on the plan" in self.asked(job)[0][0]
        values = {"copies": [1, 2, 3, 4, 5], "turned": [1, 2, 3, 4, 5], "to": "K1-b"}
        MarkEvent.objects.create(truss=row, by=designer, code=MarkEvent.Code.LEFT, values=values)
        assert "to the left on the plan" in self.asked(job)[0][0]

    @pytest.mark.parametrize("then", ["answer", "compute", "decide"])
    def test_what_is_asked_anew_is_of_the_drawing_as_it_is_by_then(
        self, ask, beside, row, job, builder, designer, request, then
    ):
        """Turned while it was open; what is read from today's drawing goes the other way by the same words. Computed
        again it is the old words by the new drawing, and goes as before."""
        change = compute(ask("bearing", MOVED))
        Placement.objects.filter(truss=row).update(turned=True)
        values = {"copies": [1, 2, 3, 4, 5], "turned": [1, 2, 3, 4, 5], "to": "K1-b"}
        MarkEvent.objects.create(truss=row, by=designer, code=MarkEvent.Code.LEFT, values=values)
        assert "to the left on the plan" in self.asked(job)[0][0]
        if then == "compute":
            request.getfixturevalue("weaker")
            workflow.compute_again(designer, change)
            assert change.asks.get().wish == {"change": "moved", "joint": "A", "to_in": 8.0}
            assert ["to the left on the plan" in does for does, _ in self.asked(job)] == [True]
            return
        links.set_link(designer, row, "C", wall=WALL)
        workflow.decide(designer, change, verdict="send back", reason="It stands turned now")
        anew = [{"kind": "bearing", "truss": row, "bearing": MOVED}]
        workflow.answer(builder, change, says="The same way by the new drawing", asks=anew)
        if then == "decide":
            one = compute(change).asks.get(replaced=False)
            approve(designer, change, {one.pk: one.options.filter(passes=True).first().pk}, reason="It comes in")
            assert [told.decided for told in moving(job)] == [True]
        assert ["to the right on the plan" in does for does, _ in self.asked(job)] == [True]
