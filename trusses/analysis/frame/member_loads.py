"""What the loads of a truss do to each member: uniform and point loads along it, in the member's own directions.

Everything is an array over a stack of trusses of one shape: r cases, m members, t trusses; members and trusses come
last, since numpy is quick along long last axes. Along a member s runs from its first listed joint; an axial load is
positive toward the second joint, a transverse one toward the member's lower face. Pounds and inches; psf and plf become
pounds per inch here.

Most area loads cover each member whole or not at all, so those are arrays of the members that carry any. What begins or
ends within a member, or stands on it, is kept apart, one entry a piece. A load on the very end of a member is one on
the joint there, which takes it before any member does.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import chain
from operator import itemgetter
from typing import Any, NamedTuple

import numpy as np

from trusses.analysis.format.model import ROLES, TOUCH, AreaLoad, LineLoad, PointLoad, Truss
from trusses.analysis.frame.geometry import Geometry
from trusses.analysis.frame.topology import Topology
from trusses.analysis.loads.combinations import Case, Load, LoadError

_SQUARE_FOOT = 144.0
_FOOT = 12.0
#: Loads × members × pieces that one truss may make; an ordinary truss makes a few thousand.
MOST_PIECES = 4_000_000
_ALONG = ("plan", "slope", "normal")
_WINDOW = itemgetter(*map(AreaLoad._fields.index, ("psf", "from_x_in", "to_x_in")))

#: Area loads but for their sizes, as columns: case, chord, along what, pattern, whether alone.
Layout = tuple[tuple[Any, ...], ...]


@dataclass(frozen=True)
class Pieces:
    """Loads on a part of a member, n of them: from `start` to `end`, shares of its length, equal for a point load.

    `truss` and `member` (n,) say which; `rows` (n, r) how much of it each case holds; `axial` and `transverse` (n,)
    are lb/in, or pounds of a point load.
    """

    truss: np.ndarray
    member: np.ndarray
    rows: np.ndarray
    start: np.ndarray
    end: np.ndarray
    axial: np.ndarray
    transverse: np.ndarray

    def only(self, t: int) -> Pieces | None:
        """Those of one truss, as of a stack of one."""
        mine = self._those(self.truss == t)
        return mine and replace(mine, truss=np.zeros(len(mine.truss), dtype=int))

    def among(self, places: np.ndarray) -> Pieces | None:
        """Those of some members, which they number by their `places` (m,) among them, -1 for the others."""
        member = places[self.member]
        return replace(self, member=member)._those(member >= 0)

    def _those(self, which: np.ndarray) -> Pieces | None:
        if not which.any():
            return None
        return Pieces(*(getattr(self, name)[which] for name in self.__dataclass_fields__))


@dataclass(frozen=True, eq=False)
class Loaded:
    """The `members` (c,) of a shape that any truss of a stack has a load on, in order; `among` (m,) finds each of them
    there, and is -1 for the others; `part` picks them out, by a slice where they follow each other evenly."""

    members: np.ndarray
    among: np.ndarray
    part: slice | np.ndarray

    def of(self, values: np.ndarray) -> np.ndarray:
        """Their part of values (…, m, t), perhaps a view."""
        return values[..., self.part, :] if isinstance(self.part, slice) else values.take(self.part, axis=-2)


class MemberLoads(NamedTuple):
    """Loads along the members of a stack that carry any, `on`: `axial` and `transverse` (r, c, t) lb/in on whole
    members, and besides them the uniform `strips` and the `points` on parts of members, None where there are none."""

    on: Loaded
    axial: np.ndarray
    transverse: np.ndarray
    strips: Pieces | None
    points: Pieces | None

    @property
    def bare(self) -> np.ndarray:
        """The members that no truss of the stack has any load on, (m,)."""
        return self.on.among < 0

    def only(self, t: int) -> MemberLoads:
        """One truss's, as of a stack of one."""
        pieces = (one and one.only(t) for one in (self.strips, self.points))
        return MemberLoads(self.on, self.axial[..., t : t + 1], self.transverse[..., t : t + 1], *pieces)

    def combine(self, factors: np.ndarray) -> MemberLoads:
        """Sums of the rows: `factors` (combinations, r)."""
        pieces = (one and replace(one, rows=one.rows @ factors.T) for one in (self.strips, self.points))
        return MemberLoads(self.on, superposed(factors, self.axial), superposed(factors, self.transverse), *pieces)


def add_pieces(to: np.ndarray, pieces: Pieces, values: np.ndarray) -> None:
    """Adds values (n, r, k) to the members (r, k, c, t) that the pieces are on."""
    np.add.at(to.transpose(2, 3, 0, 1), (pieces.member, pieces.truss), values)


def superposed(factors: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Sums of the rows of values (r, …): `factors` (combinations, r)."""
    r, *rest = values.shape
    return (factors @ values.reshape(r, math.prod(rest))).reshape(len(factors), *rest)


def layout(truss: Truss) -> Layout:
    """What trusses of a stack must share of their area loads: all but sizes and windows."""
    if not truss.area_loads:
        return ()
    case, chord, _, along, _, _, pattern, alone = zip(*truss.area_loads, strict=True)
    return case, chord, along, pattern, alone


def others(truss: Truss) -> tuple[tuple[str, str | None, bool], ...]:
    """Of what cases and patterns the loads are that are no area loads: those are in the layout."""
    loads: tuple[LineLoad | PointLoad, ...] = (*truss.line_loads, *truss.point_loads)
    return tuple((load.case, load.pattern, load.alone) for load in loads)


def joint_loads(trusses: Sequence[Truss], cases: Sequence[Case]) -> np.ndarray | None:
    """The loads on joints, (r, j, 2, t) lb, right and up positive; None where there are none."""
    loads = None
    for t, truss in enumerate(trusses):
        for load in truss.point_loads:
            joint = truss.joint_under(load)
            if joint is not None:
                if loads is None:
                    loads = np.zeros((len(cases), len(truss.joints), 2, len(trusses)))
                loads[held(load, cases), truss.joint_index[joint], :, t] += (load.right_lb, -load.down_lb)
    return loads


def held(load: Load, cases: Sequence[Case]) -> list[bool]:
    """Which cases hold a load, (r,)."""
    return [case.holds(load) for case in cases]


def member_loads(
    trusses: Sequence[Truss], cases: tuple[Case, ...], shape: Topology, place: Geometry, laid: Layout
) -> MemberLoads:
    """Every load along the members of trusses of one shape and layout.

    Raises LoadError where they cut the members into more than MOST_PIECES.
    """
    lines, points = list(_lines(trusses, cases, place)), list(_points(trusses, cases, place))
    placed = _laid(laid, cases, shape, frozenset([m for _, m, *_ in (*lines, *points)]))
    axial, transverse, cut = _area(trusses, placed, place)
    return MemberLoads(
        placed.loaded, axial, transverse, _pieces([*cut, *lines], len(cases)), _pieces(points, len(cases))
    )


@dataclass(frozen=True)
class _Laid:
    """A layout's u loads on the `loaded` members of a shape: `theirs` (u, c, 1) whether the chord is theirs, and `on`
    the same as numbers; `holds` (3 r, u) which cases hold those that act downward on plan, downward along the slope,
    and square to the member; `plan` and `normal` (u,) which are so, and whether `any_normal` are."""

    loaded: Loaded
    theirs: np.ndarray
    on: np.ndarray
    holds: np.ndarray
    plan: np.ndarray
    normal: np.ndarray
    any_normal: bool


@lru_cache(maxsize=256)
def _laid(laid: Layout, cases: tuple[Case, ...], shape: Topology, more: frozenset[int]) -> _Laid:
    """`more` are the members that carry something else than area loads."""
    loads = list(zip(*laid, strict=True))
    roles = np.array([ROLES.index(chord) for _, chord, *_ in loads], dtype=int)
    holds = np.zeros((3, len(cases), len(loads)))
    for u, (case, _, along, pattern, alone) in enumerate(loads):
        holds[_ALONG.index(along), :, u] = [
            c.case == case and c.alone == alone and pattern in (None, c.pattern) for c in cases
        ]
    every = roles[:, None] == shape.roles
    loaded = every.any(axis=0)
    loaded[list(more)] = True
    return _Laid(
        loaded=_loaded(loaded),
        theirs=every[:, loaded, None],
        on=every[:, loaded, None].astype(float),
        holds=holds.reshape(3 * len(cases), len(loads)),
        plan=holds[0].any(axis=0),
        normal=holds[2].any(axis=0),
        any_normal=bool(holds[2].any()),
    )


def _loaded(which: np.ndarray) -> Loaded:
    members = np.flatnonzero(which)
    steps = set(np.diff(members).tolist()) or {1}
    part = slice(int(members[0]), int(members[-1]) + 1, steps.pop()) if len(members) and len(steps) == 1 else members
    return Loaded(members, np.where(which, which.cumsum() - 1, -1), part)


_Piece = tuple[int, int, Sequence[bool] | np.ndarray, float, float, float, float]


def _area(trusses: Sequence[Truss], laid: _Laid, place: Geometry) -> tuple[np.ndarray, np.ndarray, list[_Piece]]:
    """Axial and transverse lb/in on whole members, (r, c, t), and the pieces that begin or end within a member."""
    (u, c, _), t = laid.on.shape, len(trusses)
    sizes = chain.from_iterable(map(_WINDOW, chain.from_iterable([truss.area_loads for truss in trusses])))
    windows = np.fromiter(sizes, float).reshape(t, u, 3).transpose(2, 1, 0)
    spacing = np.array([truss.spacing_in / _SQUARE_FOOT for truss in trusses])
    pressure = (windows[0] * spacing)[:, None] * laid.on
    pieces: list[_Piece] = []
    if np.count_nonzero(np.isfinite(windows[1:])):
        whole, cut = _windows(laid.loaded.of(place.first), laid.loaded.of(place.second), windows[:, :, None])
        cut &= laid.theirs
        if np.count_nonzero(cut):
            pieces = list(_cut(laid, place, windows, np.where(cut, pressure, 0.0)))
        pressure *= whole
    plan, slope, normal = (laid.holds @ pressure.reshape(u, c * t)).reshape(3, len(laid.holds) // 3, c, t)
    right, up = laid.loaded.of(place.along)
    right = np.abs(right)
    plan *= right
    plan += slope
    transverse = plan * right
    if laid.any_normal:
        transverse += normal
    plan *= -up
    return plan, transverse, pieces


def _windows(first: np.ndarray, second: np.ndarray, windows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Where windows (3, u, 1, t) cover members between two x (c, t) whole, and where in part, (u, c, t) each; a
    vertical member stands in one whole or not at all."""
    low, high = np.minimum(first, second), np.maximum(first, second)
    run = high - low
    covered = np.minimum(high, windows[2])
    covered -= np.maximum(low, windows[1])
    near = TOUCH * run
    whole = covered >= run - near
    # of truths, more is and not
    return whole, (covered > near) > whole


def _cut(laid: _Laid, place: Geometry, windows: np.ndarray, on: np.ndarray) -> Iterator[_Piece]:
    """Pieces from windows (3, u, t) that cover a part of a member, and the pressure (u, c, t) there."""
    holds = laid.holds.reshape(3, -1, len(laid.on)).sum(axis=0)
    for u, c, t in np.argwhere(on != 0.0).tolist():
        m = int(laid.loaded.members[c])
        first, second = float(place.first[m, t]), float(place.second[m, t])
        ends = sorted((x - first) / (second - first) for x in windows[1:, u, t].tolist())
        start, end = max(ends[0], 0.0), min(ends[1], 1.0)
        size = float(on[u, c, t])
        if laid.normal[u]:
            yield t, m, holds[:, u], start, end, 0.0, size
        else:
            right, up = place.along[:, m, t].tolist()
            size *= abs(right) if laid.plan[u] else 1.0
            yield t, m, holds[:, u], start, end, -size * up, size * abs(right)


def _lines(trusses: Sequence[Truss], cases: Sequence[Case], place: Geometry) -> Iterator[_Piece]:
    for t, truss in enumerate(trusses):
        for load in truss.line_loads:
            m = truss.member_index[load.member]
            length = float(place.length[m, t])
            end = 1.0 if load.to_in is None else min(load.to_in / length, 1.0)
            yield (t, m, held(load, cases), load.from_in / length, end, *_down(load, place, t, m))


def _points(trusses: Sequence[Truss], cases: Sequence[Case], place: Geometry) -> Iterator[_Piece]:
    for t, truss in enumerate(trusses):
        for load in truss.point_loads:
            if load.member is not None and truss.joint_under(load) is None:
                m = truss.member_index[load.member]
                at = (load.at_in or 0.0) / float(place.length[m, t])
                yield (t, m, held(load, cases), at, at, *_down(load, place, t, m))


def _down(load: LineLoad | PointLoad, place: Geometry, t: int, m: int) -> tuple[float, float]:
    """The axial and the transverse part of a load, lb or lb/in."""
    right, down = (load.right_lb, load.down_lb) if isinstance(load, PointLoad) else (0.0, load.plf / _FOOT)
    force, along, up = (right, -down), place.along[:, m, t].tolist(), place.up[:, m, t].tolist()
    return force[0] * along[0] + force[1] * along[1], -force[0] * up[0] - force[1] * up[1]


def _pieces(found: list[_Piece], cases: int) -> Pieces | None:
    if not found:
        return None
    if len(found) * cases > MOST_PIECES:
        raise LoadError("too-many-pieces", "loads")
    truss, member, rows, *numbers = zip(*found, strict=True)
    start, end, axial, transverse = np.array(numbers, dtype=float)
    return Pieces(np.array(truss), np.array(member), np.array(rows, dtype=float), start, end, axial, transverse)
