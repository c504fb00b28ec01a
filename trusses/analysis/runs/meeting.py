"""Two runs of a level held against each other along their whole length, in plan and height: also where they pass each
other in a bay, where no truss says so. Inches.

Each leg is a level piece, a slope as many as its fall has sixteenths (at most `_MOST`): a box's rectangle in plan and
height, a round one's middle line with its radius, each grown by its clearance as openings of one truss are
(`clearance.apart.gap`). Heights are compared above the bearing: what counts from a truss's chord counts from the truss
that stands nearest.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from trusses.analysis.clearance.free_space import TOUCH_IN
from trusses.analysis.runs.run import SAME_IN, Leg, Point, Run
from trusses.analysis.runs.stood import Design, Stood

_MOST = 400
_FALL_IN = 1 / 16
_HAIR_IN = 1e-6
#: Two legs within this of each other's direction lie side by side: moved aside they part as well.
_ALONG_SINE = math.sin(math.radians(5))


class Meeting(NamedTuple):
    """Where a run comes nearest to another: `path_in` along it, at `at` in plan, and by how much the clear space of
    both overlaps there; `within_in`: from where to where along it that is so on end. `above`: whether the run's middle
    is higher there than the other's. `joins`: one of them begins or ends in the other, as a branch does."""

    path_in: float
    at: Point
    by_in: float
    above: bool
    joins: bool
    within_in: tuple[float, float]


class _Piece(NamedTuple):
    """A part `along` its leg. `z` is the middle's height above the bearing, `half` what it takes up and down."""

    plan: BaseGeometry
    leg: Leg
    along: tuple[float, float]
    z: float
    half: float
    ends: bool


def meeting(run: Run, other: Run, copies: Sequence[Stood]) -> Meeting | None:
    """The place where `run` lies deepest in `other`, a branch's joint only where there is no other; None where they
    keep their clear space, and where they are of different levels."""
    if run.level != other.level or _apart(run, other):
        return None
    those, keep = [one for one in copies if one.level == run.level], _grown(run) + _grown(other)
    lifts = [_lift(one, those) for one in (run, other)]
    legs = _near(run, other, [lift is _none for lift in lifts])
    mine, theirs = (list(_pieces(one, lift, near)) for one, lift, near in zip((run, other), lifts, legs, strict=True))
    if not mine or not theirs:
        return None
    tree = shapely.STRtree([one.plan for one in theirs])
    near = tree.query([one.plan for one in mine], predicate="dwithin", distance=keep)
    found = [_met(mine[i], theirs[j], run, other, keep) for i, j in near.T.tolist()]
    real = [one for one in found if one is not None]
    deepest = max(real, key=lambda one: (not one.joins, one.by_in), default=None)
    return deepest and deepest._replace(within_in=_on_end(deepest, real))


def _on_end(deepest: Meeting, those: Sequence[Meeting]) -> tuple[float, float]:
    """From where to where along a run it stays too near without a break, about its deepest place."""
    low, high = deepest.within_in
    for way in (1, -1):
        for one in sorted(those, key=lambda one: way * one.within_in[0 if way > 0 else 1]):
            a, b = one.within_in
            if a <= high + _HAIR_IN and b >= low - _HAIR_IN:
                low, high = min(low, a), max(high, b)
    return low, high


def itself(run: Run, copies: Sequence[Stood]) -> Meeting | None:
    """The place where a run with corners lies deepest in a piece of its own that doesn't follow the one before. Pieces
    of a jog that is narrower than the run are one bend."""
    found = []
    for i in range(1, len(run.points) - 2):
        first, rest = _part(run, 0, i), _part(run, i + 1, len(run.points) - 1)
        if (met := meeting(first, rest, copies)) and not met.joins:
            found.append(met)
    return max(found, key=lambda one: one.by_in, default=None)


def _part(run: Run, first: int, last: int) -> Run:
    """From one of its points to another, as high as it is there."""
    far = math.fsum(itertools.islice((leg.length for leg in run.legs()), first))
    rises = run.rises[first : last - 1] if run.rises else ()
    return replace(run, points=run.points[first : last + 1], height_in=run.height_at(far), rises=rises)


def _met(one: _Piece, two: _Piece, run: Run, other: Run, keep: float) -> Meeting | None:
    level = float(shapely.distance(one.plan, two.plan))
    up = abs(one.z - two.z) - one.half - two.half
    aside = -math.inf  # what crosses parts by going up or down
    if not level and abs(one.leg.ex * two.leg.ey - one.leg.ey * two.leg.ex) < _ALONG_SINE:
        dx, dy = two.leg.start[0] - one.leg.start[0], two.leg.start[1] - one.leg.start[1]
        aside = abs(dx * one.leg.ey - dy * one.leg.ex) - _core(run)[0] / 2 - _core(other)[0] / 2
    between = max(aside, up) if not level and up < 0 else math.hypot(level, max(up, 0.0))
    if between - keep >= -TOUCH_IN:
        return None
    shared = shapely.intersection(one.plan, two.plan)
    place = shapely.shortest_line(one.plan, two.plan) if shared.is_empty else shapely.centroid(shared)
    place = shapely.get_coordinates(place)[0]
    x, y = float(place[0]), float(place[1])
    s = (x - one.leg.start[0]) * one.leg.ex + (y - one.leg.start[1]) * one.leg.ey
    path = min(max(one.leg.before + s, 0.0), run.length_in)
    joins = _at_an_end(one, run, (x, y), two, other) or _at_an_end(two, other, (x, y), one, run)
    # so far aside of the other's middle it is too near at this height
    room = math.sqrt(max(keep**2 - max(up, 0.0) ** 2, 0.0)) + _core(run)[0] / 2
    middle = _strip(one.leg, *one.along, 0.0)
    near = shapely.get_coordinates(shapely.intersection(middle, two.plan.buffer(room)))
    s_near = [(px - one.leg.start[0]) * one.leg.ex + (py - one.leg.start[1]) * one.leg.ey for px, py in near.tolist()]
    within = (min(s_near) + one.leg.before, max(s_near) + one.leg.before) if s_near else (path, path)
    return Meeting(path, run.place_at(path), keep - between, one.z >= two.z, joins, within)


def _at_an_end(piece: _Piece, run: Run, at: Point, two: _Piece, other: Run) -> bool:
    """Whether a place of a piece is near an end of its run, and that end in the other run."""
    if not piece.ends:
        return False
    far = (run.section.room_in + other.section.room_in) / 2
    ends = [end for end in (run.points[0], run.points[-1]) if math.dist(at, end) <= far]
    return any(shapely.distance(two.plan, shapely.Point(end)) <= _grown(other) + TOUCH_IN for end in ends)


def _near(run: Run, other: Run, from_bearing: Sequence[bool]) -> tuple[set[int], set[int]]:
    """Which legs of both come so near to one of the other's that they are to be looked at closer: in plan, and in
    height where both are told from the bearing."""
    strips = [[_strip(leg, 0.0, leg.length, 0.0) for leg in one.legs()] for one in (run, other)]
    reach = run.section.room_in + other.section.room_in
    near = shapely.STRtree(strips[1]).query(strips[0], predicate="dwithin", distance=reach).T.tolist()
    if all(from_bearing):
        spans = [[_span(one, leg) for leg in one.legs()] for one in (run, other)]
        high = (
            (run.section.outer[1] + other.section.outer[1]) / 2 + run.section.clearance_in + other.section.clearance_in
        )
        near = [
            (i, j) for i, j in near if max(spans[0][i][0], spans[1][j][0]) - min(spans[0][i][1], spans[1][j][1]) < high
        ]
    return {i for i, _ in near}, {j for _, j in near}


def _span(run: Run, leg: Leg) -> tuple[float, float]:
    """Between which heights a leg lies, with what goes up at both its ends."""
    ends = [run.height_at(leg.before), run.height_at(leg.before + leg.length)]
    if run.rises:
        ends += [run.height_at(leg.before - SAME_IN), run.height_at(leg.before + leg.length - SAME_IN)]
    return min(ends), max(ends)


def _pieces(run: Run, lift: Callable[[Point], float], near: set[int]) -> Iterator[_Piece]:
    """Of those legs; what goes up at a corner belongs to the one that comes to it."""
    wide, high = _core(run)
    legs = list(run.legs())
    last = len(legs) - 1
    for i, leg in enumerate(legs):
        if i not in near:
            continue
        # the outside of a corner is the run's too
        back, on = (wide / 2 if i else 0.0), (wide / 2 if i < last else 0.0)
        many = min(max(math.ceil(abs(run.slope) / 12 * leg.length / _FALL_IN), 1), _MOST)
        if lift is not _none:
            many = max(many, min(math.ceil(leg.length / 12), _MOST))
        for k in range(many):
            a, b = leg.length * k / many, leg.length * (k + 1) / many
            middle = leg.before + (a + b) / 2
            plan = _strip(leg, a - (back if not k else 0.0), b + (on if k == many - 1 else 0.0), wide / 2)
            ends = (i == 0 and leg.before + a <= _reach(run)) or (i == last and leg.length - b <= _reach(run))
            at = leg.start[0] + (a + b) / 2 * leg.ex, leg.start[1] + (a + b) / 2 * leg.ey
            # short of the corner's rise, which belongs to the next leg
            height = run.height_at(min(middle, leg.before + leg.length - SAME_IN))
            yield _Piece(plan, leg, (a, b), height + lift(at), high / 2, ends)
        if run.rises and i < last and (rise := run.rises[i]):
            corner, far = legs[i + 1].start, legs[i + 1].before
            plan = _strip(leg, leg.length - wide / 2, leg.length + wide / 2, wide / 2)
            z = run.height_at(far) - rise / 2 + lift(corner)
            yield _Piece(plan, leg, (leg.length, leg.length), z, (abs(rise) + high) / 2, ends=False)


def _reach(run: Run) -> float:
    return 12.0 + run.section.room_in


def _strip(leg: Leg, a: float, b: float, half: float) -> BaseGeometry:
    """A leg's part from `a` to `b` along it, so far to both sides."""
    (x, y), ex, ey = leg.start, leg.ex, leg.ey
    ends = [(x + s * ex, y + s * ey) for s in (a, b)]
    if not half:
        return shapely.LineString(ends) if a != b else shapely.Point(ends[0])
    return shapely.Polygon(
        [
            *((px - half * ey, py + half * ex) for px, py in ends),
            *((px + half * ey, py - half * ex) for px, py in reversed(ends)),
        ]
    )


def _core(run: Run) -> tuple[float, float]:
    """Width and height of what is grown; a circle is its middle."""
    return (0.0, 0.0) if run.section.shape == "circle" else run.section.outer


def _grown(run: Run) -> float:
    section = run.section
    return section.clearance_in + (section.outer[0] / 2 if section.shape == "circle" else 0.0)


def _apart(run: Run, other: Run) -> bool:
    """Whether their boxes in plan are too far apart to look closer."""
    reach = run.section.room_in + other.section.room_in
    boxes = [(np.min(one.points, axis=0) - reach, np.max(one.points, axis=0) + reach) for one in (run, other)]
    return bool(np.any(boxes[0][1] < boxes[1][0]) or np.any(boxes[1][1] < boxes[0][0]))


def _none(at: Point) -> float:
    return 0.0


def _lift(run: Run, copies: Sequence[Stood]) -> Callable[[Point], float]:
    """How far above the bearing the heights of a run begin, at a place in plan."""
    if run.datum == "bearing" or not copies:
        return _none
    by: dict[Design, float] = {one.design: one.design.begins_y(run) - one.design.datum_y("bearing") for one in copies}
    if run.datum == "storey" or max(by.values()) - min(by.values()) < SAME_IN:
        first = next(iter(by.values()))
        return lambda at: first

    def there(at: Point) -> float:
        return by[min(copies, key=lambda one: off(one, at)).design]

    return there


def off(stood: Stood, at: Point) -> float:
    """How far a place in plan is from the line of a truss."""
    place, across = at if stood.along == "x" else at[::-1]
    low, high = stood.reach
    return math.hypot(max(low - place, place - high, 0.0), across - stood.across_in)


def bay_of(at: Point, copies: Sequence[Stood]) -> tuple[Stood | None, Stood | None]:
    """The trusses on both sides of a place in plan: those nearest that reach over it; the same one twice where it lies
    in its plane."""
    held: list[tuple[float, Stood]] = []
    for one in copies:
        place, across = at if one.along == "x" else at[::-1]
        if one.reach[0] <= place <= one.reach[1]:
            held.append((one.across_in - across, one))
    if not held:
        return None, None
    axis = min(held, key=lambda one: abs(one[0]))[1].along
    beside = [one for one in held if one[1].along == axis]
    inside = next((one for by, one in beside if abs(by) <= one.design.thickness_in / 2), None)
    if inside:
        return inside, inside
    low = max((one for one in beside if one[0] < 0), key=lambda one: one[0], default=None)
    high = min((one for one in beside if one[0] > 0), key=lambda one: one[0], default=None)
    return low and low[1], high and high[1]
