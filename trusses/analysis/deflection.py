"""Deflection of the chords against the limits of the codes: a lower bound, since slip in the joints isn't modelled."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from trusses.analysis import nds
from trusses.analysis.combined import sinking
from trusses.analysis.loads import Combination
from trusses.analysis.model import Truss
from trusses.analysis.outcome import PASSES, Check, terms
from trusses.analysis.solver.member_loads import superposed
from trusses.analysis.solver.solution import Solution

Array = npt.NDArray[np.float64]

LIVE, TOTAL = "live deflection", "total deflection"
LOWER_BOUND = "a lower bound: slip in the joints is not modeled"

#: Span over this is the limit, of live and of total deflection. Roofs by ceiling (IBC Table 1604.3; its live column
#: stands for snow and wind too), floors (IRC Table R301.7: floors, and all other members).
ROOF_LIMITS: Mapping[str, tuple[int, int]] = {"plaster": (360, 240), "gypsum": (240, 180), "none": (180, 120)}
FLOOR_LIMITS = (360, 240)
_SOURCE = {"roof": "IBC Table 1604.3", "floor": "IRC Table R301.7"}

#: Places along each chord member, both ends among them.
_PLACES = np.linspace(0, 1, 17)
#: A span shorter than this is none, inches.
_NO_LENGTH = 1e-6
#: Ratios that differ by a smaller share than this are one.
_ALIKE = 1e-9


@dataclass(frozen=True)
class _Points:
    """Points of the chords of a stack of trusses, q on each of c members: `x`, the `length` that their limit is a share
    of, and whether on an overhang, (q, c, t), inches. A point that spans nothing has no length."""

    members: npt.NDArray[np.int64]
    x: Array
    length: Array
    overhangs: npt.NDArray[np.bool_]


@dataclass(frozen=True)
class _Governing:
    """The point that governs a rule in each truss: row, place on the member, member among the chords, (t,) each, and
    what it says there, inches."""

    rule: str
    limit: int
    row: npt.NDArray[np.int64]
    place: npt.NDArray[np.int64]
    chord: npt.NDArray[np.int64]
    down: Array
    allowed: Array
    green: Array | None


@dataclass(frozen=True)
class Deflections:
    """The deflection checks of a stack of trusses, as arrays; a truss's `Check` records are made when asked for."""

    trusses: Sequence[Truss]
    combinations: Sequence[Combination]
    points: _Points | None
    rules: Sequence[_Governing]

    def worst(self) -> Array:
        """The largest ratio of each truss, (t,); 0 where nothing spans."""
        ratios = [np.where(rule.allowed > 0, np.abs(rule.down) / _some(rule.allowed), 0.0) for rule in self.rules]
        return np.max([np.zeros(len(self.trusses)), *ratios], axis=0)

    def of(self, t: int) -> list[Check]:
        """The governing live and total deflection of one truss; none where nothing spans."""
        if self.points is None:
            return []
        return [self._check(t, rule, self.points) for rule in self.rules if rule.allowed[t] > 0]

    def _check(self, t: int, rule: _Governing, points: _Points) -> Check:
        truss, place, chord = self.trusses[t], int(rule.place[t]), int(rule.chord[t])
        demand, capacity = abs(float(rule.down[t])), float(rule.allowed[t])
        shown: list[tuple[str, object]] = [
            ("span", points.length[place, chord, t]),
            ("span over", rule.limit),
            ("x", points.x[place, chord, t]),
            ("member", truss.members[points.members[chord]].id),
            ("direction", "down" if rule.down[t] >= 0 else "up"),
        ]
        if points.overhangs[place, chord, t]:
            shown.append(("overhang", "its span is taken twice"))
        if rule.green is not None:
            shown += [("Kcr", nds.KCR_DRY), ("deflection with Kcr 2.0", abs(float(rule.green[t])))]
        ratio = demand / capacity
        return Check(
            of="truss",
            id=truss.mark,
            rule=rule.rule,
            source=_SOURCE[truss.use],
            combination=self.combinations[rule.row[t]].name,
            at_in=None,
            demand=demand,
            capacity=capacity,
            ratio=ratio,
            passes=ratio <= PASSES,
            terms=terms([*shown, ("means", LOWER_BOUND)]),
        )


def deflection_checks(
    trusses: Sequence[Truss],
    combinations: Sequence[Combination],
    solution: Solution,
    factors: Array,
) -> Deflections:
    """Live and total deflection of trusses of one shape and use, measured from the line between neighboring bearings.

    `factors` (r, cases) make the combinations of the solution's cases.
    Live is each combination without its dead load. Total adds the dead load's part times Kcr (NDS 3.5.2), 1.5, or
    without creep where that is more, as it is in uplift.
    """
    found_points = _points(trusses, solution, combinations, factors)
    if found_points is None:
        return Deflections(trusses, combinations, None, [])
    points, down, dead = found_points
    live = down - dead
    crept = live + nds.KCR_DRY * dead
    total = np.where(np.abs(crept) >= np.abs(down), crept, down)
    limits = FLOOR_LIMITS if trusses[0].use == "floor" else ROOF_LIMITS[trusses[0].ceiling]
    found = []
    if any(not _is_dead(case) for combination in combinations for case in combination.factors):
        found.append(_governing(points, LIVE, live, limits[0]))
    found.append(_governing(points, TOTAL, total, limits[1], green=live + nds.KCR_GREEN * dead))
    return Deflections(trusses, combinations, points, found)


def _governing(points: _Points, rule: str, down: Array, limit: int, green: Array | None = None) -> _Governing:
    _, q, c, t = down.shape
    allowed = points.length / limit
    ratio = np.abs(down) * np.where(allowed > 0, 1 / _some(allowed), 0.0)
    # of ratios that differ by rounding alone the first combination's governs, then the first member's
    alike = ratio >= ratio.max(axis=(0, 1, 2)) * (1 - _ALIKE)
    first = alike.swapaxes(1, 2).reshape(-1, t).argmax(axis=0)
    row, rest = np.divmod(first, c * q)
    chord, place = np.divmod(rest, q)
    which = np.arange(t)
    return _Governing(
        rule=rule,
        limit=limit,
        row=row,
        place=place,
        chord=chord,
        down=down[row, place, chord, which],
        allowed=np.where(allowed.max(axis=(0, 1)) > 0, allowed[place, chord, which], 0.0),
        green=None if green is None else green[row, place, chord, which],
    )


def _some(lengths: Array) -> Array:
    """Lengths to divide by where there are any."""
    return np.where(lengths > 0, lengths, 1.0)


def _points(
    trusses: Sequence[Truss],
    solution: Solution,
    combinations: Sequence[Combination],
    factors: Array,
) -> tuple[_Points, Array, Array] | None:
    """The points to look at, how far each sinks (r, q, c, t) and the dead load's part of it, inches; None where
    nothing holds the trusses up or they have no chords."""
    chords = np.array([i for i, member in enumerate(trusses[0].members) if member.is_chord], dtype=int)
    if not len(chords) or not any("y" in bearing.restrains for bearing in trusses[0].bearings):
        return None
    place = solution.place
    stations = place.length[chords] * _PLACES[:, None, None]
    x = place.first[chords] + place.along[0][chords] * stations
    length, overhangs = _spans(x, *_supports(trusses, solution))
    rows = sinking(solution, chords, stations)
    down, dead = superposed(factors, rows), superposed(_dead_part(combinations) @ factors, rows)
    # a chord that only stands on its bearing, a column, spans nothing
    length = np.where(length > _NO_LENGTH, length, 0.0)
    return _Points(chords, x, length, overhangs), down, dead


def _supports(trusses: Sequence[Truss], solution: Solution) -> tuple[Array, Array]:
    """Where bearings hold a stack of trusses up, from left to right, and half their widths, (b, t) inches."""
    up = solution.shape.held[:, 1]
    at = solution.place.xy[0][solution.shape.bearings[up]]
    half = np.array([[bearing.width_in / 2 for bearing in truss.bearings] for truss in trusses]).T[up]
    order = at.argsort(axis=0, kind="stable")
    return np.take_along_axis(at, order, axis=0), np.take_along_axis(half, order, axis=0)


def _spans(x: Array, at: Array, half: Array) -> tuple[Array, npt.NDArray[np.bool_]]:
    """The length that each point's limit is a share of: its span, or twice its overhang (IRC Table R301.7).

    A point over the half width beyond an outer bearing is in the span beside it. Two bearings in one place are one.
    """
    left, right = at[0], at[-1]
    beyond_left, beyond_right = x < left - half[0], x > right + half[-1]
    if len(at) == 1:
        beyond_left, beyond_right = x < left, x > right
    span = np.zeros_like(x)
    for one, next_one in pairwise(at):
        # the last span that begins at or before a point is its own, and the first one's that of a point before it
        here = (x >= one) & (next_one > one)
        span = np.where(here | (span == 0.0), next_one - one, span)
    lowest, highest = x.min(axis=(0, 1)), x.max(axis=(0, 1))
    length = np.where(beyond_left, 2 * (left - lowest), np.where(beyond_right, 2 * (highest - right), span))
    return length, beyond_left | beyond_right


def _is_dead(case: str) -> bool:
    return case.split("/")[0] == "dead"


def _dead_part(combinations: Sequence[Combination]) -> Array:
    """(r, r): what share of which combination of dead load alone is in each combination."""
    part = np.zeros((len(combinations), len(combinations)))
    for row, combination in enumerate(combinations):
        dead = {case: factor for case, factor in combination.factors.items() if _is_dead(case)}
        if not dead:
            continue
        alone = next(i for i, other in enumerate(combinations) if dead.keys() == other.factors.keys())
        case = next(iter(dead))
        part[row, alone] = dead[case] / combinations[alone].factors[case]
    return part
