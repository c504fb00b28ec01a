"""Strength and stability of the members, by the National Design Specification (`nds`).

All combinations, places, members and trusses of a stack at once: arrays are (r, p, m, t), or broadcast to that.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from trusses.analysis.checks import nds
from trusses.analysis.checks.check import PASSES, Check, terms
from trusses.analysis.checks.combined import Forces, noise
from trusses.analysis.checks.member_properties import Pieces, service_terms
from trusses.analysis.format.model import Truss
from trusses.analysis.loads.combinations import Combination

Array = npt.NDArray[np.float64]

#: Ratios that differ by a smaller share than this are one: which of them governs isn't for rounding to say.
_ALIKE = 1e-9


def member_checks(
    trusses: Sequence[Truss], combinations: Sequence[Combination], pieces: Pieces, there: Sequence[Forces]
) -> MemberChecks:
    """Every rule on every member of trusses of one shape: the governing combination and place of each."""
    least = _Least(*(noise([getattr(one, kind) for one in there]) for kind in ("axial", "shear", "moment")))
    groups = [(one, _Members(combinations, pieces.of(one.members), one, least)) for one in there]
    rules = [_Governing(rule, one.members, one.at) for one, members in groups for rule in members.rules()]
    return MemberChecks(trusses, combinations, rules)


@dataclass(frozen=True)
class _Least:
    """The forces of each truss below which there is none, (t,): lb, lb, in-lb."""

    axial: Array
    shear: Array
    moment: Array


@dataclass(frozen=True)
class _Rule:
    """One clause on every member. `placed`: whether it governs somewhere along it; `by`: what to look for the most of,
    the ratio unless it is the same everywhere."""

    name: str
    source: str
    clause: nds.Clause
    applies: npt.NDArray[np.bool_]
    terms: Mapping[str, nds.Number] = field(default_factory=dict)
    placed: bool = True
    by: Array | None = None


class _Governing:
    """A rule where it governs each of some members: which combination and place, the first of those that differ by
    rounding alone, and the numbers there, (m, t) each. Looked up when asked for, which for most trusses of a search is
    never.
    """

    def __init__(self, rule: _Rule, members: npt.NDArray[np.int64], at: Array) -> None:
        self.rule, self.members, self._at = rule, members, at
        self._most = np.where(rule.applies, rule.clause.ratio if rule.by is None else rule.by, -1.0)
        self._largest = self._most.max(axis=(0, 1))

    @property
    def touched(self) -> npt.NDArray[np.bool_]:
        """The members that the rule applies to."""
        return self._largest >= 0

    @property
    def ratio(self) -> Array:
        """The largest ratio of each member, 0 where the rule doesn't apply."""
        ratio = self._largest if self.rule.by is None else np.asarray(self.rule.clause.ratio, dtype=float)
        return np.where(self.touched, ratio, 0.0)

    @cached_property
    def _first(self) -> npt.NDArray[np.int64]:
        most = self._most.reshape(-1, *self._largest.shape)
        return (most >= self._largest - _ALIKE * np.abs(self._largest)).argmax(axis=0)

    @cached_property
    def row(self) -> npt.NDArray[np.int64]:
        """The governing combination."""
        return self._first // self._most.shape[1]

    def there(self, values: nds.Number) -> Array:
        """Some values of the rule where it governs."""
        full = np.asarray(values, dtype=float)
        if full.ndim < 4:
            return np.broadcast_to(full, self._largest.shape)
        rows, places = full.shape[:2]
        full = np.broadcast_to(full, (rows, places, *self._largest.shape)).reshape(-1, *self._largest.shape)
        which = self._first if places == self._most.shape[1] else self.row
        return np.take_along_axis(full, which[None], axis=0)[0]

    @cached_property
    def at(self) -> Array | None:
        """Inches from each member's first joint; None for what is the same all along it."""
        return self.there(self._at) if self.rule.placed else None

    @cached_property
    def demand(self) -> Array:
        return self.there(self.rule.clause.demand)

    @cached_property
    def capacity(self) -> Array:
        return self.there(self.rule.clause.capacity)

    @cached_property
    def terms(self) -> dict[str, Array]:
        return {name: self.there(values) for name, values in {**self.rule.terms, **self.rule.clause.factors}.items()}


@dataclass(frozen=True)
class MemberChecks:
    """The members' checks of a stack of trusses, as arrays; a truss's `Check` records are made when asked for."""

    trusses: Sequence[Truss]
    combinations: Sequence[Combination]
    rules: Sequence[_Governing]

    def worst(self) -> Array:
        """The largest ratio of each truss, (t,); 0 where no rule applies."""
        return np.max([rule.ratio.max(axis=0) for rule in self.rules], axis=0)

    def of(self, t: int, over: float = -1.0) -> list[Check]:
        """The checks of one truss whose ratio is over a limit, in the order of its members."""
        found: list[list[Check]] = [[] for _ in self.trusses[t].members]
        for rule in self.rules:
            for i, check in self._checks(t, rule, over):
                found[i].append(check)
        return [check for checks in found for check in checks]

    def _checks(self, t: int, rule: _Governing, over: float) -> Iterator[tuple[int, Check]]:
        members = self.trusses[t].members
        told = np.flatnonzero(rule.touched[:, t] & (rule.ratio[:, t] > over)).tolist()
        if not told:
            return
        at = None if rule.at is None else rule.at[:, t].tolist()
        row, demand, capacity, ratio = (x[:, t].tolist() for x in (rule.row, rule.demand, rule.capacity, rule.ratio))
        shown = [(name, values[:, t].tolist()) for name, values in rule.terms.items()]
        for i in told:
            member = int(rule.members[i])
            yield (
                member,
                Check(
                    of="member",
                    id=members[member].id,
                    rule=rule.rule.name,
                    source=rule.rule.source,
                    combination=self.combinations[row[i]].name,
                    at_in=None if at is None else at[i],
                    demand=demand[i],
                    capacity=capacity[i],
                    ratio=ratio[i],
                    passes=ratio[i] <= PASSES,
                    terms=terms(
                        [
                            *((name, values[i]) for name, values in shown),
                            *service_terms(self.trusses[t].service, members[member].lumber, rule.rule.name),
                        ]
                    ),
                ),
            )


class _Members:
    """Stresses and adjusted values of every member at every place under every combination."""

    def __init__(self, combinations: Sequence[Combination], pieces: Pieces, there: Forces, least: _Least) -> None:
        self.pieces, self.stations, self.least = pieces, there, least
        self.cd: Array = np.array([c.load_duration for c in combinations])[:, None, None, None]
        axial, moment = self.stations.axial, self.stations.moment
        self.pulled = axial > least.axial
        self.pressed = axial < -least.axial
        self.fc: Array = np.maximum(-axial, 0) / self.pieces.area
        self.ft: Array = np.maximum(axial, 0) / self.pieces.area
        if there.axial_only:
            return
        size = np.abs(moment)
        self.bent = size > least.moment
        # 3.9 speaks of a member that is bent, not of a place: where its moment is zero, the axial terms still count
        self.bends = self.bent.any(axis=1, keepdims=True)
        self.fb: Array = np.divide(size, self.pieces.modulus, out=size)

    def rules(self) -> Iterator[_Rule]:
        """Every rule of a member, in the order in which they are told."""
        p = self.pieces
        yield self._rule("tension", "3.8.1", self.tension, self.pulled, {"CF": p.cf_t})
        yield self._rule("compression", "3.7.1", self.compression, self.pressed, {"CF": p.cf_c} | self._column)
        if not self.stations.axial_only:
            yield from self._of_bending()
        yield self._slenderness

    def _of_bending(self) -> Iterator[_Rule]:
        p, shear = self.pieces, np.abs(self.stations.shear)
        sheared = shear > self.least.shear
        yield self._rule("bending", "3.3.1", self.bending, self.bent, {"CF": p.cf_b} | self._beam)
        yield self._rule("bending and tension", "3.9.1", self.bending_and_tension, self.pulled & self.bends, self._beam)
        yield self._rule(
            "compression and bending",
            "3.9.2",
            self.bending_and_compression,
            self.pressed & self.bends,
            {"CP": self.compression.factors["CP"]} | self._column | self._beam,
        )
        yield self._rule("shear", "3.4.2", nds.shear(shear, p.area, p.fv * self.cd), sheared)

    def _rule(
        self,
        name: str,
        section: str,
        clause: nds.Clause,
        applies: npt.NDArray[np.bool_],
        shown: Mapping[str, nds.Number] | None = None,
    ) -> _Rule:
        return _Rule(name, f"NDS {section}", clause, applies, {"CD": self.cd} | dict(shown or {}))

    @cached_property
    def _column(self) -> dict[str, nds.Number]:
        shown: dict[str, nds.Number] = {
            "le in plane": self.pieces.le_in_plane,
            "le out of plane": self.pieces.le_out_of_plane,
            "FcE in plane": self.f_ce[0],
            "FcE out of plane": self.f_ce[1],
        }
        return shown if self.ct is None else shown | {"CT": self.ct}

    @cached_property
    def _beam(self) -> dict[str, nds.Number]:
        p = self.pieces
        l_u = self._by_edge(p.lu_upper, p.lu_lower)
        return {"Cr": p.cr, "Cfu": p.cfu, "CL": self.bending.factors["CL"], "lu": l_u}

    @cached_property
    def _upper_edge_pressed(self) -> npt.NDArray[np.bool_]:
        return self.stations.moment >= 0

    @cached_property
    def tension(self) -> nds.Clause:
        return nds.tension(self.ft, self.pieces.ft * self.cd)

    @cached_property
    def f_ce(self) -> tuple[Array, Array]:
        """FcE in the plane and out of it, psi (m, t)."""
        p = self.pieces
        in_plane = nds.critical_buckling(p.e_min, p.le_in_plane / p.depth)
        return in_plane, nds.built_up_buckling(p.e_min, p.le_out_of_plane, p.ply, p.breadth)

    @cached_property
    def ct(self) -> Array | None:
        """CT where a member is bent too, 1 elsewhere; None where no sheathing was told of."""
        if self.pieces.ct is None or self.stations.axial_only:
            return None
        return np.where(self.bends, self.pieces.ct, 1.0)

    @cached_property
    def compression(self) -> nds.Clause:
        p = self.pieces
        star = p.fc * self.cd
        in_plane, out_of_plane = self.f_ce
        # CT stiffens the column of CP alone: the FcE of 3.9.2 stays without it, which is the safe reading
        f_ce = in_plane if self.ct is None else in_plane * self.ct
        if np.any(p.breadth > p.ply):
            across = nds.built_up_stability(star, p.e_min, p.le_out_of_plane, p.ply, p.breadth)
            cp = np.minimum(nds.column_stability(star, f_ce), across)
        else:
            # CP grows with FcE: the weaker axis has the smaller one
            cp = nds.column_stability(star, np.minimum(f_ce, out_of_plane))
        return nds.compression(self.fc, star, cp)

    def _by_edge(self, upper: Array, lower: Array) -> Array:
        """What holds where the upper edge is in compression or the lower one; one array where they agree."""
        return upper if np.array_equal(upper, lower) else np.where(self._upper_edge_pressed, upper, lower)

    @cached_property
    def _edges(self) -> list[tuple[Array, Array, Array]]:
        """RB, FbE and CL with the upper edge in compression, then with the lower one; RB is 0 where a section is no
        deeper than broad (3.3.3.1)."""
        p = self.pieces
        # the Fb* of CL leaves out Cfu: it is 1 wherever CL isn't, since only flat lumber takes it
        fb_star = p.fb * self.cd
        found = []
        for l_u in (p.lu_upper, p.lu_lower):
            r_b = nds.beam_slenderness(nds.effective_length(l_u, p.depth), p.depth, p.breadth)
            r_b = np.where(p.depth <= p.breadth, 0.0, r_b)
            f_be = nds.beam_buckling(p.e_min, r_b)
            found.append((r_b, f_be, nds.beam_stability(fb_star, f_be)))
        return found

    @cached_property
    def f_be(self) -> Array:
        return self._by_edge(self._edges[0][1], self._edges[1][1])

    @cached_property
    def bending(self) -> nds.Clause:
        (upper, _, cl_upper), (lower, _, cl_lower) = self._edges
        cl, r_b = self._by_edge(cl_upper, cl_lower), self._by_edge(upper, lower)
        return nds.bending(self.fb, self.pieces.fb * self.cd, cl, r_b)

    @property
    def bending_and_tension(self) -> nds.Clause:
        fb_all_but_cl = self.pieces.fb * self.cd
        return nds.bending_and_tension(self.ft, self.tension.capacity, self.fb, fb_all_but_cl, self.bending.capacity)

    @property
    def bending_and_compression(self) -> nds.Clause:
        in_plane, out_of_plane = self.f_ce
        return nds.bending_and_compression(
            self.fc,
            self.compression.capacity,
            self.fb,
            self.bending.capacity,
            in_plane,
            f_ce2=out_of_plane,
            f_be=self.f_be,
        )

    @property
    def _slenderness(self) -> _Rule:
        p = self.pieces
        clause = nds.slenderness(p.le_in_plane / p.depth, p.le_out_of_plane / p.breadth)
        lengths = {"le in plane": p.le_in_plane, "le out of plane": p.le_out_of_plane}
        # the same under every combination: told with the one that presses hardest
        return _Rule("slenderness", "NDS 3.7.1.4", clause, self.pressed, lengths, placed=False, by=self.fc)
