"""The path with bends that costs least: dynamic programming over the trusses, from one to the next. Inches.

Between its ends the path crosses every truss square, stretch by stretch as the run was asked (`bays`): it changes sides
within a bay, by two bends, and turns where the trusses lie the other way, by one. At the run's height there, with what
it went up at corners before, each truss is free in some stretches along its span. A least path changes sides only to
reach an end of such a stretch, an end of the run, a corner as it was asked or the edge of a bay that it turns in, so
these are the only places to try: over them, the least cost up to each truss is the least over the places in the truss
before of its cost, the bends and the length between. Where it goes up at corners as asked, it does so in the same bays.
The drop of a slope is first that of the run as asked and then that of the path that was found, a few times over; what
is offered is crossed anew, along its real path.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from trusses.analysis.runs.bays import Halt, Stretch, Window, across_of, bays, place_of, stretches
from trusses.analysis.runs.crossing import Crossed, cross
from trusses.analysis.runs.least import Step, along_a_line, from_any, least
from trusses.analysis.runs.lines import changes, goes_through
from trusses.analysis.runs.met import Met, met
from trusses.analysis.runs.run import SAME_IN, Point, Run
from trusses.analysis.runs.stood import Stood
from trusses.analysis.runs.wood import Wood
from trusses.analysis.words.phrases import Coded, coded

Floats = NDArray[np.float64]
Counts = NDArray[np.intp]
_TAPE_IN = 1 / 16
#: What a truss weighs that no redesign mends: more than all others together.
_NEVER = 1e6
#: What it weighs to come into the wood of a truss that it runs along or turns in: more than all that is crossed.
_STUCK = 1e8
#: So often the drop of a slope is worked out anew along the path that was found.
_TIMES = 6
#: So many pairs of places are weighed at most, each time: about 3 s of the processor where that was measured.
_MOST_PAIRS = 20_000_000


@dataclass(frozen=True)
class Prices:
    """What is weighed against what, in bends: a truss that has to change, a bend, a foot of run. Common practice has no
    such figures; these are a start that a job sets for itself."""

    change: float = 10.0
    bend: float = 1.0
    foot: float = 0.05


PRICES = Prices()


@dataclass(frozen=True)
class Bent:
    """A path with bends: how many, how much longer than the wish, how many trusses it doesn't fit in as they are, of
    which `never` can't be made to, what it weighs, and how much higher it begins than the wish."""

    run: Run
    bends: int
    longer_in: float
    changes: int
    never: int
    weight: float
    crossed: Crossed
    up_in: float = 0.0


class NotSearched(Exception):
    """Why no path with bends was looked for, as a code."""

    def __init__(self, told: Coded) -> None:
        super().__init__(told["code"])
        self.told = told


def bent(run: Run, copies: Sequence[Stood], prices: Prices = PRICES) -> Bent | None:
    """The path between the run's ends that weighs least; None where none that was found beats the wish. A slope keeps
    its height at the higher end, so that a run that is told from its other end is answered alike. Raises NotSearched
    where it begins, turns or ends in a truss that it crosses, or where there is too much to try."""
    if run.slope >= 0:
        return _bent(run, copies, prices)
    found = _bent(run.reversed(), copies, prices)
    if found is None:
        return None
    path = found.run.reversed()
    return replace(found, run=path, crossed=cross(path, copies), up_in=path.height_in - run.height_in)


def _bent(run: Run, copies: Sequence[Stood], prices: Prices) -> Bent | None:
    wish = cross(run, copies)
    those = stretches(wish, copies)
    known = {(i, halt.stood) for i, one in enumerate(those) for halt in one.halts if halt.met}
    asked = {(i, one) for i, held in enumerate(those) for one in held.asked}
    if lacking := sorted({stood.name for _, stood in asked - known}):
        raise NotSearched(coded("run-bends-in-a-truss", trusses=lacking))
    if not (those := [one for one in those if one.halts]):
        return None
    way = _Way(wish, those, copies, prices)
    best: Bent | None = None
    far = [halt.path_in for one in those for halt in one.halts]
    for _ in range(_TIMES if run.slope else 1):
        places = way.least(far)
        if places is None:
            break
        was, (path, far) = far, way.path(places)
        if far == was:
            break
        found = _weighed(path, wish, copies, prices)
        if found and (best is None or found.weight < best.weight):
            best = found
    return best


def _weighed(path: Run, wish: Crossed, copies: Sequence[Stood], prices: Prices) -> Bent | None:
    found = cross(path, copies)
    never, short = changes(found)
    if _in_the_way(found) > _in_the_way(wish) or found.cramped or (never, short) >= changes(wish):
        return None
    if not goes_through(wish) <= goes_through(found) or abs(sum(path.rises) - sum(wish.run.rises)) > SAME_IN:
        return None
    bends, longer = len(path.points) - 2, path.length_in - wish.run.length_in
    weight = never * _NEVER + short * prices.change + bends * prices.bend + path.length_in / 12 * prices.foot
    return Bent(path, bends, longer, short, never, weight, found)


def _in_the_way(crossed: Crossed) -> int:
    """How often it runs along a truss too close."""
    return sum(one.verdict != "fits" for one in crossed.between)


class _Way:
    """All halts of the run in a row, with the places to try at each."""

    def __init__(self, wish: Crossed, those: Sequence[Stretch], copies: Sequence[Stood], prices: Prices) -> None:
        self.run, self.those, self.prices = wish.run, those, prices
        self.bays, self.wood = bays(wish, those, copies), Wood(wish.run, copies)
        self.halts = [(one, halt) for one in those for halt in one.halts]

    def least(self, far: Sequence[float]) -> list[float] | None:
        """The places of the least path: where it begins, at each halt, and where it ends. `far`: how far along the path
        each halt is taken to be."""
        run = self.run
        stops = [_Stop(run, halt, at, self.prices) for (_, halt), at in zip(self.halts, far, strict=True)]
        tried = {id(one): self._tried(i, one, stops) for i, one in enumerate(self.those)}
        first, last = (place_of(run.points[k], self.those[k].axis) for k in (0, -1))
        steps = [np.array([first]), *(tried[id(one)] for one, _ in self.halts), np.array([last])]
        costs = [*(stop.costs(tried[id(one)]) for stop, (one, _) in zip(stops, self.halts, strict=True)), np.zeros(1)]
        pairs = sum(
            len(a) * (1 if self._slides(i, a, b) else len(b)) for i, (a, b) in enumerate(itertools.pairwise(steps))
        )
        if pairs > _MOST_PAIRS:
            raise NotSearched(coded("run-bends-too-many", trusses=len(self.halts)))
        ways = [self._step(i, *pair) for i, pair in enumerate(itertools.pairwise(steps))]
        return least(costs, ways, steps)

    def _slides(self, i: int, here: Floats, there: Floats) -> bool:
        return here is there and self.bays[i].kind == "straight"

    def _step(self, i: int, here: Floats, there: Floats) -> Step:
        if self._slides(i, here, there):
            return lambda at: along_a_line(at, *self._aside(i, here))
        return lambda at: from_any(at, here, there, lambda some, to: self._moved(i, some, to))

    def _tried(self, i: int, one: Stretch, stops: Sequence[_Stop]) -> Floats:
        """The places to try in a stretch."""
        mine = [end for stop, (held, _) in zip(stops, self.halts, strict=True) if held is one for end in stop.ends]
        mine += [place_of(point, one.axis) for point in self.run.points]
        for bay in self.bays:
            if bay.kind == "corner":
                mine += [edge for window in (bay.before, bay.after) for edge in marks(*window) if abs(edge) < 1e8]
        low, high = one.reach
        return np.unique([place for place in mine if low <= place <= high])

    def _moved(self, i: int, here: Floats, there: Floats) -> Floats:
        """(places here, places there): what it weighs to go from one to the other."""
        bay, prices, wood = self.bays[i], self.prices, self.wood
        by = np.abs(here[:, None] - there[None, :])
        if bay.kind == "corner":
            (one, a), (_, b) = self.halts[i - 1], self.halts[i]
            long = np.abs(there[None, :] - a.across_in) + np.abs(b.across_in - here[:, None])
            clear = _in(here, bay.before)[:, None] & _in(there, bay.after)[None, :]
            stuck = _STUCK * wood.at_each_corner(here, there, one.axis)
            return np.where(clear, long / 12 * prices.foot + prices.bend, np.inf) + stuck
        axis = (self.halts[i - 1] if i else self.halts[0])[0].axis
        weighs = by / 12 * prices.foot + np.where(by > 0, bay.bends * prices.bend, 0.0)
        weighs += _STUCK * self._stuck(i, here, there, axis)
        if bay.kind == "turn":  # it can't come back on itself
            return np.where(by >= self.run.section.room_in, weighs, np.inf)
        return weighs if bay.room else np.where(by > 0, np.inf, weighs)

    def _aside(self, i: int, places: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """(places,) each, for a bay that changes sides: what it weighs to stay at one, to leave it, to come to one, and
        how high each stands for what lies between two of them."""
        bay, prices = self.bays[i], self.prices
        (before, behind), (off, on), over = self._beside(i, places, places, self.halts[i - 1][0].axis)
        stays = before + behind + bool(bay.rise_in) * (off + on)
        changes = bay.bends * prices.bend if bay.room else np.inf
        height = places / 12 * prices.foot + _STUCK * over[0].astype(float)
        stays, leaves, comes = (_STUCK * one.astype(float) for one in (stays, before + off, behind + on))
        return stays, leaves, comes + changes, height

    def _stuck(self, i: int, here: Floats, there: Floats, axis: str) -> NDArray[np.intp]:
        """(places here, places there): how often the path would come into wood beside what it crosses."""
        (before, behind), (off, on), over = self._beside(i, here, there, axis)
        turns = (here[:, None] != there[None, :]) | bool(self.bays[i].rise_in)
        aside = off[:, None] + on[None, :] + np.abs(over[0][:, None] - over[1][None, :])
        return np.asarray(before[:, None] + behind[None, :] + turns * aside)

    def _beside(self, i: int, here: Floats, there: Floats, axis: str) -> list[tuple[Counts, Counts]]:
        """(places here,) and (places there,), as counts of wood: up to where it changes sides and from there on, at its
        corners there, and of trusses before each place that it would cross between."""
        bay, wood, run = self.bays[i], self.wood, self.run
        a = across_of(run.points[0], axis) if not i else self.halts[i - 1][1].across_in
        b = across_of(run.points[-1], axis) if i == len(self.halts) else self.halts[i][1].across_in
        sides = ((here, a), (there, b))
        along = [wood.along(places, (end, bay.at), axis) * 1 for places, end in sides]
        corner = [wood.at_corners(places, bay.at, axis) * int(bay.at != end) for places, end in sides]
        over = [wood.crossed(places, bay.at, axis) for places, _ in sides]
        return [(one[0], one[1]) for one in (along, corner, over)]

    def path(self, places: Sequence[float]) -> tuple[Run, list[float]]:
        """The run through these places, and how far along it each halt is."""
        ends = [(one.axis, 0.0) for one in (self.those[0], self.those[-1])]
        frames = [ends[0][0], *(one.axis for one, _ in self.halts), ends[1][0]]
        corners: list[tuple[Point, float]] = []
        crossed: list[int] = []  # how many corners come before each halt
        for i, bay in enumerate(self.bays):
            a, b, axis = places[i], places[i + 1], frames[i]
            if bay.kind == "corner":
                corners.append((_in_plan(a, b, axis), bay.rise_in))
            elif a != b:
                first, then = _in_plan(a, bay.at, axis), _in_plan(b, bay.at, axis)
                at_start = not i and math.dist(first, self.run.points[0]) < SAME_IN
                corners += [(first, 0.0 if at_start else bay.rise_in), (then, bay.rise_in if at_start else 0.0)]
            elif bay.rise_in:
                corners.append((_in_plan(a, bay.near, axis), bay.rise_in))
            crossed.append(len(corners))
        return _laid(
            self.run,
            corners,
            [
                (count, _in_plan(place, halt.across_in, one.axis))
                for count, place, (one, halt) in zip(crossed, places[1:], self.halts, strict=False)
            ],
        )


def _laid(
    run: Run, corners: Sequence[tuple[Point, float]], halts: Sequence[tuple[int, Point]]
) -> tuple[Run, list[float]]:
    """The run with these corners and what it goes up at each, and how far along it each halt is, which comes after so
    many of them."""
    whole = [run.points[0], *(point for point, _ in corners), run.points[-1]]
    far = [0.0]
    for a, b in itertools.pairwise(whole):
        far.append(far[-1] + math.dist(a, b))
    at = [far[count] + math.dist(whole[count], place) for count, place in halts]
    kept: list[tuple[Point, float]] = [(whole[0], 0.0)]
    for point, rise in [*corners, (whole[-1], 0.0)]:
        if math.dist(point, kept[-1][0]) < SAME_IN:
            kept[-1] = kept[-1][0], kept[-1][1] + rise
        else:
            kept.append((point, rise))
    inner = [
        one for a, one, b in zip(kept, kept[1:], kept[2:], strict=False) if one[1] or not _straight(a[0], one[0], b[0])
    ]
    rises = tuple(rise for _, rise in inner)
    points = (whole[0], *(point for point, _ in inner), whole[-1])
    return replace(run, points=points, rises=rises if any(rises) else ()), at


def _straight(a: Point, b: Point, c: Point) -> bool:
    return abs(math.dist(a, b) + math.dist(b, c) - math.dist(a, c)) < SAME_IN


def _in_plan(place: float, across: float, axis: str) -> Point:
    return (place, across) if axis == "x" else (across, place)


def _in(places: Floats, window: Window) -> NDArray[np.bool_]:
    return (places >= window[0] - 1e-9) & (places <= window[1] + 1e-9)


class _Stop:
    """One truss on the way: where along its span the centre may be, with its webs and without, places in plan."""

    def __init__(self, run: Run, halt: Halt, path_in: float, prices: Prices) -> None:
        stood = halt.stood
        self.wished, self.change = halt.met, prices.change
        design = stood.design
        self.as_met: Met = met(run.section, 1.0, run.slope, design.thickness_in)
        y = design.begins_y(run) + run.height_in - run.slope * path_in / 12 + halt.risen_in
        self.free = _stretches(design.free(self.as_met), stood, y)
        self.chords = _stretches(design.free(self.as_met, without_webs=True), stood, y)
        half = self.as_met.width_in / 2 + self.as_met.clearance_in
        self.reach = stood.reach[0] - half, stood.reach[1] + half
        self.passing = _stretches(design.passing(self.as_met), stood, y)

    @property
    def ends(self) -> list[float]:
        """Ends of its stretches, on a tape's marks within them where there is room for one."""
        found = [
            place
            for ends in (*self.free, *self.chords, *(() if self.wished else self.passing))
            for place in marks(*ends)
        ]
        return [one for one in found if self.reach[0] - 1 <= one <= self.reach[1] + 1]

    def costs(self, places: Floats) -> Floats:
        """(places,): what crossing it there weighs."""
        out = np.where(_within(places, self.chords), self.change, _NEVER)
        out[_within(places, self.free)] = 0.0
        # what it is asked to cross it may not leave
        by_it = _within(places, self.passing) | (places <= self.reach[0]) | (places >= self.reach[1])
        out[by_it] = _STUCK if self.wished else 0.0
        return out


def marks(low: float, high: float) -> tuple[float, float]:
    """A stretch's ends, on a tape's marks within it where there is room for one."""
    on = math.ceil(low / _TAPE_IN) * _TAPE_IN, math.floor(high / _TAPE_IN) * _TAPE_IN
    return on if on[0] <= on[1] else (low, high)


def _stretches(region: shapely.Geometry, stood: Stood, y: float) -> list[tuple[float, float]]:
    """Where a level line at `y` lies in a region of the truss's plane, as places in plan."""
    if region.is_empty:
        return []
    left, _, right, _ = region.bounds
    cut = region.intersection(shapely.LineString([(left - 1, y), (right + 1, y)]))
    found = []
    for part in shapely.get_parts(cut) if not cut.is_empty else ():
        xs = shapely.get_coordinates(part)[:, 0]
        a, b = sorted((stood.place_at(float(xs.min())), stood.place_at(float(xs.max()))))
        found.append((a, b))
    return found


def _within(places: Floats, ends: Sequence[tuple[float, float]]) -> NDArray[np.bool_]:
    out = np.zeros(len(places), dtype=bool)
    for low, high in ends:
        out |= (places >= low - 1e-9) & (places <= high + 1e-9)
    return out
