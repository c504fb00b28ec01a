"""What the loads of a truss do to each member: uniform and point loads along it, in the member's own directions.

Everything is an array over a stack of trusses of one shape: r cases, m members, t trusses; members and trusses come
last, since numpy is quick along long last axes. Along a member s runs from its first listed joint; an axial load is
positive toward the second joint, a transverse one toward the member's lower face. Pounds and inches; psf and plf become
pounds per inch here.

Most area loads cover each member whole or not at all, so those are arrays of all members. What begins or ends within a
member, or stands on it, is kept apart, one entry a piece.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import chain
from operator import attrgetter

import numpy as np

from trusses.analysis.loads import Case, Load, LoadError
from trusses.analysis.model import ROLES, LineLoad, PointLoad, Truss
from trusses.analysis.solver.geometry import TOUCH, Geometry
from trusses.analysis.solver.topology import Topology

_SQUARE_FOOT = 144.0
_FOOT = 12.0
#: Loads × members × pieces that one truss may make; an ordinary truss makes a few thousand.
MOST_PIECES = 4_000_000
_LAYOUT = attrgetter("case", "pattern", "alone", "chord", "along", "windowed")
_ALONG = ("plan", "slope", "normal")
_WINDOW = attrgetter("psf", "from_x_in", "to_x_in")

#: Area loads but for their sizes: case, pattern, whether alone, chord, along what, whether in a window.
Layout = tuple[tuple[str, str | None, bool, str, str, bool], ...]


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
        mine = self.truss == t
        if not mine.any():
            return None
        kept = Pieces(*(getattr(self, name)[mine] for name in self.__dataclass_fields__))
        return replace(kept, truss=np.zeros(len(kept.truss), dtype=int))


@dataclass(frozen=True)
class MemberLoads:
    """Loads along the members of a stack: `axial` and `transverse` (r, m, t) lb/in on whole members, and besides them
    the uniform `strips` and the `points` on parts of members, None where there are none."""

    axial: np.ndarray
    transverse: np.ndarray
    strips: Pieces | None
    points: Pieces | None

    @property
    def bare(self) -> np.ndarray:
        """The members that no truss of the stack has any load on, (m,)."""
        bare = ~np.any((self.axial != 0) | (self.transverse != 0), axis=(0, 2))
        for pieces in (self.strips, self.points):
            if pieces is not None:
                bare[pieces.member] = False
        return bare

    def only(self, t: int) -> MemberLoads:
        """One truss's, as of a stack of one."""
        pieces = (one and one.only(t) for one in (self.strips, self.points))
        return MemberLoads(self.axial[..., t : t + 1], self.transverse[..., t : t + 1], *pieces)

    def combine(self, factors: np.ndarray) -> MemberLoads:
        """Sums of the rows: `factors` (combinations, r)."""
        pieces = (one and replace(one, rows=one.rows @ factors.T) for one in (self.strips, self.points))
        return MemberLoads(superposed(factors, self.axial), superposed(factors, self.transverse), *pieces)


def add_pieces(to: np.ndarray, pieces: Pieces, values: np.ndarray) -> None:
    """Adds values (n, r, k) to the members (r, k, m, t) that the pieces are on."""
    np.add.at(to.transpose(2, 3, 0, 1), (pieces.member, pieces.truss), values)


def superposed(factors: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Sums of the rows of values (r, …): `factors` (combinations, r)."""
    r, *rest = values.shape
    return (factors @ values.reshape(r, math.prod(rest))).reshape(len(factors), *rest)


def layout(truss: Truss) -> Layout:
    """What trusses of a stack must share of their area loads: all but sizes and windows."""
    return tuple(map(_LAYOUT, truss.area_loads))


def others(truss: Truss) -> tuple[tuple[str, str | None, bool], ...]:
    """Of what cases and patterns the loads are that are no area loads: those are in the layout."""
    loads: tuple[LineLoad | PointLoad, ...] = (*truss.line_loads, *truss.point_loads)
    return tuple((load.case, load.pattern, load.alone) for load in loads)


def joint_loads(trusses: Sequence[Truss], cases: Sequence[Case]) -> np.ndarray | None:
    """The loads at joints, (r, j, 2, t) lb, right and up positive; None where there are none."""
    if not any(load.joint is not None for truss in trusses for load in truss.point_loads):
        return None
    loads = np.zeros((len(cases), len(trusses[0].joints), 2, len(trusses)))
    for t, truss in enumerate(trusses):
        for load in truss.point_loads:
            if load.joint is not None:
                loads[held(load, cases), truss.joint_index[load.joint], :, t] += (load.right_lb, -load.down_lb)
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
    axial, transverse, cut = _area(trusses, _laid(laid, cases, shape), place)
    strips = _pieces([*cut, *_lines(trusses, cases, place)], len(cases))
    points = _pieces(list(_points(trusses, cases, place)), len(cases))
    return MemberLoads(axial, transverse, strips, points)


@dataclass(frozen=True)
class _Laid:
    """A layout's u loads on the members of a shape: `on` (u, m) 1 where the chord is theirs; `holds` (3 r, u) which
    cases hold those that act downward on plan, downward along the slope, and square to the member; `plan` and `normal`
    (u,) which are so, and whether there are `any_normal`; `windowed` which ones have a window, and
    `on_windowed` their part of `on`, as bool."""

    on: np.ndarray
    holds: np.ndarray
    plan: np.ndarray
    normal: np.ndarray
    any_normal: bool
    windowed: np.ndarray
    on_windowed: np.ndarray


@lru_cache(maxsize=256)
def _laid(laid: Layout, cases: tuple[Case, ...], shape: Topology) -> _Laid:
    roles = np.array([ROLES.index(chord) for _, _, _, chord, _, _ in laid], dtype=int)
    holds = np.zeros((3, len(cases), len(laid)))
    for u, (case, pattern, alone, _, along, _) in enumerate(laid):
        holds[_ALONG.index(along), :, u] = [
            c.case == case and c.alone == alone and pattern in (None, c.pattern) for c in cases
        ]
    normal, on = holds[2].any(axis=0), roles[:, None] == shape.roles
    windowed = np.flatnonzero([windowed for *_, windowed in laid])
    return _Laid(
        on=on.astype(float),
        holds=holds.reshape(3 * len(cases), len(laid)),
        plan=holds[0].any(axis=0),
        normal=normal,
        any_normal=bool(normal.any()),
        windowed=windowed,
        on_windowed=on[windowed],
    )


_Piece = tuple[int, int, Sequence[bool] | np.ndarray, float, float, float, float]


def _area(trusses: Sequence[Truss], laid: _Laid, place: Geometry) -> tuple[np.ndarray, np.ndarray, list[_Piece]]:
    """Axial and transverse lb/in on whole members, (r, m, t), and the pieces that begin or end within a member."""
    u, m, t = *laid.on.shape, len(trusses)
    sizes = chain.from_iterable(map(_WINDOW, chain.from_iterable([truss.area_loads for truss in trusses])))
    windows = np.fromiter(sizes, float).reshape(t, u, 3).transpose(2, 1, 0)
    per_inch = windows[0] * np.array([truss.spacing_in / _SQUARE_FOOT for truss in trusses])
    pressure = per_inch[:, None] * laid.on[:, :, None]
    pieces: list[_Piece] = []
    if len(laid.windowed):
        whole, cut = _windows(place, windows.take(laid.windowed, axis=1)[:, :, None])
        cut &= laid.on_windowed[:, :, None]
        if cut.any():
            pieces = list(_cut(laid, place, windows, np.where(cut, pressure[laid.windowed], 0.0)))
        pressure[laid.windowed] *= whole
    plan, slope, normal = (laid.holds @ pressure.reshape(u, m * t)).reshape(3, -1, m, t)
    level = np.abs(place.along[0])
    plan *= level
    plan += slope
    transverse = plan * level
    if laid.any_normal:
        transverse += normal
    return plan * -place.along[1], transverse, pieces


def _windows(place: Geometry, windows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Where windows (3, u, 1, t) cover a member whole, and where in part, (u, m, t) each; a vertical member stands in
    one whole or not at all."""
    low, high = np.minimum(place.first, place.second), np.maximum(place.first, place.second)
    run = high - low
    covered = np.minimum(high, windows[2])
    covered -= np.maximum(low, windows[1])
    near = TOUCH * run
    whole = covered >= run - near
    return whole, (covered > near) & ~whole


def _cut(laid: _Laid, place: Geometry, windows: np.ndarray, on: np.ndarray) -> Iterator[_Piece]:
    """Pieces from windows (3, u, t) that cover a part of a member, and the pressure (windowed, m, t) there."""
    holds = laid.holds.reshape(3, -1, len(laid.on)).sum(axis=0)
    for w, m, t in np.argwhere(on != 0.0).tolist():
        u = laid.windowed[w]
        first, second = float(place.first[m, t]), float(place.second[m, t])
        ends = sorted((x - first) / (second - first) for x in windows[1:, u, t].tolist())
        start, end = max(ends[0], 0.0), min(ends[1], 1.0)
        size = float(on[w, m, t])
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
            if load.member is not None:
                m = truss.member_index[load.member]
                at = min((load.at_in or 0.0) / float(place.length[m, t]), 1.0)
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
        raise LoadError("loads: the loads cut the members into too many pieces to analyse")
    truss, member, rows, *numbers = zip(*found, strict=True)
    start, end, axial, transverse = np.array(numbers, dtype=float)
    return Pieces(np.array(truss), np.array(member), np.array(rows, dtype=float), start, end, axial, transverse)
