"""Deflection of the chords against the limits of the codes: a lower bound, since slip in the joints isn't modelled."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from trusses.analysis.checks import nds
from trusses.analysis.checks.check import PASSES, Check, terms
from trusses.analysis.checks.combined import sinking
from trusses.analysis.format.model import Truss
from trusses.analysis.frame.member_loads import superposed
from trusses.analysis.frame.solution import Solution
from trusses.analysis.loads.combinations import Combination

Array = npt.NDArray[np.float64]

LIVE, TOTAL = "live deflection", "total deflection"
#: The terms that tell the largest deflection between the bearings where an overhang governs.
IN_SPAN, IN_SPAN_LIMIT, IN_SPAN_BY = "between bearings", "between bearings, allowed", "between bearings, under"
LOWER_BOUND = "a lower bound: slip in the joints is not modeled"

#: Span over this is the limit, of live and of total deflection: IBC Table 1604.3, its rows of roof members by ceiling,
#: where snow and wind have the same limit as live load, and its row of floor members. IRC Table R301.7 limits the
#: deflection of floors under live load alone, to the same L/360, and has no limit of the total. Read of them: the rows
#: of roofs and the live limit of floors; the L/240 of floors and the notes by their letters are from memory.
ROOF_LIMITS: Mapping[str, tuple[int, int]] = {"plaster": (360, 240), "gypsum": (240, 180), "none": (180, 120)}
FLOOR_LIMITS = (360, 240)
_SOURCE = {
    ("roof", LIVE): "IBC Table 1604.3",
    ("roof", TOTAL): "IBC Table 1604.3",
    ("floor", LIVE): "IBC Table 1604.3, IRC Table R301.7",
    ("floor", TOTAL): "IBC Table 1604.3",
}
#: What the total is, beside what the table's note d (known by a summary of its publisher's) would compare.
_COMPARED = {
    False: "creep included, 1.5 D + L: stricter than the table's note d, which compares 0.5 D + L for dry lumber",
    True: "creep included, 2.0 D + L: stricter than the table's note d, which compares 1.0 D + L for wet lumber",
}

#: Places along each chord member, both ends among them.
_PLACES = np.linspace(0, 1, 17)
#: A span shorter than this is none, inches.
_NO_LENGTH = 1e-6
#: Ratios that differ by a smaller share than this are one.
_ALIKE = 1e-9


@dataclass(frozen=True)
class _Points:
    """Points of the chords of a stack of trusses, q on each of c members: their `x`, the `length` that their limit is a
    share of, and whether on an overhang, (q, c, t), inches. A point that spans nothing has no length."""

    members: npt.NDArray[np.int64]
    x: Array
    length: Array
    overhangs: npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Deflections:
    """The deflection checks of a stack of trusses, as arrays; a truss's `Check` records are made when asked for.

    `rows` (r, q, c, t) is how far down the points move in each case, inches; `down` and `dead` (combinations, r) make
    of them each combination and its dead load's part. Live is a combination without its dead load. Total adds that
    part times Kcr (NDS 3.5.2), 1.5, or 2.0 in wet service, or without creep where that is more, as it is in uplift.
    """

    trusses: Sequence[Truss]
    combinations: Sequence[Combination]
    points: _Points
    rows: Array
    down: Array
    dead: Array

    @property
    def _rules(self) -> Iterator[tuple[str, int, list[Array]]]:
        """Each rule, its limit, and the sums of cases that it is about, the later of them where they are more."""
        one = self.trusses[0]
        live, total = FLOOR_LIMITS if one.use == "floor" else ROOF_LIMITS[one.ceiling]
        if any(not _is_dead(case) for combination in self.combinations for case in combination.factors):
            yield LIVE, live, [self.down - self.dead]
        yield TOTAL, total, [self.down + (self._kcr - 1) * self.dead, self.down]

    @property
    def _kcr(self) -> float:
        return nds.KCR_GREEN if self.trusses[0].service.wet else nds.KCR_DRY

    def worst(self) -> Array:
        """The largest ratio of each truss, (t,); 0 where nothing spans."""
        most = np.zeros(self.rows.shape[1:])
        # the later sums, D + L, are never nearer their limit than both Kcr D + L and the live L, between which they
        # lie: live load has the narrower limit
        for _, limit, (factors, *_) in self._rules:
            moved = superposed(limit * factors[factors.any(axis=1)], self.rows)
            np.maximum(most, np.abs(moved, out=moved).max(axis=0, initial=0.0), out=most)
        most *= _inverse(self.points.length)
        return np.asarray(most.max(axis=(0, 1)))

    def of(self, t: int) -> Iterator[Check]:
        """The governing live and total deflection of one truss; none where nothing spans."""
        if (self.points.length[..., t] > 0).any():
            for rule, limit, sums in self._rules:
                yield self._check(t, rule, limit, sums)

    def _check(self, t: int, rule: str, limit: int, sums: list[Array]) -> Check:
        truss, points, rows = self.trusses[t], self.points, self.rows[..., t]
        first, *more = (superposed(factors, rows) for factors in sums)
        down = first if not more else np.where(np.abs(first) >= np.abs(more[0]), first, more[0])
        ratio = np.abs(down) * (limit * _inverse(points.length[..., t]))
        # of ratios that differ by rounding alone the first combination's governs, then the first member's
        alike = (ratio >= ratio.max() * (1 - _ALIKE)).swapaxes(1, 2)
        row, chord, place = map(int, np.unravel_index(int(alike.argmax()), alike.shape))
        length, most = float(points.length[place, chord, t]), float(ratio.max())
        shown: list[tuple[str, object]] = [
            ("span", length),
            ("span over", limit),
            ("x", points.x[place, chord, t]),
            ("member", truss.members[points.members[chord]].id),
            ("direction", "down" if down[row, place, chord] >= 0 else "up"),
        ]
        if points.overhangs[place, chord, t]:
            shown.append(("overhang", "its span is taken twice"))
            shown += self._between_bearings(t, limit, down, ratio)
        if rule == TOTAL:
            green = (self.down[row] + (nds.KCR_GREEN - 1) * self.dead[row]) @ rows[:, place, chord]
            shown += [("Kcr", self._kcr), ("deflection with Kcr 2.0", abs(float(green)))]
            shown.append(("compared", _COMPARED[truss.service.wet]))
        return Check(
            of="truss",
            id=truss.mark,
            rule=rule,
            source=_SOURCE[truss.use, rule],
            combination=self.combinations[row].name,
            at_in=None,
            demand=most * length / limit,
            capacity=length / limit,
            ratio=most,
            passes=most <= PASSES,
            terms=terms([*shown, ("means", LOWER_BOUND)]),
        )

    def _between_bearings(self, t: int, limit: int, down: Array, ratio: Array) -> list[tuple[str, object]]:
        """The most between the bearings, where an overhang governs and would hide it; nothing where nothing spans."""
        inside = np.where(self.points.overhangs[..., t], 0.0, ratio)
        row, place, chord = map(int, np.unravel_index(int(inside.argmax()), inside.shape))
        if inside[row, place, chord] <= 0:
            return []
        return [
            (IN_SPAN, abs(float(down[row, place, chord]))),
            (IN_SPAN_LIMIT, float(self.points.length[place, chord, t]) / limit),
            (IN_SPAN_BY, self.combinations[row].name),
        ]


def deflection_checks(
    trusses: Sequence[Truss], combinations: Sequence[Combination], solution: Solution, factors: Array
) -> Deflections | None:
    """Live and total deflection of trusses of one shape and use, measured from the line between neighboring bearings;
    `factors` (r, cases) make the combinations of the solution's cases. None where the trusses have no chords or nothing
    holds them up."""
    chords = np.array([i for i, member in enumerate(trusses[0].members) if member.is_chord], dtype=int)
    if not len(chords) or not solution.shape.held[:, 1].any():
        return None
    place = solution.place
    x = place.first[chords] + place.along[0][chords] * place.length[chords] * _PLACES[:, None, None]
    length, overhangs = _spans(x, *_supports(trusses, solution))
    # a chord that only stands on its bearing, a column, spans nothing
    points = _Points(chords, x, np.where(length > _NO_LENGTH, length, 0.0), overhangs)
    rows = sinking(solution, chords, _PLACES)
    return Deflections(trusses, combinations, points, rows, factors, _dead_part(combinations) @ factors)


def _inverse(lengths: Array) -> Array:
    """1 / length where there is one, else 0."""
    return np.where(lengths > 0, 1 / np.where(lengths > 0, lengths, 1.0), 0.0)


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
    elif len(at) == 2 and not beyond_left.any() and not beyond_right.any():
        return np.broadcast_to(right - left, x.shape), beyond_left
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
