"""Ways in which webs may stand in a part of a strip: through a grid of places, the best found step by step. Inches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from operator import itemgetter
from typing import Any

import numpy as np

from trusses.analysis.clearance.free_space import TOUCH_IN, spares
from trusses.analysis.format.model import Opening
from trusses.analysis.redesign.building import apart
from trusses.analysis.redesign.layouts import FLATTEST, LEAST_PANEL_IN, TIGHTEST, depth
from trusses.analysis.redesign.places import Flags, Floats, Grid, Place

#: What a way costs beside the webs that it moves: an open panel, a new panel point, each inch that one moves.
_OPEN, _NEW_POINT, _AN_INCH = 0.4, 0.05, 0.002

_MOST_NEW = 6
_MOST_WAYS = 400
_ALIKE = 2
_COSINE = float(np.cos(np.radians(TIGHTEST)))
#: A panel framed around an opening reaches no farther beyond it than this, inches.
_FRAME_IN = 40.0
_FRAMED = 3

#: A way from the left so far: its cost, new webs, whether a panel was opened, the panel points of today's that it went
#: through (None for new ones), and its webs from the last one back.
Partial = tuple[float, int, bool, tuple[tuple[str | None, str | None], ...], Any]


@dataclass(frozen=True)
class Way:
    """Webs between two that stay, as pairs of places on the top and the bottom chord, and which of today's go. `frame`
    are the two beside a panel that is newly open."""

    webs: tuple[tuple[Place, Place], ...]
    gone: tuple[str, ...]
    cost: float
    frame: tuple[tuple[Place, Place], tuple[Place, Place]] | None = None


class Window(Grid):
    """The ways in which webs may stand between two webs of a strip, which stay."""

    @cached_property
    def _next(self) -> dict[bool, Flags]:
        return {}

    @cached_property
    def _right_of(self) -> dict[Opening, Flags]:
        return {}

    @cached_property
    def _arrays(self) -> tuple[Floats, Floats]:
        return np.array([(p.x, p.y) for p in self.top]), np.array([(p.x, p.y) for p in self.bottom])

    @cached_property
    def _today_webs(self) -> dict[tuple[int, int], str]:
        tops = {place.joint: i for i, place in enumerate(self.top) if place.joint}
        bottoms = {place.joint: i for i, place in enumerate(self.bottom) if place.joint}
        return {(tops[w.top], bottoms[w.bottom]): w.name for w in self.inside if w.name}

    @cached_property
    def _may(self) -> Flags:
        """(top, bottom): whether a web may stand there."""
        tops, bottoms = self._arrays
        n, m = len(tops), len(bottoms)
        a, b = np.repeat(tops, m, axis=0), np.tile(bottoms, (n, 1))
        may = self.clear(a, b)
        run = b - a
        with np.errstate(divide="ignore", invalid="ignore"):
            run = run / np.hypot(*run.T)[:, None]
        flattest = self._flattest
        for places, line in ((np.repeat(np.arange(n), m), tops), (np.tile(np.arange(m), n), bottoms)):
            for side in (_directions(line)[0], _directions(line)[1]):
                cosine = np.abs((run * side[places]).sum(axis=1))
                may &= ~(cosine > np.cos(np.radians(flattest)) + 1e-9)
        may = may.reshape(n, m)
        for line, row in ((tops, True), (bottoms, False)):
            near = apart(self.openings, line) < self.building.from_joints_in - TOUCH_IN
            may[near if row else slice(None), slice(None) if row else near] = False
        for (i, j), name in self._today_webs.items():
            ends = np.array([[tops[i], bottoms[j]]])
            deep = np.array([depth(self.draft, name)])
            stays = all(spares(ends, deep, opening)[0] >= -TOUCH_IN for opening in self.openings)
            far = apart(self.openings, ends[0]).min() >= self.building.from_joints_in - TOUCH_IN
            may[i, j] = stays and far
        return may

    @property
    def _flattest(self) -> float:
        """A web may lie as flat as one of today's that it may replace."""
        tops, bottoms = self._arrays
        least = FLATTEST
        for i, j in self._today_webs:
            run = bottoms[j] - tops[i]
            for line, at in ((tops, i), (bottoms, j)):
                for side in _directions(line):
                    cosine = abs(float(run @ side[at])) / float(np.hypot(*run))
                    least = min(least, float(np.degrees(np.arccos(min(cosine, 1.0)))) - 1e-6)
        return least

    def ways(self, most: int, each: int) -> list[Way]:
        """Up to `most` ways, those that change least first; `each` are followed from every pair of places."""
        closed, framed = self._found(each)
        out = closed[: most - min(len(framed), most // 3)]
        return sorted([*out, *framed[: most - len(out)]], key=lambda way: way.cost)

    def _found(self, each: int) -> tuple[list[Way], list[Way]]:
        """Ways without a new open panel, and those with one that is open around an opening, the cheapest first."""
        n, m = len(self.top), len(self.bottom)
        today, end = self._today_webs, (n - 1, m - 1)
        meets = self.left.top == self.left.bottom, self.right.top == self.right.bottom
        prices = [self._price(places) for places in (self.top, self.bottom)]
        onward = self._goes(meets)
        open_today = set(zip([(0, 0), *today], [*today, end], strict=False))
        sorts = [[place.joint for place in places] for places in (self.top, self.bottom)]
        partial: dict[tuple[int, int], list[Partial]] = {(0, 0): [(0.0, 0, False, (), None)]}
        for i, j in ((i, j) for i in range(n) for j in range(m)):
            reached = partial.pop((i, j), None) if (i, j) != end else None
            if not reached:
                continue
            closed, opened = _few(reached, each)
            goes = [(a, b, 0.0, False) for a, b in onward.get((i, j), ())]
            goes += [(a, b, 0.0, False) for a, b in self._past_open(i, j, open_today)]
            goes += [(a, b, _OPEN, True) for a, b in self._around(i, j)]
            for a, b, more, opens in goes:
                more += (prices[0][a] if a != i else 0.0) + (prices[1][b] if b != j else 0.0)
                new = 0 if (a, b) == end or (a, b) in today else 1
                more += new - ((a, b) in today)
                ways = partial.setdefault((a, b), [])
                sort = sorts[0][a], sorts[1][b]
                for cost, news, open_, through, back in closed[:_FRAMED] if opens else (*closed, *opened):
                    if news + new <= _MOST_NEW:
                        ways.append((cost + more, news + new, open_ or opens, (*through, sort), (back, (a, b))))
        found = ([self._way(one, end) for one in ends] for ends in _few(partial.get(end, []), _MOST_WAYS))
        closed_ways, framed = ([way for way in ways if way] for ways in found)
        return closed_ways, framed

    def _way(self, found: Partial, end: tuple[int, int]) -> Way | None:
        (cost, news, opened, _, back), today, pairs = found, self._today_webs, []
        while back is not None:
            back, pair = back
            pairs.append(pair)
        pairs = [pair for pair in reversed(pairs) if pair != end]
        kept = {today[pair] for pair in pairs if pair in today}
        gone = tuple(name for name in today.values() if name not in kept)
        if not gone and not news:
            return None
        webs = tuple((self.turned(self.top[i]), self.turned(self.bottom[j])) for i, j in pairs)
        frame = None
        if opened:
            one, other = next(pair for pair in pairwise([(0, 0), *pairs, end]) if self._opens(*pair))
            ends = [(self.turned(self.top[i]), self.turned(self.bottom[j])) for i, j in (one, other)]
            frame = min(ends, key=_x), max(ends, key=_x)
        return Way(webs, gone, max(news, len(gone)) + 0.1 * (cost - news + len(kept)), frame)

    def _opens(self, one: tuple[int, int], other: tuple[int, int]) -> bool:
        """Whether the panel between two webs is open, and wasn't."""
        return one[0] != other[0] and one[1] != other[1] and other in self._around(*one)

    def _price(self, places: Sequence[Place]) -> list[float]:
        """What it costs beside its webs that a place is used."""
        today = np.array([place.x for place in places if place.joint])
        return [
            0.0 if place.joint else _NEW_POINT + _AN_INCH * float(np.abs(today - place.x).min()) for place in places
        ]

    def _goes(self, meets: tuple[bool, bool]) -> dict[tuple[int, int], list[tuple[int, int]]]:
        """The webs that may follow each web, one end of both at the same place; beside an end where the chords meet
        every one that closes a triangle there."""
        may, (n, m) = self._may.copy(), self._may.shape
        may[0, 0] = not meets[0]
        may[-1, -1] = not meets[1]
        next_top, next_bottom = self._onward(self.top), self._onward(self.bottom)
        tops, bottoms = self._arrays
        out: dict[tuple[int, int], list[tuple[int, int]]] = {}
        same = np.zeros((n, m), dtype=bool)
        for pair in self._today_webs:
            same[pair] = True
        for j in range(m):
            wide = _wide(tops - bottoms[j]) | np.outer(same[:, j], same[:, j])
            for i, a in np.argwhere(next_top & wide & np.outer(may[:, j], may[:, j])).tolist():
                out.setdefault((i, j), []).append((a, j))
        for i in range(n):
            wide = _wide(bottoms - tops[i]) | np.outer(same[i], same[i])
            for j, b in np.argwhere(next_bottom & wide & np.outer(may[i], may[i])).tolist():
                out.setdefault((i, j), []).append((i, b))
        if meets[0]:
            first = np.outer(next_top[0], next_bottom[0]) & may
            out[0, 0] = [(a, b) for a, b in np.argwhere(first).tolist()]
        if meets[1]:
            for i, j in np.argwhere(np.outer(next_top[:, -1], next_bottom[:, -1]) & may).tolist():
                out.setdefault((i, j), []).append((n - 1, m - 1))
        return out

    def _past_open(self, i: int, j: int, open_today: set[Any]) -> list[tuple[int, int]]:
        """The web beyond a panel that is open today."""
        return [there for here, there in open_today if here == (i, j) and there[0] != i and there[1] != j]

    def _around(self, i: int, j: int) -> list[tuple[int, int]]:
        """The webs beyond a new open panel around an opening, no hinge that stays a corner of it."""
        if not self._may[i, j] or self.top[i].needed or self.bottom[j].needed:
            return []
        left = max(self.top[i].x, self.bottom[j].x)
        for opening in self.focus:
            side = opening.centre[0] - opening.size[0] / 2
            if left < opening.centre[0] and left > side - _FRAME_IN:
                beyond = self._beyond(opening)
                rows = self._onward(self.top)[i], self._onward(self.bottom)[j]
                return [tuple(pair) for pair in np.argwhere(beyond & np.outer(*rows)).tolist()]  # type: ignore[misc]
        return []

    def _beyond(self, opening: Opening) -> Flags:
        """(top, bottom): the webs to the right of an opening, not far from it."""
        if opening not in self._right_of:
            tops, bottoms = self._arrays
            near = np.minimum.outer(tops[:, 0], bottoms[:, 0])
            stays = np.logical_or.outer([p.needed for p in self.top], [p.needed for p in self.bottom])
            side = opening.centre[0] + opening.size[0] / 2
            self._right_of[opening] = self._may & ~stays & (near > opening.centre[0]) & (near < side + _FRAME_IN)
        return self._right_of[opening]

    def _onward(self, places: Sequence[Place]) -> Flags:
        """(n, n): whether a web may go on from a place to another: not past one that must have a web, nor too near."""
        key = places is self.top
        if key not in self._next:
            xs = np.array([place.x for place in places])
            stays = np.cumsum([place.needed for place in places])
            far = np.subtract.outer(xs, xs).T >= LEAST_PANEL_IN
            known = [i for i, place in enumerate(places) if place.joint]
            for i, k in pairwise(known):
                far[i, k] = True
            past = (stays[None] - np.array([place.needed for place in places])[None] - stays[:, None]) > 0
            self._next[key] = far & ~past & np.triu(np.ones_like(far), 1)
        return self._next[key]


def _few(held: list[Partial], most: int) -> tuple[list[Partial], list[Partial]]:
    """The cheapest without and with an open panel, no more than a few of those that differ by inches alone."""
    held.sort(key=itemgetter(0))
    seen: dict[object, int] = {}
    out: tuple[list[Partial], list[Partial]] = ([], [])
    for one in held:
        into = out[one[2]]
        if len(into) < most:
            seen[one[2:4]] = times = seen.get(one[2:4], 0) + 1
            if times <= _ALIKE:
                into.append(one)
    return out


def _x(web: tuple[Place, Place]) -> float:
    return web[0].x + web[1].x


def _wide(away: Floats) -> Flags:
    """(n, n): whether webs that leave one panel point in these directions (n, 2) stand far enough apart in angle."""
    size = np.hypot(*away.T)
    unit = away / np.maximum(size, 1e-9)[:, None]
    return (unit @ unit.T) <= _COSINE + 1e-9


def _directions(line: Floats) -> tuple[Floats, Floats]:
    """The chord's direction on either side of each of its places, (n, 2) each."""
    run = np.diff(line, axis=0)
    run = run / np.hypot(*run.T)[:, None]
    return np.concatenate([run[:1], run]), np.concatenate([run, run[-1:]])
