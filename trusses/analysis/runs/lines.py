"""The line at which the fewest trusses need a change, for a straight run: exact. Inches.

The run is moved along the trusses that it crosses by q and up by z. Every truss has its region of free centres for the
section as met; where the run is moved, its centre there moves with q and z alone, so that each region becomes one of
the plane (q, z): moved by where and how high the run crosses, mirrored where the copy is turned, stretched where it
stands another way, sheared where the path to it, and with it the drop, grows with q. Their intersection is where all
fit; where it is empty, the places in the most of them are where the fewest need a change. A truss without its webs
gives such a region too: outside it a chord would be cut, which counts before everything else.

A truss that the wish crosses has to be crossed still, so that no line is found by leaving the house; another one, which
only the moved run would meet, may be missed as well.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from trusses.analysis.clearance.apart import beyond
from trusses.analysis.clearance.openings import fit
from trusses.analysis.clearance.overlay import difference, intersection, union
from trusses.analysis.runs.crossing import Crossed, comes_to, cross
from trusses.analysis.runs.met import Met, met
from trusses.analysis.runs.overlap import most_overlap
from trusses.analysis.runs.run import TAPE, Leg, Run
from trusses.analysis.runs.stood import ALONG_SINE, Stood, perpendicular

#: How far a line may be from the wish, sideways along the trusses and up or down.
SIDEWAYS_IN, UP_IN = 96.0, 60.0
#: Of marks farther into an area so many are tried.
_TRIED, _HAIR_IN = 8, 1e-6
Freedom = Literal["up", "sideways", "both"]


@dataclass(frozen=True)
class Line:
    """A line near the wish: moved along x or y of the plan (`along`) by `sideways_in`, positive with the plan, and up
    by `up_in`. Of what it crosses `changes` don't fit, of which `never` can't be made to."""

    run: Run
    along: Literal["x", "y"]
    sideways_in: float
    up_in: float
    changes: int
    never: int
    crossed: Crossed


def lines(run: Run, copies: Sequence[Stood], wish: Crossed | None = None) -> tuple[Line, ...]:
    """The nearest lines with the fewest changes: at its height, in its place, and with both free; best first, and only
    those that ask for fewer changes than the wish. A run with corners is moved as a whole: sideways only where all that
    it crosses runs one way, so that each leg goes on crossing what it crosses."""
    wish = wish or cross(run, copies)
    asked = changes(wish)
    if asked == (0, 0):
        return ()
    straight = len(run.points) == 2
    axis = _axis(wish)
    there = [one for one in copies if one.level == run.level]
    seen = [met_so for leg in run.legs() for one in there if (met_so := _see(run, leg, one, axis, wish, straight))]
    regions = _Regions(seen if straight else [one for one in seen if one.wished])
    beside = [_beside(run, leg, one, axis) for leg in run.legs() for one in there] if straight else []
    regions.strips = [one for one in beside if one is not None]
    ways: tuple[Freedom, ...] = ("sideways", "up", "both") if moves_sideways(wish) else ("up",)
    found: list[Line] = []
    for way in ways:
        sideways, up = regions.nearest(way, run.height_in)
        to = moved(run, axis, sideways, up)
        crossed = cross(to, there)
        never, short = changes(crossed)
        if (crossed.cramped and not wish.cramped) or not goes_through(wish) <= goes_through(crossed):
            continue
        if (never, short) < asked and all(one.run != to for one in found):
            found.append(Line(to, axis, sideways, up, short, never, crossed))
    found.sort(key=lambda one: (one.never, one.changes, math.hypot(one.sideways_in, one.up_in)))
    # a tape's marks round the nearest place of all to one that is no nearer than the one beside it
    return tuple(one for i, one in enumerate(found) if not any(_as_good(other, one) for other in found[:i]))


def moves_sideways(wish: Crossed) -> bool:
    """Whether lines beside the run are looked for: it is straight, or all that it crosses runs one way."""
    return len(wish.run.points) == 2 or len({one.stood.along for one in wish.crossings}) == 1


def _as_good(other: Line, one: Line) -> bool:
    """Whether another line asks no more and moves no farther either way."""
    less = abs(other.sideways_in) <= abs(one.sideways_in) and abs(other.up_in) <= abs(one.up_in)
    return less and (other.never, other.changes) <= (one.never, one.changes)


def moved(run: Run, axis: Literal["x", "y"], sideways_in: float, up_in: float) -> Run:
    """The run, moved along x or y of the plan and up."""
    dx, dy = (sideways_in, 0.0) if axis == "x" else (0.0, sideways_in)
    return replace(run, points=tuple((x + dx, y + dy) for x, y in run.points), height_in=run.height_in + up_in)


def changes(crossed: Crossed) -> tuple[int, int]:
    """(never, changes): in how many trusses it would cut a chord or leave the truss as it runs, and how many it doesn't
    fit in as they are, those included."""
    short = [one.fit for one in crossed.crossings if one.verdict not in ("clear", "fits")]
    return sum(one.never for one in short), len(short)


def goes_through(crossed: Crossed) -> set[str]:
    """The trusses that it goes through, by name: a line that leaves one of them is no answer."""
    return {one.stood.name for one in crossed.crossings if one.verdict != "clear"}


def _axis(wish: Crossed) -> Literal["x", "y"]:
    """The way most of the trusses run that are crossed."""
    return "x" if sum(1 if one.stood.along == "x" else -1 for one in wish.crossings) > 0 else "y"


@dataclass(frozen=True)
class _Seen:
    """A copy against the moved leg: x in its document = x0 + x_by·q, y = y0 + z − drop_by·q, and the path along the leg
    s = s0 + s_by·q, which has to be `within` those. `wished`: the run meets it where it is asked."""

    stood: Stood
    as_met: Met
    x0: float
    x_by: float
    y0: float
    drop_by: float
    s0: float
    s_by: float
    within: tuple[float, float]
    wished: bool


def _see(run: Run, leg: Leg, stood: Stood, axis: str, wish: Crossed, straight: bool) -> _Seen | None:
    place, across, along, square = perpendicular(leg, stood)
    if abs(square) < ALONG_SINE:
        return None
    # a run with corners moves sideways along the trusses that it crosses alone: only where it crosses them changes
    design, same_way = stood.design, stood.along == axis or not straight
    s0, s_by = (stood.across_in - across) / square, 0.0 if same_way else -1 / square
    within = comes_to(run, leg, stood, along, square)
    if same_way and not within[0] <= s0 <= within[1]:
        return None
    # by name: the wish may have been crossed with copies that were read apart
    met_there = any(one.stood.name == stood.name and one.verdict != "clear" for one in wish.crossings)
    return _Seen(
        stood,
        met(run.section, min(abs(square), 1.0), run.slope, design.thickness_in),
        round(stood.x_at(place + s0 * along), 9),  # so that like trusses give like regions
        stood.turn * (1.0 if same_way else s_by * along),
        round(design.begins_y(run) + run.height_at(leg.before + s0), 9),
        run.slope / 12 * s_by,
        s0,
        s_by,
        within,
        met_there and within[0] <= s0 <= within[1],
    )


def _beside(run: Run, leg: Leg, stood: Stood, axis: str) -> tuple[float, float] | None:
    """Between which q a leg that runs along a copy would lie in its wood."""
    place, across, along, square = perpendicular(leg, stood)
    ends, (low, high) = sorted((place, place + leg.length * along)), stood.reach
    if abs(square) >= ALONG_SINE or stood.along == axis or ends[0] >= high or ends[1] <= low:
        return None
    keep = (run.section.room_in + stood.design.thickness_in) / 2
    off = sorted((stood.across_in - across, stood.across_in - across - leg.length * square))
    return off[0] - keep, off[1] + keep


def _fails(one: _Seen, centre: tuple[float, float]) -> tuple[bool, bool]:
    """Whether a chord would be cut or the truss left there, and whether it doesn't fit there."""
    design, opening = one.stood.design, one.as_met.opening("run", centre)
    answer = fit(design.space, opening)
    if answer.fits or (not one.wished and not answer.touches and beyond(design.space, opening) is not None):
        return False, False
    return answer.never, True


class _Regions:
    """The plane (q, z) of one run: each truss's region in it, with its webs and without."""

    strips: Sequence[tuple[float, float]] = ()

    def __init__(self, seen: Sequence[_Seen]) -> None:
        self.seen = seen
        self.window = shapely.box(-SIDEWAYS_IN, -UP_IN, SIDEWAYS_IN, UP_IN)
        self.free = [self._region(one, without_webs=False) for one in seen]
        self.chords = [self._region(one, without_webs=True) for one in seen]

    def nearest(self, way: Freedom, height_in: float) -> tuple[float, float]:
        """(sideways, up): the nearest place with the fewest changes, on a tape's mark where one is near; up it counts
        with the height of the run where it begins, which fields write so."""
        domain: BaseGeometry = self.window
        if way != "both":
            ends = [(-SIDEWAYS_IN, 0), (SIDEWAYS_IN, 0)] if way == "sideways" else [(0, -UP_IN), (0, UP_IN)]
            domain = shapely.LineString(ends)
        for low, high in self.strips:
            domain = difference(domain, shapely.box(low, -2 * UP_IN, high, 2 * UP_IN))
        if domain.is_empty:
            return 0.0, 0.0
        possible = most_overlap(self.chords, domain)
        best = most_overlap(self.free, possible.area)
        q, z = shapely.get_coordinates(shapely.shortest_line(shapely.Point(0, 0), best.area))[1]
        for sideways, up in _tape_marks(float(q), float(z), best.area, height_in):
            if (way == "up" and sideways) or (way == "sideways" and up):
                continue
            if self._short(sideways, up) <= (possible.missed, best.missed):
                return sideways, up
        return float(q), float(z)

    def _short(self, q: float, z: float) -> tuple[int, int]:
        """`changes` of the run moved so far."""
        never = short = 0
        known: dict[object, tuple[bool, bool]] = {}
        for one in self.seen:
            if not one.within[0] <= one.s0 + one.s_by * q <= one.within[1]:
                continue
            centre = (one.x0 + one.x_by * q, one.y0 + z - one.drop_by * q)
            alike = (one.stood.design, one.as_met, round(centre[0], 9), round(centre[1], 9))
            if alike not in known:
                known[alike] = _fails(one, centre)
            never, short = never + known[alike][0], short + known[alike][1]
        return never, short

    def _region(self, one: _Seen, *, without_webs: bool) -> BaseGeometry:
        free = one.stood.design.free(one.as_met, without_webs=without_webs)
        by = 1 / one.x_by
        place = [by, 0.0, one.drop_by * by, 1.0, -one.x0 * by, -one.y0 - one.drop_by * one.x0 * by]
        region = affine_transform(free, place)
        if one.wished:
            return intersection(region, self._strip(one)) if one.s_by else region
        by_it = affine_transform(one.stood.design.passing(one.as_met), place)
        either = union([intersection(self.window, region), intersection(self.window, by_it)])
        return union([either, difference(self.window, self._strip(one))]) if one.s_by else either

    def _strip(self, one: _Seen) -> BaseGeometry:
        """Where the leg is long enough to cross the truss."""
        ends = sorted((end - one.s0) / one.s_by for end in one.within)
        return shapely.box(ends[0], -2 * UP_IN, ends[1], 2 * UP_IN)


def _tape_marks(q: float, z: float, area: BaseGeometry, height_in: float) -> list[tuple[float, float]]:
    """Places to try, nearest to the wish first: sixteenths about (q, z), then those farther into the area that it is
    the nearest place of, then ever finer ones, then itself."""
    out: list[tuple[float, float]] = []
    for grid in (1 / TAPE, 1e-3, 1e-5):
        off = height_in if grid == 1 / TAPE else 0.0  # the height is to come to a mark, not how far it moves
        steps = [sorted({0.0, *(_marks(one, grid, 1, by))}) for one, by in ((q, 0.0), (z, off))]
        near = [(a, b) for a in steps[0] for b in steps[1] if math.dist((a, b), (q, z)) <= 2 * grid]
        out += sorted(near, key=lambda place: math.hypot(*place))
        if grid == 1 / TAPE:
            across, up = _marks(q, grid, TAPE, 0.0), _marks(z, grid, TAPE, height_in)
            inner = np.array([(a, b) for a in sorted({0.0, *across}) for b in sorted({0.0, *up})])
            held = inner[shapely.dwithin(area, shapely.points(inner), _HAIR_IN)]
            out += sorted(map(tuple, held.tolist()), key=lambda place: math.hypot(*place))[:_TRIED]
    return [*out, (q, z)]


def _marks(at: float, grid: float, count: int, off: float) -> list[float]:
    """The marks of a grid up to so many on both sides of a place, where so much besides is on a mark with them."""
    low, high = math.floor((at + off) / grid), math.ceil((at + off) / grid)
    return [(low - i) * grid - off for i in range(count)] + [(high + i) * grid - off for i in range(count)]
