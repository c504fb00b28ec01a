"""What the page of a run says of moves, lines and what is passed by; no database."""

from __future__ import annotations

from dataclasses import replace

from changes.asks.live_run import Offer
from changes.pages.run_form import RunForm
from changes.pages.run_heights import called, height_told, passes
from changes.pages.run_plan import told_crossing
from changes.pages.running import offers_told
from tests.analysis.runs.standing import row, run
from trusses.analysis.runs.crossing import cross
from trusses.analysis.runs.lines import Line, lines
from trusses.analysis.words.phrases import tell
from trusses.analysis.words.runs import PASSING
from trusses.plan.ways import way, ways
from trusses.solid.heights import OverFloor

SKEWED = run((0, 120), (300, 120), height=10)


def test_a_move_is_told_by_the_plan_and_by_the_compass():
    assert way("x", -5.1875, None) == '5 3/16" to the left on the plan'
    assert way("y", -5.1875, 0.0) == '5 3/16" south (down the plan)'
    assert way("y", 3, 90.0) == '3" west (up the plan)'
    assert ways(0.0, 12, None) == "1'-0\" up the plan"


def test_a_row_and_an_offer_tell_one_move_alike_and_the_row_what_it_would_cut():
    """Of trusses that lie along y the truss's own right is the plan's up, and of turned ones its down."""
    for turned, way_there in ((False, "up the plan"), (True, "down the plan")):
        asked = run((0, 126), (40, 126), height=10)
        (one,) = cross(asked, row(1, turned=turned)).crossings
        assert one.verdict == "moves"
        told = told_crossing("A", one, asked)["says"]
        assert "higher" in told
        assert "to the left" not in told
        assert f"As it runs it would cut {' and '.join(one.fit.called)}" in told
        assert (way_there in told) == (one.moves[0] > 1 / 32)


def test_lines_that_are_one_are_offered_once():
    found = [Offer(one, None) for one in lines(SKEWED, row(10))]
    assert found
    twice = [*found, *(Offer(replace(one.way, along="x"), None) for one in found if isinstance(one.way, Line))]
    assert offers_told(twice, None) == offers_told(found, None)


def test_what_is_passed_by_is_told_with_side_and_clear():
    crossed = cross(run((0, 216), (120, 216), height=-60), row(4))
    assert tell(PASSING, [passes(crossed)]) == "It passes below A-1 to A-4 (4'-5\" clear)."
    assert passes(cross(run((0, 216), (120, 216), height=40), row(4))) is None
    stands = row(5)
    assert called([stands[0], stands[1], stands[3]]) == ["A-1 to A-2", "A-4"]


def test_heights_from_the_floor_below_are_told_as_typed_with_what_is_assumed():
    typed = {"level": "Roof", "shape": "circle", "diameter": '14"', "up": "9'", "points": "0, 18'\n10', 18'"}
    form = RunForm(typed | {"datum": "storey"}, levels=["Roof"], storey=OverFloor(97.125, True))
    assert form.is_valid(), form.errors
    made = form.run()
    assert (made["height_in"], made["bearing_above_floor_in"], made["bearing_assumed"]) == (108, 97.125, True)
    told = replace(SKEWED, height_in=108, datum="storey", bearing_above_floor_in=97.125, bearing_assumed=True)
    crossed = cross(told, row(4))
    floor = "(bearing at 8'-1 1/8\" above the bare floor, its sheathing not counted; assumed)"
    assert height_told(crossed) == f"9'-0\" above the floor of the storey below {floor}"
    unknown = RunForm(typed | {"datum": "storey"}, levels=["Roof"])
    assert "measure from the top of the wall plate" in str(unknown.errors["datum"])
    assert "storey" not in dict(RunForm(None, levels=["Roof"]).fields["datum"].choices)
