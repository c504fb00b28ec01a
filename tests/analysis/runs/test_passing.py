"""What a run passes by and how far off, other heights of its line, and heights from the floor of the storey below."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.analysis.runs.standing import PIPE, design, row, run
from tests.refused import refused
from trusses.analysis.format.strict import DocumentError
from trusses.analysis.runs.crossing import cross
from trusses.analysis.runs.passing import heights, passed
from trusses.analysis.runs.run import Section, read_run
from trusses.analysis.words.phrases import tell
from trusses.analysis.words.runs import PASSING, above, at_height

ACROSS = (0, 216), (60, 216)


def at(height: float, copies=None):
    return cross(run(*ACROSS, height=height), copies or row(2))


def test_below_it_is_told_from_the_wood_to_the_bare_run():
    """By hand: 60 in. below the plate a 14 in. pipe's top is 53 in. below it, whatever is kept clear around it."""
    for one in at(-60).crossings:
        side, clear = passed(one)
        assert (side, clear) == ("below", pytest.approx(53))


def test_above_and_beside():
    """By hand, at 6 in 12: each top chord ends square at the peak, its upper corner 1.75 in. off; the pipe's middle is
    198.25 in. above the bottom chord's."""
    corner = 216 - 1.75 / 5**0.5, 108 + 1.75 * 2 / 5**0.5
    (one, *_) = at(200).crossings
    assert passed(one) == ("above", pytest.approx(math.dist(corner, (216, 198.25)) - 7))
    left, _ = design().wood_x
    (off, *_) = cross(run((0, left - 7.5), (40, left - 7.5), height=100), row(1)).crossings
    assert passed(off).side == "beside"
    assert passed(off).clear_in > 50


def test_the_nearest_height_at_which_all_fits_is_told_and_is_one():
    for height in (200, -60):
        wish = at(height)
        assert wish.worst == "clear"
        found = heights(wish, row(2))
        (near, *_) = found.through
        assert (len(near.fits), near.changes) == (2, ())
        there = at(near.height_in)
        assert there.worst == "fits"
        # a tape's mark, and none is nearer
        assert near.height_in * 16 == pytest.approx(round(near.height_in * 16))
        toward = 1 if height > near.height_in else -1
        assert at(near.height_in + toward / 16).worst != "fits"


def test_between_the_heights_that_are_told_it_would_meet_wood_and_beyond_them_none():
    """By hand: from 8 in. (radius and clearance) below the plate."""
    low, high = heights(at(200), row(2)).meets
    assert low == pytest.approx(-8)
    assert [at(low - 0.01).worst, at(high + 0.01).worst] == ["clear", "clear"]
    assert "clear" not in (at(low + 0.01).worst, at(high - 0.01).worst)


def test_no_height_is_offered_that_cuts_a_chord_or_that_nothing_gets_through():
    wide = Section("rectangle", 200, 100)
    found = heights(cross(run(*ACROSS, height=400, section=wide), row(2)), row(2))
    assert found.meets
    assert found.through == ()
    overhang = design().wood_x[0] - 5
    beside = heights(cross(run((0, overhang), (60, overhang), height=200), row(2)), row(2))
    assert beside.through == ()


def test_of_trusses_that_differ_the_height_through_the_most_is_offered_too():
    """A scissors' bottom chord is high where a W's is low: what goes through the W alone passes below the other."""
    copies = [*row(2), *row(2, design("scissors", bottom_pitch=3), "S", first=72.0)]
    asked = run((0, 168), (110, 168), height=-60)
    found = heights(cross(asked, copies), copies).through
    assert [len(one.fits) for one in found] == [2, 4]
    for one in found:
        there = cross(replace(asked, height_in=one.height_in), copies)
        assert there.count("never") == 0
        assert there.count("fits") == len(one.fits)


class TestStorey:
    GIVEN = {
        "level": "Roof",
        "points_in": [[0, 216], [60, 216]],
        "height_in": 137.125,
        "datum": "storey",
        "bearing_above_floor_in": 97.125,
        "bearing_assumed": True,
        "section": {"shape": "circle", "diameter_in": 14, "clearance_in": 1},
    }

    def test_it_is_the_same_run_as_told_from_the_plate(self):
        told = read_run(self.GIVEN)
        crossed = cross(told, row(2))
        (one, *_) = crossed.crossings
        assert one.opening == cross(run(*ACROSS, height=40, section=PIPE), row(2)).crossings[0].opening
        assert one.height_in == 137.125
        assert read_run(told.document()) == told

    def test_without_how_far_the_bearing_is_above_it_is_none_and_no_other_datum_has_that(self):
        less = {key: value for key, value in self.GIVEN.items() if key != "bearing_above_floor_in"}
        with refused(DocumentError, "key-missing", "run", key="bearing_above_floor_in"):
            read_run(less)
        with refused(DocumentError, "key-unknown", "run"):
            read_run(self.GIVEN | {"datum": "bearing"})


def test_words():
    sides = [["above", 25.0, 25.0, ["R1-1 to R1-8"]], ["below", 4.3125, 6.0, ["R2-1", "R2-3"]]]
    assert (
        tell(PASSING, [{"code": "run-passes", "values": {"sides": sides}}])
        == 'It passes above R1-1 to R1-8 (2\'-1" clear) and below R2-1 and R2-3 (4 5/16" to 6" clear).'
    )
    meets = {"code": "run-meets", "values": {"low": -8, "high": 62.5, "above": above("floor")}}
    assert (
        tell(PASSING, [meets])
        == 'Its line meets these trusses while its middle is from 8" below to 5\'-2 1/2" above the attic floor.'
    )
    assert at_height(-5, above("floor", "floor")) == '5" below the floor on these trusses'
