"""Room for labels: what already stands on the drawing, and whether a label would cover it. User units."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

Point = tuple[float, float]
Outline = Sequence[Point]
Axis = tuple[float, float, float, float]
T = TypeVar("T")
_LABEL = "a label"  # no member, gap or ghost is called so


def box(x: float, y: float, width: float, height: float, turned: float = 0.0) -> tuple[Point, ...]:
    """Corners of a rectangle about its centre, turned by `turned` radians."""
    c, s = math.cos(turned), math.sin(turned)
    halves = ((-width / 2, -height / 2), (width / 2, -height / 2), (width / 2, height / 2), (-width / 2, height / 2))
    return tuple((x + dx * c - dy * s, y + dx * s + dy * c) for dx, dy in halves)


def thread(start: Point, end: Point) -> tuple[Point, ...]:
    """A line as an outline of a hair's breadth."""
    (ax, ay), (bx, by) = start, end
    return box((ax + bx) / 2, (ay + by) / 2, math.dist(start, end), 1.0, math.atan2(by - ay, bx - ax))


def overlap(one: Outline, other: Outline) -> bool:
    """Whether two convex outlines share more than an edge (separating axes)."""
    return not (_apart(_axes(one), other) or _apart(_axes(other), one))


def _bounds(outline: Outline) -> tuple[float, float, float, float]:
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    return min(xs), min(ys), max(xs), max(ys)


def _axes(outline: Outline) -> list[Axis]:
    """A normal of each edge, and the outline's extent along it."""
    axes = []
    px, py = outline[-1]
    for x, y in outline:
        nx, ny = y - py, px - x
        along = [nx * u + ny * v for u, v in outline]
        axes.append((nx, ny, min(along), max(along)))
        px, py = x, y
    return axes


def _apart(axes: Iterable[Axis], outline: Outline) -> bool:
    for nx, ny, low, high in axes:
        along = [nx * u + ny * v for u, v in outline]
        if max(along) <= low or min(along) >= high:
            return True
    return False


@dataclass(frozen=True)
class Spot(Generic[T]):
    """A place to try for a label: its outline, the line that would lead from it, and what would stand there."""

    outline: Outline
    stands: T
    leader: Outline | None = None


@dataclass(frozen=True, slots=True)
class _Taken:
    bounds: tuple[float, float, float, float]
    outline: Outline
    axes: list[Axis]
    owner: str

    def near(self, bounds: tuple[float, float, float, float]) -> bool:
        left, top, right, bottom = bounds
        x0, y0, x1, y1 = self.bounds
        return right > x0 and x1 > left and bottom > y0 and y1 > top

    def meets(self, other: Outline) -> bool:
        return not (_apart(self.axes, other) or _apart(_axes(other), self.outline))


class Room:
    """Convex outlines that labels keep clear of, each with an owner that its own label may stand on.

    Labels stay between the drawing's sides and above `floor`.
    """

    def __init__(self, width: float) -> None:
        self.width = width
        self.floor = math.inf
        self._taken: list[_Taken] = []

    @property
    def lowest(self) -> float:
        """The lowest level that is taken."""
        return max((taken.bounds[3] for taken in self._taken), default=0.0)

    def take(self, outline: Outline, owner: str = "") -> None:
        self._taken.append(_Taken(_bounds(outline), outline, _axes(outline), owner))

    def free(self, outline: Outline, owner: str | None = None) -> bool:
        """Whether a label fits there, inside the drawing's sides; it may cover what `owner` owns."""
        bounds = left, top, right, bottom = _bounds(outline)
        if left < 1 or top < 1 or right > self.width - 1 or bottom > self.floor:
            return False
        near = (taken for taken in self._taken if taken.near(bounds))
        return not any(taken.meets(outline) for taken in near if owner is None or taken.owner != owner)

    def crosses_labels(self, line: Outline) -> bool:
        """Whether a leader would run through a label or another leader; wood it may cross."""
        bounds = _bounds(line)
        return any(taken.meets(line) for taken in self._taken if taken.owner == _LABEL and taken.near(bounds))

    def first_free(self, spots: Iterable[Spot[T]], owner: str | None = None) -> T | None:
        """What stands at the first spot that fits; its place is taken."""
        for spot in spots:
            if self.free(spot.outline, owner) and not (spot.leader and self.crosses_labels(spot.leader)):
                return self._settle(spot)
        return None

    def best(self, spots: Sequence[Spot[T]], owner: str | None = None) -> T:
        """As `first_free`, or what stands at the first spot of all: for what must be said."""
        found = self.first_free(spots, owner)
        return self._settle(spots[0]) if found is None else found

    def _settle(self, spot: Spot[T]) -> T:
        self.take(spot.outline, _LABEL)
        if spot.leader:
            self.take(spot.leader, _LABEL)
        return spot.stands
