"""Strength and stability of the members, by the National Design Specification (`nds`): what is checked at a place.

All combinations, places, members and trusses of a stack at once: arrays are (r, p, m, t), or broadcast to that. Where
each rule governs is found in `governing`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from trusses.analysis.checks import nds
from trusses.analysis.checks.combined import Forces
from trusses.analysis.checks.member_properties import Pieces

Array = npt.NDArray[np.float64]


class Rule(NamedTuple):
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


class Columns(NamedTuple):
    """What members can bear in compression, whatever the forces: psi, (r, 1, m, t) or broadcasting to it, or (n,) of
    single pieces. `cd` is the load duration factor, FcE is in the plane and out of it, (m, t) or (n,) each; CT is that
    of members that are bent too and 1 for others, None where no sheathing was told of."""

    cd: Array
    f_ce: tuple[Array, Array]
    fc_star: Array
    cp: Array
    ct: Array | None

    @classmethod
    def of(cls, cd: Array, p: Pieces, bends: npt.NDArray[np.bool_] | None) -> Columns:
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

    def those(self, members: npt.NDArray[np.int64]) -> Columns:
        """Those of some members, without CT."""
        in_plane, out_of_plane, fc_star, cp = (
            values.take(members, axis=-2) for values in (*self.f_ce, self.fc_star, self.cp)
        )
        return Columns(self.cd, (in_plane, out_of_plane), fc_star, cp, None)


class Beams(NamedTuple):
    """What members can bear in bending, as `Columns`. `fb_star` is Fb with every factor but CL; RB, FbE and CL come
    first with the upper edge in compression, then with the lower one: RB and FbE (2, m, t) or (2, n), CL (2, r, 1, m,
    t) or (2, n). RB is 0 where a section is no deeper than broad (3.3.3.1). `bends` says which of them are bent."""

    bends: npt.NDArray[np.bool_]
    fb_star: Array
    r_b: Array
    f_be: Array
    cl: Array

    @classmethod
    def of(cls, cd: Array, p: Pieces, bends: npt.NDArray[np.bool_]) -> Beams:
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


class Members:
    """Stresses and adjusted values of every member at every place under every combination.

    Of single places, each with its own piece and row, all of it is (n,), or (q, n) where q of them are asked for at
    once. `least` (3, t) are the axial force, shear and moment of each truss below which there is none, lb and in-lb;
    `moment` is the size of the moments; it and `beams` are None of members that carry axial force alone.
    """

    def __init__(
        self,
        pieces: Pieces,
        columns: Columns,
        forces: Forces,
        least: Array,
        beams: Beams | None = None,
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

    @classmethod
    def of(cls, pieces: Pieces, columns: Columns, cd: Array, forces: Forces, least: Array) -> Members:
        """Those of a group of members, whose `columns` are those of members that aren't bent."""
        if forces.axial_only:
            return cls(pieces, columns, forces, least)
        moment = np.abs(forces.forces[2])
        # 3.9 speaks of a member that is bent, not of a place: where its moment is zero, the axial terms still count
        bends = np.logical_or.reduce(moment > least[2], axis=1, keepdims=True)
        held = columns if pieces.ct is None else Columns.of(cd, pieces, bends)
        return cls(pieces, held, forces, least, Beams.of(cd, pieces, bends), moment)

    def rules(self) -> Iterator[Rule]:
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

    def interaction(self, sign: int) -> Rule:
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

    def _rule(
        self,
        name: str,
        section: str,
        clause: nds.Clause,
        applies: npt.NDArray[np.bool_],
        shown: Callable[[], Mapping[str, nds.Number]],
        sign: int = 0,
    ) -> Rule:
        return Rule(name, f"NDS {section}", clause, applies, lambda: {"CD": self.columns.cd, **shown()}, sign=sign)

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

    @cached_property
    def most_bent(self) -> Array:
        """The largest ratio of bending in each segment, (r, k, m, t)."""
        ratio = np.asarray(self.bending.ratio)
        r, places, *rest = ratio.shape
        return np.maximum.reduce(ratio.reshape(r, 3, places // 3, *rest), axis=1)

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
    def _slenderness(self) -> Rule:
        p = self.pieces
        clause = nds.slenderness(p.le_in_plane / p.depth, p.le_out_of_plane / p.breadth)
        lengths = {"le in plane": p.le_in_plane, "le out of plane": p.le_out_of_plane}
        # the same under every combination: told with the one that presses hardest
        return Rule("slenderness", "NDS 3.7.1.4", clause, self.pressed, lambda: lengths, placed=False, by=self.fc)
