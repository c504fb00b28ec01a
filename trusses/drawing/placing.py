"""Room for labels: what already stands on the drawing, and whether a label would cover it. User units."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

Point = tuple[float, float]
Outline = Sequence[Point]


def box(x: float, y: float, width: float, height: float, turned: float = 0.0) -> tuple[Point, ...]:
    """Corners of a rectangle about its centre, turned by `turned` radians."""
    c, s = math.cos(turned), math.sin(turned)
    halves = ((-width / 2, -height / 2), (width / 2, -height / 2), (width / 2, height / 2), (-width / 2, height / 2))
    return tuple((x + dx * c - dy * s, y + dx * s + dy * c) for dx, dy in halves)


def overlap(one: Outline, other: Outline) -> bool:
    """Whether two convex outlines share more than an edge (separating axes)."""
    return all(_overlap_across(edges, one, other) for edges in (one, other))


def _overlap_across(edges: Outline, one: Outline, other: Outline) -> bool:
    px, py = edges[-1]
    for x, y in edges:
        nx, ny = y - py, px - x
        px, py = x, y
        first = [nx * u + ny * v for u, v in one]
        second = [nx * u + ny * v for u, v in other]
        if max(first) <= min(second) or max(second) <= min(first):
            return False
    return True


class Room:
    """Convex outlines that labels keep clear of, each with an owner that its own label may stand on."""

    def __init__(self, width: float) -> None:
        self.width = width
        self._taken: list[tuple[float, float, float, float, Outline, str]] = []

    def take(self, outline: Outline, owner: str = "") -> None:
        xs, ys = [x for x, _ in outline], [y for _, y in outline]
        self._taken.append((min(xs), min(ys), max(xs), max(ys), outline, owner))

    def free(self, outline: Outline, owner: str | None = None) -> bool:
        """Whether a label fits there, inside the drawing's sides; it may cover what `owner` owns."""
        xs, ys = [x for x, _ in outline], [y for _, y in outline]
        left, top, right, bottom = min(xs), min(ys), max(xs), max(ys)
        if left < 1 or top < 1 or right > self.width - 1:
            return False
        for x0, y0, x1, y1, other, other_owner in self._taken:
            if right <= x0 or x1 <= left or bottom <= y0 or y1 <= top or (owner is not None and owner == other_owner):
                continue
            if overlap(outline, other):
                return False
        return True

    def first_free(self, candidates: Iterable[tuple[Outline, object]], owner: str | None = None) -> object | None:
        """The first candidate that fits; its place is taken."""
        for outline, candidate in candidates:
            if self.free(outline, owner):
                self.take(outline)
                return candidate
        return None
