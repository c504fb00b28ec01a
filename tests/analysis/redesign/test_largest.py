"""The largest that would work at a place: by halving, told on half inches, with what fits as it is asked first."""

from __future__ import annotations

import math
import time

import pytest

from trusses.analysis.format.model import Opening
from trusses.analysis.redesign.largest import largest

ROUND = Opening("O1", "circle", (100, 20), diameter_in=14, clearance_in=1)
FLAT = Opening("O1", "rectangle", (100, 20), width_in=20, height_in=8, clearance_in=1)


@pytest.mark.parametrize(("fits", "works"), [(0, 9.5), (6, 9.74), (6, 6), (5.5, 13.99), (13.5, 13.5)])
def test_it_is_the_largest_on_the_half_inch(fits, works):
    asked = []

    def redesigned(opening):
        asked.append(opening.diameter_in)
        return opening.diameter_in <= works

    found = largest(ROUND, lambda opening: opening.diameter_in <= fits, redesigned, math.inf)
    assert found is not None
    assert found.opening.diameter_in == math.floor(works * 2) / 2
    assert found.as_it_is == (math.floor(works * 2) == math.floor(fits * 2))
    # what fits as it is was never searched, nor what is asked itself
    assert all(fits < size < 14 for size in asked)
    assert len(asked) <= 5


def test_a_rectangle_keeps_its_proportion_never_rounded_up():
    found = largest(FLAT, lambda opening: False, lambda opening: opening.width_in <= 11, math.inf)
    assert found is not None
    # 8 x 11 / 20 is 4.4
    assert found.opening.size == (11, 4)
    assert (found.opening.centre, found.opening.clearance_in) == (FLAT.centre, 1)


def test_what_is_not_worth_an_opening_is_none():
    assert largest(ROUND, lambda opening: False, lambda opening: opening.diameter_in < 3, math.inf) is None


def test_without_time_what_fits_as_it_is_is_told():
    found = largest(ROUND, lambda opening: opening.diameter_in <= 6, lambda opening: True, time.monotonic() - 1)
    assert found is not None
    assert (found.opening.diameter_in, found.as_it_is) == (6, True)
