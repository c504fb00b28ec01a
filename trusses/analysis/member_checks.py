"""Strength and stability of the members, by the National Design Specification (`nds`).

All combinations, members and stations at once: arrays are (combinations r, members m, stations p).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from trusses.analysis import nds
from trusses.analysis.loads import Combination
from trusses.analysis.model import Truss
from trusses.analysis.outcome import PASSES, Check, terms
from trusses.analysis.pieces import Pieces, pieces
from trusses.analysis.response import Response
from trusses.analysis.stations import noise, stations

Array = npt.NDArray[np.float64]


def member_checks(truss: Truss, combinations: Sequence[Combination], response: Response) -> list[Check]:
    """The governing combination and place of every rule that touches each member, in the members' order."""
    members = _Members(truss, combinations, response)
    found: list[list[Check]] = [[] for _ in truss.members]
    for rule in members.rules():
        for i, check in _govern(rule, members.stations.at, truss, combinations):
            found[i].append(check)
    return [check for checks in found for check in checks]


@dataclass(frozen=True)
class _Rule:
    """One clause on every member. `place`: whether it governs somewhere along it; `by`: what to look for the most of,
    the ratio unless it is the same everywhere."""

    name: str
    source: str
    clause: nds.Clause
    applies: npt.NDArray[np.bool_]
    terms: Mapping[str, nds.Number] = field(default_factory=dict)
    placed: bool = True
    by: Array | None = None


def _govern(rule: _Rule, at: Array, truss: Truss, combinations: Sequence[Combination]) -> Iterator[tuple[int, Check]]:
    """The largest ratio of each member that the rule applies to."""
    clause = rule.clause
    most = np.where(rule.applies, clause.ratio if rule.by is None else rule.by, -1.0)
    best = most.transpose(1, 0, 2).reshape(at.shape[1], -1).argmax(axis=1)
    touched = np.flatnonzero(rule.applies.any(axis=(0, 2)))
    row, station = np.divmod(best[touched], at.shape[2])

    def there(values: nds.Number) -> list[float]:
        return np.broadcast_to(values, at.shape)[row, touched, station].tolist()

    shown = {name: there(values) for name, values in {**rule.terms, **clause.factors}.items()}
    numbers = zip(
        touched.tolist(), row.tolist(), *map(there, (at, clause.demand, clause.capacity, clause.ratio)), strict=True
    )
    for i, (member, combination, place, demand, capacity, ratio) in enumerate(numbers):
        check = Check(
            of="member",
            id=truss.members[member].id,
            rule=rule.name,
            source=rule.source,
            combination=combinations[combination].name,
            at_in=place if rule.placed else None,
            demand=demand,
            capacity=capacity,
            ratio=ratio,
            passes=ratio <= PASSES,
            terms=terms((name, values[i]) for name, values in shown.items()),
        )
        yield member, check


class _Members:
    """Stresses and adjusted values of every member at every station under every combination."""

    def __init__(self, truss: Truss, combinations: Sequence[Combination], response: Response) -> None:
        self.pieces: Pieces = pieces(truss)
        self.stations = stations(response)
        self.cd: Array = np.array([c.load_duration for c in combinations])[:, None, None]
        axial, moment = self.stations.axial, self.stations.moment
        self.pulled = axial > noise(axial)
        self.pressed = axial < -noise(axial)
        self.bent = np.abs(moment) > noise(moment)
        # 3.9 speaks of a member that is bent, not of a place: where its moment is zero, the axial terms still count
        self.bends = self.bent.any(axis=2, keepdims=True)
        self.ft: Array = np.maximum(axial, 0) / self.pieces.area
        self.fc: Array = np.maximum(-axial, 0) / self.pieces.area
        self.fb: Array = np.abs(moment) / self.pieces.modulus

    def rules(self) -> Iterator[_Rule]:
        """Every rule of a member, in the order in which they are told."""
        p, shear = self.pieces, np.abs(self.stations.shear)
        pull, press, bend = {"CF": p.cf_t}, {"CF": p.cf_c}, {"CF": p.cf_b}
        sheared = shear > noise(shear)
        yield self._rule("tension", "3.8.1", self.tension, self.pulled, pull)
        yield self._rule("compression", "3.7.1", self.compression, self.pressed, press | self._column)
        yield self._rule("bending", "3.3.1", self.bending, self.bent, bend | self._beam)
        yield self._rule("bending and tension", "3.9.1", self.bending_and_tension, self.pulled & self.bends, self._beam)
        yield self._rule(
            "compression and bending",
            "3.9.2",
            self.bending_and_compression,
            self.pressed & self.bends,
            {"CP": self.compression.factors["CP"]} | self._column | self._beam,
        )
        yield self._rule("shear", "3.4.2", nds.shear(shear, p.area, p.fv * self.cd), sheared)
        yield self._slenderness

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
        return {
            "le in plane": self.pieces.le_in_plane,
            "le out of plane": self.pieces.le_out_of_plane,
            "FcE in plane": self.f_ce[0],
            "FcE out of plane": self.f_ce[1],
        }

    @cached_property
    def _beam(self) -> dict[str, nds.Number]:
        p = self.pieces
        l_u = np.where(self._upper_edge_pressed, p.lu_upper, p.lu_lower)
        return {"Cr": p.cr, "Cfu": p.cfu, "CL": self.bending.factors["CL"], "lu": l_u}

    @property
    def _upper_edge_pressed(self) -> npt.NDArray[np.bool_]:
        return self.stations.moment >= 0

    @cached_property
    def tension(self) -> nds.Clause:
        return nds.tension(self.ft, self.pieces.ft * self.cd)

    @cached_property
    def f_ce(self) -> tuple[Array, Array]:
        """FcE in the plane and out of it, psi (m, 1)."""
        p = self.pieces
        in_plane = nds.critical_buckling(p.e_min, p.le_in_plane / p.depth)
        return in_plane, nds.built_up_buckling(p.e_min, p.le_out_of_plane, p.ply, p.breadth)

    @cached_property
    def compression(self) -> nds.Clause:
        p = self.pieces
        star = p.fc * self.cd
        out_of_plane = nds.built_up_stability(star, p.e_min, p.le_out_of_plane, p.ply, p.breadth)
        return nds.compression(self.fc, star, np.minimum(nds.column_stability(star, self.f_ce[0]), out_of_plane))

    @cached_property
    def r_b(self) -> Array:
        """RB by the edge in compression (r, m, p); 0 where a section is no deeper than broad (3.3.3.1)."""
        p = self.pieces
        upper, lower = (
            nds.beam_slenderness(nds.effective_length_uniform(l_u, p.depth), p.depth, p.breadth)
            for l_u in (p.lu_upper, p.lu_lower)
        )
        return np.where(p.depth <= p.breadth, 0.0, np.where(self._upper_edge_pressed, upper, lower))

    @cached_property
    def f_be(self) -> Array:
        return nds.beam_buckling(self.pieces.e_min, self.r_b)

    @cached_property
    def bending(self) -> nds.Clause:
        # the Fb* of CL leaves out Cfu: it is 1 wherever CL isn't, since only flat lumber takes it
        fb_star = self.pieces.fb * self.cd
        return nds.bending(self.fb, fb_star, nds.beam_stability(fb_star, self.f_be), self.r_b)

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
