"""Where each rule of the members governs: under which combination, and at which place along which member."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from trusses.analysis.checks import nds
from trusses.analysis.checks.between import Peaks, at_peaks, peaks_between
from trusses.analysis.checks.check import BUCKLES, PASSES, Check, terms
from trusses.analysis.checks.combined import Forces
from trusses.analysis.checks.member_properties import Pieces, service_terms
from trusses.analysis.checks.members import Columns, Members, Rule
from trusses.analysis.format.model import Truss
from trusses.analysis.loads.combinations import Combination

Array = npt.NDArray[np.float64]

#: Ratios that differ by a smaller share than this are one: which of them governs isn't for rounding to say.
_ALIKE = 1e-9


def member_checks(
    trusses: Sequence[Truss],
    combinations: Sequence[Combination],
    pieces: Pieces,
    groups: Sequence[Forces],
    least: Array,
) -> MemberChecks:
    """Every rule on every member of trusses of one shape: the governing combination and place of each; `least` is the
    `noise` of the groups."""
    cd: Array = np.array([combination.load_duration for combination in combinations])[:, None, None, None]
    columns = Columns.of(cd, pieces, None)
    rules = []
    for group in groups:
        some = Members.of(pieces.those(group.members), columns.those(group.members), cd, group, least)
        rules += [Governing(rule, some) for rule in some.rules()]
    return MemberChecks(trusses, combinations, rules)


class Governing:
    """A rule where it governs each of some members: which combination and place, the first of those that differ by
    rounding alone, and the numbers there, (m, t) each. Looked up when asked for, which for most trusses of a search is
    never.
    """

    def __init__(self, rule: Rule, members: Members) -> None:
        self.rule, self.among = rule, members
        self._most = np.where(rule.applies, rule.clause.ratio if rule.by is None else rule.by, -1.0)
        self._largest = np.maximum.reduce(self._most, axis=(0, 1))

    @property
    def touched(self) -> npt.NDArray[np.bool_]:
        """The members that the rule applies to."""
        return self._largest >= 0

    @property
    def most(self) -> Array:
        """The largest ratio of each truss at the places, (t,); not over 0 where the rule applies to none of it."""
        return np.maximum.reduce(self._largest if self.rule.by is None else self.ratio, axis=0)

    @property
    def ratio(self) -> Array:
        """The largest ratio of each member at the places, 0 where the rule doesn't apply."""
        ratio = self._largest if self.rule.by is None else np.asarray(self.rule.clause.ratio, dtype=float)
        return np.where(self.touched, ratio, 0.0)

    def peaks(self, known: Array) -> Peaks | None:
        """Places between those that were looked at where the ratio may be more than at any of them, and more than is
        `known` (t,); None where it is nowhere."""
        return peaks_between(self.among, self.rule.sign, np.maximum(self.known, known)) if self.rule.sign else None

    @cached_property
    def known(self) -> Array:
        """What a ratio between the places has to exceed to govern, by more than rounding, (m, t)."""
        return self.ratio * (1 + _ALIKE)

    def of(self, t: int, over: float) -> Iterator[tuple[int, Found]]:
        """Each member of one truss on which the rule's ratio is over a limit, by its number in the truss."""
        between = self._between(t, over)
        which = {*np.flatnonzero(self.touched[:, t] & (self.ratio[:, t] > over)).tolist(), *between}
        if not which:
            return
        clause, rows = self.rule.clause, self._row[:, t].tolist()
        places = self._there(self.among.forces.at, t) if self.rule.placed else None
        demand, capacity, ratio = (self._there(values, t) for values in (clause.demand, clause.capacity, self.ratio))
        shown = {name: self._there(values, t) for name, values in {**self.rule.terms(), **clause.factors}.items()}
        for i in sorted(which):
            terms_here = {name: values[i] for name, values in shown.items()}
            at_place = Found(rows[i], places[i] if places else None, demand[i], capacity[i], ratio[i], terms_here)
            yield int(self.among.forces.members[i]), between.get(i, at_place)

    def _between(self, t: int, over: float) -> dict[int, Found]:
        """Members of one truss that the rule governs between the places, with a ratio over a limit, by their numbers in
        the group."""
        peaks = self.peaks(np.full(self._largest.shape[1], max(over, 0.0)))
        if peaks is None:
            return {}
        limit = np.maximum(self.known, over)[peaks.member, peaks.truss]
        peaks = peaks.those((peaks.truss == t) & (peaks.ratio > limit))
        if not len(peaks.ratio):
            return {}
        rule, ratio = at_peaks(self.among, peaks).interaction(self.rule.sign), peaks.ratio
        along = self.among.forces.segments
        at = peaks.x if along is None else peaks.x + along.start[peaks.k, peaks.member, peaks.truss]

        def each(values: nds.Number) -> Array:
            return np.broadcast_to(np.asarray(values, dtype=float), ratio.shape)

        told = {name: each(values) for name, values in {**rule.terms(), **rule.clause.factors}.items()}
        demand, capacity = each(rule.clause.demand), each(rule.clause.capacity)
        found: dict[int, Found] = {}
        for i in np.unique(peaks.member).tolist():
            mine = np.flatnonzero(peaks.member == i)
            most = float(ratio[mine].max())
            n = mine[(ratio[mine] >= most * (1 - _ALIKE)).argmax()]
            shown = {name: float(values[n]) for name, values in told.items()}
            found[i] = Found(int(peaks.row[n]), float(at[n]), float(demand[n]), float(capacity[n]), most, shown)
        return found

    @cached_property
    def _first(self) -> npt.NDArray[np.int64]:
        most = self._most.reshape(-1, *self._largest.shape)
        return (most >= self._largest - _ALIKE * np.abs(self._largest)).argmax(axis=0)

    @cached_property
    def _row(self) -> npt.NDArray[np.int64]:
        """The governing combination."""
        return self._first // self._most.shape[1]

    @cached_property
    def _place(self) -> npt.NDArray[np.int64]:
        """The governing place."""
        return self._first % self._most.shape[1]

    def _there(self, values: nds.Number, t: int) -> list[float]:
        """Some values of the rule where it governs each member of one truss."""
        full, m = np.asarray(values, dtype=float), len(self._largest)
        if full.ndim == 4:
            rows, places, members, trusses = full.shape
            row, place = self._row[:, t] if rows > 1 else 0, self._place[:, t] if places > 1 else 0
            full = full[row, place, np.arange(m) if members > 1 else 0, t if trusses > 1 else 0]
        elif full.ndim == 2:
            full = full[:, t if full.shape[1] > 1 else 0]
        return (full if full.shape == (m,) else np.broadcast_to(full, m)).tolist()


class Found(NamedTuple):
    """A rule where it governs a member: the combination's number, inches from the first joint (None for what is the
    same all along it), and the numbers there."""

    row: int
    at: float | None
    demand: float
    capacity: float
    ratio: float
    terms: Mapping[str, float]


@dataclass(frozen=True)
class MemberChecks:
    """The members' checks of a stack of trusses, as arrays; a truss's `Check` records are made when asked for."""

    trusses: Sequence[Truss]
    combinations: Sequence[Combination]
    rules: Sequence[Governing]

    def worst(self, known: Array) -> Array:
        """The largest ratio of each truss at the places, or what is `known` where that is more, (t,)."""
        return np.maximum.reduce([known, *(rule.most for rule in self.rules)])

    def between(self, worst: Array) -> Array:
        """The largest ratio of each truss between the places, or the `worst` that is known where that is more, (t,);
        it is no less than that at the places."""
        for rule in self.rules:
            peaks = rule.peaks(worst)
            if peaks is not None:
                more = peaks.ratio > rule.known[peaks.member, peaks.truss]
                worst = worst.copy()
                np.maximum.at(worst, peaks.truss, np.where(more, peaks.ratio, 0.0))
        return worst

    def of(self, t: int, over: float = -1.0) -> list[Check]:
        """The checks of one truss whose ratio is over a limit, in the order of its members."""
        members = self.trusses[t].members
        found: list[list[Check]] = [[] for _ in members]
        for governing in self.rules:
            for i, one in governing.of(t, over):
                in_service = service_terms(self.trusses[t].service, members[i].lumber, governing.rule.name)
                buckles = [BUCKLES] if one.terms.get("eq. 3.9-3") == np.inf else []
                found[i].append(
                    Check(
                        of="member",
                        id=members[i].id,
                        rule=governing.rule.name,
                        source=governing.rule.source,
                        combination=self.combinations[one.row].name,
                        at_in=one.at,
                        demand=one.demand,
                        capacity=one.capacity,
                        ratio=one.ratio,
                        passes=one.ratio <= PASSES,
                        terms=terms([*one.terms.items(), *buckles, *in_service]),
                    )
                )
        return [check for checks in found for check in checks]
