"""A run cut into bodies, all of one height: what it takes in plan and height along its legs. Inches.

Each leg is one body where it lies level, a slope as many as its fall has sixteenths (at most `_MOST`): a box's
rectangle in plan and height, a round one's middle line, to be grown by `grown`. Heights are compared above the bearing:
what counts from a truss's chord counts from the truss that stands nearest.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray

from trusses.analysis.runs.run import SAME_IN, Leg, Point, Run
from trusses.analysis.runs.stood import Design, Stood

Floats = NDArray[np.float64]
_MOST = 400
_FALL_IN = 1 / 16


class Body(NamedTuple):
    """A part of the run's leg number `at`, from `a` to `b` along it, and `back` and `on` farther where the outside of a
    corner is its. `z` is the middle's height above the bearing, `half` what it takes up and down; `first`, `last`: it
    is near that end of its run."""

    leg: Leg
    at: int
    a: float
    b: float
    back: float
    on: float
    z: float
    half: float
    first: bool
    last: bool


class Lift(NamedTuple):
    """How far above the bearing the heights of a run begin: everywhere alike, or by the place in plan."""

    level: float | None
    there: Callable[[Point], float] = lambda at: 0.0

    def at(self, place: Point) -> float:
        return self.there(place) if self.level is None else self.level


@dataclass(frozen=True)
class Bodies:
    """Of one run, in columns. `path`: (bodies, 2), from where to where along the run each lies; `middle`: its middle
    line."""

    run: Run
    plan: NDArray[Any]
    middle: NDArray[Any]
    start: Floats
    way: Floats
    before: Floats
    path: Floats
    z: Floats
    half: Floats
    leg: NDArray[np.intp]
    first: NDArray[np.bool_]
    last: NDArray[np.bool_]

    @classmethod
    def of(cls, run: Run, those: Sequence[Body]) -> Bodies:
        start = np.array([one.leg.start for one in those])
        way = np.array([(one.leg.ex, one.leg.ey) for one in those])
        before = np.array([one.leg.before for one in those])
        along = np.array([(one.a, one.b) for one in those])
        grown_along = along + np.array([(-one.back, one.on) for one in those])
        return cls(
            run,
            _strips(start, way, grown_along, core(run)[0] / 2),
            _strips(start, way, along, 0.0),
            start,
            way,
            before,
            before[:, None] + along,
            np.array([one.z for one in those]),
            np.array([one.half for one in those]),
            np.array([one.at for one in those], dtype=np.intp),
            np.array([one.first for one in those], dtype=bool),
            np.array([one.last for one in those], dtype=bool),
        )

    def near(self, other: Bodies, keep: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Pairs of bodies, one of each, that come so near in height, and of which the boxes do in plan."""
        around = shapely.bounds(self.plan) + np.array((-keep, -keep, keep, keep))
        i, j = shapely.STRtree(other.plan).query(shapely.box(*around.T))
        high = np.abs(self.z[i] - other.z[j]) - self.half[i] - other.half[j] < keep
        return i[high], j[high]


def bodies(run: Run, lift: Lift, legs: Collection[int], cut: tuple[float, float] | None = None) -> Bodies:
    """Of those of its legs. `cut`: so far from both ends of a leg it is cut into bodies of at most such a length."""
    return Bodies.of(run, list(_bodies(run, lift, set(legs), cut)))


def _bodies(run: Run, lift: Lift, near: set[int], cut: tuple[float, float] | None) -> Iterator[Body]:
    """What goes up at a corner belongs to the leg that comes to it."""
    wide, high = core(run)
    legs = list(run.legs())
    last, reach = len(legs) - 1, 12.0 + run.section.room_in
    risen = [0.0, *itertools.accumulate(run.rises)] if run.rises else [0.0] * len(legs)
    for i, leg in enumerate(legs):
        if i not in near:
            continue
        # the outside of a corner is the run's too
        back, on = (wide / 2 if i else 0.0), (wide / 2 if i < last else 0.0)
        stops = _stops(run, leg, lift, cut)
        for a, b in itertools.pairwise(stops):
            ends = i == 0 and a <= reach, i == last and leg.length - b <= reach
            at = leg.start[0] + (a + b) / 2 * leg.ex, leg.start[1] + (a + b) / 2 * leg.ey
            z = run.height_in - run.slope * (leg.before + (a + b) / 2) / 12 + risen[i] + lift.at(at)
            around = (back if not a else 0.0), (on if b == leg.length else 0.0)
            yield Body(leg, i, a, b, *around, z, high / 2, *ends)
        if run.rises and i < last and (rise := run.rises[i]):
            z = run.height_in - run.slope * (leg.before + leg.length) / 12 + risen[i] + rise / 2
            z += lift.at(legs[i + 1].start)
            goes_up = leg.length, leg.length, wide / 2, wide / 2
            yield Body(leg, i, *goes_up, z, (abs(rise) + high) / 2, first=False, last=False)


def _stops(run: Run, leg: Leg, lift: Lift, cut: tuple[float, float] | None) -> list[float]:
    """Where along a leg its bodies begin and end."""
    many = min(max(math.ceil(abs(run.slope) / 12 * leg.length / _FALL_IN), 1), _MOST)
    if lift.level is None:
        many = max(many, min(math.ceil(leg.length / 12), _MOST))
    stops = [leg.length * k / many for k in range(many)] + [leg.length]
    if cut is None:
        return stops
    far, most = cut
    within = min(far, leg.length)
    steps = [within * k / math.ceil(within / most) for k in range(math.ceil(within / most) + 1)]
    held = {*stops, *steps, *(leg.length - one for one in steps)}
    found: list[float] = []
    for stop in sorted(min(max(one, 0.0), leg.length) for one in held):
        if not found or stop - found[-1] > SAME_IN:
            found.append(stop)
    return [*found[:-1], leg.length]


def _strips(start: Floats, way: Floats, along: Floats, half: float) -> NDArray[Any]:
    """Parts of legs from so far to so far along each, and `half` to both sides; what has neither is a point."""
    ends = start[:, None, :] + along[:, :, None] * way[:, None, :]
    if not half:
        flat = along[:, 0] == along[:, 1]
        return np.where(flat, shapely.points(ends[:, 0]), shapely.linestrings(ends))
    aside = half * np.stack([-way[:, 1], way[:, 0]], axis=-1)[:, None, :]
    return np.asarray(shapely.polygons(np.concatenate([ends + aside, (ends - aside)[:, ::-1]], axis=1)))


def lines(run: Run) -> NDArray[Any]:
    """The middle line of each leg in plan."""
    return np.asarray(shapely.linestrings([[run.points[k], run.points[k + 1]] for k in range(len(run.points) - 1)]))


def core(run: Run) -> tuple[float, float]:
    """Width and height of what is grown; a circle is its middle."""
    return (0.0, 0.0) if run.section.shape == "circle" else run.section.outer


def grown(run: Run) -> float:
    section = run.section
    return section.clearance_in + (section.outer[0] / 2 if section.shape == "circle" else 0.0)


def lift_of(run: Run, copies: Sequence[Stood], bearing_in: float = 0.0) -> Lift:
    """Of a run through `copies`, which bear `bearing_in` above what heights are compared over."""
    if run.datum == "bearing" or not copies:
        return Lift(bearing_in)
    by: dict[Design, float] = {
        one.design: bearing_in + one.design.begins_y(run) - one.design.datum_y("bearing") for one in copies
    }
    if run.datum == "storey" or max(by.values()) - min(by.values()) < SAME_IN:
        return Lift(next(iter(by.values())))
    return Lift(None, lambda at: by[min(copies, key=lambda one: off(one, at)).design])


def off(stood: Stood, at: Point) -> float:
    """How far a place in plan is from the line of a truss."""
    place, across = at if stood.along == "x" else at[::-1]
    low, high = stood.reach
    return math.hypot(max(low - place, place - high, 0.0), across - stood.across_in)
