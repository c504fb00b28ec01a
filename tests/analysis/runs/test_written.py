"""Better lines as fields write them, to the sixteenth."""

from __future__ import annotations

import contextlib
import itertools
import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.analysis.runs.standing import PIPE, design, row, run
from trusses.analysis.format.lengths import parse_length
from trusses.analysis.runs.bends import NotSearched, bent
from trusses.analysis.runs.cleared import stands_in
from trusses.analysis.runs.crossing import cross
from trusses.analysis.runs.lines import Line, changes, goes_through, lines
from trusses.analysis.runs.run import Section
from trusses.analysis.runs.stood import Stood
from trusses.analysis.runs.written import as_written
from trusses.analysis.words.lengths import feet_inches

TRUSSES = [
    *row(2),
    *row(3, design("howe"), "B", 72),
    *(Stood("C", i, "Roof", design(), "x", 130.0, 168.0 + 24 * i) for i in (1, 2)),
]
SMALL = Section("circle", 6, 6, 0, 0.5)


def typed(one):
    """As the page's fields say it, and as they are read."""
    points = tuple(tuple(parse_length(feet_inches(at), negative=True) for at in place) for place in one.points)
    height = parse_length(feet_inches(one.height_in), negative=True)
    return replace(one, points=points, height_in=height)


@pytest.mark.parametrize(
    ("points", "height", "slope"),
    [
        # lines that a person took with one tap, and one truss more had to change
        (((59.375, 239.375), (38.6875, 119.9375)), 48.9375, 0.0),
        (((123.5625, 334.0625), (40.125, 348.3291)), 48.625, 0.0),
    ],
)
def test_a_line_that_goes_askew_is_on_marks_of_a_tape_where_some_are_near(points, height, slope):
    wish = cross(run(*points, height=height, slope=slope, section=SMALL), TRUSSES)
    found = lines(wish.run, TRUSSES, wish)
    assert found
    for one in found:
        assert (one.sideways_in * 16) % 1 == (one.up_in * 16) % 1 == 0


@given(
    st.lists(st.tuples(st.integers(0, 2400), st.integers(320, 6400)), min_size=2, max_size=3),
    st.integers(80, 800),
    st.sampled_from([SMALL, Section("rectangle", 14, 6, 0.5, 0.5), Section("circle", 2, 2)]),
    st.sampled_from([0.0, 0.25, -0.25]),
)
@settings(max_examples=10, deadline=None)
def test_what_is_offered_does_as_much_once_it_is_typed(sixteenths, height, section, slope):
    points = [(x / 16, y / 16) for x, y in sixteenths]
    assume(all(math.dist(*pair) > 1 for pair in itertools.pairwise(points)))
    wish = cross(run(*points, height=height / 16, section=section, slope=slope), TRUSSES)
    assume(not stands_in(wish, TRUSSES))
    ways = [*lines(wish.run, TRUSSES, wish)]
    with contextlib.suppress(NotSearched):
        ways += [path] if (path := bent(wish.run, TRUSSES)) else []
    for one in ways:
        if to := as_written(one, TRUSSES):
            there = cross(typed(to.run), TRUSSES)
            assert changes(there) == (to.never, to.changes) <= (one.never, one.changes)
            assert not stands_in(there, TRUSSES)
            assert goes_through(wish) <= goes_through(there)


def test_what_no_longer_fits_once_it_is_typed_is_not_offered():
    """Under the top chord of two trusses, where the last mark at which it fits is one lower."""
    asked = run((0, 216), (60, 216), height=40.0, section=PIPE)
    (one, *_) = cross(asked, row(1)).crossings
    free = one.stood.design.free(one.met).intersection(shapely.LineString([(216, 0), (216, 200)]))
    top = free.bounds[3] - one.stood.design.begins_y(asked)
    for height, stays in ((top, False), (top - 1 / 16, True)):
        way = replace(asked, height_in=height)
        line = Line(way, "x", 0.0, 0.0, 0, 0, cross(way, row(2)))
        assert changes(line.crossed) == (0, 0)
        assert (as_written(line, row(2)) is not None) is stays


@pytest.mark.parametrize(("first", "stays"), [(24.02, False), (24.0, True)])
def test_what_stands_in_a_truss_once_it_is_typed_is_not_offered(first, stays):
    """It begins a hair past A-1, whose wood ends at 24 3/4 in. or a little after: the nearest mark is 24 3/4 in. It
    fits through A-1 as well, so that nothing but its end speaks against it."""
    there = row(2, first=first)
    way = run((24.775, 216), (60, 216), height=20.0, section=SMALL)
    line = Line(way, "x", 0.0, 0.0, 0, 0, cross(way, there))
    assert not stands_in(line.crossed, there)
    assert changes(cross(typed(way), there)) == (0, 0)
    assert (as_written(line, there) is not None) is stays
