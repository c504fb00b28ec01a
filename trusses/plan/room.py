"""Where letters of a plan have room: what is drawn already, and which copy a place is beside. Pixels."""

from __future__ import annotations

import bisect
import math
from collections.abc import Iterable, Iterator

from trusses.drawing.placing import through
from trusses.plan.overlays import Point

_APART = 2.0
_NEARER = 2.5
"""So much nearer to its own copy than to any other is what is read as its own."""
_CELL = 40.0
_PIECE = 12.0

Box = tuple[float, float, float, float]


class Taken:
    """What is drawn already: lines as boxes about them, letters and signs as their boxes; found by the cells of a grid.
    `under`: what is drawn below, which stays as it is."""

    def __init__(self, under: Taken | None = None) -> None:
        self._under = under
        self._cells: dict[tuple[int, int], list[tuple[Box, bool]]] = {}

    def add(self, box: Box, *, said: bool = True) -> None:
        """`said`: letters or a sign, across which no leader goes."""
        for cell in _cells(box):
            self._cells.setdefault(cell, []).append((box, said))

    @property
    def boxes(self) -> list[Box]:
        """Each once."""
        return list(dict.fromkeys(box for held in self._cells.values() for box, _ in held))

    @property
    def said(self) -> list[Box]:
        """Letters and signs, each once."""
        return list(dict.fromkeys(box for held in self._cells.values() for box, said in held if said))

    def line(self, a: Point, b: Point, wide: float) -> None:
        """Slanted lines are kept in pieces, whose boxes are small."""
        pieces = 1 if a[0] == b[0] or a[1] == b[1] else max(int(math.dist(a, b) // _PIECE), 1)
        x, y = (0.0 if a[1] == b[1] else wide / 2), (0.0 if a[0] == b[0] else wide / 2)
        for p, q in _pieces(a, b, pieces):
            box = min(p[0], q[0]) - x, min(p[1], q[1]) - y, max(p[0], q[0]) + x, max(p[1], q[1]) + y
            self.add(box, said=False)

    def free(self, box: Box, *, of_letters: bool = False) -> bool:
        """Whether nothing is within `_APART` of a box; `of_letters`: no letter and no sign, whatever lines are."""
        if self._under and not self._under.free(box, of_letters=of_letters):
            return False
        a, b, c, d = box[0] - _APART, box[1] - _APART, box[2] + _APART, box[3] + _APART
        for cell in _cells((a, b, c, d)):
            for (left, high, right, low), said in self._cells.get(cell, ()):
                if a < right and c > left and b < low and d > high and (said or not of_letters):
                    return False
        return True

    def met(self, a: Point, b: Point) -> Iterator[Box]:
        """The letters and signs that a line from a to b comes over."""
        if self._under:
            yield from self._under.met(a, b)
        seen: set[Box] = set()
        for p, q in _pieces(a, b, max(int(math.dist(a, b) // _CELL), 1)):
            for cell in _cells((min(p[0], q[0]), min(p[1], q[1]), max(p[0], q[0]), max(p[1], q[1]))):
                for box, said in self._cells.get(cell, ()):
                    if said and box not in seen and through(p, q, box):
                        seen.add(box)
                        yield box


def _cells(box: Box) -> Iterator[tuple[int, int]]:
    for i in range(int(box[0] // _CELL), int(box[2] // _CELL) + 1):
        for j in range(int(box[1] // _CELL), int(box[3] // _CELL) + 1):
            yield i, j


def _pieces(a: Point, b: Point, count: int) -> Iterator[tuple[Point, Point]]:
    for i in range(count):
        p, q = ((a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for t in (i / count, (i + 1) / count))
        yield p, q


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

    def beside(self, at: Point) -> tuple[int, float, float]:
        """Of the copy that a place lies on: along which axis it runs, and how far it is to the next one before and
        after it across; infinite where none is."""
        for k in (1, 0):
            there = [across - at[1 - k] for across, low, high in self._along[k] if low - 1 <= at[k] <= high + 1]
            if any(abs(off) < 1 for off in there):
                before = max((off for off in there if off <= -1), default=-math.inf)
                return k, -before, min((off for off in there if off >= 1), default=math.inf)
        return 1, math.inf, math.inf
