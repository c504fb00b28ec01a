"""What a decision on a wall that only the plan draws leaves to be asked of the other trusses on it."""

from __future__ import annotations

import html
import re

import pytest
from django.urls import reverse

from changes.asks.on_walls import leaving, moving, shared
from changes.models import Ask
from tests.changes.asking import answer_of, approve
from trusses.bearings import links
from trusses.models import Job, Placement, WallLine
from trusses.plan import placing
from trusses.revisions import add_mark
from trusses.sheets import setting_page

K2 = "K2, 3 copies: all delivered"


@pytest.fixture
def stands(job, king_post, designer):
    """A mark's three copies at a place of the plan, ready to be set."""

    def make(mark, x, y):
        other = add_mark(job, {**king_post, "mark": mark}, 3, designer)
        place = Placement.objects.create(truss=other, origin_x_in=x, origin_y_in=y, spacing_in=24, count=3)
        other.copies.update(placement=place, stage="delivered", built_to=other.current, released_to=other.current)
        return other

    return make


@pytest.fixture
def beside(row, stands):
    """K2 goes on in the row of K1's five copies."""
    return stands("K2", 0, 120)


@pytest.fixture
def decide(ask, designer):
    def make(joint, to_in, **more):
        change = ask("bearing", {"change": "moved", "joint": joint, "to_in": to_in}, **more)
        one = answer_of(change)
        approve(designer, change, {one.pk: one.options.filter(passes=True).first().pk}, reason="The wall moves")
        return change

    return make


@pytest.fixture
def taps(job, client_of, site_lead, monkeypatch):
    """How many copies one tap would set, and of how many the order of setting says to ask first."""
    monkeypatch.setattr(setting_page, "without_seal", lambda *_: [])

    def read():
        address = reverse("trusses:setting", args=[job.pk]) + "?level=Roof"
        page = html.unescape(client_of(site_lead).get(address).content.decode())
        return len(re.findall(r'form="tap-', page)), page.count("its wall moves: ask first")

    return read


def draw(job, label, x, low=-10, high=300):
    return WallLine.objects.create(job=job, label=label, level="Roof", points=[[x, low], [x, high]])


def told(job):
    return [(one.does, [bears.says for bears in one.others]) for one in moving(Job.objects.get(pk=job.pk))]


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(("joint", "to_in"), [("A", 8), ("A", 16), ("C", 224)])
def test_the_stop_outlives_the_approval(beside, row, job, decide, taps, turned, joint, to_in):
    """At whichever end of the drawing, also where the row begins elsewhere by the new one."""
    row.placements.update(turned=turned)
    draw(job, "wall", 240 if (joint == "C") != turned else 0)
    request = decide(joint, to_in)
    [(does, others)] = told(job)
    assert does.startswith(f"By the decision on request {request.pk}, wall moves")
    assert others == [K2]
    assert taps() == (0, 3)


def test_an_open_ask_keeps_its_wall_where_another_decision_moves_the_row(beside, job, ask, decide):
    draw(job, "wall", 240)
    request = ask("bearing", {"change": "moved", "joint": "C", "to_in": 200})
    decide("A", 16)
    assert told(job) == [(f"Request {request.pk} asks to move wall 3'-4\" to the left on the plan under K1", [K2])]


def test_no_wall_is_named_that_stands_where_the_bearing_went(beside, job, stands, decide):
    stands("P1", 12, 216)
    draw(job, "front wall", 0, high=200)
    draw(job, "porch beam", 12, low=0)
    request = decide("A", 10)
    does = f'By the decision on request {request.pk}, front wall moves 10" to the right on the plan under K1'
    assert told(job) == [(does, [K2])]


def redraw(designer, job, wall, x):
    building = Job.objects.get(pk=job.pk)
    placing.wall(designer, building, wall, wall.label, "Roof", [(x, -10.0), (x, 300.0)])


@pytest.mark.parametrize("said", [False, True])
def test_the_plan_redrawn_where_the_wall_goes_answers_nothing(beside, job, designer, decide, taps, said):
    """Whatever else is drawn near by then; what a designer says of the bearing does."""
    wall = draw(job, "east wall", 240)
    if said:
        links.set_link(designer, beside, "C", wall="east wall")
    request = decide("C", 224)
    stops = [
        (f"By the decision on request {request.pk}, east wall moves 1'-4\" to the left on the plan under K1", [K2])
    ]
    assert (told(job), taps()) == (stops, (0, 3))
    redraw(designer, job, wall, 224.0)
    draw(job, "partition", 238)
    assert (told(job), taps()) == (stops, (0, 3))
    links.set_link(designer, beside, "A", wall="west wall")
    assert told(job) == stops
    links.set_link(designer, beside, "C", wall="east wall")
    assert told(job) == [(stops[0][0], [])]
    assert taps() == (3, 0)


def test_nor_does_a_wall_that_the_plan_has_no_more(beside, job, designer, decide, taps):
    wall = draw(job, "east wall", 240)
    decide("C", 224)
    placing.take_down(designer, wall)
    [(does, others)] = told(job)
    assert "east wall moves" in does
    assert others == [K2]
    assert taps() == (0, 3)


def test_nor_while_it_is_only_asked(beside, job, designer, ask, taps):
    wall = draw(job, "east wall", 240)
    request = ask("bearing", {"change": "moved", "joint": "C", "to_in": 224})
    before = told(job)
    assert [others for _, others in before] == [[K2]]
    redraw(designer, job, wall, 224.0)
    assert told(job) == before
    one = answer_of(request)
    approve(designer, request, {one.pk: one.options.filter(passes=True).first().pk}, reason="The wall moves")
    [(does, others)] = told(job)
    assert does.startswith(f"By the decision on request {request.pk}, east wall moves")
    assert others == [K2]
    assert taps() == (0, 3)


def test_the_like_asked_for_the_others_does_also_once_it_is_redrawn(beside, job, designer, ask, decide):
    wall = draw(job, "east wall", 240)
    decide("C", 224)
    redraw(designer, job, wall, 224.0)
    beside.copies.update(stage="designing", built_to=None, released_to=None)
    wish = {"change": "moved", "joint": "C", "to_in": 224}
    [typed] = leaving(beside, wish, beside.current.document, [1, 2, 3])
    assert shared(job, typed).also == (Ask.objects.get().request_id,)
    K2, K1 = "K2, 3 copies: all not cut yet", "K1, 5 copies: all not cut yet"
    ask("bearing", {"change": "moved", "joint": "C", "to_in": 230}, truss=beside.pk, copies=[1])
    assert [others for _, others in told(job)] == [[K2], [K1, "K2, 2 copies: all not cut yet"]]
    ask("bearing", {"change": "moved", "joint": "C", "to_in": 224}, truss=beside.pk)
    assert [others for does, others in told(job) if "1'-4\"" in does] == [[], []]


def test_a_later_approval_that_moves_it_back_is_told_beside_the_first(beside, row, job, decide):
    """Whoever sets K2 asks, until a designer says what it stands on: nobody knows which of both is built by then."""
    draw(job, "east wall", 240)
    decide("C", 232)
    row.refresh_from_db()
    [moved] = [one["joint"] for one in row.current.document["bearings"] if one["joint"] != "A"]
    decide(moved, 240)
    assert [others for _, others in told(job)] == [[K2], [K2]]
    assert ['8" to the left' in told(job)[0][0], '8" to the right' in told(job)[1][0]] == [True, True]


def test_it_stays_where_all_that_were_asked_about_are_another_mark_by_now(beside, row, job, decide):
    draw(job, "front wall", 0)
    for copies in ([2], [1, 3, 4, 5]):
        decide("A", 8, copies=copies)
    assert not row.copies.exists()
    both = told(job)
    assert [does.partition(", ")[0] for does, _ in both] == [
        "By the decision on request 1",
        "By the decision on request 2",
    ]
    assert [others for _, others in both] == [[K2], [K2]]


@pytest.mark.parametrize("kept", [True, False])
def test_of_decisions_from_before_that_was_kept_by_what_the_plan_draws(beside, row, job, decide, kept):
    """What is drawn only after a decision is found so, too."""
    if not kept:
        draw(job, "front wall", 0)
    for copies in ([2], [1, 3, 4, 5]):
        decide("A", 16, copies=copies)
    if kept:
        draw(job, "front wall", 0)
    else:
        Ask.objects.update(walls=None)
    assert [others for _, others in told(job)] == [[K2], [K2]]


def test_a_copy_that_was_set_since_is_told_as_that(beside, job, designer, decide):
    wall = draw(job, "east wall", 240)
    decide("C", 224)
    redraw(designer, job, wall, 224.0)
    beside.copies.filter(number=1).update(stage="set")
    assert [others for _, others in told(job)] == [["K2, 3 copies: 1 set, 2 delivered"]]


@pytest.mark.parametrize("gone", [False, True])
@pytest.mark.parametrize("decided", [False, True])
def test_what_came_onto_it_since_is_kept_before_it_is_redrawn(row, job, designer, ask, decide, stands, decided, gone):
    """The wall itself, too, where it was drawn only then."""
    if decided:
        decide("C", 224)
    else:
        ask("bearing", {"change": "moved", "joint": "C", "to_in": 224})
    wall = draw(job, "east wall", 240)
    stands("K2", 0, 120)
    assert [others for _, others in told(job)] == [[K2]]
    before = told(job)
    if gone:
        placing.take_down(designer, wall)
    else:
        redraw(designer, job, wall, 224.0)
    assert told(job) == before
