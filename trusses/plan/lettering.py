"""Where each crossing of a run has its letter: beside its sign where that is plain, else at the end of a leader.

No letter is left out. It stands near its sign with no other sign as near; where there is no such place it is led to its
sign, through the bay beside the truss or straight; where all is full it stands on a ground that keeps the wood off it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from trusses.drawing.placing import through
from trusses.drawing.text import width_of
from trusses.plan.overlays import Point
from trusses.plan.room import Box, Copies, Taken

SIGN = 7.0
"""Half of the largest sign."""
_LARGE, _SMALL = 12.0, 10.0
_CLEAR = 3.0
"""From the middle of a truss's line, or from a sign, to a letter's box."""
_NEARER = 1.5
_EDGE = 2.0
_CROWD = 5
"""So many signs that lie over one another, its own with them, that a leader finds no way out between them."""
_SAME = 1.0
_STEP, _FARTHEST = 6.0, 420.0
_WAYS = [(math.cos(math.radians(turn)), math.sin(math.radians(turn))) for turn in range(-82, 278, 15)]


@dataclass(frozen=True)
class Placed:
    """A letter about a point; `leader`: from its sign to it; `ground`: it stands on lines, which are kept off it."""

    letter: str
    at: Point
    size: float
    leader: Sequence[Point] = ()
    ground: Box | None = None

    @property
    def box(self) -> Box:
        return _box(self.at, _half(self.letter, self.size))


class Lettering:
    """`size`: of the sheet; `signs`: of all runs on it, which `taken` has already."""

    def __init__(self, size: Point, taken: Taken, copies: Copies, signs: Sequence[Point]) -> None:
        self._size, self._taken, self._copies, self._signs = size, taken, copies, signs
        self._signed = {_rounded(at) for at in signs}
        self._leaders: list[tuple[Point, Point]] = []
        self._like = (0, 0)

    def place(self, met: Sequence[tuple[str, Point]]) -> list[Placed]:
        """The letters of one run, in its order. First those that need no leader, so that leaders keep clear of them."""
        found: dict[int, Placed] = {}
        for i, (letter, at) in enumerate(met):
            if near := self._near(letter, at):
                found[i] = near
        for i, (letter, at) in enumerate(met):
            if i not in found:
                found[i] = self._led(letter, at)
        return [found[i] for i in range(len(met))]

    def _near(self, letter: str, sign: Point) -> Placed | None:
        others = [at for at in self._signs if _SAME < math.dist(at, sign) < 120]
        if any(math.dist(at, sign) < SIGN for at in others):
            return None  # signs that lie over one another are told apart by leaders
        for size in _sizes(letter):
            half = _half(letter, size)
            for like, off in self._offsets(half):
                at = sign[0] + off[0], sign[1] + off[1]
                own = math.hypot(*off) + _NEARER
                if all(math.dist(at, other) > own for other in others) and self._takes(at, half):
                    self._like = like
                    return Placed(letter, at, size)
        return None

    def _offsets(self, half: Point) -> Iterator[tuple[tuple[int, int], Point]]:
        """Places about a sign, beginning with the one that the letter before it took, so that letters stand in rows."""
        x, y = half[0] + _CLEAR, half[1] + _CLEAR
        beside, over = half[0] + SIGN + 2.2, half[1] + SIGN + 2.2
        ways = [(x, over), (beside, y), (beside, over), (x, over + 8), (beside + 8, y), (x, over + 16)]
        quarters = [(1, -1), (1, 1), (-1, -1), (-1, 1)]
        every = [(i, j) for i in range(len(ways)) for j in range(len(quarters))]
        for i, j in [self._like, *(one for one in every if one != self._like)]:
            yield (i, j), (ways[i][0] * quarters[j][0], ways[i][1] * quarters[j][1])

    def _led(self, letter: str, sign: Point) -> Placed:
        size = _sizes(letter)[-1]
        half = _half(letter, size)
        # nothing, then signs that lie over its own, then other leaders, then signs that stand too close to go between
        crowded = sum(math.dist(at, sign) <= SIGN for at in self._signs) > _CROWD
        for over in (0, 1, 2) if crowded else (-1, 0, 1, 2):
            tries = (self._along_bays(sign, half), self._straight(sign, half))
            found = [one for those in tries if (one := self._first(those, half, sign, over))]
            if found:
                leader = min(found, key=_length)
                return self._keep(Placed(letter, leader[-1], size, _to_box(leader, half)), half)
        at = self._on_wood(sign, half)
        return self._keep(Placed(letter, at, size, _to_box([_out(sign, at), at], half), _box(at, half)), half)

    def _first(self, those: Iterable[Sequence[Point]], half: Point, sign: Point, over: int) -> Sequence[Point] | None:
        for leader in those:
            if self._fits(leader[-1], half) and self._clear(leader, sign, over):
                return leader
        return None

    def _along_bays(self, sign: Point, half: Point) -> Iterator[Sequence[Point]]:
        """Out into the middle of the bay on either side, then along it, farther and farther."""
        k, before, after = self._copies.beside(sign)
        asides = [min(gap / 2, 12) * way for gap, way in ((after, 1), (before, -1))]
        for far in range(int((_FARTHEST * 2) // _STEP)):
            for aside, way in itertools.product(asides, (-1, 1)):
                t = way * (SIGN + 4 + half[k] + far * _STEP)
                elbow, end = (aside, way * (SIGN + 2)), (aside, t)
                yield [_out(sign, p) if i == 0 else p for i, p in enumerate(_turned(sign, k, elbow, elbow, end))]

    def _straight(self, sign: Point, half: Point) -> Iterator[Sequence[Point]]:
        far = SIGN + 6 + half[1]
        while far < _FARTHEST:
            for x, y in _WAYS:
                at = sign[0] + x * (far + half[0] - half[1]), sign[1] + y * far
                yield [_out(sign, at), at]
            far += _STEP

    def _on_wood(self, sign: Point, half: Point) -> Point:
        """The nearest place where no letter and no sign is; at the worst beside the sign."""
        for leader in self._straight(sign, half):
            box = _box(leader[-1], half)
            led = any(through(*other, box) for other in self._leaders)
            if self._inside(box) and not led and self._taken.free(box, of_letters=True):
                return leader[-1]
        return sign[0] + SIGN + half[0], sign[1] - SIGN - half[1]

    def _inside(self, box: Box) -> bool:
        return box[0] >= 0 and box[1] >= 0 and box[2] <= self._size[0] and box[3] <= self._size[1]

    def _fits(self, at: Point, half: Point) -> bool:
        box = _box(at, half)
        return self._inside(box) and self._taken.free(box)

    def _takes(self, at: Point, half: Point) -> bool:
        if not self._fits(at, half):
            return False
        self._taken.add(_box(at, half))
        return True

    def _clear(self, leader: Sequence[Point], sign: Point, over: int) -> bool:
        for a, b in itertools.pairwise(leader):
            for box in self._taken.met(a, b):
                at = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
                far = math.dist(at, sign)
                may = over > 1 or (far <= SIGN and (over >= 0 or far <= _SAME or not through(a, b, _inner(box))))
                if not (may and _rounded(at) in self._signed):
                    return False
            if over <= 0 and any(_cross(a, b, *other) for other in self._leaders):
                return False
        return True

    def _keep(self, one: Placed, half: Point) -> Placed:
        self._taken.add(_box(one.at, half))
        for a, b in itertools.pairwise(one.leader):
            self._taken.line(a, b, 1)
            self._leaders.append((a, b))
        return one


def _sizes(letter: str) -> tuple[float, ...]:
    """Two letters are set smaller, since they stand in the same bay as one; all are large enough on paper."""
    return (_LARGE, _SMALL) if len(letter) == 1 else (_SMALL,)


def _half(letter: str, size: float) -> Point:
    return width_of(letter, size) / 2 + 1, size * 0.575


def _box(at: Point, half: Point) -> Box:
    return at[0] - half[0], at[1] - half[1], at[0] + half[0], at[1] + half[1]


def _inner(sign: Box) -> Box:
    """What of a sign's box each of the signs fills."""
    left, high, right, low = sign
    return left + _EDGE, high + _EDGE, right - _EDGE, low - _EDGE


def _rounded(at: Point) -> Point:
    return round(at[0], 1), round(at[1], 1)


def _out(sign: Point, toward: Point) -> Point:
    """Where a leader begins: at the sign's edge."""
    far = math.dist(sign, toward) or 1.0
    return sign[0] + (toward[0] - sign[0]) * SIGN / far, sign[1] + (toward[1] - sign[1]) * SIGN / far


def _turned(sign: Point, k: int, *offs: Point) -> list[Point]:
    """Places by how far they are across a truss that runs along axis k, and along it."""
    return [(sign[0] + (b if k == 0 else a), sign[1] + (a if k == 0 else b)) for a, b in offs]


def _to_box(leader: Sequence[Point], half: Point) -> list[Point]:
    """The leader as far as its letter's box."""
    (px, py), (x, y) = leader[-2], leader[-1]
    shares = [edge / abs(way) for edge, way in ((half[0], x - px), (half[1], y - py)) if way]
    share = min([*shares, 1.0])
    return [*leader[:-1], (x - (x - px) * share, y - (y - py) * share)]


def _length(leader: Sequence[Point]) -> float:
    return sum(itertools.starmap(math.dist, itertools.pairwise(leader)))


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    def side(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) <= 0 and side(c, d, a) * side(c, d, b) <= 0
