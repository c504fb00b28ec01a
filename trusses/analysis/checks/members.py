"""Strength and stability of the members, by the National Design Specification (`nds`).

All combinations, places, members and trusses of a stack at once: arrays are (r, p, m, t), or broadcast to that.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from trusses.analysis.checks import nds
from trusses.analysis.checks.check import BUCKLES, PASSES, Check, terms
from trusses.analysis.checks.combined import Forces, noise
from trusses.analysis.checks.member_properties import Pieces, service_terms
from trusses.analysis.checks.peaks import Pressed, Pulled, Segment, greatest
from trusses.analysis.format.model import Truss
from trusses.analysis.frame.solution import Along
from trusses.analysis.loads.combinations import Combination

Array = npt.NDArray[np.float64]
_Numbers = npt.NDArray[np.int64]

#: Ratios that differ by a smaller share than this are one: which of them governs isn't for rounding to say.
_ALIKE = 1e-9


def member_checks(
    trusses: Sequence[Truss], combinations: Sequence[Combination], pieces: Pieces, there: Sequence[Forces]
) -> MemberChecks:
    """Every rule on every member of trusses of one shape: the governing combination and place of each."""
    least = _Least(*(noise([getattr(one, kind) for one in there]) for kind in ("axial", "shear", "moment")))
    duration: Array = np.array([combination.load_duration for combination in combinations])[:, None, None, None]
    groups = []
    for one in there:
        # 3.9 speaks of a member that is bent, not of a place: where its moment is zero, the axial terms still count
        bent = np.abs(one.moment) > least.moment
        bends = None if one.axial_only else np.logical_or.reduce(bent, axis=1, keepdims=True)
        groups.append(_Members(_Values(duration, pieces.of(one.members), bends), one, least))
    return MemberChecks(trusses, combinations, [_Governing(rule, one) for one in groups for rule in one.rules()])


@dataclass(frozen=True)
class _Least:
    """The forces of each truss below which there is none, (t,): lb, lb, in-lb."""

    axial: Array
    shear: Array
    moment: Array


@dataclass(frozen=True)
class _Rule:
    """One clause on every member. `placed`: whether it governs somewhere along it; `by`: what to look for the most of,
    the ratio unless it is the same everywhere. `sign` of an interaction is that of the axial force it is about: such a
    rule may govern between the places, too."""

    name: str
    source: str
    clause: nds.Clause
    applies: npt.NDArray[np.bool_]
    terms: Mapping[str, nds.Number] = field(default_factory=dict)
    placed: bool = True
    by: Array | None = None
    sign: int = 0


class _Peaks(NamedTuple):
    """Peaks of an interaction within segments (n,): the row, the number of the segment, the member's in its group, the
    truss, the forces, inches from the segment's start, and the ratio there."""

    row: _Numbers
    k: _Numbers
    member: _Numbers
    truss: _Numbers
    segment: Segment
    x: Array
    ratio: Array


class _Governing:
    """A rule where it governs each of some members: which combination and place, the first of those that differ by
    rounding alone, and the numbers there, (m, t) each. Looked up when asked for, which for most trusses of a search is
    never.
    """

    def __init__(self, rule: _Rule, members: _Members) -> None:
        self.rule, self.among = rule, members
        self._most = np.where(rule.applies, rule.clause.ratio if rule.by is None else rule.by, -1.0)
        self._largest = self._most.max(axis=(0, 1))

    @property
    def touched(self) -> npt.NDArray[np.bool_]:
        """The members that the rule applies to."""
        return self._largest >= 0

    @property
    def ratio(self) -> Array:
        """The largest ratio of each member at the places, 0 where the rule doesn't apply."""
        ratio = self._largest if self.rule.by is None else np.asarray(self.rule.clause.ratio, dtype=float)
        return np.where(self.touched, ratio, 0.0)

    def peaks(self, known: Array) -> _Peaks | None:
        """Places between those that were looked at where the ratio may be more than at any of them, and more than is
        `known` (t,); None where it is nowhere."""
        return self.among.peaks(self.rule.sign, np.maximum(self.known, known)) if self.rule.sign else None

    @cached_property
    def known(self) -> Array:
        """What a ratio between the places has to exceed to govern, by more than rounding, (m, t)."""
        return self.ratio * (1 + _ALIKE)

    def of(self, t: int, over: float) -> Iterator[tuple[int, _Found]]:
        """Each member of one truss on which the rule's ratio is over a limit, by its number in the truss."""
        between = self._between(t, over)
        which = {*np.flatnonzero(self.touched[:, t] & (self.ratio[:, t] > over)).tolist(), *between}
        if not which:
            return
        clause, rows = self.rule.clause, self._row[:, t].tolist()
        places = self._there(self.among.forces.at)[:, t].tolist() if self.rule.placed else None
        demand, capacity, ratio = (
            self._there(values)[:, t].tolist() for values in (clause.demand, clause.capacity, self.ratio)
        )
        told = {**self.rule.terms, **clause.factors}
        shown = {name: self._there(values)[:, t].tolist() for name, values in told.items()}
        for i in sorted(which):
            terms_here = {name: values[i] for name, values in shown.items()}
            at_place = _Found(rows[i], places and places[i], demand[i], capacity[i], ratio[i], terms_here)
            yield int(self.among.forces.members[i]), between.get(i, at_place)

    def _between(self, t: int, over: float) -> dict[int, _Found]:
        """Members of one truss that the rule governs between the places, with a ratio over a limit, by their numbers in
        the group."""
        peaks = self.peaks(np.full(self._largest.shape[1], max(over, 0.0)))
        found: dict[int, _Found] = {}
        if peaks is None:
            return found
        rule, ratio = self.among.at(peaks).interaction(self.rule.sign), peaks.ratio
        along = self.among.forces.segments
        start = 0.0 if along is None else along.start[peaks.k, peaks.member, peaks.truss]
        at = start + peaks.x

        def each(values: nds.Number) -> Array:
            return np.broadcast_to(np.asarray(values, dtype=float), ratio.shape)

        told = {name: each(values) for name, values in {**rule.terms, **rule.clause.factors}.items()}
        demand, capacity = each(rule.clause.demand), each(rule.clause.capacity)
        more = (peaks.truss == t) & (ratio > np.maximum(self.known, over)[peaks.member, peaks.truss])
        for i in np.unique(peaks.member[more]).tolist():
            mine = np.flatnonzero(more & (peaks.member == i))
            most = float(ratio[mine].max())
            n = mine[(ratio[mine] >= most * (1 - _ALIKE)).argmax()]
            shown = {name: float(values[n]) for name, values in told.items()}
            found[i] = _Found(int(peaks.row[n]), float(at[n]), float(demand[n]), float(capacity[n]), most, shown)
        return found

    @cached_property
    def _first(self) -> npt.NDArray[np.int64]:
        most = self._most.reshape(-1, *self._largest.shape)
        return (most >= self._largest - _ALIKE * np.abs(self._largest)).argmax(axis=0)

    @cached_property
    def _row(self) -> npt.NDArray[np.int64]:
        """The governing combination."""
        return self._first // self._most.shape[1]

    def _there(self, values: nds.Number) -> Array:
        """Some values of the rule where it governs."""
        full = np.asarray(values, dtype=float)
        if full.ndim < 4:
            return np.broadcast_to(full, self._largest.shape)
        rows, places = full.shape[:2]
        full = np.broadcast_to(full, (rows, places, *self._largest.shape)).reshape(-1, *self._largest.shape)
        which = self._first if places == self._most.shape[1] else self._row
        return np.take_along_axis(full, which[None], axis=0)[0]


class _Found(NamedTuple):
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
    rules: Sequence[_Governing]

    def worst(self, known: Array) -> Array:
        """The largest ratio of each truss, or what is `known` where that is more, (t,)."""
        worst: Array = np.max([known, *(rule.ratio.max(axis=0) for rule in self.rules)], axis=0)
        for rule in self.rules:
            peaks = rule.peaks(worst)
            if peaks is not None:
                np.maximum.at(
                    worst, peaks.truss, np.where(peaks.ratio > rule.known[peaks.member, peaks.truss], peaks.ratio, 0.0)
                )
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


class _Values:
    """What members can bear, whatever the forces: psi, (r, 1, m, t) or broadcasting to it, or (n,) of single pieces.

    `cd` is the load duration factor, and `bends` which of them are bent; None where none is.
    """

    def __init__(self, cd: Array, pieces: Pieces, bends: npt.NDArray[np.bool_] | None) -> None:
        self.cd, self.pieces, self.bends = cd, pieces, bends

    @cached_property
    def f_ce(self) -> tuple[Array, Array]:
        """FcE in the plane and out of it, psi (m, t)."""
        p = self.pieces
        in_plane = nds.critical_buckling(p.e_min, p.le_in_plane / p.depth)
        return in_plane, nds.built_up_buckling(p.e_min, p.le_out_of_plane, p.ply, p.breadth)

    @cached_property
    def ct(self) -> Array | None:
        """CT where a member is bent too, 1 elsewhere; None where no sheathing was told of."""
        if self.pieces.ct is None or self.bends is None:
            return None
        return np.where(self.bends, self.pieces.ct, 1.0)

    @cached_property
    def fc_star(self) -> Array:
        return self.pieces.fc * self.cd

    @cached_property
    def fb_star(self) -> Array:
        """Fb with every factor but CL."""
        return self.pieces.fb * self.cd

    @cached_property
    def cp(self) -> Array:
        p = self.pieces
        in_plane, out_of_plane = self.f_ce
        # CT stiffens the column of CP alone: the FcE of 3.9.2 stays without it, which is the safe reading
        f_ce = in_plane if self.ct is None else in_plane * self.ct
        if np.any(p.breadth > p.ply):
            across = nds.built_up_stability(self.fc_star, p.e_min, p.le_out_of_plane, p.ply, p.breadth)
            return np.minimum(nds.column_stability(self.fc_star, f_ce), across)
        # CP grows with FcE: the weaker axis has the smaller one
        return nds.column_stability(self.fc_star, np.minimum(f_ce, out_of_plane))

    @cached_property
    def edges(self) -> list[tuple[Array, Array, Array]]:
        """RB, FbE and CL with the upper edge in compression, then with the lower one; RB is 0 where a section is no
        deeper than broad (3.3.3.1)."""
        p = self.pieces
        # the Fb* of CL leaves out Cfu: it is 1 wherever CL isn't, since only flat lumber takes it
        found = []
        for l_u in (p.lu_upper, p.lu_lower):
            r_b = nds.beam_slenderness(nds.effective_length(l_u, p.depth), p.depth, p.breadth)
            r_b = np.where(p.depth <= p.breadth, 0.0, r_b)
            f_be = nds.beam_buckling(p.e_min, r_b)
            found.append((r_b, f_be, nds.beam_stability(self.fb_star, f_be)))
        return found


class _Members:
    """Stresses and adjusted values of every member at every place under every combination.

    Of single places, each with its own piece and row, all of it is (n,), or (q, n) where q of them are asked for at
    once.
    """

    def __init__(self, values: _Values, forces: Forces, least: _Least) -> None:
        self.values, self.pieces, self.cd = values, values.pieces, values.cd
        self.forces, self.least = forces, least
        self.pulled = forces.axial > least.axial
        self.pressed = forces.axial < -least.axial
        self.fc: Array = np.maximum(-forces.axial, 0) / self.pieces.area
        self.ft: Array = np.maximum(forces.axial, 0) / self.pieces.area
        if values.bends is None:
            return
        self.bends = values.bends
        self.fb: Array = np.abs(forces.moment) / self.pieces.modulus

    def rules(self) -> Iterator[_Rule]:
        """Every rule of a member, in the order in which they are told."""
        p = self.pieces
        yield self._rule("tension", "3.8.1", self.tension, self.pulled, {"CF": p.cf_t})
        yield self._rule("compression", "3.7.1", self.compression, self.pressed, {"CF": p.cf_c} | self._column)
        if self.values.bends is not None:
            bent, sheared = np.abs(self.forces.moment) > self.least.moment, np.abs(self.forces.shear)
            yield self._rule("bending", "3.3.1", self.bending, bent, {"CF": p.cf_b} | self._beam)
            yield self.interaction(1)
            yield self.interaction(-1)
            shear = nds.shear(sheared, p.area, p.fv * self.cd)
            yield self._rule("shear", "3.4.2", shear, sheared > self.least.shear, {})
        yield self._slenderness

    def interaction(self, sign: int) -> _Rule:
        """That of bending with tension (`sign` 1) or compression (-1)."""
        if sign > 0:
            clause, applies = self.bending_and_tension, self.pulled & self.bends
            return self._rule("bending and tension", "3.9.1", clause, applies, self._beam, sign)
        clause, applies = self.bending_and_compression, self.pressed & self.bends
        shown = {"CP": self.values.cp} | self._column | self._beam
        return self._rule("compression and bending", "3.9.2", clause, applies, shown, sign)

    def peaks(self, sign: int, known: Array) -> _Peaks | None:
        """Where between the places the interaction with an axial force of that sign is more than is `known` (m, t),
        which is no less than it is at any of the places; None where it is nowhere.

        Only where axial force changes along a segment may it peak neither where the moment does nor at an end.
        """
        along = self.forces.segments
        if along is None or not along.axial_load.any():
            return None
        bound = self._bound(sign, along)
        row, k, member, truss = found = np.nonzero(bound > known)
        if not len(row):
            return None
        segment = Segment(along.length[k, member, truss], *(values[found] for values in along[2:]))

        def pick(values: nds.Number) -> Array:
            of = np.asarray(values)
            column = truss if of.shape[-1] > 1 else 0
            return of[member, column] if of.ndim == 2 else of[row, 0, member, column]

        star = pick(self.values.fb_star)
        area, modulus = pick(self.pieces.area), pick(self.pieces.modulus)
        fb_prime = np.stack([star * pick(cl) for _, _, cl in self.values.edges])
        if sign > 0:
            of: Pulled | Pressed = Pulled(area, modulus, pick(self.tension.capacity), star, fb_prime)
        else:
            in_plane, across = map(pick, self.values.f_ce)
            f_be = np.stack([pick(f_be) for _, f_be, _ in self.values.edges])
            of = Pressed(area, modulus, pick(self.compression.capacity), in_plane, across, fb_prime, f_be)
        x, most = greatest(segment, of, known[member, truss], bool(bound[found].max() > 1))
        return _Peaks(row, k, member, truss, segment, x, most)

    def at(self, peaks: _Peaks) -> _Members:
        """Stresses and values at peaks."""
        row, member, truss = peaks.row, peaks.member, peaks.truss
        values = _Values(self.cd[row, 0, 0, 0], self.pieces.at(member, truss), np.array(True))
        least = _Least(self.least.axial[truss], self.least.shear[truss], self.least.moment[truss])
        return _Members(values, Forces(member, False, peaks.x, *peaks.segment.at(peaks.x)), least)

    @cached_property
    def _most_bent(self) -> Array:
        """The largest ratio of bending in each segment, (r, k, m, t)."""
        ratio = np.asarray(self.bending.ratio)
        return np.maximum.reduce(np.split(ratio, 3, axis=1)) if ratio.shape[1] > 3 else ratio.max(axis=1, keepdims=True)

    def _bound(self, sign: int, along: Along) -> Array:
        """What the interaction stays below in each segment, (r, k, m, t): its value where axial force and moment would
        be greatest at one place; 0 where it peaks at the places."""
        k, stress, bent = along.length.shape[0], self.ft if sign > 0 else self.fc, self._most_bent
        axial = np.maximum(stress[:, :k], stress[:, k : 2 * k])
        if sign > 0:
            # CL is at most 1: fb/Fb' is no less than fb/Fb*
            bound = axial / self.tension.capacity + bent
        else:
            share = axial / self.compression.capacity
            with np.errstate(divide="ignore", invalid="ignore"):
                bound = share**2 + bent / np.maximum(1 - axial / self.values.f_ce[0], 0.0)
            # FcE2 and FbE are no less than Fc' and Fb': so this is no less than eq. 3.9-4
            condition = share + bent**2
            bound = np.where(condition >= 1, np.fmax(bound, condition), bound)
        counts = (along.axial_load != 0) & self.bends & (axial * self.pieces.area > self.least.axial)
        return np.where(counts, bound, 0.0)

    def _rule(
        self,
        name: str,
        section: str,
        clause: nds.Clause,
        applies: npt.NDArray[np.bool_],
        shown: Mapping[str, nds.Number],
        sign: int = 0,
    ) -> _Rule:
        return _Rule(name, f"NDS {section}", clause, applies, {"CD": self.cd} | dict(shown), sign=sign)

    @cached_property
    def _column(self) -> dict[str, nds.Number]:
        shown: dict[str, nds.Number] = {
            "le in plane": self.pieces.le_in_plane,
            "le out of plane": self.pieces.le_out_of_plane,
            "FcE in plane": self.values.f_ce[0],
            "FcE out of plane": self.values.f_ce[1],
        }
        return shown if self.values.ct is None else shown | {"CT": self.values.ct}

    @cached_property
    def _beam(self) -> dict[str, nds.Number]:
        p = self.pieces
        l_u = self._by_edge(p.lu_upper, p.lu_lower)
        return {"Cr": p.cr, "Cfu": p.cfu, "CL": self.bending.factors["CL"], "lu": l_u}

    @cached_property
    def _upper_edge_pressed(self) -> npt.NDArray[np.bool_]:
        return self.forces.moment >= 0

    @cached_property
    def tension(self) -> nds.Clause:
        return nds.tension(self.ft, self.pieces.ft * self.cd)

    @cached_property
    def compression(self) -> nds.Clause:
        return nds.compression(self.fc, self.values.fc_star, self.values.cp)

    def _by_edge(self, upper: Array, lower: Array) -> Array:
        """What holds where the upper edge is in compression or the lower one; one array where they agree."""
        return upper if np.array_equal(upper, lower) else np.where(self._upper_edge_pressed, upper, lower)

    @cached_property
    def f_be(self) -> Array:
        return self._by_edge(self.values.edges[0][1], self.values.edges[1][1])

    @cached_property
    def bending(self) -> nds.Clause:
        (upper, _, cl_upper), (lower, _, cl_lower) = self.values.edges
        cl, r_b = self._by_edge(cl_upper, cl_lower), self._by_edge(upper, lower)
        return nds.bending(self.fb, self.values.fb_star, cl, r_b)

    @property
    def bending_and_tension(self) -> nds.Clause:
        fb_all_but_cl = self.values.fb_star
        return nds.bending_and_tension(self.ft, self.tension.capacity, self.fb, fb_all_but_cl, self.bending.capacity)

    @property
    def bending_and_compression(self) -> nds.Clause:
        in_plane, out_of_plane = self.values.f_ce
        return nds.bending_and_compression(
            self.fc,
            self.compression.capacity,
            self.fb,
            self.bending.capacity,
            in_plane,
            f_ce2=out_of_plane,
            f_be=self.f_be,
            # of either edge: where a member isn't bent, which one is pressed is rounding's
            slender=nds.fails_first(self.compression.capacity, out_of_plane, *self._slenderest),
        )

    @property
    def _slenderest(self) -> tuple[nds.Number, nds.Number]:
        """The largest Fb'/FbE of both edges, and 1."""
        return np.maximum(*(self.values.fb_star * cl / f_be for _, f_be, cl in self.values.edges)), 1.0

    @property
    def _slenderness(self) -> _Rule:
        p = self.pieces
        clause = nds.slenderness(p.le_in_plane / p.depth, p.le_out_of_plane / p.breadth)
        lengths = {"le in plane": p.le_in_plane, "le out of plane": p.le_out_of_plane}
        # the same under every combination: told with the one that presses hardest
        return _Rule("slenderness", "NDS 3.7.1.4", clause, self.pressed, lengths, placed=False, by=self.fc)
