"""Where letters of a plan have room: what is drawn already, and which copy a place is beside. Pixels."""

from __future__ import annotations

import bisect
import math
from collections.abc import Iterable

from trusses.plan.overlays import Point

_APART = 2.0
_NEARER = 2.5
"""So much nearer to its own copy than to any other is what is read as its own."""

Box = tuple[float, float, float, float]


class Taken:
    """What is drawn already: lines as boxes about them, letters as their boxes."""

    def __init__(self) -> None:
        self.boxes: list[Box] = []

    def line(self, a: Point, b: Point, wide: float) -> None:
        """Slanted lines are kept in pieces, whose boxes are small."""
        pieces = 1 if a[0] == b[0] or a[1] == b[1] else max(int(math.dist(a, b) // 12), 1)
        for i in range(pieces):
            p, q = ((a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for t in (i / pieces, (i + 1) / pieces))
            half = wide / 2
            self.boxes.append(
                (min(p[0], q[0]) - half, min(p[1], q[1]) - half, max(p[0], q[0]) + half, max(p[1], q[1]) + half)
            )

    def free(self, box: Box) -> bool:
        a, b, c, d = box
        return not any(
            a < right + _APART and c > left - _APART and b < low + _APART and d > high - _APART
            for left, high, right, low in self.boxes
        )


class Copies:
    """The lines of a level's copies: whether something that stands at a place is read as one of them's."""

    def __init__(self, lines: Iterable[tuple[Point, Point]]) -> None:
        """Those along x, and those along y: their place across, from where to where they run; in the order of the
        first."""
        self._along: tuple[list[tuple[float, float, float]], ...] = ([], [])
        for a, b in lines:
            k = 1 if a[0] == b[0] else 0
            low, high = sorted((a[k], b[k]))
            self._along[k].append((a[1 - k], low, high))
        for held in self._along:
            held.sort()

    def own(self, at: Point, line: tuple[Point, Point]) -> bool:
        """Whether a place beside a copy's line is nearer to it than to any other that runs the same way."""
        (a, b), k = line, 1 if line[0][0] == line[1][0] else 0
        here, place = at[k], at[1 - k]
        off = abs(place - a[1 - k])
        held = self._along[k]
        first = bisect.bisect_left(held, (place - off - _NEARER,))
        for across, low, high in held[first:]:
            if across > place + off + _NEARER:
                break
            if (across, low, high) != (a[1 - k], *sorted((a[k], b[k]))) and low <= here <= high:
                return False
        return True
