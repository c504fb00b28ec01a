"""Where nothing passes: the largest opening of the wanted shape that would work where it is asked."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace

from trusses.analysis.checks.surroundings import Surroundings
from trusses.analysis.clearance.openings import Space, fit
from trusses.analysis.format.model import Opening
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.redesign.building import Building
from trusses.analysis.redesign.largest import Largest, largest
from trusses.analysis.redesign.search import LIMITS, Candidate, NoOptions, search
from trusses.analysis.words.phrases import Coded, coded

#: Each size is searched with less than the asked one: there may be six, and a person waits.
_SHORTER = replace(LIMITS, layouts=30, analyses=120, rounds=2, follow=6, any_one=True)


def largest_here(
    truss: Design,
    room: Space,
    wanted: Opening,
    rest: Sequence[Opening],
    until: float,
    surroundings: Surroundings,
    building: Building,
    today_passes: bool,
    passes: Callable[[Candidate], bool],
) -> Largest | None:
    """Of one opening that nothing passes for, beside `rest`; what is found by `until`, on time.monotonic's clock.

    Today's truss holds one only where it passes with the rest, `today_passes`; a redesign works only where it `passes`
    whatever an option must.
    """

    def works(smaller: Opening) -> bool:
        limits = replace(_SHORTER, seconds=max(until - time.monotonic(), 0.0))
        try:
            found = search(truss, [*rest, smaller], limits=limits, surroundings=surroundings, building=building)
        except NoOptions:
            return False
        return any(one.passes and passes(one) for one in found)

    return largest(wanted, lambda smaller: today_passes and fit(room, smaller).fits, works, until)


def told(found: Largest) -> Coded:
    one = found.opening
    sizes = (
        {"diameter_in": one.diameter_in}
        if one.shape == "circle"
        else dict(zip(("width_in", "height_in"), one.size, strict=True))
    )
    return coded("largest-here", as_it_is=found.as_it_is, **sizes)
