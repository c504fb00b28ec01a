"""Openings beside each other and beside the truss: by hand on the king post, 20 ft long and 5 ft high."""

import math

import pytest

from tests.conftest import KING_POST
from trusses.analysis.clearance.apart import beyond, gap, overlap
from trusses.analysis.clearance.free_space import space
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Opening

ROOM = space(read(KING_POST))


def round_(x, y, diameter=8.0, clear=0.0, name="O1"):
    return Opening(name, "circle", (x, y), diameter_in=diameter, clearance_in=clear)


def box(x, y, width=10.0, height=6.0, clear=0.0, name="O2"):
    return Opening(name, "rectangle", (x, y), width_in=width, height_in=height, clearance_in=clear)


@pytest.mark.parametrize(
    ("one", "other", "free"),
    [
        (round_(0, 0), round_(30, 40), 50 - 4 - 4),
        (round_(0, 0, clear=1), round_(30, 40, clear=2), 50 - 4 - 4 - 3),
        (box(0, 0), box(25, 0), 25 - 10),
        (box(0, 0), box(25, 20, clear=1), math.hypot(15, 14) - 1),
        (box(0, 0), round_(5 + 3, 3 + 4, diameter=2), 5 - 1),
        (box(0, 0), box(4, 1), -5),
        (box(0, 0), round_(0, 0, diameter=2), -3 - 1),
    ],
)
def test_the_gap_between_two(one, other, free):
    assert gap(one, other) == pytest.approx(free)
    assert gap(other, one) == pytest.approx(free)


def test_an_overlap_names_both():
    assert overlap(round_(50, 10, clear=1), [box(200, 10), box(50, 18, clear=1)]) == ("O2", pytest.approx(1))
    assert overlap(round_(50, 10), [box(200, 10)]) is None
    # touching is no overlap: 8 in. round beside 10 in. wide
    assert overlap(round_(50, 10), [box(59, 10)]) is None


@pytest.mark.parametrize(
    ("opening", "away"),
    [
        (round_(100, 20), None),
        (box(100, 20), None),
        (round_(300, 10), math.hypot(60, 10) - 4),
        (box(100, -40), 40 - 3),
        # above the ridge by 20 in.
        (round_(120, 80), 20 - 4),
        # in part: cuts the bottom chord
        (round_(100, 2), None),
        # half out below the chord, whose wood it touches
        (round_(100, -5), None),
        # an inch from the wood of the 2x6 below
        (round_(100, -7.75), 3.75),
    ],
)
def test_what_lies_wholly_beside_the_truss(opening, away):
    assert beyond(ROOM, opening) == (None if away is None else pytest.approx(away))
