"""The nearest ask that would work: the largest opening of the wanted shape at the wanted place. Inches.

Found by halving: what works at one size works at a smaller one, since all that is clear of the larger is clear of it.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from trusses.analysis.format.model import Opening

#: Sizes are told on this grid, and nothing smaller than the second is worth an opening.
_GRID_IN = 0.5
_LEAST_IN = 3.0


@dataclass(frozen=True, slots=True)
class Largest:
    """The largest of the wanted shape that works; `as_it_is`: today's truss holds it."""

    opening: Opening
    as_it_is: bool


def largest(
    wanted: Opening, fits: Callable[[Opening], bool], works: Callable[[Opening], bool], until: float
) -> Largest | None:
    """The largest opening like `wanted`, at its place and in its proportion, that `fits` today's truss, or `works` with
    a redesign. None where none does that is worth one; what was found by `until`, on the clock of time.monotonic.

    Its larger side is a whole number of half inches.
    """
    steps = math.ceil(max(wanted.size) / _GRID_IN) - 1
    least = math.ceil(_LEAST_IN / _GRID_IN)
    # what fits as it is costs nothing to ask: halved first, so that redesigns are sought for the rest alone
    fitting = _halved(least - 1, steps + 1, lambda step: fits(_sized(wanted, step)), math.inf)
    working = _halved(fitting, steps + 1, lambda step: works(_sized(wanted, step)), until)
    if working < least:
        return None
    return Largest(_sized(wanted, working), working == fitting)


def _halved(low: int, high: int, holds: Callable[[int], bool], until: float) -> int:
    """The largest step below `high` that holds, above `low`, which is taken to hold."""
    while high - low > 1 and time.monotonic() <= until:
        middle = (low + high) // 2
        if holds(middle):
            low = middle
        else:
            high = middle
    return low


def _sized(wanted: Opening, step: int) -> Opening:
    share = step * _GRID_IN / max(wanted.size)
    if wanted.shape == "circle":
        return replace(wanted, diameter_in=step * _GRID_IN)
    width, height = (math.floor(side * share / _GRID_IN + 1e-9) * _GRID_IN or _GRID_IN for side in wanted.size)
    return replace(wanted, width_in=width, height_in=height)
