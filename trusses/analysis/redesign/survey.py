"""The survey that fills an atlas: over a grid of centres and a ladder of usual sizes, what would a redesign open?

Each cell, one size at one place, that neither today's truss nor a way in the atlas leaves clear is asked of the search,
with little time. What passes goes into the atlas and mostly serves many other cells, so that few searches tell of
all of them. About a place where nothing passes nothing larger is asked. Inches.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.clearance.clear_map import HEIGHTS_IN
from trusses.analysis.clearance.free_space import Space, free_centres, space
from trusses.analysis.clearance.openings import fit, moved
from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.loads.arrangements import missing
from trusses.analysis.redesign.atlas import Atlas, Way, size
from trusses.analysis.redesign.building import USUAL, Building
from trusses.analysis.redesign.search import Limits, NoOptions, Progress, search
from trusses.analysis.verdict import never_automatic

Floats = NDArray[np.float64]
#: The ladder: the clear map's heights as circles, and its lower ones as ducts half as wide again and twice as wide.
_CIRCLES_IN = (*HEIGHTS_IN, 16.0)
_DUCTS_IN = tuple((height * shape, height) for height in HEIGHTS_IN[1:4] for shape in (1.5, 2.0))
#: How far the grid's centres are apart, along the span and up.
GRID_IN = 12.0
#: Searches for one truss, and how far each of them goes.
MOST_SEARCHES = 60
QUICK = Limits(seconds=8.0, states=150, layouts=16, analyses=60, further=0, rounds=2, follow=3, enough=3, offered=5)
#: So many members touched are few: no smaller change is looked for.
_FEW = 2
NOTHING_KNOWN = Atlas()


@dataclass(frozen=True)
class _Rung:
    """One size of the ladder with its centres (k, 2) between the chords, and the number of its first cell."""

    opening: Opening
    centres: Floats
    first: int


def ladder() -> list[Opening]:
    """The sizes asked about, smallest first; all that goes around an opening is part of its size."""
    round_ones = [Opening("A", "circle", (0.0, 0.0), diameter_in=one) for one in _CIRCLES_IN]
    ducts = [Opening("A", "rectangle", (0.0, 0.0), width, height) for width, height in _DUCTS_IN]
    return sorted([*round_ones, *ducts], key=lambda one: one.size[0] * one.size[1])


def survey(
    truss: Truss,
    begun: Atlas = NOTHING_KNOWN,
    surroundings: Surroundings = NOTHING_SAID,
    progress: Progress | None = None,
    most: int = MOST_SEARCHES,
    building: Building = USUAL,
) -> Iterator[Atlas]:
    """The atlas of a truss, yielded anew after each search, the last one `done`. It goes on from `begun`, so it may be
    left whenever it has yielded, or by what `progress` raises. A truss that is never called passing has no ways."""
    atlas = begun
    if list(never_automatic(truss)) or missing(truss):
        yield replace(atlas, done=True)
        return
    # other openings that it was drawn for stay; the wish is one more
    room = space(truss)
    state = _State(_cells(room), atlas, building)
    while len(state.asked) < most and (cell := state.next()) is not None:
        opening = state.opening(cell)
        ways = _searched(truss, opening, surroundings, progress, building)
        state.add(cell, ways)
        atlas = Atlas(tuple(state.ways), tuple(state.asked.items()), False)
        yield atlas
    yield Atlas(tuple(state.used()), tuple(state.asked.items()), True)


def _searched(
    truss: Truss, opening: Opening, surroundings: Surroundings, progress: Progress | None, building: Building
) -> list[Way]:
    taken = {each.id for each in truss.openings}
    wanted = replace(opening, id=next(name for n in range(len(taken) + 1) if (name := f"A{n}") not in taken))
    try:
        found = search(truss, [wanted], progress, QUICK, surroundings, building)
    except (NoOptions, Mechanism):
        return []
    return [Way.of(one) for one in found if one.passes and one.clear and one.change.touched]


def _cells(room: Space) -> list[_Rung]:
    """The ladder over the grid: centres between the chords where the wood of webs is in the way."""
    keep = np.array([member.is_chord for member in room.members])
    chords = tuple(member for member in room.members if member.is_chord)
    bare = Space(chords, room.lines[keep], room.depths[keep], room.outline, room.document)
    out: list[_Rung] = []
    first = 0
    for opening in ladder():
        blocked = [place for place in _grid(bare, opening) if _webs_only(room, moved(opening, place))]
        if blocked:
            out.append(_Rung(opening, np.array(blocked), first))
            first += len(blocked)
    return out


def _webs_only(room: Space, opening: Opening) -> bool:
    answer = fit(room, opening)
    return not (answer.fits or answer.never)


def _grid(bare: Space, opening: Opening) -> list[tuple[float, float]]:
    """Centres where the chords leave room, in columns: the lowest, then each step higher, and the highest of each."""
    free = free_centres(bare, opening)
    if free.is_empty:
        return []
    left, low, right, high = free.bounds
    found = []
    for x in np.arange(np.ceil(left / GRID_IN) * GRID_IN, right, GRID_IN):
        cut = free.intersection(shapely.LineString([(x, low - 1), (x, high + 1)]))
        for part in shapely.get_parts(cut):
            ys = shapely.get_coordinates(part)[:, 1]
            steps = np.arange(ys.min(), ys.max(), GRID_IN)
            found += [(float(x), float(y)) for y in {*steps.tolist(), float(ys.min()), float(ys.max())}]
    return sorted(found)


class _State:
    """The cells, which ways serve which of them, and what is next."""

    def __init__(self, sizes: list[_Rung], atlas: Atlas, building: Building) -> None:
        self.building = building
        self.sizes, self.ways, self.asked = sizes, list(atlas.ways), dict(atlas.asked)
        self.count = sum(len(rung.centres) for rung in sizes)
        self.least = np.full(self.count, np.inf)
        self.hopeless = np.zeros(self.count, dtype=bool)
        for way in self.ways:
            self._serve(way)
        for cell, found in self.asked.items():
            if not found:
                self._give_up(cell)

    def opening(self, cell: int) -> Opening:
        rung = next(one for one in reversed(self.sizes) if one.first <= cell)
        x, y = rung.centres[cell - rung.first]
        return moved(rung.opening, (float(x), float(y)))

    def next(self) -> int | None:
        """The largest that no way serves, which tells of the most; every other time the smallest that at most a large
        change does. Of one size the middle one of those left, so that they spread over the truss."""
        open_ones = ~self.hopeless
        open_ones[list(self.asked)] = False
        unserved, dear = open_ones & np.isinf(self.least), open_ones & (self.least > _FEW)
        turns = [(unserved, self.sizes[::-1]), (dear, self.sizes)]
        for wanted, sizes in turns[:: -1 if len(self.asked) % 2 else 1]:
            for rung in sizes:
                there = np.flatnonzero(wanted[rung.first : rung.first + len(rung.centres)])
                if len(there):
                    return int(rung.first + there[len(there) // 2])
        return None

    def add(self, cell: int, ways: list[Way]) -> None:
        self.asked[cell] = bool(ways)
        if not ways:
            self._give_up(cell)
        for way in ways:
            self.ways.append(way)
            self._serve(way)

    def used(self) -> list[Way]:
        """The ways that are the smallest change for some cell."""
        served = np.array([self._serves(way) for way in self.ways]).reshape(len(self.ways), self.count)
        order = sorted(range(len(self.ways)), key=lambda i: size(self.ways[i]))
        first = {next((i for i in order if served[i, cell]), None) for cell in range(self.count)}
        return [self.ways[i] for i in order if i in first]

    def _serves(self, way: Way) -> NDArray[np.bool_]:
        parts = [way.served(rung.opening, rung.centres, self.building) for rung in self.sizes]
        return np.concatenate(parts) if parts else np.zeros(0, dtype=bool)

    def _serve(self, way: Way) -> None:
        self.least = np.where(self._serves(way), np.minimum(self.least, way.members), self.least)

    def _give_up(self, cell: int) -> None:
        """Nothing that holds an opening which no redesign was found for is asked about."""
        one = self.opening(cell)
        width, height = np.asarray(one.size) / 2
        for rung in self.sizes:
            reach = np.asarray(rung.opening.size) / 2
            off = np.abs(rung.centres - one.centre)
            holds = (off + np.array([width, height]) <= reach + 1e-9).all(axis=1)
            if rung.opening.shape == "circle":
                holds = np.hypot(*off.T) + np.hypot(width, height) <= reach[0] + 1e-9
                if one.shape == "circle":
                    holds = np.hypot(*off.T) + width <= reach[0] + 1e-9
            self.hopeless[rung.first : rung.first + len(rung.centres)] |= holds
