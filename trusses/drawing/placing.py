"""Room for labels: what already stands on the drawing, and whether a label would cover it. User units."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

Point = tuple[float, float]
Outline = Sequence[Point]
Axis = tuple[float, float, float, float]
T = TypeVar("T")


def box(x: float, y: float, width: float, height: float, turned: float = 0.0) -> tuple[Point, ...]:
    """Corners of a rectangle about its centre, turned by `turned` radians."""
    c, s = math.cos(turned), math.sin(turned)
    halves = ((-width / 2, -height / 2), (width / 2, -height / 2), (width / 2, height / 2), (-width / 2, height / 2))
    return tuple((x + dx * c - dy * s, y + dx * s + dy * c) for dx, dy in halves)


def overlap(one: Outline, other: Outline) -> bool:
    """Whether two convex outlines share more than an edge (separating axes)."""
    return not (_apart(_axes(one), other) or _apart(_axes(other), one))


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


@dataclass(frozen=True, slots=True)
class _Taken:
    left: float
    top: float
    right: float
    bottom: float
    outline: Outline
    axes: list[Axis]
    owner: str


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
        return max((taken.bottom for taken in self._taken), default=0.0)

    def take(self, outline: Outline, owner: str = "") -> None:
        xs, ys = [x for x, _ in outline], [y for _, y in outline]
        self._taken.append(_Taken(min(xs), min(ys), max(xs), max(ys), outline, _axes(outline), owner))

    def free(self, outline: Outline, owner: str | None = None) -> bool:
        """Whether a label fits there, inside the drawing's sides; it may cover what `owner` owns."""
        xs, ys = [x for x, _ in outline], [y for _, y in outline]
        left, top, right, bottom = min(xs), min(ys), max(xs), max(ys)
        if left < 1 or top < 1 or right > self.width - 1 or bottom > self.floor:
            return False
        axes: list[Axis] | None = None
        for taken in self._taken:
            if right <= taken.left or taken.right <= left or bottom <= taken.top or taken.bottom <= top:
                continue
            if (owner is not None and owner == taken.owner) or _apart(taken.axes, outline):
                continue
            axes = _axes(outline) if axes is None else axes
            if not _apart(axes, taken.outline):
                return False
        return True

    def first_free(self, candidates: Iterable[tuple[Outline, T]], owner: str | None = None) -> T | None:
        """The first candidate that fits; its place is taken."""
        for outline, candidate in candidates:
            if self.free(outline, owner):
                self.take(outline)
                return candidate
        return None

    def best(self, candidates: Sequence[tuple[Outline, T]]) -> T:
        """The first candidate that fits, or the first of all: for what must be said. Its place is taken."""
        outline, candidate = next((each for each in candidates if self.free(each[0])), candidates[0])
        self.take(outline)
        return candidate
