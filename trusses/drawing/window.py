"""What an enlarged detail shows: the surroundings of openings, cut out of the elevation. Inches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from trusses.drawing.shape import Gap, Point

_ABOVE_IN = 9.0
_BELOW_IN = 6.0
_BESIDE_IN = 22.0
_NEAR_IN = 26.0
_PAST_THE_END_IN = 3.0
_FLATTEST, _LOWEST = 2.1, 3.2
"""Width by height: so flat that a phone has room for it beside the elevation and the answer;
and high enough for names."""


@dataclass(frozen=True)
class Window:
    left: float
    bottom: float
    right: float
    top: float


def window(gaps: Sequence[Gap], wood: Sequence[Point], feet: Sequence[float]) -> Window | None:
    """Around `gaps` with what is next to them and, where they are near, the levels (`feet`) that they are measured
    from; None where none of the gaps is within the wood's extent."""
    xs, ys = [x for x, _ in wood], [y for _, y in wood]
    low, high = min(ys) - _ABOVE_IN, max(ys) + _ABOVE_IN
    inside = [
        gap for gap in gaps if gap.right > min(xs) and gap.left < max(xs) and gap.top > min(ys) and gap.bottom < max(ys)
    ]
    if not inside:
        return None
    left = min(gap.left - gap.clearance for gap in inside) - _BESIDE_IN
    right = max(gap.right + gap.clearance for gap in inside) + _BESIDE_IN
    lowest = min(gap.bottom - gap.clearance for gap in inside)
    near = [foot - _BELOW_IN for foot in feet if abs(lowest - foot) < _NEAR_IN]
    bottom = max(low, min([lowest - _ABOVE_IN, *near]))
    top = min(high, max(gap.top + gap.clearance for gap in inside) + _ABOVE_IN)
    wide = max(right - left, _FLATTEST * (top - bottom))
    # its frame stays on the drawing: beside the end of the wood the detail looks farther into the truss instead
    least, most = min(xs) - _PAST_THE_END_IN + wide / 2, max(xs) + _PAST_THE_END_IN - wide / 2
    middle = max(least, min((left + right) / 2, most)) if least < most else (min(xs) + max(xs)) / 2
    more = max(wide / _LOWEST - (top - bottom), 0.0) / 2
    return Window(middle - wide / 2, bottom - more, middle + wide / 2, top + more)
