"""Two runs held against each other along their whole length, in plan and height, and a run against itself: also where
they pass each other in a bay, where no truss says so. Inches.

Each is cut into `bodies`, grown by its clearance as openings of one truss are (`clearance.apart.gap`). Told from either
of two runs it is one place and one measure: where the shortest line between two bodies has its middle.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray

from trusses.analysis.clearance.free_space import TOUCH_IN
from trusses.analysis.runs.bodies import Bodies, Floats, Lift, bodies, core, grown, lift_of, lines
from trusses.analysis.runs.run import Leg, Point, Run
from trusses.analysis.runs.stood import Stood

_HAIR_IN = 1e-6
#: Two legs within this of each other's direction lie side by side: moved aside they part as well.
_ALONG_SINE = math.sin(math.radians(5))
#: What turns by more than 120 degrees goes back on itself; what turns by less is a bend, ...
_BACK_COSINE = math.cos(math.radians(120))
#: ... which takes so many times the run's width of its path.
_BEND = 2.0
#: More pairs of legs than this that are near each other are looked at in turn; of more pairs of bodies than this that
#: are too near each other it isn't told how far that goes on.
_MANY, _MOST_WITHIN = 24, 2_000


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


def meeting(
    run: Run, other: Run, copies: Sequence[Stood], bearings: Mapping[str, float] | None = None
) -> Meeting | None:
    """The place where `run` lies deepest in `other`, a branch's joint only where there is no other; None where they
    keep their clear space. `copies`: of the levels of both; `bearings`: how high levels bear above one and the same.
    Runs of two levels are not compared, None, where those of both aren't known."""
    levels = [one.level for one in (run, other)]
    known = dict(bearings or {}) if run.level != other.level else {run.level: 0.0}
    if not known.keys() >= set(levels):
        return None
    lifts = [
        lift_of(one, [each for each in copies if each.level == one.level], known[one.level]) for one in (run, other)
    ]
    keep = grown(run) + grown(other)

    def look(pairs: Sequence[tuple[int, int]]) -> Meeting | None:
        mine = bodies(run, lifts[0], {i for i, _ in pairs})
        theirs = bodies(other, lifts[1], {j for _, j in pairs})
        return _deepest(mine, theirs, mine.near(theirs, keep), keep)

    return _in_turn(_near(run, other, lifts), look)


def itself(run: Run, copies: Sequence[Stood]) -> Meeting | None:
    """The place where a run with corners lies deepest in a piece of its own. What lies within `_BEND` of its width of
    each other along the path is one bend, also a jog that is narrower than the run, unless it turns back; an end that
    comes to another piece joins it, as that of a ring does, unless it comes back along it."""
    lift = lift_of(run, [one for one in copies if one.level == run.level])
    bend = _BEND * run.section.room_in
    legs = list(run.legs())
    near = [
        (i, j)
        for i, j in _near(run, run, [lift, lift])
        if i < j and legs[j].before + legs[j].length - legs[i].before > bend and not (j == i + 1 and _bends(legs, i))
    ]
    keep = 2 * grown(run)

    def look(pairs: Sequence[tuple[int, int]]) -> Meeting | None:
        those = bodies(run, lift, {i for pair in pairs for i in pair}, (bend, run.section.room_in / 2))
        i, j = those.near(those, keep)
        apart = those.path[j, 0] - those.path[i, 1] >= bend - _HAIR_IN
        return _deepest(those, those, (i[apart], j[apart]), keep)

    found = _in_turn(near, look)
    return None if found is None or found.joins else found


def over_each_other(run: Run, other: Run) -> bool:
    """Whether two runs come nearer to each other in plan than both keep clear, at whatever heights they are."""
    keep = sum(core(one)[0] / 2 + grown(one) for one in (run, other))
    far = shapely.distance(shapely.LineString(run.points), shapely.LineString(other.points))
    return bool(far < keep - TOUCH_IN)


def _in_turn(
    near: Sequence[tuple[int, int]], look: Callable[[Sequence[tuple[int, int]]], Meeting | None]
) -> Meeting | None:
    """What is found among pairs of legs. Where there are very many, of a line that nobody builds, those first that lie
    nearest to where it begins, and no more once any of these come into each other."""
    joint = None
    for _, pairs in itertools.groupby(sorted(near, key=sum), key=sum if len(near) > _MANY else lambda pair: 0):
        found = look(list(pairs))
        if found and not found.joins:
            return found
        joint = joint or found
    return joint


def _bends(legs: Sequence[Leg], i: int) -> bool:
    one, two = legs[i], legs[i + 1]
    return one.ex * two.ex + one.ey * two.ey >= _BACK_COSINE - _HAIR_IN


_Pairs = tuple[NDArray[np.intp], NDArray[np.intp]]


def _deepest(mine: Bodies, theirs: Bodies, pairs: _Pairs, keep: float) -> Meeting | None:
    """Of pairs of bodies the one that is nearest, a joint only where all are."""
    i, j = pairs
    level = np.asarray(shapely.distance(mine.plan[i], theirs.plan[j]))
    up = np.abs(mine.z[i] - theirs.z[j]) - mine.half[i] - theirs.half[j]
    cut = (level <= 0) & (up < 0)
    between = np.where(cut, up, np.hypot(level, np.maximum(up, 0.0)))
    # what lies in the other, side by side, parts also by going aside; all else by going up or down
    beside = cut & (np.abs(_cross(mine.way[i], theirs.way[j])) < _ALONG_SINE)
    near = (between - keep < -TOUCH_IN) | beside
    i, j, up, between, beside = i[near], j[near], up[near], between[near], beside[near]
    at = _middle(mine.plan[i], theirs.plan[j])
    aside = _aside(mine, i, theirs, j, at) - (core(mine.run)[0] + core(theirs.run)[0]) / 2
    between = np.where(beside, np.maximum(aside, up), between)
    real = between - keep < -TOUCH_IN
    if not real.any():
        return None
    i, j, up, between, at = i[real], j[real], up[real], between[real], at[real]
    joins = _at_an_end(mine, i, theirs, j, at) | _at_an_end(theirs, j, mine, i, at)
    if mine is theirs:
        back = np.einsum("ij,ij->i", mine.way[i], theirs.way[j])
        beside = np.abs(_cross(mine.way[i], theirs.way[j])) < _ALONG_SINE
        joins &= (back > 0) | ~(beside | (mine.leg[j] == mine.leg[i] + 1))
    by = keep - between
    first = np.lexsort((*at.round(6).T, -by.round(6), joins))[0]
    # the place on its middle line: beside a corner what is nearest may lie past the end of its leg
    paths = np.clip(_along(mine, i, at), mine.path[i, 0], mine.path[i, 1])
    path = float(paths[first])
    # first itself, and of very many those that lie nearest to it
    held = np.argsort(np.abs(paths - path) + (np.arange(len(paths)) != first), kind="stable")[:_MOST_WITHIN]
    within = _within(mine, i[held], theirs, j[held], up[held], keep)
    # each is too near at its own place at least, also where that is its side alone and not its middle
    low, high = np.fmin(within[:, 0], paths[held]), np.fmax(within[:, 1], paths[held])
    within = np.column_stack([low, high])
    return Meeting(
        path,
        mine.run.place_at(path),
        float(by[first]),
        bool(mine.z[i[first]] >= theirs.z[j[first]]),
        bool(joins[first]),
        _on_end(within, 0),
    )


def _cross(one: Floats, other: Floats) -> Floats:
    return one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]


def _middle(one: NDArray[Any], other: NDArray[Any]) -> Floats:
    """(pairs, 2): the middle of what two plans share, else of the shortest line between them."""
    shared = shapely.intersection(one, other)
    lines = np.where(shapely.is_empty(shared), shapely.shortest_line(one, other), shared)
    return shapely.get_coordinates(shapely.centroid(lines)).reshape(-1, 2)


def _along(those: Bodies, i: NDArray[np.intp], at: Floats) -> Floats:
    """How far along the run each place is, by the leg of its body."""
    return np.einsum("ij,ij->i", at - those.start[i], those.way[i]) + those.before[i]


def _aside(one: Bodies, i: NDArray[np.intp], two: Bodies, j: NDArray[np.intp], at: Floats) -> Floats:
    """How far the lines of legs that lie side by side are from each other at a place."""
    turn = np.sign(np.einsum("ij,ij->i", one.way[i], two.way[j]))
    return np.abs(_cross(one.way[i], at - one.start[i]) - turn * _cross(two.way[j], at - two.start[j]))


def _at_an_end(one: Bodies, i: NDArray[np.intp], two: Bodies, j: NDArray[np.intp], at: Floats) -> NDArray[np.bool_]:
    """Whether a place is near an end of the run `one`, and that end in the other run."""
    far = (one.run.section.room_in + two.run.section.room_in) / 2
    found = np.zeros(len(i), dtype=bool)
    for end, there in ((one.run.points[0], one.first[i]), (one.run.points[-1], one.last[i])):
        near = there & (np.hypot(*(at - end).T) <= far)
        found |= near & (shapely.distance(two.plan[j], shapely.Point(end)) <= grown(two.run) + TOUCH_IN)
    return found


def _within(one: Bodies, i: NDArray[np.intp], two: Bodies, j: NDArray[np.intp], up: Floats, keep: float) -> Floats:
    """(pairs, 2): from where to where along the run `one` each pair is too near, NaN where its middle isn't."""
    # so far aside of the other's middle it is too near at this height
    room = np.sqrt(np.maximum(keep**2 - np.maximum(up, 0.0) ** 2, 0.0)) + core(one.run)[0] / 2
    near = shapely.intersection(one.middle[i], shapely.buffer(two.plan[j], room, quad_segs=16))
    places, of = shapely.get_coordinates(near, return_index=True)
    s = _along(one, i[of], places)
    found = np.full((len(i), 2), (np.inf, -np.inf))
    np.minimum.at(found[:, 0], of, s)
    np.maximum.at(found[:, 1], of, s)
    return np.where(np.isfinite(found), found, np.nan)


def _on_end(those: Floats, first: int) -> tuple[float, float]:
    """From where to where along a run it stays too near without a break, about one of those places."""
    low, high = those[first].tolist()
    for way in (1, -1):
        for a, b in sorted(those.tolist(), key=lambda one: way * one[0 if way > 0 else 1]):
            if a <= high + _HAIR_IN and b >= low - _HAIR_IN:
                low, high = min(low, a), max(high, b)
    return low, high


def _near(run: Run, other: Run, lifts: Sequence[Lift]) -> list[tuple[int, int]]:
    """Pairs of legs that come so near to each other that they are to be looked at closer: in plan, and in height where
    nothing depends on the place."""
    # a box reaches farthest with its corners
    reach = sum(core(one)[0] / math.sqrt(2) + grown(one) for one in (run, other))
    if _apart(run, other, reach):
        return []
    near = shapely.STRtree(lines(other)).query(lines(run), predicate="dwithin", distance=reach).T.tolist()
    if lifts[0].level is not None and lifts[1].level is not None:
        high = sum(one.section.outer[1] / 2 + one.section.clearance_in for one in (run, other))
        spans = [_spans(one, lift.level or 0.0) for one, lift in zip((run, other), lifts, strict=True)]
        near = [
            (i, j) for i, j in near if max(spans[0][i][0], spans[1][j][0]) - min(spans[0][i][1], spans[1][j][1]) < high
        ]
    return [(i, j) for i, j in near]


def _spans(run: Run, level: float) -> list[tuple[float, float]]:
    """Between which heights each leg lies, with what goes up at both its ends."""
    found, risen, rises = [], run.height_in + level, [0.0, *(run.rises or [0.0] * (len(run.points) - 2)), 0.0]
    for leg, before, after in zip(run.legs(), rises, rises[1:], strict=False):
        risen += before
        a, b = (risen - run.slope * far / 12 for far in (leg.before, leg.before + leg.length))
        ends = (a, a - before, b, b + after)
        found.append((min(ends), max(ends)))
    return found


def _apart(run: Run, other: Run, reach: float) -> bool:
    """Whether their boxes in plan are too far apart to look closer."""
    boxes = [(np.min(one.points, axis=0), np.max(one.points, axis=0)) for one in (run, other)]
    return bool(np.any(boxes[0][1] + reach < boxes[1][0]) or np.any(boxes[1][1] + reach < boxes[0][0]))


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
