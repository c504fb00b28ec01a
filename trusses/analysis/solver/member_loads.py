"""What the loads of a truss do to each member: uniform and point loads along it, in the member's own directions.

Everything is an array over a stack of trusses of one shape: t trusses, r cases, m members, k segments between the
places where a load begins, ends or stands; members come last, since there are more of them than of anything else, and
numpy is quick along a long last axis. Along a member s runs from its first listed joint; a transverse load is
positive toward the member's lower face. Pounds and inches; psf and plf become pounds per inch here.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trusses.analysis.loads import Case, Load, LoadError
from trusses.analysis.model import ROLES, Truss

#: Places along a member closer than this share of its length are one place; also the slope of a vertical member.
TOUCH = 1e-9
_PLAN, _SLOPE, _NORMAL = range(3)
_ALONG = {"plan": _PLAN, "slope": _SLOPE, "normal": _NORMAL}
_ROLE = {role: i for i, role in enumerate(ROLES)}
_SQUARE_FOOT = 144.0
_FOOT = 12.0
#: Loads × members × pieces that one truss may make; an ordinary truss makes a few thousand.
MOST_PIECES = 4_000_000


@dataclass(frozen=True)
class Geometry:
    """Where the members of a stack lie. `joints` (t, j, 2) in; `ends` (m, 2) joint indices; the rest (t, m, …).

    `along` is the unit vector from the first joint to the second, `up` the one toward the upper face (to the left on
    a vertical member), `hand` +1 where `up` is `along` turned counterclockwise and -1 where it is turned clockwise.
    """

    joints: np.ndarray
    ends: np.ndarray
    length: np.ndarray
    along: np.ndarray
    up: np.ndarray
    hand: np.ndarray


@dataclass(frozen=True)
class MemberLoads:
    """Loads along members. `nodes` (t, k + 1, m) in, from 0 to the length, padded with the length.

    `axial` and `transverse` (t, r, k, m) lb/in between the nodes; `axial_at` and `transverse_at` (t, r, k + 1, m) lb
    at the nodes, None where no load stands on a member. Axial is positive toward the second joint, transverse toward
    the lower face.
    """

    nodes: np.ndarray
    axial: np.ndarray
    transverse: np.ndarray
    axial_at: np.ndarray | None
    transverse_at: np.ndarray | None


def geometry(trusses: Sequence[Truss], ends: np.ndarray) -> Geometry:
    """The geometry of trusses whose members join the same joints; `ends` (m, 2) are indices of joints."""
    joints = np.array([[(joint.x, joint.y) for joint in truss.joints] for truss in trusses], dtype=float)
    span = joints[:, ends[:, 1]] - joints[:, ends[:, 0]]
    length = np.hypot(span[..., 0], span[..., 1])
    along = span / length[..., None]
    x, y = along[..., 0], along[..., 1]
    hand = np.where(np.abs(x) > TOUCH, np.sign(x), np.sign(y))
    up = hand[..., None] * np.stack([-y, x], axis=-1)
    return Geometry(joints, ends, length, along, up, hand)


class Held:
    """Which cases hold a load, (r,) bool, looked up by what decides it."""

    def __init__(self, cases: Sequence[Case]) -> None:
        self.cases = cases
        self._known: dict[tuple[str, bool, str | None], list[bool]] = {}

    def __call__(self, load: Load) -> list[bool]:
        kind = (load.case, load.alone, load.pattern)
        rows = self._known.get(kind)
        if rows is None:
            rows = self._known[kind] = [case.holds(load) for case in self.cases]
        return rows


def joint_loads(trusses: Sequence[Truss], held: Held) -> np.ndarray | None:
    """The loads at joints, (t, r, j, 2) lb, right and up positive; None where there are none."""
    if not any(load.joint is not None for truss in trusses for load in truss.point_loads):
        return None
    loads = np.zeros((len(trusses), len(held.cases), len(trusses[0].joints), 2))
    for t, truss in enumerate(trusses):
        for load in truss.point_loads:
            if load.joint is not None:
                loads[t, held(load), truss.joint_index[load.joint]] += (load.right_lb, -load.down_lb)
    return loads


def member_loads(trusses: Sequence[Truss], held: Held, shape: Geometry) -> MemberLoads:
    """Every load along the members, cut at every place where one begins, ends or stands.

    Raises LoadError for more than MOST_PIECES of them.
    """
    start, end, axial, transverse, holds = _uniform(trusses, held, shape)
    points = _points(trusses, held, shape)
    nodes = _nodes(start, end, points, shape.length)
    t, u, m = start.shape
    r, k = len(held.cases), nodes.shape[1] - 1
    if u * m * k > MOST_PIECES:
        raise LoadError("loads: the loads cut the members into too many pieces to analyse")
    middle = (nodes[:, :-1] + nodes[:, 1:])[:, None] / 2
    inside = (start[:, :, None] < middle) & (middle < end[:, :, None])

    def sum_up(intensity: np.ndarray) -> np.ndarray:
        lies = (inside * intensity[:, :, None]).reshape(t, u, k * m)
        return (holds.transpose(0, 2, 1) @ lies).reshape(t, r, k, m)

    if not points:
        return MemberLoads(nodes, sum_up(axial), sum_up(transverse), None, None)
    at = np.zeros((2, t, r, k + 1, m))
    for truss, member, place, along, down, rows in points:
        touch = TOUCH * shape.length[truss, member]
        node = int(np.searchsorted(nodes[truss, :, member], place - touch))
        at[0, truss, rows, node, member] += along
        at[1, truss, rows, node, member] += down
    return MemberLoads(nodes, sum_up(axial), sum_up(transverse), at[0], at[1])


def _uniform(trusses: Sequence[Truss], held: Held, shape: Geometry) -> tuple[np.ndarray, ...]:
    """Area and line loads: where each begins and ends on each member, its axial and transverse lb/in there (t, u, m),
    and the cases that hold it (t, u, r). Where a load misses a member it ends before it begins."""
    area, one = _area(trusses, held, shape)
    line, other = _line(trusses, held, shape)
    start, end, axial, transverse = (
        of_area if not other.shape[1] else np.concatenate([of_area, of_line], axis=1)
        for of_area, of_line in zip(area, line, strict=True)
    )
    holds = np.concatenate([one, other], axis=1)
    return start, np.minimum(end, shape.length[:, None]), axial, transverse, holds


def _area(trusses: Sequence[Truss], held: Held, shape: Geometry) -> tuple[tuple[np.ndarray, ...], np.ndarray]:
    many = max(len(truss.area_loads) for truss in trusses)
    # a truss with fewer loads than another is filled up with loads of nothing on no role
    nothing, nowhere = [0.0, 0.0, 0.0, -1.0, 0.0], [False] * len(held.cases)
    rows, holds = [], []
    for truss in trusses:
        per_inch, lack = truss.spacing_in / _SQUARE_FOOT, many - len(truss.area_loads)
        rows += [
            [load.psf * per_inch, load.from_x_in, load.to_x_in, _ROLE[load.chord], _ALONG[load.along]]
            for load in truss.area_loads
        ]
        rows += [nothing] * lack
        holds += [held(load) for load in truss.area_loads] + [nowhere] * lack
    t = len(trusses)
    values = np.array(rows, dtype=float).reshape(t, many, 5)
    return _laid(values, trusses[0], shape), np.array(holds, dtype=float).reshape(t, many, len(held.cases))


def _laid(rows: np.ndarray, like: Truss, shape: Geometry) -> tuple[np.ndarray, ...]:
    """Area loads on the members: start, end, axial and transverse lb/in, (t, u, m) each."""
    pressure, left, right, chord, along = (rows[..., i, None] for i in range(5))
    roles = np.array([_ROLE[member.role] for member in like.members])
    x, y = shape.along[:, None, :, 0], shape.along[:, None, :, 1]
    first = shape.joints[:, None, shape.ends[:, 0], 0]
    vertical = np.abs(x) <= TOUCH
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        a, b = (left - first) / x, (right - first) / x
    # a vertical chord stands in the window whole or not at all
    within = (left <= first) & (first <= right)
    start = np.where(vertical, 0.0, np.maximum(np.minimum(a, b), 0.0))
    end = np.where(vertical, np.where(within, math.inf, -1.0), np.maximum(a, b))
    end = np.where(chord == roles, end, -1.0)
    pressure = np.where(vertical & (along == _PLAN), 0.0, pressure * np.where(along == _PLAN, np.abs(x), 1.0))
    normal = along == _NORMAL
    axial = pressure * np.where(normal, 0.0, -y)
    transverse = pressure * np.where(normal, 1.0, shape.up[:, None, :, 1])
    return start, end, axial, transverse


def _line(trusses: Sequence[Truss], held: Held, shape: Geometry) -> tuple[tuple[np.ndarray, ...], np.ndarray]:
    t, m = shape.length.shape
    many = max(len(truss.line_loads) for truss in trusses)
    values = np.zeros((3, t, many, m))
    holds = np.zeros((t, many, len(held.cases)))
    for i, truss in enumerate(trusses):
        for n, strip in enumerate(truss.line_loads):
            stop = math.inf if strip.to_in is None else strip.to_in
            values[:, i, n, truss.member_index[strip.member]] = (strip.plf / _FOOT, strip.from_in, stop)
            holds[i, n] = held(strip)
    plf, start, end = values
    return (start, end, plf * -shape.along[:, None, :, 1], plf * shape.up[:, None, :, 1]), holds


_Point = tuple[int, int, float, float, float, list[bool]]


def _points(trusses: Sequence[Truss], held: Held, shape: Geometry) -> list[_Point]:
    """Point loads on members: truss, member, place along it, axial and transverse pounds, the cases that hold it."""
    points: list[_Point] = []
    for t, truss in enumerate(trusses):
        for load in truss.point_loads:
            if load.member is None:
                continue
            member = truss.member_index[load.member]
            place = min(load.at_in or 0.0, float(shape.length[t, member]))
            force = np.array((load.right_lb, -load.down_lb))
            along = float(force @ shape.along[t, member])
            down = -float(force @ shape.up[t, member])
            points.append((t, member, place, along, down, held(load)))
    return points


def _nodes(start: np.ndarray, end: np.ndarray, points: list[_Point], length: np.ndarray) -> np.ndarray:
    """The places (t, k + 1, m) along each member where a load begins, ends or stands, its own ends among them."""
    t, m = length.shape
    full, zero = length[:, None], np.zeros((t, 1, m))
    touch = TOUCH * full
    lies = end > start
    begins, stops = lies & (start > touch), lies & (full - end > touch)
    places = [zero]
    # most loads cover a member whole and cut nothing
    for cuts, where in ((begins, start), (stops, end)):
        some = cuts.any(axis=(0, 2))
        places.append(np.where(cuts[:, some], where[:, some], 0.0))
    if points:
        places.append(_standing(points, t, m))
    if sum(place.shape[1] for place in places) == 1:
        return np.concatenate([zero, full], axis=1)
    found = np.sort(np.concatenate(places, axis=1), axis=1)
    # a place within touch of the one before it, or of the far end, is that place
    new = (np.diff(found, axis=1, prepend=-math.inf) > touch) & (full - found > touch)
    rank = np.cumsum(new, axis=1) - 1
    nodes = np.repeat(full, int(rank.max()) + 2, axis=1)
    truss, place, member = np.nonzero(new)
    nodes[truss, rank[truss, place, member], member] = found[truss, place, member]
    return nodes


def _standing(points: list[_Point], t: int, m: int) -> np.ndarray:
    """Where point loads stand, (t, the most on any member, m); 0 where there are fewer."""
    count: Counter[tuple[int, int]] = Counter((truss, member) for truss, member, *_ in points)
    stands = np.zeros((t, max(count.values()), m))
    for truss, member, place, *_ in points:
        count[truss, member] -= 1
        stands[truss, count[truss, member], member] = place
    return stands
