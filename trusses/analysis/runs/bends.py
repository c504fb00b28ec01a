"""The path with bends that costs least: dynamic programming over the trusses, from one to the next. Inches.

Between its ends the path crosses every truss square and moves sideways only within a bay, by two bends. At
the run's height each truss is free in some stretches along its span. A least path changes sides only to reach an end
of such a stretch or an end of the run, so these are the only places to try: over them, the least cost up to each truss
is the least over the places in the truss before of its cost, the bends and the length between. The drop of a slope is
counted square across the trusses in this search; what is offered is crossed anew, along its real path.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from trusses.analysis.runs.crossing import Crossed, cross
from trusses.analysis.runs.lines import changes
from trusses.analysis.runs.met import Met, met
from trusses.analysis.runs.run import Point, Run
from trusses.analysis.runs.stood import Stood

Floats = NDArray[np.float64]
_TAPE_IN = 1 / 16
#: What a truss weighs that no redesign mends: more than all others together.
_NEVER = 1e6


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
    which `never` can't be made to, and what it weighs."""

    run: Run
    bends: int
    longer_in: float
    changes: int
    never: int
    weight: float
    crossed: Crossed


def bent(run: Run, copies: Sequence[Stood], prices: Prices = PRICES) -> Bent | None:
    """The path between the run's ends that weighs least. None where it crosses trusses of several directions or none,
    where it goes up or down at a corner, or where no path beats the wish."""
    if run.rises:
        return None
    wish = cross(run, copies)
    axes = {one.stood.along for one in wish.crossings}
    if len(axes) != 1:
        return None
    axis = axes.pop()
    (from_place, from_across), (to_place, to_across) = (
        point if axis == "x" else point[::-1] for point in (run.points[0], run.points[-1])
    )
    low, high = sorted((from_across, to_across))
    met_ones = {one.stood for one in wish.crossings if one.verdict != "clear"}
    between = [one for one in copies if one.level == run.level and one.along == axis and low < one.across_in < high]
    line = sorted(between, key=lambda one: abs(one.across_in - from_across))
    if not line or not met_ones <= set(line):
        return None
    stops = [_Stop(run, one, abs(one.across_in - from_across), one in met_ones, prices) for one in line]
    places = np.unique([from_place, to_place, *(place for stop in stops for place in stop.ends)])
    sideways = _sideways(run, [from_across, *(one.across_in for one in line), to_across], line, places, prices)
    chosen = _least([stop.costs(places) for stop in stops], sideways, places, from_place, to_place)
    if chosen is None:
        return None
    across = [from_across, *(one.across_in for one in line), to_across]
    close = (run.section.room_in + max(one.design.thickness_in for one in line)) / 2
    path = replace(run, points=_points([from_place, *chosen, to_place], across, close, str(axis)))
    return _weighed(path, wish, copies, prices)


def _weighed(path: Run, wish: Crossed, copies: Sequence[Stood], prices: Prices) -> Bent | None:
    found = cross(path, copies)
    never, short = changes(found)
    if _in_the_way(found) > _in_the_way(wish) or found.cramped or (never, short) >= changes(wish):
        return None
    bends, longer = len(path.points) - 2, path.length_in - wish.run.length_in
    weight = never * _NEVER + short * prices.change + bends * prices.bend + path.length_in / 12 * prices.foot
    return Bent(path, bends, longer, short, never, weight, found)


def _in_the_way(crossed: Crossed) -> int:
    """How often it runs along a truss too close."""
    return sum(one.verdict != "fits" for one in crossed.between)


class _Stop:
    """One truss on the way: where along its span the centre may be, with its webs and without, places in plan."""

    def __init__(self, run: Run, stood: Stood, path_in: float, wished: bool, prices: Prices) -> None:
        self.wished, self.change = wished, prices.change
        design = stood.design
        self.as_met: Met = met(run.section, 1.0, run.slope, design.thickness_in)
        y = design.datum_y(run.datum) + run.height_at(path_in)
        self.free = _stretches(design.free(self.as_met), stood, y)
        self.chords = _stretches(design.free(self.as_met, without_webs=True), stood, y)
        half = self.as_met.width_in / 2 + self.as_met.clearance_in
        self.reach = stood.reach[0] - half, stood.reach[1] + half
        self.passing = [] if wished else _stretches(design.passing(self.as_met), stood, y)

    @property
    def ends(self) -> list[float]:
        """Ends of its stretches, on a tape's marks within them where there is room for one."""
        found: list[float] = []
        for low, high in (*self.free, *self.chords, *self.passing):
            marks = math.ceil(low / _TAPE_IN) * _TAPE_IN, math.floor(high / _TAPE_IN) * _TAPE_IN
            found += marks if marks[0] <= marks[1] else (low, high)
        return [one for one in found if self.reach[0] - 1 <= one <= self.reach[1] + 1]

    def costs(self, places: Floats) -> Floats:
        """(places,): what crossing it there weighs."""
        out = np.where(_within(places, self.chords), self.change, _NEVER)
        out[_within(places, self.free)] = 0.0
        if not self.wished:
            out[_within(places, self.passing) | (places <= self.reach[0]) | (places >= self.reach[1])] = 0.0
        return out


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


def _within(places: Floats, stretches: Sequence[tuple[float, float]]) -> NDArray[np.bool_]:
    out = np.zeros(len(places), dtype=bool)
    for low, high in stretches:
        out |= (places >= low - 1e-9) & (places <= high + 1e-9)
    return out


def _sideways(
    run: Run, across: Sequence[float], line: Sequence[Stood], places: Floats, prices: Prices
) -> list[Floats | None]:
    """For each bay what moving from one place (rows) to another (columns) weighs; None where no bend has room."""
    by = np.abs(places[:, None] - places[None, :])
    moved = by / 12 * prices.foot + np.where(by > 0, 2 * prices.bend, 0.0)
    thick = [0.0, *(one.design.thickness_in for one in line), 0.0]
    out: list[Floats | None] = []
    for i in range(len(across) - 1):
        half = abs(across[i + 1] - across[i]) / 2
        needs = run.section.room_in / 2 + max(thick[i], thick[i + 1]) / 2
        out.append(moved if half >= needs else None)
    return out


def _least(
    costs: Sequence[Floats], sideways: Sequence[Floats | None], places: Floats, start: float, end: float
) -> list[float] | None:
    """The places of the least path through the trusses, from `start` to `end`."""
    at = np.full(len(places), np.inf)
    at[int(np.searchsorted(places, start))] = 0.0
    back: list[NDArray[np.intp]] = []
    steps = [*costs, np.where(places == end, 0.0, np.inf)]
    for cost, moved in zip(steps, sideways, strict=True):
        total = (
            at[:, None] + moved if moved is not None else np.where(np.eye(len(places), dtype=bool), at[:, None], np.inf)
        )
        back.append(total.argmin(axis=0))
        at = total.min(axis=0) + cost
    if not np.isfinite(at).any():
        return None
    k, chosen = int(at.argmin()), []
    for before in reversed(back):
        chosen.append(k)
        k = int(before[k])
    return [float(places[i]) for i in reversed(chosen[1:])]


def _points(places: Sequence[float], across: Sequence[float], close: float, axis: str) -> tuple[Point, ...]:
    """The path's corners in plan: where it changes sides, in the middle of a bay, or as close to the first or the last
    truss as a corner may be."""
    corners = [(places[0], across[0])]
    for i in range(len(places) - 1):
        if places[i] != places[i + 1]:
            at = (across[i] + across[i + 1]) / 2
            way = math.copysign(close, across[i + 1] - across[i])
            at = across[1] - way if i == 0 else across[-2] + way if i == len(places) - 2 else at
            corners += [(places[i], at), (places[i + 1], at)]
    corners.append((places[-1], across[-1]))
    return tuple(corner if axis == "x" else corner[::-1] for corner in corners)
