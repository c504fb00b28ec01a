"""What the page of a run says of moves, lines and what is passed by; no database."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from django.utils.formats import date_format

from changes.asks.live_run import Offer
from changes.pages.forms import FilingForm
from changes.pages.run_form import RunForm
from changes.pages.run_heights import called, height_told, passes
from changes.pages.run_plan import told_crossing
from changes.pages.running import _late, offers_told
from changes.refusals import Refused
from tests.analysis.runs.standing import row, run
from trusses.analysis.runs.crossing import cross
from trusses.analysis.runs.lines import Line, lines
from trusses.analysis.words.phrases import tell
from trusses.analysis.words.runs import PASSING
from trusses.models import Job, Truss
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
        assert one.verdict == "never"
        assert told_crossing("A", one, asked)["marked"] == f"the {'top' if turned else 'bottom'} of the plan"
        assert told_crossing("A", one, asked, 0.0)["marked"].startswith("the north (" if turned else "the south (")
        told = told_crossing("A", one, asked)["says"]
        assert "higher" in told
        assert "to the left" not in told
        assert f"As it runs it would cut {' and '.join(one.fit.called)}" in told
        assert (way_there in told) == (one.moves[0] > 1 / 32)


def test_a_size_that_nobody_chose_is_supposed_while_it_is_drawn_and_never_sent():
    typed = {
        "level": "Roof",
        "shape": "circle",
        "up": "1'",
        "datum": "bearing",
        "points": "0, 0\n10', 0",
        "diameter": " ",
    }
    drawn = RunForm(typed, levels=["Roof"], supposes=True)
    assert drawn.is_valid(), drawn.errors
    assert (drawn.supposed, drawn.speaks_of, drawn.run()["section"]["diameter_in"]) == (True, 'If it is 8" round', 8)
    assert "diameter" not in drawn.understood
    sent = RunForm(typed, levels=["Roof"])
    assert sent.errors == {"diameter": ["Give the diameter, more than 0 in."]}
    trunk = RunForm(typed | {"shape": "rectangle"}, levels=["Roof"], supposes=True)
    assert trunk.is_valid(), trunk.errors
    assert trunk.speaks_of == 'If it is 14" × 8"'
    half = RunForm(typed | {"shape": "rectangle", "width": "14"}, levels=["Roof"], supposes=True)
    assert list(half.errors) == ["height"]
    chosen = RunForm(typed | {"diameter": '10"', "insulation": '2"'}, levels=["Roof"], supposes=True)
    assert chosen.is_valid(), chosen.errors
    assert (chosen.supposed, chosen.speaks_of) == (False, '10" round with 2" insulation')
    empty = RunForm(None, levels=["Roof"], supposes=True)
    assert empty["diameter"].value() is None


def test_a_day_after_the_last_for_changes_of_what_it_crosses_is_told():
    job = Job(time_zone="UTC")
    today = job.today()
    marks = [
        Truss(job=job, mark=mark, can_change_until=last and today + timedelta(days=last))
        for mark, last in (("R10", 3), ("R2", 5), ("R3", None), ("R4", 9), ("R5", -1))
    ]

    def late(days):
        typed = {"needed_by": (today + timedelta(days=days)).isoformat()}
        return _late(FilingForm(typed, today=today), marks)

    assert late(3) == ""
    three, five = (date_format(today + timedelta(days=days)) for days in (3, 5))
    assert late(4) == f"That is after the last day for changes of R10 ({three}): it may be cut by then."
    both = f"That is after the last day for changes of R2 ({five}) and R10 ({three}): they may be cut by then."
    assert late(6) == both
    assert _late(FilingForm(None, today=today), marks) == both  # a week, until somebody says otherwise
    assert _late(FilingForm({"needed_by": "soon"}, today=today), marks) == ""


def test_on_a_plan_on_which_nothing_stands_a_run_is_told_so():
    told = Refused("run-level", "asks", "run.level", level="Roof", levels=[]).says
    assert told.endswith(
        "nothing stands on this job's plan yet, so that a run has nothing to cross; a designer sets where each truss"
        " stands."
    )


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
