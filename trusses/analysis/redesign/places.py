"""Where webs may end on the chords beside openings: today's panel points, and new places from which a web just clears
an opening. Inches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.clearance.free_space import TOUCH_IN, spares
from trusses.analysis.format.model import Opening
from trusses.analysis.redesign.building import Building, apart, grown
from trusses.analysis.redesign.layouts import LEAST_PANEL_IN, depth
from trusses.analysis.redesign.strip import Strip

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Point = tuple[float, float]
#: About so many places are looked at on each chord, today's panel points and those nearest to the openings.
PLACES = 22
_ROUNDS = 2
_FARTHER_IN = 8.0


@dataclass(frozen=True)
class Place:
    """Where a web may end: a panel point of today's by its name, or a new place on a chord."""

    joint: str | None
    x: float
    y: float
    needed: bool = False


class Grid:
    """The part of a strip between two of its webs, which stay, and the places on its chords where webs may end."""

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

    def _turn(self) -> None:
        """Looks at the truss from behind where the openings stand right of the middle, so that a mirrored truss gets
        mirrored ways."""
        if self.side < 0:
            self.left, self.right = self.right, self.left
            self.top, self.bottom = ([self.turned(p) for p in reversed(ps)] for ps in (self.top, self.bottom))
            self.openings, self.grown, self.focus = (
                [replace(each, centre=(-each.centre[0], each.centre[1])) for each in those]
                for those in (self.openings, self.grown, self.focus)
            )

    def turned(self, place: Place) -> Place:
        return place if self.side > 0 else replace(place, x=-place.x)

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
        clear = self.clear(*ends)
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
        rows = self.clear(a, b).reshape(len(sources), len(grid))
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

    def clear(self, a: Floats, b: Floats) -> Flags:
        """(n,): whether webs from places a to places b (n, 2) clear every opening with the tolerance."""
        lines = np.stack([a, b], axis=1)
        long = np.hypot(*(b - a).T) > LEAST_PANEL_IN
        out = long.copy()
        for opening in self.grown:
            out[long] &= spares(lines[long], np.full(int(long.sum()), self.depth), opening) >= -TOUCH_IN
        return out
