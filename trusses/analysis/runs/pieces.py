"""The longest straight, rigid piece that can be got in. Inches, along the run in plan.

The model is plain: openings lead a piece along the run's own line and let it turn no way else.

- After the trusses are set a piece starts between two of them, or past the last one within the run's own length, lies
  on the line there at full width, and is pushed through: between trusses met at the angle θ, s apart along the run, it
  is s less (t + w·cos θ)/sin θ long, t the trusses' thickness and w the run's width over its insulation.
- Before they are set the piece is pushed through from the open side, as long as the leg is.

A slope's length in space differs from that in plan by less than a piece is cut to, and is left out. What walls and
other things in the house leave of that is not known here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from trusses.analysis.runs.crossing import Crossed, Crossing


class Rigid(NamedTuple):
    """Of one leg: the longest piece before and after the trusses are set, `from_end` where the latter comes in from the
    run's open end rather than between two trusses."""

    leg: int
    before_in: float
    after_in: float
    from_end: bool


def rigid(crossed: Crossed) -> tuple[Rigid, ...]:
    found = []
    width = crossed.run.section.outer[0]
    for i, leg in enumerate(crossed.run.legs()):
        there = [one for one in crossed.crossings if one.leg == i and one.verdict != "clear"]
        at = [one.path_in - leg.before for one in there]
        takes = [_half(one, width) for one in there]
        if not there:
            found.append(Rigid(i, leg.length, leg.length, True))
            continue
        ends = max(at[0] - takes[0], leg.length - at[-1] - takes[-1], 0.0)
        inside = _bays(at, takes)
        found.append(Rigid(i, leg.length, max(ends, inside), ends > inside))
    return tuple(found)


def _bays(at: Sequence[float], takes: Sequence[float]) -> float:
    clear = [b - a - one - other for a, b, one, other in zip(at, at[1:], takes, takes[1:], strict=False)]
    return max([*clear, 0.0])


def _half(crossing: Crossing, width: float) -> float:
    """What half of the truss's thickness and half of the piece's width take of the bay, along the run."""
    sine = min(crossing.sine, 1.0)
    return (crossing.stood.design.thickness_in + width * math.sqrt(1 - sine * sine)) / 2 / sine
