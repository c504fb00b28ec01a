"""Runs that begin, turn or end in a truss: moved out of it, and better lines from there."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from tests.analysis.runs.standing import PIPE, design, row, run
from trusses.analysis.clearance.openings import fit
from trusses.analysis.format.lengths import parse_length
from trusses.analysis.runs.bends import bent
from trusses.analysis.runs.cleared import cleared, stands_in
from trusses.analysis.runs.corners import ended, moved_corner, moved_end
from trusses.analysis.runs.crossing import cross
from trusses.analysis.runs.lines import changes, goes_through
from trusses.analysis.runs.run import Section, tape_mark
from trusses.analysis.runs.stood import Stood
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import tell
from trusses.analysis.words.runs import LINES

TRUSSES = [*row(2), *row(3, design("howe"), "B", 72)]
"""At 24, 48, 72, 96 and 120, 1 1/2 in. thick; the last three have a post at 216."""
SMALL = Section("circle", 6, 6, 0, 0.5)
ASKEW = [*TRUSSES, *(Stood("C", i, "Roof", design(), "x", 130.0, 168.0 + 24 * i) for i in (1, 2))]
"""With two that lie the other way beside them."""


def told(run_):
    crossed = cross(run_, TRUSSES)
    found = cleared(crossed, TRUSSES)
    return found and (found.run.points, tell(LINES, [found.told]))


class TestEnds:
    @pytest.mark.parametrize(
        ("start", "end", "points", "says"),
        [
            (24, 150, (23.25, 150), 'its beginning goes 3/4" farther, past A-1'),
            (24.5, 150, (24.75, 150), 'its beginning goes 1/4" less far, short of A-1'),
            (0, 120.25, (0, 120.75), 'its end goes 1/2" farther, past B-3'),
            (0, 119.5, (0, 119.25), 'its end goes 1/4" less far, short of B-3'),
        ],
    )
    def test_it_goes_past_the_truss_or_stops_short_of_it_whichever_is_nearer(self, start, end, points, says):
        found = told(run((start, 216), (end, 216), height=40))
        assert found == (((points[0], 216), (points[1], 216)), says)

    def test_what_only_reaches_into_a_truss_is_met_there_and_what_touches_it_is_not(self):
        """It ends 1/2 in. before the middle of B-3, and 3/4 in., which is at its face."""
        into, up_to = (cross(run((0, 216), (end, 216), height=40), TRUSSES).crossings for end in (119.5, 119.25))
        assert [one.stood.name for one in into][-1] == "B-3"
        assert [one.stood.name for one in up_to][-1] == "B-2"
        assert (into[-1].place_in, into[-1].path_in, into[-1].verdict) == ((120, 216), 119.5, "moves")

    def test_on_the_skew_its_side_reaches_the_truss_first(self):
        """At 45 degrees 16 in. of run come 8 sin 45 across the trusses ahead of its middle."""
        for short, met in ((3, True), (7, False)):
            asked = run((0, 100), (72 - short, 172 - short), height=40)
            assert ("B-1" in [one.stood.name for one in cross(asked, TRUSSES).crossings]) is met

    def test_a_slope_is_as_high_wherever_it_was(self):
        asked = run((24, 216), (150, 216), height=40, slope=0.25)
        longer = moved_end(asked, 0, 0.75)
        assert longer.height_at(0.75) == pytest.approx(40)
        assert longer.height_at(longer.length_in) == pytest.approx(asked.height_at(asked.length_in))

    def test_what_it_passes_by_above_is_no_truss_that_it_stands_in(self):
        over = cross(run((24, 100), (150, 100), height=200), TRUSSES)
        assert list(ended(over.run, TRUSSES))
        assert not stands_in(over, TRUSSES)

    def test_a_long_piece_askew_begins_and_ends_in_none_as_it_is_written(self):
        """At 9 degrees to the trusses a sixteenth along it is a hundredth across them, so that one more isn't enough:
        once its end stood in B-3 again as the fields wrote it."""
        asked = cross(run((100.6875, 210.8125), (119.4375, 330.0625), height=40, section=SMALL), TRUSSES)
        (end,) = ended(asked.run, TRUSSES)
        for by in (end.past_in, -end.short_in):
            to = moved_end(asked.run, end.point, by)
            assert not list(ended(to, TRUSSES))
            assert not list(ended(to.on_tape(), TRUSSES))


class TestCorners:
    def test_both_corners_of_a_jog_go_into_the_bay(self):
        found = told(run((0, 216), (54, 216), (54, 300), (150, 300), height=40))
        says = 'corner 2 and corner 3 move 2 3/4" to the right on the plan, out of A-2'
        assert found == (((0, 216), (56.75, 216), (56.75, 300), (150, 300)), says)

    def test_a_corner_and_an_end(self):
        (points, says) = told(run((24, 216), (54, 216), (54, 300), (150, 300), height=40))
        assert points == ((23.25, 216), (56.75, 216), (56.75, 300), (150, 300))
        assert says.startswith('its beginning goes 3/4" farther, past A-1; corner 2 and corner 3 move')

    def test_a_corner_is_told_from_trusses_that_the_run_passes_by_too(self):
        """C-1 lies along x at 216, its heel at 130, under the run; nothing is known of what goes up at corners."""
        trusses = [*TRUSSES, Stood("C", 1, "Roof", design(), "x", 130.0, 216.0)]
        wish = cross(run((0, 216), (140, 216), (140, 120), height=60, section=SMALL), trusses)
        assert [(one.stood.name, one.verdict) for one in wish.crossings][-1] == ("C-1", "clear")
        found = cleared(wish, trusses)
        assert found is not None
        assert found.run.points == ((0, 211.75), (140, 211.75), (140, 120))
        assert tell(LINES, [found.told]) == 'its beginning and corner 2 move 4 1/4" down on the plan, out of C-1'

    def test_where_no_bay_is_wide_enough_there_is_no_way(self):
        wide = Section("rectangle", 23, 8)
        assert told(run((36, 100), (60, 100), (60, 300), (84, 300), height=20, section=wide)) is None


@given(
    st.sampled_from([24.0, 24.4, 47.6, 0.0]),
    st.sampled_from([48.0, 54.0, 60.0, 71.5]),
    st.sampled_from([96.0, 120.0, 120.5, 150.0]),
    st.floats(150, 280),
    st.sampled_from([0.0, 0.25, -0.5]),
)
@settings(max_examples=40, deadline=None)
@example(0.0, 48.0, 120.0, 267.5, -0.5)  # once it had bends one way and none the other
def test_what_is_offered_stands_in_no_truss_and_the_reversed_run_answers_alike(start, corner, end, aside, slope):
    assume(start < corner - 1 and abs(aside - 216) > 1)
    asked = run((start, 216), (corner, 216), (corner, aside), (end, aside), height=40, section=SMALL, slope=slope)
    wish = cross(asked, TRUSSES)
    found = cleared(wish, TRUSSES)
    other = cleared(cross(asked.reversed(), TRUSSES), TRUSSES)
    assert (found is None) == (other is None)
    if found is None or other is None:
        return
    assert other.run.reversed().points == found.run.points
    assert other.run.reversed().height_in == pytest.approx(found.run.height_in)
    assert changes(other.crossed) == changes(found.crossed)
    stood = {name for shift in found.shifts for name in shift.out_of}
    assert goes_through(wish) - stood <= goes_through(found.crossed)
    best = bent(found.run, TRUSSES)  # not refused any more
    for one in (found.crossed, *([best.crossed] if best else [])):
        assert not one.cramped
        assert not list(ended(one.run, TRUSSES))
        for each in one.crossings:
            assert each.fit == fit(each.stood.design.space, each.opening)
    back = bent(other.run, TRUSSES)
    assert (best is None) == (back is None)
    if best and back:
        assert (best.never, best.changes, best.bends) == (back.never, back.changes, back.bends)
        assert best.weight == pytest.approx(back.weight)


_PLACES = st.tuples(st.floats(0, 150), st.floats(20, 400))


@given(
    st.one_of(
        st.lists(_PLACES, min_size=2, max_size=4),
        # nearly along the trusses, where a sixteenth is least
        st.builds(
            lambda x, y, aside, long: [(x, y), (x + math.sin(aside) * long, y + math.cos(aside) * long)],
            *(st.floats(20, 125), st.floats(20, 250), st.floats(0.09, 0.25), st.floats(20, 180)),
        ),
    ),
    st.sampled_from([SMALL, Section("rectangle", 14, 6, 0.5, 0.5), Section("circle", 2, 2)]),
    st.sampled_from([0.0, 1.0, -0.25]),
)
@settings(max_examples=60, deadline=None)
@example(
    [(80.6355770644766, 193.05193917452237), (56.75, 323.375), (39.284979478822876, 162.46630839626152)], PIPE, 0.0
)
def test_as_fields_write_it_what_is_offered_stands_in_no_truss_either(points, section, slope):
    """Rounded to sixteenths along x and y."""
    assume(all(math.dist(*pair) > 1 for pair in itertools.pairwise(points)))
    wish = cross(run(*points, height=40, section=section, slope=slope), ASKEW)
    for one in ended(wish.run, ASKEW):
        for by in (one.past_in, None if one.short_in is None else -one.short_in):
            if by is not None:
                written = moved_end(wish.run, one.point, by).on_tape()
                assert not any(other.point == one.point for other in ended(written, ASKEW))
    for one in wish.cramped:
        for place in one.clear_at:
            written = replace(wish.run, points=moved_corner(wish.run, one.corner, place)).on_tape()
            assert not any(other.corner == one.corner for other in cross(written, ASKEW).cramped)
    if stands_in(wish, ASKEW) and (found := cleared(wish, ASKEW)):
        assert found.run == found.run.on_tape()
        assert not stands_in(found.crossed, ASKEW)


@given(st.floats(-1e4, 1e4))
def test_a_mark_of_a_tape_is_what_a_length_is_written_as(inches):
    assert parse_length(feet_inches(inches), negative=True) == tape_mark(inches)


def test_what_stands_in_no_truss_is_left_alone():
    wish = cross(run((0, 216), (150, 216), height=40, section=PIPE), TRUSSES)
    assert not stands_in(wish, TRUSSES)
    assert cleared(wish, TRUSSES).shifts == ()
