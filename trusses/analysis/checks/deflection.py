"""Deflection of the chords against the limits of the codes: a lower bound, since slip in the joints isn't modelled."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from trusses.analysis.checks import nds
from trusses.analysis.checks.check import PASSES, Check, terms
from trusses.analysis.checks.combined import chords, sinking, value_of
from trusses.analysis.checks.peaks import stationary
from trusses.analysis.format.model import TOUCH, Truss
from trusses.analysis.frame.geometry import Geometry
from trusses.analysis.frame.member_loads import superposed
from trusses.analysis.frame.solution import Along, Solution
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

#: Of a quartic's coefficients on a stretch from 0 to 1: its values at these places, and between its ends the control
#: points of its Bernstein form. It lies between the least and the greatest of those and of its ends.
_PLACES = np.array([0.0, 0.25, 0.5, 0.75, 1.0])
_LOOK = np.concatenate(
    [
        _PLACES[:, None] ** np.arange(5),
        [[math.comb(i, j) / math.comb(4, j) for j in range(5)] for i in (1, 2, 3)],
    ]
)
_POWERS = np.arange(5)[:, None, None]
#: A span shorter than this is none, inches.
_NO_LENGTH = 1e-6
#: Ratios that differ by a smaller share than this are one.
_ALIKE = 1e-9


@dataclass(frozen=True)
class _Stretches:
    """Stretches of the chords of a stack of trusses, q of them, in each of which the deflection is one quartic and has
    one limit: the `members` (q,), `low` and `high` (q, t) inches from their first joints, the `length` that the limit
    is a share of, (q, t) inches, 0 where there is no such stretch, and whether on an `overhang`."""

    members: npt.NDArray[np.int64]
    low: Array
    high: Array
    length: Array
    overhang: npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Deflections:
    """The deflection checks of a stack of trusses, as arrays; a truss's `Check` records are made when asked for.

    `rows` (r, 5, q, t) is how far down the stretches move in each case, inches, as coefficients of powers of the share
    of their length; `down` and `dead` (combinations, r) make of them each combination and its dead load's part. Live is
    a combination without its dead load. Total adds that part times Kcr (NDS 3.5.2), 1.5, or 2.0 in wet service, or
    without creep where that is more, as it is in uplift.
    """

    trusses: Sequence[Truss]
    combinations: Sequence[Combination]
    stretches: _Stretches
    place: Geometry
    rows: Array
    down: Array
    dead: Array

    @property
    def _rules(self) -> Iterator[tuple[str, int, list[Array]]]:
        """Each rule, its limit, and the sums of cases that it is about, the later of them where they are more."""
        one = self.trusses[0]
        live, total = FLOOR_LIMITS if one.use == "floor" else ROOF_LIMITS[one.ceiling]
        if (self.down != self.dead).any():
            yield LIVE, live, [self.down - self.dead]
        yield TOTAL, total, [self.down + (self._kcr - 1) * self.dead, self.down]

    @property
    def _kcr(self) -> float:
        return nds.KCR_GREEN if self.trusses[0].service.wet else nds.KCR_DRY

    def worst(self, known: Array) -> Array:
        """The largest ratio of each truss, or what is `known` where that is more, (t,)."""
        # the later sums, D + L, are never nearer their limit than both Kcr D + L and the live L, between which they
        # lie: live load has the narrower limit
        factors = np.concatenate([limit * first[first.any(axis=1)] for _, limit, (first, *_) in self._rules])
        rows, per_inch = self.rows, _inverse(self.stretches.length)
        r, _, q, t = rows.shape
        look = superposed(factors, (_LOOK @ rows.reshape(r, 5, q * t)).reshape(r, len(_LOOK), q, t))
        np.abs(look, out=look)
        if not ((np.maximum.reduce(look, axis=(0, 1), initial=0.0) * per_inch).max(axis=0) > known).any():
            return known
        at_places = look[:, : len(_PLACES)].max(axis=(0, 1), initial=0.0) * per_inch
        seen: Array = np.maximum(known, at_places.max(axis=0))
        between = look[:, len(_PLACES) :].max(axis=1, initial=0.0) * per_inch
        # only what could be more than is seen already is looked at closely
        row, which, truss = np.nonzero(between > seen * (1 + _ALIKE))
        if len(row):
            quartics = np.einsum("nr,rpn->pn", factors[row], rows[:, :, which, truss])
            peak = np.abs(value_of(quartics[None], _extremes(quartics))).max(axis=0)
            np.maximum.at(seen, truss, peak * per_inch[which, truss])
        return seen

    def of(self, t: int) -> Iterator[Check]:
        """The governing live and total deflection of one truss; none where nothing spans."""
        if (self.stretches.length[:, t] > 0).any():
            for rule, limit, sums in self._rules:
                yield self._check(t, rule, limit, sums)

    def _check(self, t: int, rule: str, limit: int, sums: list[Array]) -> Check:
        truss, stretches, length = self.trusses[t], self.stretches, self.stretches.length[:, t]
        per_inch = limit * _inverse(length)
        down, share = self._furthest(t, sums, per_inch)
        ratio = np.abs(down) * per_inch
        row, q = _first(ratio)
        most, x = float(ratio.max()), share[row, q]
        shown: list[tuple[str, object]] = [
            ("span", length[q]),
            ("span over", limit),
            ("x", self._x(t, q, x)),
            ("member", truss.members[stretches.members[q]].id),
            ("direction", "down" if down[row, q] >= 0 else "up"),
        ]
        if stretches.overhang[q]:
            shown.append(("overhang", "its span is taken twice"))
            shown += self._between_bearings(limit, down, np.where(stretches.overhang, 0.0, ratio), length)
        if rule == TOTAL:
            green = (self.down[row] + (nds.KCR_GREEN - 1) * self.dead[row]) @ self.rows[:, :, q, t]
            shown += [("Kcr", self._kcr), ("deflection with Kcr 2.0", abs(float(value_of(green[None], x)[0])))]
            shown.append(("compared", _COMPARED[truss.service.wet]))
        return Check(
            of="truss",
            id=truss.mark,
            rule=rule,
            source=_SOURCE[truss.use, rule],
            combination=self.combinations[row].name,
            at_in=None,
            demand=most * float(length[q]) / limit,
            capacity=float(length[q]) / limit,
            ratio=most,
            passes=most <= PASSES,
            terms=terms([*shown, ("means", LOWER_BOUND)]),
        )

    def _furthest(self, t: int, sums: list[Array], per_inch: Array) -> tuple[Array, Array]:
        """How far each stretch of one truss moves down at most, up negative, in each combination, (combinations, q),
        and at what share of its length; 0 where that is surely less, by `per_inch` (q,) of the limit, than on another
        stretch, for those between the bearings than on another of them."""
        rows, overhang = self.rows[..., t], self.stretches.overhang
        quartics = np.stack([superposed(factors, rows) for factors in sums], axis=2)
        r, _, n, q = quartics.shape
        look = np.abs(_LOOK @ quartics.reshape(r, 5, n * q)).reshape(r, len(_LOOK), n, q).max(axis=2) * per_inch
        seen, most = look[:, : len(_PLACES)].max(axis=1), look.max(axis=1)
        known = np.where(overhang, seen.max(), seen[:, ~overhang].max(initial=0.0))
        row, stretch = np.nonzero(most >= known * (1 - _ALIKE))
        close = quartics[row, :, :, stretch].transpose(1, 2, 0)
        places = np.broadcast_to(_PLACES[:, None, None], (len(_PLACES), *close.shape[1:]))
        x = np.concatenate([places, _extremes(close.reshape(5, -1)).reshape(-1, *close.shape[1:])])
        # every place of the first sum, then of the next
        moved, x = (values.transpose(1, 0, 2).reshape(-1, len(row)) for values in (value_of(close[None], x), x))
        size = np.abs(moved)
        which = (size >= size.max(axis=0) * (1 - _ALIKE)).argmax(axis=0), np.arange(len(row))
        down, share = np.zeros((2, r, q))
        down[row, stretch], share[row, stretch] = moved[which], x[which]
        return down, share

    def _x(self, t: int, q: int, share: float) -> float:
        """The x of a place on a stretch."""
        low, high, member = self.stretches.low[q, t], self.stretches.high[q, t], self.stretches.members[q]
        return float(self.place.first[member, t] + self.place.along[0, member, t] * (low + share * (high - low)))

    def _between_bearings(self, limit: int, down: Array, ratio: Array, length: Array) -> list[tuple[str, object]]:
        """The most between the bearings, where an overhang governs and would hide it; nothing where nothing spans."""
        row, q = _first(ratio)
        if ratio[row, q] <= 0:
            return []
        return [
            (IN_SPAN, abs(float(down[row, q]))),
            (IN_SPAN_LIMIT, float(length[q]) / limit),
            (IN_SPAN_BY, self.combinations[row].name),
        ]


def _first(ratio: Array) -> tuple[int, int]:
    """Where a ratio (combinations, q) governs: of those that differ by rounding alone the first combination's, then the
    first stretch's."""
    row, q = np.unravel_index(int((ratio >= ratio.max() * (1 - _ALIKE)).argmax()), ratio.shape)
    return int(row), int(q)


def _extremes(quartics: Array) -> Array:
    """Where quartics of a share from 0 to 1, coefficients (5, n), may be extreme, (7, n)."""
    none = np.zeros(quartics.shape[1])
    return stationary(quartics[1:, None] * np.arange(1.0, 5.0)[:, None, None], none, none + 1.0)


def deflection_checks(
    trusses: Sequence[Truss],
    combinations: Sequence[Combination],
    solution: Solution,
    factors: Array,
    members: npt.NDArray[np.int64],
    along: Along,
) -> Deflections | None:
    """Live and total deflection of trusses of one shape and use, measured from the line between neighboring bearings;
    `factors` (r, cases) make the combinations of the solution's cases, which have the forces `along` some members, all
    chords among them. None where the trusses have no chords or nothing holds them up."""
    is_chord, place = chords(solution.shape), solution.place
    every = np.flatnonzero(is_chord)
    if not len(every) or not solution.shape.held[:, 1].any():
        return None
    along = along.those(np.flatnonzero(is_chord[members]))
    quartics = sinking(solution, every, along)
    span = _one_span(trusses, solution, every) if len(along.start) == 1 else None
    if span is not None:
        # each chord, which no load is on in part, is one stretch
        length = along.length[0]
        one_span = np.broadcast_to(span, length.shape)
        stretches = _Stretches(every, np.zeros_like(length), length, one_span, np.zeros(len(every), dtype=bool))
        rows = quartics[:, :, 0] * length**_POWERS
    else:
        edges, spans, overhang = _spans(trusses, solution, every)
        stretches, k = _stretches(place, every, along.start, along.length, edges, spans, overhang)
        rows = _on_stretches(quartics, k, np.searchsorted(every, stretches.members), along.start, stretches)
    dead = _dead_part(tuple(combinations)) @ factors
    return Deflections(trusses, combinations, stretches, place, rows, factors, dead)


def _inverse(lengths: Array) -> Array:
    """1 / length where there is one, else 0."""
    return np.where(lengths > 0, 1 / np.where(lengths > 0, lengths, 1.0), 0.0)


def _one_span(trusses: Sequence[Truss], solution: Solution, members: npt.NDArray[np.int64]) -> Array | None:
    """The span of trusses on two bearings with nothing beyond them, (t,) inches; None for any others. See `_spans`."""
    up, place = np.flatnonzero(solution.shape.held[:, 1]), solution.place
    if len(up) != 2:
        return None
    at, half = place.xy[0].take(solution.shape.bearings[up], axis=0), _half_widths(trusses, up)
    first, second = (x.take(members, axis=0) for x in (place.first, place.second))
    left, right = (at - half, at + half) if at[0, 0] < at[1, 0] else ((at - half)[::-1], (at + half)[::-1])
    within = (left[0] <= np.minimum(first, second)) & (np.maximum(first, second) <= right[1])
    span = np.abs(at[1] - at[0])
    return span if within.all() and (span > _NO_LENGTH).all() else None


def _half_widths(trusses: Sequence[Truss], bearings: npt.NDArray[np.int64]) -> Array:
    """Of some bearings of each truss, (b, t) inches."""
    return np.array([[bearing.width_in / 2 for bearing in truss.bearings] for truss in trusses]).T[bearings]


def _spans(
    trusses: Sequence[Truss], solution: Solution, members: npt.NDArray[np.int64]
) -> tuple[Array, Array, npt.NDArray[np.bool_]]:
    """The parts of a truss's x with one limit each, g of them from left to right: their edges (g + 1, t), the length
    that the limit is a share of, (g, t) inches, and whether they are overhangs (g,).

    An overhang's limit is a share of twice its length (IRC Table R301.7). What is no more than the half width of an
    outer bearing beyond it is in the span beside it.
    """
    up, place = np.flatnonzero(solution.shape.held[:, 1]), solution.place
    at, half = place.xy[0][solution.shape.bearings[up]], _half_widths(trusses, up)
    order = at.argsort(axis=0, kind="stable")
    at, half = np.take_along_axis(at, order, axis=0), np.take_along_axis(half, order, axis=0)
    if len(at) == 1:
        # nothing spans: what isn't over the bearing's joint itself hangs over
        at, half = np.repeat(at, 2, axis=0), np.zeros((2, at.shape[1]))
    ends = np.stack([place.first[members], place.second[members]])
    lowest, highest = ends.min(axis=(0, 1)), ends.max(axis=(0, 1))
    everywhere = np.full(at.shape[1], np.inf)
    edges = np.stack([-everywhere, at[0] - half[0], *at[1:-1], at[-1] + half[-1], everywhere])
    spans = np.stack([2 * (at[0] - lowest), *np.diff(at, axis=0), 2 * (highest - at[-1])])
    overhang = np.zeros(len(spans), dtype=bool)
    overhang[[0, -1]] = True
    # a chord that only stands on its bearing, a column, spans nothing
    return edges, np.where(spans > _NO_LENGTH, spans, 0.0), overhang


def _stretches(
    place: Geometry,
    members: npt.NDArray[np.int64],
    starts: Array,
    lengths: Array,
    edges: Array,
    spans: Array,
    overhang: npt.NDArray[np.bool_],
) -> tuple[_Stretches, npt.NDArray[np.int64]]:
    """The segments of the chords cut where the limit changes, those that any truss of the stack has, and the number of
    the segment of each (q,)."""
    first, run = place.first[members], place.along[0][members]
    upright = np.abs(run) * place.length[members] <= _NO_LENGTH
    # the edges in inches along each member; an upright one stands in one part whole
    with np.errstate(divide="ignore", invalid="ignore"):
        cuts = (edges[:, None] - first) / run
    ahead = np.minimum(cuts[:-1], cuts[1:]), np.maximum(cuts[:-1], cuts[1:])
    # a part begins at its left edge, and what lies over an outer bearing isn't beyond it
    inside = (edges[:-1, None] <= first) & (first < edges[1:, None])
    inside[-1] = first > edges[-2]
    inside[-2] |= first == edges[-2]
    begin, end = np.where(upright, 0.0, ahead[0]), np.where(upright, np.where(inside, np.inf, 0.0), ahead[1])
    # (g, k, c, t)
    low = np.clip(begin[:, None], starts, starts + lengths)
    high = np.clip(end[:, None], starts, starts + lengths)
    reaches = high - low > TOUCH * place.length[members]
    which = np.argwhere(reaches.any(axis=3).transpose(2, 1, 0))
    c, k, g = which.T
    low, high = low[g, k, c], high[g, k, c]
    length = np.where(reaches[g, k, c], spans[g], 0.0)
    return _Stretches(members[c], low, high, length, overhang[g]), k


def _on_stretches(
    quartics: Array, k: npt.NDArray[np.int64], c: npt.NDArray[np.int64], starts: Array, on: _Stretches
) -> Array:
    """Quartics (r, 5, k, c, t) of inches from the segments' starts as those of shares of stretches, (r, 5, q, t)."""
    c0, c1, c2, c3, c4 = quartics[:, :, k, c].swapaxes(0, 1)
    x, h = on.low - starts[k, c], on.high - on.low
    return np.stack(
        [
            (((c4 * x + c3) * x + c2) * x + c1) * x + c0,
            (((4 * c4 * x + 3 * c3) * x + 2 * c2) * x + c1) * h,
            ((6 * c4 * x + 3 * c3) * x + c2) * h**2,
            (4 * c4 * x + c3) * h**3,
            c4 * h**4,
        ],
        axis=1,
    )


@lru_cache(maxsize=256)
def _dead_part(combinations: tuple[Combination, ...]) -> Array:
    """(r, r): what share of which combination of dead load alone is in each combination."""
    part = np.zeros((len(combinations), len(combinations)))
    for row, combination in enumerate(combinations):
        dead = {case: factor for case, factor in combination.factors.items() if case.split("/")[0] == "dead"}
        if not dead:
            continue
        alone = next(i for i, other in enumerate(combinations) if dead.keys() == other.factors.keys())
        case = next(iter(dead))
        part[row, alone] = dead[case] / combinations[alone].factors[case]
    return part
