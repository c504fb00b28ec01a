"""The roof that a truss's top chord makes: its planes from eave to eave, and its ridge. Inches."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from trusses.analysis.format.model import Truss

_CLOSE_IN = 1e-3
#: Joints are rounded to 1/10,000 in., so two pieces of one plane differ in slope by less than this, in. per in.
_SAME_SLOPE = 1e-3


@dataclass(frozen=True, slots=True)
class Plane:
    """One plane: x from and to, and its slope, rise over run, positive where it rises to the right."""

    left: float
    right: float
    slope: float

    @property
    def rises(self) -> bool:
        return self.slope > _SAME_SLOPE

    @property
    def falls(self) -> bool:
        return self.slope < -_SAME_SLOPE

    @property
    def degrees(self) -> float:
        return math.degrees(math.atan(abs(self.slope)))

    @property
    def rise_in_12(self) -> float:
        return 12 * abs(self.slope)


@dataclass(frozen=True, slots=True)
class Ridge:
    """Where a roof rises to from the left and falls from to the right; `sides` are the planes left and right of it."""

    x: float
    sides: tuple[tuple[Plane, ...], tuple[Plane, ...]]

    @property
    def beside(self) -> tuple[Plane, Plane]:
        """The sloping planes nearest to it, left and right."""
        left, right = self.sides
        return next(p for p in reversed(left) if p.rises), next(p for p in right if p.falls)


@dataclass(frozen=True, slots=True)
class Roof:
    """Planes from left to right; neighbors differ in slope."""

    planes: tuple[Plane, ...]

    @property
    def eaves(self) -> tuple[float, float]:
        return self.planes[0].left, self.planes[-1].right

    @property
    def single(self) -> bool:
        """Whether it rises one way only, or not at all: a mono or flat roof."""
        return not (any(p.rises for p in self.planes) and any(p.falls for p in self.planes))

    @property
    def ridge(self) -> Ridge | None:
        """The ridge, of a level top its middle; None for a mono or flat roof, and where it falls to a valley.

        A level plane across the ridge is cut in two.
        """
        if self.single:
            return None
        rises, falls = (max(p.right for p in self.planes if p.rises), min(p.left for p in self.planes if p.falls))
        if rises > falls + _CLOSE_IN:
            return None
        x = (rises + falls) / 2
        left = tuple(Plane(p.left, min(p.right, x), p.slope) for p in self.planes if p.left < x - _CLOSE_IN)
        right = tuple(Plane(max(p.left, x), p.right, p.slope) for p in self.planes if p.right > x + _CLOSE_IN)
        return Ridge(x, (left, right))


def roof_of(truss: Truss) -> Roof | None:
    """The roof of a truss; None where its top chord is no single line from eave to eave, or there is none."""
    pieces = []
    for member in truss.members:
        if member.role == "top_chord":
            a, b = sorted(truss.ends(member), key=lambda joint: joint.x)
            if b.x - a.x > _CLOSE_IN:
                pieces.append((a, b))
    pieces.sort(key=lambda ends: ends[0].x)
    for (_, end), (start, _) in itertools.pairwise(pieces):
        if abs(end.x - start.x) > _CLOSE_IN or abs(end.y - start.y) > _CLOSE_IN:
            return None
    planes: list[Plane] = []
    for a, b in pieces:
        slope = (b.y - a.y) / (b.x - a.x)
        if planes and abs(slope - planes[-1].slope) <= _SAME_SLOPE:
            planes[-1] = Plane(planes[-1].left, b.x, planes[-1].slope)
        else:
            planes.append(Plane(a.x, b.x, slope))
    return Roof(tuple(planes)) if planes else None
