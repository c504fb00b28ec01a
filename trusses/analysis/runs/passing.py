"""What a run passes by, on which side and how far off, and the heights at which the same line would go through it.

The run is moved up and down as a whole. In each truss that its line lies over that is a plumb line of centres, cut by
where the section as met is free, where it would be without webs, and where it passes the truss by. Inches.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from trusses.analysis.clearance.free_space import Floats, margin, signed_distance
from trusses.analysis.runs.crossing import Crossed, Crossing, cross
from trusses.analysis.runs.lines import changes
from trusses.analysis.runs.stood import Stood

#: How far up and down heights are looked for, inches.
_FAR_IN = 1200.0
_TAPE_IN = 1 / 16
Side = Literal["above", "below", "beside"]
_Band = tuple[float, float]


class Passed(NamedTuple):
    """Of a truss that a run passes by: on which side of it the run is, and how far its bare section, insulation
    included, is from the nearest wood."""

    side: Side
    clear_in: float


def passed(one: Crossing) -> Passed:
    """Where a run is beside the truss of a crossing that answers `clear`."""
    room, opening, (x, y) = one.stood.design.space, one.opening, one.opening.centre
    free = signed_distance(room.grown(opening), np.asarray((x, y)))[: len(room.members)]
    clear = float(free.min()) - margin(opening) + opening.clearance_in
    wood = _over(room.lines, x, 0.0)
    if not wood.size:
        wood = _over(room.lines, x, opening.size[0] / 2)
    if not wood.size:
        return Passed("beside", clear)
    return Passed("above" if y > (wood.min() + wood.max()) / 2 else "below", clear)


def passed_all(crossed: Crossed) -> Iterator[tuple[Crossing, Passed]]:
    """What it passes by, each with where it is beside that; like trusses that are passed alike answer alike."""
    known: dict[object, Passed] = {}
    for one in crossed.crossings:
        if one.verdict == "clear":
            alike = one.stood.design, one.opening.centre, one.met
            if alike not in known:
                known[alike] = passed(one)
            yield one, known[alike]


def _over(lines: Floats, x: float, reach: float) -> Floats:
    """The heights of centrelines (n, 2, 2) plumb over `x`, or at their ends up to `reach` beside it."""
    (x0, y0), (x1, y1) = lines[:, 0].T, lines[:, 1].T
    near = np.clip(x, np.minimum(x0, x1), np.maximum(x0, x1))
    run = np.where(x1 == x0, 1.0, x1 - x0)
    heights = y0 + (near - x0) / run * (y1 - y0)
    there: Floats = heights[np.abs(near - x) <= reach + 1e-6]
    return there


class Height(NamedTuple):
    """A height of the run's middle at its first point, at which its line goes through `fits` as they are and through
    `changes` whose webs would have to change, and cuts no chord."""

    height_in: float
    fits: tuple[Stood, ...]
    changes: tuple[Stood, ...]


@dataclass(frozen=True)
class Heights:
    """`meets`: between which heights of its middle the run would be in some truss that its line lies over, None where
    it would be in none. `through`: the nearest height at which all that it goes through fits, then the one at which it
    goes through the most of them, where that is another."""

    meets: _Band | None
    through: tuple[Height, ...]


def heights(crossed: Crossed, copies: Sequence[Stood]) -> Heights:
    """Other heights of a run that meets no truss."""
    those = [one for one in crossed.crossings if one.verdict == "clear"]
    columns: dict[object, _Column] = {}
    for one in those:
        key = (one.stood.design, one.opening.centre, one.met)
        if key not in columns:
            columns[key] = _Column(one)
        columns[key].count += 1
    every = list(columns.values())
    low = min((column.within[0] for column in every if column.within), default=None)
    high = max((column.within[1] for column in every if column.within), default=None)
    if low is None or high is None:
        return Heights(None, ())
    at = crossed.run.height_in
    tried = [(*_tally(every, step), step) for step in _steps(every, at)]
    # no chord is cut, and something is gone through
    able = [(fits, change, step) for never, fits, change, step in tried if not never and fits + change]
    order = [
        sorted(able, key=lambda one: (one[0] == 0, one[1], abs(one[2]))),
        sorted(able, key=lambda one: (-one[0], one[1], abs(one[2]))),
    ]
    found: list[Height] = []
    for ranked in order:
        told = next(filter(None, (_height(crossed, step, copies) for *_, step in ranked[:4])), None)
        if told and told not in found:
            found.append(told)
    return Heights((at + low, at + high), tuple(found))


class _Column:
    """The plumb line through a crossing, as bands of how far up the run is moved."""

    def __init__(self, one: Crossing) -> None:
        design, (x, y) = one.stood.design, one.opening.centre
        self.count = 0
        self.free = _bands(design.free(one.met), x, y)
        self.able = _bands(design.free(one.met, without_webs=True), x, y)
        self.by = _bands(design.passing(one.met), x, y)
        inner = [(a[1], b[0]) for a, b in zip(self.by, self.by[1:], strict=False)]
        self.within = (inner[0][0], inner[-1][1]) if inner else None


def _bands(region: BaseGeometry, x: float, y: float) -> list[_Band]:
    line = shapely.intersection(region, shapely.LineString([(x, y - _FAR_IN), (x, y + _FAR_IN)]))
    parts = [part.bounds for part in shapely.get_parts(line) if not part.is_empty]
    return sorted((low - y, high - y) for _, low, _, high in parts)


def _holds(bands: Iterable[_Band], step: float) -> bool:
    return any(low - 1e-9 <= step <= high + 1e-9 for low, high in bands)


def _tally(columns: Iterable[_Column], step: float) -> tuple[int, int, int]:
    """(never, fits, changes) of the run moved up by `step`; what it passes by is none of these."""
    never = fits = change = 0
    for column in columns:
        if _holds(column.free, step):
            fits += column.count
        elif _holds(column.by, step):
            continue
        elif _holds(column.able, step):
            change += column.count
        else:
            never += column.count
    return never, fits, change


def _steps(columns: Iterable[_Column], at: float) -> Iterator[float]:
    """How far up to try: on a tape's marks, both sides of where some column's answer changes."""
    ends = {end for one in columns for bands in (one.free, one.able, one.by) for band in bands for end in band}
    marks = {mark for end in ends for mark in (math.floor((at + end) / _TAPE_IN), math.ceil((at + end) / _TAPE_IN))}
    # a corner that is drawn a hair outside of the true one is a mark farther in
    yield from sorted({near * _TAPE_IN - at for mark in marks for near in (mark - 1, mark, mark + 1)}, key=abs)


def _height(crossed: Crossed, step: float, copies: Sequence[Stood]) -> Height | None:
    """What the run answers there, by the same rule as any other; None where it cuts a chord after all."""
    there = cross(replace(crossed.run, height_in=crossed.run.height_in + step), copies)
    met = [one for one in there.crossings if one.verdict != "clear"]
    never, _ = changes(there)
    if never or not met:
        return None
    fits = tuple(one.stood for one in met if one.verdict == "fits")
    return Height(there.run.height_in, fits, tuple(one.stood for one in met if one.verdict != "fits"))
