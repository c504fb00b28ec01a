"""A truss as prisms of wood: each member's true outline, as thick as it is laid, ply beside ply. Inches.

s runs along the span from the left bearing, w across it, z up from where the truss sits on that bearing; the plies
stand about w = 0.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.lumber import lookup
from trusses.drawing.measures import seat
from trusses.drawing.outline import outlines
from trusses.drawing.shape import shape

Floats = NDArray[np.float64]
_ROUND = 24  # sides of a round opening


@dataclass(frozen=True)
class Prism:
    """What an outline (n, 2) in s and z, counter-clockwise, sweeps from w = `near` to `far`. The grain runs `along`."""

    name: str
    called: str
    outline: Floats
    near: float
    far: float
    along: tuple[float, float]


@dataclass(frozen=True)
class Body:
    """One truss document: its wood, the clear space of its openings, and how far it reaches (s and z, low and high)."""

    wood: tuple[Prism, ...]
    openings: tuple[Prism, ...]
    thickness_in: float
    span_in: float
    """Between its outer bearings."""
    floor: bool = False
    left_in: float = 0.0
    """Where s begins in the document's x."""

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        corners = np.concatenate([prism.outline for prism in self.wood])
        (left, low), (right, high) = corners.min(axis=0), corners.max(axis=0)
        return float(left), float(low), float(right), float(high)


def body(document: Mapping[str, Any]) -> Body:
    """The prisms of a truss document that has been read before."""
    drawn = shape(document)
    left, right = drawn.held_up[0], drawn.held_up[-1]
    origin = np.array([left.at[0], seat(drawn, left)])
    plies = int(document.get("plies", 1))
    cut, wood, thickest = outlines(drawn), [], 0.0
    for piece in drawn.pieces.values():
        lumber = lookup(piece.lumber)
        thick = lumber.width_in if piece.flat else lumber.thickness_in
        thickest = max(thickest, thick * plies)
        outline = _counter_clockwise(np.array(cut[piece.id].corners) - origin)
        for ply in range(plies):
            near = (ply - plies / 2) * thick
            wood.append(Prism(piece.id, drawn.called[piece.id], outline, near, near + thick, piece.along))
    reach = thickest / 2 + 3.0
    gaps = [
        Prism(gap.id, gap.id, _gap(gap.centre, gap.width, gap.height, gap.round) - origin, -reach, reach, (1.0, 0.0))
        for gap in drawn.gaps
    ]
    return Body(tuple(wood), tuple(gaps), thickest, right.at[0] - left.at[0], drawn.use == "floor", left.at[0])


def _gap(centre: tuple[float, float], width: float, height: float, is_round: bool) -> Floats:
    if not is_round:
        corners = np.array([[-width, -height], [width, -height], [width, height], [-width, height]]) / 2
        return np.asarray(centre) + corners
    turn = 2 * math.pi / _ROUND * np.arange(_ROUND)
    return np.asarray(centre) + width / 2 * np.stack([np.cos(turn), np.sin(turn)], axis=1)


def _counter_clockwise(corners: Floats) -> Floats:
    x, y = corners.T
    return corners if (x * np.roll(y, -1) - y * np.roll(x, -1)).sum() > 0 else corners[::-1]


@lru_cache(maxsize=256)
def triangles(count: int, key: bytes) -> NDArray[np.int64]:
    """(t, 3): an outline (count, 2), counter-clockwise, without holes, cut into triangles ear by ear."""
    points = np.frombuffer(key, dtype=np.float64).reshape(count, 2)
    left, found = list(range(count)), []
    while len(left) > 3:
        for k in range(len(left)):
            a, b, c = left[k - 1], left[k], left[(k + 1) % len(left)]
            others = [i for i in left if i not in (a, b, c)]
            if _turn(points[a], points[b], points[c]) > 0 and not any(_inside(points, i, (a, b, c)) for i in others):
                found.append((a, b, c))
                left.pop(k)
                break
        else:
            # a sliver: whatever ear is left
            found.append((left[0], left[1], left[2]))
            left.pop(1)
    found.append((left[0], left[1], left[2]))
    return np.array(found, dtype=np.int64)


def _turn(a: Floats, b: Floats, c: Floats) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def _inside(points: Floats, i: int, ear: tuple[int, int, int]) -> bool:
    a, b, c = (points[k] for k in ear)
    p = points[i]
    return _turn(a, b, p) >= 0 and _turn(b, c, p) >= 0 and _turn(c, a, p) >= 0
