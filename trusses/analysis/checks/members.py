"""Strength and stability of the members, by the National Design Specification (`nds`).

All combinations, places, members and trusses of a stack at once: arrays are (r, p, m, t), or broadcast to that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from trusses.analysis.checks import nds
from trusses.analysis.checks.check import BUCKLES, PASSES, Check, terms
from trusses.analysis.checks.combined import Forces
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
    trusses: Sequence[Truss],
    combinations: Sequence[Combination],
    pieces: Pieces,
    groups: Sequence[Forces],
    least: Array,
) -> MemberChecks:
    """Every rule on every member of trusses of one shape: the governing combination and place of each; `least` is the
    `noise` of the groups."""
    cd: Array = np.array([combination.load_duration for combination in combinations])[:, None, None, None]
    columns = _Columns.of(cd, pieces, None)
    rules = []
    for group in groups:
        mine = pieces.those(group.members)
        if group.axial_only:
            members = _Members(mine, columns.those(group.members), group, least)
        else:
            moment = np.abs(group.forces[2])
            # 3.9 speaks of a member that is bent, not of a place: where its moment is zero, the axial terms still count
            bends = np.logical_or.reduce(moment > least[2], axis=1, keepdims=True)
            held = columns.those(group.members) if pieces.ct is None else _Columns.of(cd, mine, bends)
            members = _Members(mine, held, group, least, _Beams.of(cd, mine, bends), moment)
        rules += [_Governing(rule, members) for rule in members.rules()]
    return MemberChecks(trusses, combinations, rules)


class _Rule(NamedTuple):
    """One clause on every member. `placed`: whether it governs somewhere along it; `by`: what to look for the most of,
    the ratio unless it is the same everywhere; `terms`: told beside the clause's. `sign` of an interaction is that of
    the axial force it is about: such a rule may govern between the places, too."""

    name: str
    source: str
    clause: nds.Clause
    applies: npt.NDArray[np.bool_]
    terms: Callable[[], Mapping[str, nds.Number]] = dict
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
        told = {**self.rule.terms(), **clause.factors}
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

        told = {name: each(values) for name, values in {**rule.terms(), **rule.clause.factors}.items()}
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


class _Columns(NamedTuple):
    """What members can bear in compression, whatever the forces: psi, (r, 1, m, t) or broadcasting to it, or (n,) of
    single pieces. `cd` is the load duration factor, FcE is in the plane and out of it, (m, t) or (n,) each; CT is that
    of members that are bent too and 1 for others, None where no sheathing was told of."""

    cd: Array
    f_ce: tuple[Array, Array]
    fc_star: Array
    cp: Array
    ct: Array | None

    @classmethod
    def of(cls, cd: Array, p: Pieces, bends: npt.NDArray[np.bool_] | None) -> _Columns:
        """`bends` says which of them are bent; None where none is."""
        in_plane = nds.critical_buckling(p.e_min, p.le_in_plane / p.depth)
        out_of_plane = nds.built_up_buckling(p.e_min, p.le_out_of_plane, p.ply, p.breadth)
        fc_star = p.fc * cd
        ct = None if p.ct is None or bends is None else np.where(bends, p.ct, 1.0)
        # CT stiffens the column of CP alone: the FcE of 3.9.2 stays without it, which is the safe reading
        stiffened = in_plane if ct is None else in_plane * ct
        if np.any(p.breadth > p.ply):
            across = nds.built_up_stability(fc_star, p.e_min, p.le_out_of_plane, p.ply, p.breadth)
            cp = np.minimum(nds.column_stability(fc_star, stiffened), across)
        else:
            # CP grows with FcE: the weaker axis has the smaller one
            cp = nds.column_stability(fc_star, np.minimum(stiffened, out_of_plane))
        return cls(cd, (in_plane, out_of_plane), fc_star, cp, ct)

    def those(self, members: npt.NDArray[np.int64]) -> _Columns:
        """Those of some members, without CT."""
        in_plane, out_of_plane, fc_star, cp = (
            values.take(members, axis=-2) for values in (*self.f_ce, self.fc_star, self.cp)
        )
        return _Columns(self.cd, (in_plane, out_of_plane), fc_star, cp, None)


class _Beams(NamedTuple):
    """What members can bear in bending, as `_Columns`. `fb_star` is Fb with every factor but CL; RB, FbE and CL come
    first with the upper edge in compression, then with the lower one: RB and FbE (2, m, t) or (2, n), CL (2, r, 1, m,
    t) or (2, n). RB is 0 where a section is no deeper than broad (3.3.3.1). `bends` says which of them are bent."""

    bends: npt.NDArray[np.bool_]
    fb_star: Array
    r_b: Array
    f_be: Array
    cl: Array

    @classmethod
    def of(cls, cd: Array, p: Pieces, bends: npt.NDArray[np.bool_]) -> _Beams:
        fb_star, l_u = p.fb * cd, np.stack([p.lu_upper, p.lu_lower])
        r_b = nds.beam_slenderness(nds.effective_length(l_u, p.depth), p.depth, p.breadth)
        r_b = np.where(p.depth <= p.breadth, 0.0, r_b)
        f_be = nds.beam_buckling(p.e_min, r_b)
        # the Fb* of CL leaves out Cfu: it is 1 wherever CL isn't, since only flat lumber takes it
        return cls(bends, fb_star, r_b, f_be, nds.beam_stability(fb_star, _to(fb_star, f_be)))

    @property
    def slenderest(self) -> Array:
        """The larger Fb'/FbE of both edges."""
        ratio: Array = (self.fb_star * self.cl / _to(self.fb_star, self.f_be)).max(axis=0)
        return ratio


def _to(fb_star: Array, edges: Array) -> Array:
    """What is said of both edges, (2, m, t) or (2, n), so that it goes with Fb*."""
    return edges[:, None, None] if fb_star.ndim > 2 else edges


class _Members:
    """Stresses and adjusted values of every member at every place under every combination.

    Of single places, each with its own piece and row, all of it is (n,), or (q, n) where q of them are asked for at
    once. `least` (3, t) are the axial force, shear and moment of each truss below which there is none, lb and in-lb;
    `moment` is the size of the moments; it and `beams` are None of members that carry axial force alone.
    """

    def __init__(
        self,
        pieces: Pieces,
        columns: _Columns,
        forces: Forces,
        least: Array,
        beams: _Beams | None = None,
        moment: Array | None = None,
    ) -> None:
        self.pieces, self.columns, self.forces, self.least = pieces, columns, forces, least
        axial = forces.forces[0]
        self.pulled = axial > least[0]
        self.pressed = axial < -least[0]
        self.fc: Array = np.maximum(-axial, 0) / pieces.area
        self.ft: Array = np.maximum(axial, 0) / pieces.area
        if beams is None or moment is None:
            return
        self.beams = beams
        self.moment = moment
        self.fb: Array = moment / pieces.modulus

    def rules(self) -> Iterator[_Rule]:
        """Every rule of a member, in the order in which they are told."""
        p = self.pieces
        yield self._rule("tension", "3.8.1", self.tension, self.pulled, lambda: {"CF": p.cf_t})
        yield self._rule("compression", "3.7.1", self.compression, self.pressed, lambda: {"CF": p.cf_c} | self._column)
        if not self.forces.axial_only:
            sheared, bent = np.abs(self.forces.forces[1]), self.moment > self.least[2]
            yield self._rule("bending", "3.3.1", self.bending, bent, lambda: {"CF": p.cf_b} | self._beam)
            yield self.interaction(1)
            yield self.interaction(-1)
            shear = nds.shear(sheared, p.area, p.fv * self.columns.cd)
            yield self._rule("shear", "3.4.2", shear, sheared > self.least[1], dict)
        yield self._slenderness

    def interaction(self, sign: int) -> _Rule:
        """That of bending with tension (`sign` 1) or compression (-1)."""
        if sign > 0:
            clause, applies = self.bending_and_tension, self.pulled & self.beams.bends
            return self._rule("bending and tension", "3.9.1", clause, applies, lambda: self._beam, sign)
        clause, applies = self.bending_and_compression, self.pressed & self.beams.bends
        return self._rule(
            "compression and bending",
            "3.9.2",
            clause,
            applies,
            lambda: {"CP": self.columns.cp} | self._column | self._beam,
            sign,
        )

    def peaks(self, sign: int, known: Array) -> _Peaks | None:
        """Where between the places the interaction with an axial force of that sign is more than is `known` (m, t),
        which is no less than it is at any of the places; None where it is nowhere.

        Only where axial force changes along a segment may it peak neither where the moment does nor at an end.
        """
        along = self.forces.segments
        if along is None or not along.forces[:, 3].any():
            return None
        row, k, member, truss = np.nonzero(self._may_exceed(sign, along, known))
        if not len(row):
            return None
        segment = Segment(along.length[k, member, truss], *along.forces[row, :, k, member, truss].T)
        p = self.pieces.at(member, truss)
        columns, beams = self.columns, self.beams

        def pick(numbers: nds.Number) -> Array:
            array = np.asarray(numbers)
            column = truss if array.shape[-1] > 1 else 0
            return array[..., member, column] if array.ndim < 4 else array[..., row, 0, member, column]

        fb_prime = pick(beams.fb_star) * pick(beams.cl)
        if sign > 0:
            clause: Pulled | Pressed = Pulled(
                p.area, p.modulus, pick(self.tension.capacity), pick(beams.fb_star), fb_prime
            )
        else:
            in_plane, across = map(pick, columns.f_ce)
            fc_prime = pick(self.compression.capacity)
            clause = Pressed(p.area, p.modulus, fc_prime, in_plane, across, fb_prime, pick(beams.f_be))
        x, most = greatest(segment, clause, known[member, truss])
        return _Peaks(row, k, member, truss, segment, x, most)

    def at(self, peaks: _Peaks) -> _Members:
        """Stresses and values at peaks."""
        row, member, truss = peaks.row, peaks.member, peaks.truss
        pieces, cd, bends = self.pieces.at(member, truss), self.columns.cd[row, 0, 0, 0], np.array(True)
        forces = np.stack(peaks.segment.at(peaks.x))
        return _Members(
            pieces,
            _Columns.of(cd, pieces, bends),
            Forces(member, forces),
            self.least[:, truss],
            _Beams.of(cd, pieces, bends),
            np.abs(forces[2]),
        )

    @cached_property
    def _most_bent(self) -> Array:
        """The largest ratio of bending in each segment, (r, k, m, t)."""
        ratio = np.asarray(self.bending.ratio)
        r, places, *rest = ratio.shape
        return np.maximum.reduce(ratio.reshape(r, 3, places // 3, *rest), axis=1)

    def _may_exceed(self, sign: int, along: Along, known: Array) -> npt.NDArray[np.bool_]:
        """In which segments, (r, k, m, t), the interaction may be more than is `known` (m, t) elsewhere than at the
        places: where it would be if axial force and moment were greatest at one place, and axial force changes."""
        k, bent = along.length.shape[0], self._most_bent
        ratio = np.asarray((self.tension if sign > 0 else self.compression).ratio)
        axial = np.maximum(ratio[:, :k], ratio[:, k : 2 * k])
        applies = self.pulled if sign > 0 else self.pressed
        more = applies[:, :k] | applies[:, k : 2 * k]
        more &= along.forces[:, 3] != 0
        more &= self.beams.bends
        if sign > 0:
            # CL is at most 1: fb/Fb' is no less than fb/Fb*
            more &= axial + bent > known
            return more
        # under the forces divided by the ratio that is known where it is over 1; see `Pressed.greatest`
        d, fc_prime = np.maximum(known, 1.0), self.compression.capacity
        in_plane, across = (fc_prime / f_ce for f_ce in self.columns.f_ce)
        share, bent_share, limit = axial / d, bent / d, np.minimum(known, 1.0)
        exceeds = bent > (limit - share * share) * np.maximum(d - axial * in_plane, 0.0)
        # eq. 3.9-4, where FbE is no less than Fb'; fc < FcE is met between the places where it is at their ends
        exceeds |= share * across + bent_share * bent_share > limit
        more &= exceeds
        return more

    def _rule(
        self,
        name: str,
        section: str,
        clause: nds.Clause,
        applies: npt.NDArray[np.bool_],
        shown: Callable[[], Mapping[str, nds.Number]],
        sign: int = 0,
    ) -> _Rule:
        return _Rule(name, f"NDS {section}", clause, applies, lambda: {"CD": self.columns.cd, **shown()}, sign=sign)

    @property
    def _column(self) -> dict[str, nds.Number]:
        shown: dict[str, nds.Number] = {
            "le in plane": self.pieces.le_in_plane,
            "le out of plane": self.pieces.le_out_of_plane,
            "FcE in plane": self.columns.f_ce[0],
            "FcE out of plane": self.columns.f_ce[1],
        }
        return shown if self.columns.ct is None else shown | {"CT": self.columns.ct}

    @property
    def _beam(self) -> dict[str, nds.Number]:
        p = self.pieces
        l_u = self._by_edge(p.lu_upper, p.lu_lower)
        return {"Cr": p.cr, "Cfu": p.cfu, "CL": self.bending.factors["CL"], "lu": l_u}

    @cached_property
    def _upper_edge_pressed(self) -> npt.NDArray[np.bool_]:
        return self.forces.forces[2] >= 0

    @cached_property
    def tension(self) -> nds.Clause:
        return nds.tension(self.ft, self.pieces.ft * self.columns.cd)

    @cached_property
    def compression(self) -> nds.Clause:
        return nds.compression(self.fc, self.columns.fc_star, self.columns.cp)

    def _by_edge(self, upper: Array, lower: Array) -> Array:
        """What holds where the upper edge is in compression or the lower one; one array where they agree."""
        return upper if self._edges_agree else np.where(self._upper_edge_pressed, upper, lower)

    @cached_property
    def _edges_agree(self) -> bool:
        return bool((self.pieces.lu_upper == self.pieces.lu_lower).all())

    @cached_property
    def bending(self) -> nds.Clause:
        beams = self.beams
        return nds.bending(self.fb, beams.fb_star, self._by_edge(*beams.cl), self._by_edge(*beams.r_b))

    @property
    def bending_and_tension(self) -> nds.Clause:
        return nds.bending_and_tension(
            self.ft, self.tension.capacity, self.fb, self.beams.fb_star, self.bending.capacity
        )

    @property
    def bending_and_compression(self) -> nds.Clause:
        in_plane, out_of_plane = self.columns.f_ce
        return nds.bending_and_compression(
            self.fc,
            self.compression.capacity,
            self.fb,
            self.bending.capacity,
            in_plane,
            f_ce2=out_of_plane,
            f_be=self._by_edge(*self.beams.f_be),
            # of either edge: where a member isn't bent, which one is pressed is rounding's
            slender=nds.fails_first(self.compression.capacity, out_of_plane, self.beams.slenderest, 1.0),
        )

    @property
    def _slenderness(self) -> _Rule:
        p = self.pieces
        clause = nds.slenderness(p.le_in_plane / p.depth, p.le_out_of_plane / p.breadth)
        lengths = {"le in plane": p.le_in_plane, "le out of plane": p.le_out_of_plane}
        # the same under every combination: told with the one that presses hardest
        return _Rule("slenderness", "NDS 3.7.1.4", clause, self.pressed, lambda: lengths, placed=False, by=self.fc)
