"""What the loads of a truss do to each member: uniform and point loads along it, in the member's own directions.

Everything is an array over a stack of trusses of one shape: t trusses, r cases, m members, k segments between the
places where a load begins, ends or stands. Along a member s runs from its first listed joint; a transverse load is
positive toward the member's lower face. Pounds and inches; psf and plf become pounds per inch here.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trusses.analysis.loads import Case, LoadError
from trusses.analysis.model import ROLES, Truss

#: Places along a member closer than this share of its length are one place; also the slope of a vertical member.
TOUCH = 1e-9
_PLAN, _SLOPE, _NORMAL = range(3)
_ALONG = {"plan": _PLAN, "slope": _SLOPE, "normal": _NORMAL}
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
    """Loads along members. `nodes` (t, m, k + 1) in, from 0 to the length, padded with the length.

    `axial` and `transverse` (t, r, m, k) lb/in between the nodes; `axial_at` and `transverse_at` (t, r, m, k + 1) lb
    at the nodes. Axial is positive toward the second joint, transverse toward the lower face.
    """

    nodes: np.ndarray
    axial: np.ndarray
    transverse: np.ndarray
    axial_at: np.ndarray
    transverse_at: np.ndarray


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


def joint_loads(trusses: Sequence[Truss], cases: Sequence[Case]) -> np.ndarray:
    """The loads at joints, (t, r, j, 2) lb, right and up positive."""
    loads = np.zeros((len(trusses), len(cases), len(trusses[0].joints), 2))
    for t, truss in enumerate(trusses):
        for load in truss.point_loads:
            if load.joint is not None:
                held = [case.holds(load) for case in cases]
                loads[t, held, truss.joint_index[load.joint]] += (load.right_lb, -load.down_lb)
    return loads


def member_loads(trusses: Sequence[Truss], cases: Sequence[Case], shape: Geometry) -> MemberLoads:
    """Every load along the members, cut at every place where one begins, ends or stands.

    Raises LoadError for more than MOST_PIECES of them.
    """
    start, end, axial, transverse, held = _uniform(trusses, cases, shape)
    points = _points(trusses, cases, shape)
    nodes = _nodes(start, end, points, shape.length)
    if start[0].size * (nodes.shape[2] - 1) > MOST_PIECES:
        raise LoadError("loads: the loads cut the members into too many pieces to analyse")
    middle = (nodes[..., :-1] + nodes[..., 1:]) / 2
    inside = (start[..., None] < middle[:, None]) & (middle[:, None] < end[..., None])
    t, u, m, k = inside.shape
    r = len(cases)

    def sum_up(intensity: np.ndarray) -> np.ndarray:
        lies = (inside * intensity[..., None]).reshape(t, u, m * k)
        return (held.transpose(0, 2, 1) @ lies).reshape(t, r, m, k)

    at = np.zeros((2, t, r, m, k + 1))
    for truss, member, place, along, down, rows in points:
        node = int(np.searchsorted(nodes[truss, member], place - TOUCH * shape.length[truss, member]))
        at[0, truss, rows, member, node] += along
        at[1, truss, rows, member, node] += down
    return MemberLoads(nodes, sum_up(axial), sum_up(transverse), at[0], at[1])


def _uniform(trusses: Sequence[Truss], cases: Sequence[Case], shape: Geometry) -> tuple[np.ndarray, ...]:
    """Area and line loads: where each begins and ends on each member, its axial and transverse lb/in there (t, u, m),
    and the cases that hold it (t, u, r). Where a load misses a member it ends before it begins."""
    t, m = shape.length.shape
    area = max(len(truss.area_loads) for truss in trusses)
    line = max(len(truss.line_loads) for truss in trusses)
    held = np.zeros((t, area + line, len(cases)))
    rows = np.zeros((t, area, 5))
    lines = np.zeros((3, t, line, m))
    for i, truss in enumerate(trusses):
        for n, load in enumerate(truss.area_loads):
            pressure = load.psf * truss.spacing_in / _SQUARE_FOOT
            window = (load.from_x_in, load.to_x_in)
            rows[i, n] = (pressure, *window, ROLES.index(load.chord), _ALONG[load.along])
            held[i, n] = [case.holds(load) for case in cases]
        for n, strip in enumerate(truss.line_loads):
            stop = math.inf if strip.to_in is None else strip.to_in
            lines[:, i, n, truss.member_index[strip.member]] = (strip.plf / _FOOT, strip.from_in, stop)
            held[i, area + n] = [case.holds(strip) for case in cases]
    start, end, axial, transverse = (
        np.concatenate(both, axis=1) for both in zip(_area(rows, trusses[0], shape), _line(lines, shape), strict=True)
    )
    return start, np.minimum(end, shape.length[:, None]), axial, transverse, held


def _area(rows: np.ndarray, like: Truss, shape: Geometry) -> tuple[np.ndarray, ...]:
    pressure, left, right, chord, along = (rows[..., i, None] for i in range(5))
    roles = np.array([ROLES.index(member.role) for member in like.members])
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


def _line(lines: np.ndarray, shape: Geometry) -> tuple[np.ndarray, ...]:
    plf, start, end = lines
    return start, end, plf * -shape.along[:, None, :, 1], plf * shape.up[:, None, :, 1]


_Point = tuple[int, int, float, float, float, list[bool]]


def _points(trusses: Sequence[Truss], cases: Sequence[Case], shape: Geometry) -> list[_Point]:
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
            points.append((t, member, place, along, down, [case.holds(load) for case in cases]))
    return points


def _nodes(start: np.ndarray, end: np.ndarray, points: list[_Point], length: np.ndarray) -> np.ndarray:
    """The places (t, m, k + 1) along each member where a load begins, ends or stands, its own ends among them."""
    t, m = length.shape
    count: Counter[tuple[int, int]] = Counter((truss, member) for truss, member, *_ in points)
    stands = np.zeros((t, max(count.values(), default=0), m))
    for truss, member, place, *_ in points:
        count[truss, member] -= 1
        stands[truss, count[truss, member], member] = place
    lies = end > start
    full = length[:, None]
    places = [np.zeros_like(full), np.where(lies, start, 0.0), np.where(lies, end, full), stands]
    sorted_ = np.sort(np.concatenate(places, axis=1), axis=1).transpose(0, 2, 1)
    touch = TOUCH * length[..., None]
    # a place within touch of the one before it, or of the far end, is that place
    new = (np.diff(sorted_, axis=2, prepend=-math.inf) > touch) & (length[..., None] - sorted_ > touch)
    rank = np.cumsum(new, axis=2) - 1
    nodes = np.repeat(length[..., None], int(rank.max()) + 2, axis=2)
    where = np.nonzero(new)
    nodes[where[0], where[1], rank[where]] = sorted_[where]
    return nodes
