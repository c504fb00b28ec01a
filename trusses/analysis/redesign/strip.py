"""A truss as a strip between two chords, parted by webs that follow each other from left to right.

A web is then a pair of panel points, one on each chord, and the next web goes on from one of its ends, or from both
where a panel is open: a way through a grid, the best of which are found step by step. Inches.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from operator import itemgetter
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.clearance.free_space import TOUCH_IN, spares
from trusses.analysis.format.model import Opening
from trusses.analysis.redesign.building import Building, apart, grown
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.layouts import FLATTEST, LEAST_PANEL_IN, TIGHTEST, depth

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
#: About so many places are looked at on each chord, today's panel points and those nearest to the openings.
PLACES = 22
_ROUNDS = 2
#: What a way costs beside the webs that it moves: an open panel, a new panel point, each inch that one moves.
_OPEN, _NEW_POINT, _AN_INCH = 0.4, 0.05, 0.002
_FARTHER_IN = 8.0


@dataclass(frozen=True)
class Web:
    """A web of today's, by its ends in the chains of panel points; `name` is None for the truss's own end."""

    name: str | None
    top: str
    bottom: str


@dataclass(frozen=True)
class Strip:
    """The panel points of both chords that webs may go to, and today's webs, all from left to right."""

    draft: Draft
    top: tuple[str, ...]
    bottom: tuple[str, ...]
    webs: tuple[Web, ...]

    @property
    def whole(self) -> tuple[Web, ...]:
        """The webs between the two ends, which are no webs where the chords meet."""
        ends = [Web(None, self.top[i], self.bottom[i]) for i in (0, -1)]
        out = list(self.webs)
        if (out[0].top, out[0].bottom) != (ends[0].top, ends[0].bottom):
            out.insert(0, ends[0])
        if (out[-1].top, out[-1].bottom) != (ends[1].top, ends[1].bottom):
            out.append(ends[1])
        return tuple(out)


def strip(draft: Draft) -> Strip | None:
    """The strip that a truss is; None where its webs cross, meet each other away from the chords, or can't be moved."""
    xs = [draft.at(joint)[0] for joint in draft.bearings]
    chains = {}
    hidden = _under_beams(draft)
    for role in ("top_chord", "bottom_chord"):
        joints = [j for j in draft.chord_joints(role) if min(xs) - 1e-6 <= draft.at(j)[0] <= max(xs) + 1e-6]
        joints = [joint for joint in joints if joint not in hidden]
        places = [draft.at(joint)[0] for joint in joints]
        if len(joints) < 2 or any(b - a < 1e-6 for a, b in pairwise(places)):
            return None
        chains[role] = joints
    top, bottom = chains["top_chord"], chains["bottom_chord"]
    number = ({name: i for i, name in enumerate(top)}, {name: i for i, name in enumerate(bottom)})
    webs = []
    for name in draft.webs():
        a, b = draft.members[name]["joints"]
        if a in number[0] and b in number[1] and not (b in number[0] and a in number[1]):
            webs.append(Web(name, a, b))
        elif b in number[0] and a in number[1]:
            webs.append(Web(name, b, a))
        elif not (a in number[0] and b in number[0]):
            return None
    webs.sort(key=lambda web: (number[0][web.top] + number[1][web.bottom], number[0][web.top]))
    for one, other in pairwise(webs):
        if number[0][other.top] < number[0][one.top] or number[1][other.bottom] < number[1][one.bottom]:
            return None
    return Strip(draft, tuple(top), tuple(bottom), tuple(webs)) if webs else None


def _under_beams(draft: Draft) -> set[str]:
    """The panel points of the top chord above webs from top chord to top chord, such as a straining beam."""
    joints = draft.chord_joints("top_chord")
    out: set[str] = set()
    for name in draft.webs():
        a, b = draft.members[name]["joints"]
        if a in joints and b in joints and {draft.chord_of(a), draft.chord_of(b)} == {"top_chord"}:
            i, j = sorted((joints.index(a), joints.index(b)))
            out |= {joint for joint in joints[i + 1 : j] if not draft.webs_at(joint)}
    return out


@dataclass(frozen=True)
class Place:
    """Where a web may end: a panel point of today's by its name, or a new place on a chord."""

    joint: str | None
    x: float
    y: float
    needed: bool = False


@dataclass(frozen=True)
class Way:
    """Webs between two that stay, as pairs of places on the top and the bottom chord, and which of today's go. `frame`
    are the two beside a panel that is newly open."""

    webs: tuple[tuple[Place, Place], ...]
    gone: tuple[str, ...]
    cost: float
    frame: tuple[tuple[Place, Place], tuple[Place, Place]] | None = None


class Window:
    """The part of a strip between two of its webs, which stay, and the ways in which webs may stand in it."""

    def __init__(
        self,
        whole: Strip,
        first: int,
        last: int,
        openings: Sequence[Opening],
        building: Building,
        places: int = PLACES,
        focus: Sequence[Opening] = (),
    ) -> None:
        self.most_places = places
        self.strip, self.draft, self.openings, self.building = whole, whole.draft, list(openings), building
        self.left, self.right = whole.whole[first], whole.whole[last]
        self.inside = whole.whole[first + 1 : last]
        self.grown = [grown(opening, building.tolerance_in) for opening in openings]
        self.focus = list(focus or openings)
        names = [web.name for web in self.inside if web.name]
        self.like = names[0] if names else next((web.name for web in whole.webs if web.name), None)
        self.depth = max((depth(self.draft, name) for name in names), default=3.5)
        xs = [self.draft.at(joint)[0] for joint in self.draft.bearings]
        right = float(np.mean([opening.centre[0] for opening in self.focus])) > (min(xs) + max(xs)) / 2
        self.side = -1.0 if right else 1.0
        self.top, self.bottom = self._places()
        self._turn()
        self._next: dict[bool, Flags] = {}
        self._right_of: dict[Opening, Flags] = {}

    def _turn(self) -> None:
        """Looks at the truss from behind where the openings stand right of the middle, so that a mirrored truss gets
        mirrored ways."""
        if self.side < 0:
            self.left, self.right = self.right, self.left
            self.top, self.bottom = ([self._turned(p) for p in reversed(ps)] for ps in (self.top, self.bottom))
            self.openings, self.grown, self.focus = (
                [replace(each, centre=(-each.centre[0], each.centre[1])) for each in those]
                for those in (self.openings, self.grown, self.focus)
            )

    def _turned(self, place: Place) -> Place:
        return place if self.side > 0 else replace(place, x=-place.x)

    # places

    def _chain(self, role: str) -> list[str]:
        joints = self.strip.top if role == "top_chord" else self.strip.bottom
        ends = [web.top if role == "top_chord" else web.bottom for web in (self.left, self.right)]
        return list(joints[joints.index(ends[0]) : joints.index(ends[1]) + 1])

    def _places(self) -> tuple[list[Place], list[Place]]:
        chains = {role: self._chain(role) for role in ("top_chord", "bottom_chord")}
        today = {role: np.array([self.draft.at(j) for j in chain]) for role, chain in chains.items()}
        grids = {role: self._grid(line) for role, line in today.items()}
        new: dict[str, dict[float, Point]] = {role: {} for role in chains}
        for x in self._uprights(grids, today):
            for role, line in today.items():
                new[role][x] = (x, float(np.interp(x, *line.T)))
        sources = {role: [tuple(place) for place in line] for role, line in today.items()}
        for _ in range(_ROUNDS):
            found: dict[str, list[Point]] = {role: [] for role in chains}
            for role, other in (("top_chord", "bottom_chord"), ("bottom_chord", "top_chord")):
                for x, y in self._tangents(sources[other], grids[role]):
                    if x not in new[role]:
                        new[role][x] = (x, y)
                        found[role].append((x, y))
            sources = found
        out = []
        for role, chain in chains.items():
            kept = [self._today(joint) for joint in chain]
            xs = [place.x for place in kept]
            beside = [Place(None, *point) for point in new[role].values() if min(abs(point[0] - x) for x in xs) > 0.5]
            middle = np.mean([opening.centre[0] for opening in self.focus])
            beside.sort(key=lambda place: (round(abs(place.x - middle), 6), self.side * place.x))
            more = max(self.most_places - len(kept), self.most_places // 2)
            out.append(sorted([*kept, *beside[:more]], key=lambda place: place.x))
        return out[0], out[1]

    def _today(self, joint: str) -> Place:
        x, y = self.draft.at(joint)
        # a splice may move with its panel point, or to another one
        needed = self.draft.straight_through(joint) is None and bool(self.draft.webs_at(joint))
        return Place(joint, x, y, needed)

    def _grid(self, line: Floats) -> Floats:
        """Places on a chord a whole number of inches from the nearer bearing that keep from the openings, (n, 2)."""
        xs = [self.draft.at(joint)[0] for joint in self.draft.bearings]
        middle = (min(xs) + max(xs)) / 2
        steps = np.arange(1, np.ceil(middle - min(xs)) + 1)
        marks = np.unique(np.round(np.concatenate([min(xs) + steps, max(xs) - steps]), 6))
        marks = marks[(marks > line[0, 0] + 1e-3) & (marks < line[-1, 0] - 1e-3)]
        places = np.stack([marks, np.interp(marks, *line.T)], axis=1)
        return places[apart(self.openings, places) >= self.building.from_joints_in - TOUCH_IN]

    def _uprights(self, grids: dict[str, Floats], today: dict[str, Floats]) -> list[float]:
        xs = np.intersect1d(grids["top_chord"][:, 0], grids["bottom_chord"][:, 0])
        if not len(xs):
            return []
        ends = [np.stack([xs, np.interp(xs, *today[role].T)], axis=1) for role in ("top_chord", "bottom_chord")]
        clear = self._clear(*ends)
        out = []
        for opening in self.focus:
            for side in (xs[clear & (xs < opening.centre[0])][-1:], xs[clear & (xs > opening.centre[0])][:1]):
                out += side.tolist()
        return out

    def _tangents(self, sources: Sequence[tuple[float, ...]], grid: Floats) -> list[Point]:
        """The nearest places on either side of an opening to which a web from a source is clear, and one farther."""
        if not len(sources) or not len(grid):
            return []
        a = np.repeat(np.array(sources), len(grid), axis=0)
        b = np.tile(grid, (len(sources), 1))
        rows = self._clear(a, b).reshape(len(sources), len(grid))
        out: list[Point] = []
        for clear in rows:
            if clear.all() or not clear.any():
                continue
            edge = np.flatnonzero(clear[1:] != clear[:-1])
            for i in edge:
                at, way = (i, -1) if clear[i] else (i + 1, 1)
                out.append((float(grid[at, 0]), float(grid[at, 1])))
                beyond = grid[at, 0] + way * _FARTHER_IN
                far = int(np.abs(grid[:, 0] - beyond).argmin())
                if clear[far]:
                    out.append((float(grid[far, 0]), float(grid[far, 1])))
        return list(dict.fromkeys(out))

    def _clear(self, a: Floats, b: Floats) -> Flags:
        """(n,): whether webs from places a to places b (n, 2) clear every opening with the tolerance."""
        lines = np.stack([a, b], axis=1)
        long = np.hypot(*(b - a).T) > LEAST_PANEL_IN
        out = long.copy()
        for opening in self.grown:
            out[long] &= spares(lines[long], np.full(int(long.sum()), self.depth), opening) >= -TOUCH_IN
        return out

    # ways

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
        may = self._clear(a, b)
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
        webs = tuple((self._turned(self.top[i]), self._turned(self.bottom[j])) for i, j in pairs)
        frame = None
        if opened:
            one, other = next(pair for pair in pairwise([(0, 0), *pairs, end]) if self._opens(*pair))
            ends = [(self._turned(self.top[i]), self._turned(self.bottom[j])) for i, j in (one, other)]
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


_MOST_NEW = 6
_MOST_WAYS = 400
_ALIKE = 2
_COSINE = float(np.cos(np.radians(TIGHTEST)))
#: A panel framed around an opening reaches no farther beyond it than this, inches.
_FRAME_IN = 40.0
_FRAMED = 3
Point = tuple[float, float]

#: A way from the left so far: its cost, new webs, whether a panel was opened, the panel points of today's that it went
#: through (None for new ones), and its webs from the last one back.
Partial = tuple[float, int, bool, tuple[tuple[str | None, str | None], ...], Any]


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
