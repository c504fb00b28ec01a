"""The line with the fewest changes: against every line of a grid, and what must hold of any."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.analysis.runs.standing import PIPE, design, of_the_demo, row, run
from trusses.analysis.clearance.openings import nearest
from trusses.analysis.runs.bends import NotSearched, Prices, bent
from trusses.analysis.runs.crossing import cross
from trusses.analysis.runs.lines import UP_IN, changes, lines, moved
from trusses.analysis.runs.met import Met
from trusses.analysis.runs.overlap import most_overlap
from trusses.analysis.runs.run import Section
from trusses.analysis.runs.stood import Stood
from trusses.analysis.words.phrases import tell
from trusses.analysis.words.runs import LINES

MIXED = [*row(3), *row(3, design("howe"), "B", 96), *row(2, turned=True, mark="C", first=168)]
asks = st.tuples(st.floats(40, 390), st.floats(40, 390), st.floats(8, 90), st.sampled_from([0.0, 0.25, -0.5]))
SIZES = st.sampled_from([Section("circle", 14, 14, 0, 1), Section("rectangle", 20, 10, 0, 0.5)])


class TestOverlap:
    @given(st.lists(st.tuples(*[st.integers(0, 12)] * 4), min_size=1, max_size=9))
    @settings(max_examples=60, deadline=None)
    def test_no_place_lies_in_more(self, corners):
        """Boxes on a grid: how many lie over a place changes only at the grid, so that its lines, corners and middles
        are all the places that there are."""
        boxes = [shapely.box(x, y, x + w + 1, y + h + 1) for x, y, w, h in corners]
        best = most_overlap(boxes, shapely.box(0, 0, 14, 14))
        places = shapely.points([(i / 2, j / 2) for i in range(29) for j in range(29)])
        missed = len(boxes) - sum(shapely.covers(box, places).astype(int) for box in boxes)
        assert best.missed == missed.min()
        assert (shapely.covers(best.area, places) == (missed == best.missed)).all()

    def test_a_border_belongs_to_its_region(self):
        best = most_overlap([shapely.box(0, 0, 1, 1), shapely.box(1, 0, 2, 1)], shapely.box(-5, -5, 5, 5))
        assert (best.missed, best.area.bounds) == (0, (1, 0, 1, 1))

    def test_along_a_line(self):
        line = shapely.LineString([(-9, 0.5), (9, 0.5)])
        best = most_overlap([shapely.box(0, 0, 3, 1), shapely.box(2, 0, 4, 1), shapely.box(2.5, 0, 6, 1)], line)
        assert (best.missed, best.area.bounds) == (0, (2.5, 0.5, 3, 0.5))


class TestLines:
    def test_of_one_truss_it_is_the_nearest_place(self):
        asked = run((0, 126), (40, 126), height=29.75)
        (wish,) = cross(asked, row(1)).crossings
        best = lines(asked, row(1))
        free = nearest(wish.stood.design.space, wish.opening)
        both = min(best, key=lambda one: math.hypot(one.sideways_in, one.up_in))
        assert math.hypot(both.sideways_in, both.up_in) == pytest.approx(free.moved_in, abs=0.1)

    def test_of_like_trusses_met_square_it_is_that_of_one(self):
        asked = run((0, 126), (290, 126), height=29.75)
        many, one = lines(asked, row(10)), lines(asked, row(1))
        assert [(a.sideways_in, a.up_in, a.changes) for a in many] == [(a.sideways_in, a.up_in, 0) for a in one] != []

    @given(asks, SIZES)
    @settings(max_examples=8, deadline=None)
    def test_what_is_offered_is_what_is_crossed_and_no_grid_finds_fewer(self, ask, section):
        start, end, height, slope = ask
        asked = run((0, start), (210, end), height=height, slope=slope, section=section)
        wish = cross(asked, MIXED)
        met = {one.stood for one in wish.crossings if one.verdict != "clear"}
        offered = lines(asked, MIXED)
        fewest = min([changes(wish), *((one.never, one.changes) for one in offered)])
        for one in offered:
            assert (one.never, one.changes) == changes(cross(one.run, MIXED)) < changes(wish)
        dice = random.Random(1)
        for _ in range(10):
            to = moved(asked, "y", dice.uniform(-96, 96), dice.uniform(-UP_IN, UP_IN))
            found = cross(to, MIXED)
            if met <= {one.stood for one in found.crossings if one.verdict != "clear"}:
                assert changes(found) >= fewest

    @given(asks, st.integers(1, 7))
    @settings(max_examples=12, deadline=None)
    def test_one_truss_more_never_gives_more_room(self, ask, count):
        start, end, height, slope = ask
        asked = run((0, start), (210, end), height=height, slope=slope)
        fewer, more = (
            min([changes(cross(asked, some)), *((one.never, one.changes) for one in lines(asked, some))])
            for some in (MIXED[:count], MIXED[: count + 1])
        )
        assert more >= fewer

    def test_a_hair_of_a_run_is_answered_too(self):
        """Once what has no depth, as an outline's upright end, had no corners when it was grown by nothing."""
        floor = next(one for one in of_the_demo() if one.mark == "F1")
        assert floor.design.free(Met("circle", 1e-9, 1e-9, 0.0)).area > 0

    def test_what_fits_is_left_alone(self):
        assert lines(run((0, 216), (290, 216), height=40), row(10)) == ()

    def test_a_run_with_a_corner_moves_as_a_whole(self):
        """In a bay after three trusses: it moves like the straight one that crosses the same, its corner with it."""
        corner, straight = (run((0, 170), (84, 170), *end, height=30) for end in ([(84, 210)], []))
        found, alone = lines(corner, row(3)), lines(straight, row(3))
        assert [(one.sideways_in, one.up_in, one.changes) for one in found] == [
            (one.sideways_in, one.up_in, one.changes) for one in alone
        ]
        assert any(one.sideways_in for one in found)
        for one in found:
            by = one.sideways_in
            assert one.run.points == ((0, 170 + by), (84, 170 + by), (84, 210 + by))
            assert changes(cross(one.run, row(3))) == (one.never, one.changes)

    def test_a_run_with_corners_through_trusses_of_both_ways(self):
        other = [Stood("X", i + 1, "Roof", design(), "x", 200.0, 40.0 + 24 * i) for i in range(3)]
        corner = run((0, 216), (150, 216), (150, 10), (416, 10), (416, 100), height=10)
        asked, (one,) = cross(corner, [*row(3), *other]), lines(corner, [*row(3), *other])
        assert (changes(asked), one.changes, one.sideways_in) == ((6, 6), 0, 0)
        assert one.up_in == pytest.approx(1.5)  # 14 in. and 1 in. around it stand on the chord's 3 1/2 in. at 11.5


class TestBends:
    def test_around_what_a_straight_line_meets(self):
        """A pipe at midspan, low: clear in the W, and a howe has a post there."""
        asked = run((0, 216), (300, 216), height=40, section=Section("circle", 6, 6, 0, 0.5))
        trusses = [*row(4), *row(3, design("howe"), "B", 120)]
        assert changes(cross(asked, trusses)) == (0, 3)
        found = bent(asked, trusses)
        assert found is not None
        assert (found.never, found.changes, found.bends) == (0, 0, 4)
        assert found.run.points[0] == (0, 216)
        assert found.run.points[-1] == (300, 216)
        assert found.longer_in == pytest.approx(found.run.length_in - 300)
        assert found.longer_in > 0

    def test_no_bend_where_bays_are_too_narrow_for_it(self):
        """24 in. on center, 1.5 in. thick: a corner in the middle has 11.25 in. to the wood, 23 in. need 11.5. At both
        ends of the run there are 12 in. to the middle of a truss, and 12.25 are needed."""
        asked = run((12, 216), (180, 216), height=40, section=Section("rectangle", 23, 6))
        trusses = [*row(4), *row(3, design("howe"), "B", 120)]
        assert changes(cross(asked, trusses)) == (0, 3)
        assert bent(asked, trusses) is None

    def test_a_dear_bend_is_not_taken(self):
        asked = run((0, 216), (300, 216), height=40, section=Section("circle", 6, 6, 0, 0.5))
        trusses = [*row(4), *row(1, design("howe"), "B", 120)]
        assert bent(asked, trusses, Prices(change=1, bend=5)) is None
        assert bent(asked, trusses, Prices(change=30, bend=5)) is not None

    def test_a_cheaper_path_by_hand_is_not_there(self):
        """Every path with one jog out and one back, tried."""
        asked = run((0, 216), (300, 216), height=40, section=Section("circle", 6, 6, 0, 0.5))
        trusses = [*row(4), *row(3, design("howe"), "B", 120)]
        found = bent(asked, trusses)
        assert found is not None
        for aside in range(-60, 61):
            if aside:
                path = run((0, 216), (108, 216), (108, 216 + aside), (180, 216 + aside), (180, 216), (300, 216))
                crossed = cross(run(*path.points, height=40, section=asked.section), trusses)
                if changes(crossed) == (0, 0):
                    assert path.length_in >= found.run.length_in - 1e-6

    def test_it_goes_up_where_it_was_asked_to(self):
        """A jog between the fourth and the fifth truss, 3 in. up at its second corner; there are posts in the way."""
        corners = (0, 216), (108, 216), (108, 220), (300, 220)
        asked = replace(run(*corners, height=40, section=Section("circle", 6, 6, 0, 0.5)), rises=(0.0, 3.0))
        trusses = [*row(4), *row(3, design("howe"), "B", 120)]
        assert changes(cross(asked, trusses))[1] == 3
        found = bent(asked, trusses)
        assert found is not None
        assert (found.never, found.changes) == (0, 0)
        assert (found.run.points[0], found.run.points[-1]) == (corners[0], corners[-1])
        assert [one.height_in for one in found.crossed.crossings] == [40] * 4 + [43] * 3

    def test_where_it_goes_straight_up_it_keeps_a_corner_for_it(self):
        asked = replace(run((0, 126), (108, 126), (108, 130), (300, 130), height=30, section=PIPE), rises=(0.0, 9.0))
        found = bent(asked, row(7))
        assert found is not None
        assert sum(found.run.rises) == 9
        assert len(found.run.rises) == len(found.run.points) - 2
        assert [one.height_in for one in found.crossed.crossings] == [30] * 4 + [39] * 3

    def test_around_a_corner_through_trusses_of_both_ways(self):
        """Posts at midspan of both: no path with one jog before the first truss, one corner and one jog behind the last
        truss, tried inch by inch, asks for fewer, nor is one of those that ask as little shorter."""
        pipe, howe = Section("circle", 6, 6, 0, 0.5), design("howe")
        trusses = [*row(3, howe), *(Stood("X", i + 1, "Roof", howe, "x", 200.0, 40.0 + 24 * i) for i in range(3))]
        asked = run((0, 216), (416, 216), (416, 10), height=40, section=pipe)
        assert changes(cross(asked, trusses)) == (0, 6)
        found = bent(asked, trusses)
        assert found is not None
        assert (found.never, found.changes, len(found.crossed.crossings)) == (0, 0, 6)
        assert (found.run.points[0], found.run.points[-1]) == ((0, 216), (416, 10))
        for q in range(186, 247, 2):
            for r in range(396, 437, 2):
                path = run((0, 216), (12, 216), (12, q + 0.5), (r + 0.5, q + 0.5), (r + 0.5, 25), (416, 25), (416, 10))
                crossed = cross(replace(asked, points=path.points), trusses)
                assert changes(crossed) != (0, 0) or path.length_in >= found.run.length_in - 1e-6

    @given(asks, st.sampled_from([(0.0, 0.0), (6.0, -6.0), (0.0, 14.0)]))
    @settings(max_examples=10, deadline=None)
    def test_whatever_is_offered_is_crossed_anew(self, ask, rises):
        """It begins and ends where it was asked to, at the same heights but for what a longer path falls."""
        start, end, height, slope = ask
        end = end if abs(end - start) > 1 else start + 24
        wish = run((0, start), (132, start), (132, end), (290, end), height=height, slope=slope)
        wish = replace(wish, rises=rises if any(rises) else ())
        found = bent(wish, MIXED)
        if found is None:
            return
        crossed = cross(found.run, MIXED)
        assert (found.never, found.changes) == changes(crossed) < changes(cross(wish, MIXED))
        assert not crossed.cramped
        assert (found.run.points[0], found.run.points[-1]) == (wish.points[0], wish.points[-1])
        assert sum(found.run.rises) == sum(rises)
        met, still = (
            {one.stood.name for one in one.crossings if one.verdict != "clear"} for one in (cross(wish, MIXED), crossed)
        )
        assert met <= still

    def test_what_goes_up_where_it_turns_from_its_beginning_keeps_a_corner_for_it(self):
        """It runs along the trusses from where it begins, then goes 9 in. up and across them; where it is better not to
        run along them there is no corner left but one before the first truss."""
        wish = run((6, 100), (6, 110), (150, 110), height=30, section=PIPE)
        found = bent(replace(wish, rises=(9.0,)), row(5))
        assert found is not None
        assert sum(found.run.rises) == 9
        assert [one.height_in for one in found.crossed.crossings] == [39] * 5

    def test_no_path_leaves_what_the_wish_goes_through(self):
        """A drain that has fallen out of some roof trusses at their heels: to lie under more of them is no way."""
        wish = run((12, 417.84), (1164, 417.84), height=12.78, section=Section("circle", 3.5, 3.5, 0, 0.5), slope=0.25)
        asked, found = cross(wish, of_the_demo()), bent(wish, of_the_demo())
        assert found is not None
        held = (asked, found.crossed)
        met, still = ({one.stood.name for one in each.crossings if one.verdict != "clear"} for each in held)
        assert met <= still

    def test_of_what_begins_in_a_truss_it_says_so(self):
        with pytest.raises(NotSearched) as refused:
            bent(run((24, 216), (150, 216), height=40), [*row(2), *row(3, design("howe"), "B", 72)])
        told = refused.value.told
        assert (told["code"], told["values"]) == ("run-bends-in-a-truss", {"trusses": ["A-1"]})
        assert tell(LINES, [told]).startswith(
            "Lines with other bends were not looked for: it begins or ends in A-1, and neither past that nor"
        )
