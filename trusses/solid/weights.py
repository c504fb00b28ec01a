"""Signs of what is asked on trusses: a block where a weight hangs or stands, of which nobody said how large it is; and
what is missing over a wall that was measured lower. Inches."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from trusses.drawing import Weight
from trusses.solid.bodies import Body, Floats
from trusses.solid.scene import Placed, Wall

_LONG_IN, _HIGH_IN, _THICK_IN = 8.0, 10.0, 8.0


def weight(one: Placed, body: Body, what: Weight, label: str, along: Callable[[float], float]) -> Iterator[Wall]:
    """Its blocks on one copy: under the wood where it hangs, on the chord where it stands, a line of it as long.
    `along`: how far from the body's left bearing what stands at an x is."""
    half = what.length_in / 2 if what.is_band else _LONG_IN / 2
    for x in (what.at_in,) if what.is_band else what.xs:
        s = along(x)
        levels = _wood_at(body, s)
        if not levels:
            continue
        if what.how == "hung":
            top = levels[0][0] if what.chord == "bottom_chord" else levels[-1][0]
            bottom = top - _HIGH_IN
        else:
            bottom = levels[0][1] if what.chord == "bottom_chord" else levels[-1][1]
            top = bottom + _HIGH_IN
        (ax, ay, low), (bx, by, _) = one.at(s - half, 0.0, bottom), one.at(s + half, 0.0, bottom)
        yield Wall(label, one.level, (ax, ay), (bx, by), low, low + top - bottom, _THICK_IN)


def shim(one: Placed, body: Body, s: float, by_in: float, wide_in: float, label: str) -> Iterator[Wall]:
    """What is missing between a wall as it was measured and a copy's bearing `s` from its left one, a little wider than
    the wall, so that it is seen."""
    half = wide_in / 2 + 2.0
    if levels := _wood_at(body, s):
        (ax, ay, top), (bx, by, _) = one.at(s - half, 0.0, levels[0][0]), one.at(s + half, 0.0, levels[0][0])
        yield Wall(label, one.level, (ax, ay), (bx, by), top - by_in, top, _THICK_IN)


def _wood_at(body: Body, s: float) -> list[tuple[float, float]]:
    """From where to where each piece of wood reaches plumb over a place of the span, the lowest first."""
    return sorted(found for one in body.wood if (found := _span(one.outline, s)))


def _span(outline: Floats, s: float) -> tuple[float, float] | None:
    a, b = outline, np.roll(outline, -1, axis=0)
    over = (np.minimum(a[:, 0], b[:, 0]) <= s) & (s <= np.maximum(a[:, 0], b[:, 0])) & (a[:, 0] != b[:, 0])
    if not over.any():
        return None
    (x0, z0), (x1, z1) = a[over].T, b[over].T
    z = z0 + (s - x0) / (x1 - x0) * (z1 - z0)
    return float(z.min()), float(z.max())
