"""Each member as the checks see it: section, adjusted reference values, slenderness. One array a quantity.

Every factor that doesn't change with the combination is in here; load duration, CP and CL are not.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from trusses.analysis.checks import nds
from trusses.analysis.checks.unbraced_lengths import SHEATHED_SPACING, lengths
from trusses.analysis.format.model import CHORDS, ROLES, Member, Role, Service, Truss
from trusses.analysis.frame.geometry import Geometry, geometry
from trusses.analysis.frame.topology import Topology, topology
from trusses.analysis.lumber import VALUES, Lumber, ServiceFactors, Value, lookup, section, service_factors

Array = npt.NDArray[np.float64]

#: 4.3.9: Cr where members stand no farther apart than this, and are held by sheathing at least as closely, inches.
REPETITIVE_SPACING = 24.0
#: How a document begins that says how plies are fastened so that they buckle as one (NDS 15.3.3 nailed, 15.3.4 bolted).
_FASTENED = re.compile(r"\s*(nailed|bolted)\b", re.IGNORECASE)


class Pieces(NamedTuple):
    """Members, one an entry, (m, t) each, or (m, 1) where it is the same of all trusses: every array broadcasts over
    combinations and places; inches and psi.

    `ply` is the breadth of one ply, `width` that of all, and `breadth` is what buckles out of the plane: one ply's, or
    all plies' where they are fastened together. `fb` has CF, Cr and Cfu, `ft` and `fc` have CF, and every value has the
    CM, Ct and Ci of the truss's service. `ct` multiplies
    Emin in CP about the strong axis where a member is bent too; None where no sheathing was told of.
    """

    area: Array
    modulus: Array
    depth: Array
    ply: Array
    breadth: Array
    fb: Array
    ft: Array
    fc: Array
    fv: Array
    fc_perp: Array
    width: Array
    e_min: Array
    cf_b: Array
    cf_t: Array
    cf_c: Array
    cfu: Array
    cr: Array
    le_in_plane: Array
    le_out_of_plane: Array
    lu_upper: Array
    lu_lower: Array
    ct: Array | None = None
    #: All of them but CT once more, those that lumber gives and the unbraced lengths, to take some members of at once.
    stacked: tuple[Array, Array] = (np.empty(0), np.empty(0))

    @classmethod
    def of(cls, lumber: Array, held: Array, ct: Array | None) -> Pieces:
        """The quantities that lumber gives and the unbraced lengths, in their order here, (…, m, t) or (…, n)."""
        return cls._make((*lumber, *held, ct, (lumber, held)))

    def those(self, members: npt.NDArray[np.int64]) -> Pieces:
        """Those of some members."""
        lumber, held = (values.take(members, axis=1) for values in self.stacked)
        return Pieces.of(lumber, held, None if self.ct is None else self.ct.take(members, axis=0))

    def at(self, members: npt.NDArray[np.int64], trusses: npt.NDArray[np.int64]) -> Pieces:
        """Those of some members of some trusses, one of each an entry (n,)."""
        # what is the same of all trusses has one column
        lumber, held = (values[:, members, trusses if values.shape[-1] > 1 else 0] for values in self.stacked)
        return Pieces.of(lumber, held, None if self.ct is None else self.ct[members, trusses])


def is_repetitive(truss: Truss, member: Member) -> bool:
    """Whether a member takes Cr: a chord of a single-ply truss, both spacings at most 24 in."""
    return _cr(truss, member.role) != 1.0


def _cr(truss: Truss, role: Role) -> float:
    restraint = truss.lateral_restraint.spacing(role) if role in CHORDS else None
    takes = (
        restraint is not None
        and restraint <= REPETITIVE_SPACING
        and truss.spacing_in <= REPETITIVE_SPACING
        and truss.plies == 1
    )
    return nds.REPETITIVE if takes else 1.0


def fastened(truss: Truss) -> bool:
    """Whether the plies are fastened so that they buckle sideways as one (NDS 15.3): 2 to 5 of them, nailed or bolted
    as the document says."""
    return truss.plies in nds.KF_PLIES and bool(_FASTENED.match(truss.ply_fastening or ""))


def pieces(truss: Truss) -> Pieces:
    """The arrays of a truss's members, in their order, (m, 1) each."""
    shape = topology(truss)
    return stack_pieces([truss], shape, geometry([truss], shape))


def stack_pieces(trusses: Sequence[Truss], shape: Topology, place: Geometry, km: int | None = None) -> Pieces:
    """Those of trusses of one shape; `km` where their top chords are sheathed (NDS 4.4.2)."""
    rows, before = [], None
    for truss in trusses:
        near = truss.spacing_in <= REPETITIVE_SPACING
        made = truss.plies, truss.ply_fastening, near, truss.service, truss.lateral_restraint, truss.members
        # most trusses of a stack are of the same pieces: to compare is quicker than to look up
        if made != before:
            before, cr = made, tuple(_cr(truss, role) for role in ROLES)
            row = _of_members(truss.plies, fastened(truss), truss.service, cr, truss.members)
        rows.append(row)
    alike = len(set(map(id, rows))) == 1
    values = rows[0][..., None] if alike else np.array(rows).transpose(1, 2, 0).copy()
    held = np.stack(lengths(trusses, shape, place))
    return Pieces.of(values, held, None if km is None else _ct(trusses, held[0], km))


def takes_ct(truss: Truss, member: Member) -> bool:
    """Whether sheathing stiffens a member as 4.4.2 says: a single 2x4 or smaller of the top chord, on edge.

    A top chord whose document has it held farther apart than sheathing would hold it isn't sheathed.
    """
    held = truss.lateral_restraint.top_chord_in
    return (
        member.role == "top_chord"
        and not member.flat
        and truss.plies == 1
        and not truss.service.wet
        and lookup(member.lumber).nominal <= (2, 4)
        and held is not None
        and held <= SHEATHED_SPACING
    )


def sheathing_counts(truss: Truss) -> bool:
    """Whether any member takes CT, so that what is said of the sheathing can change its analysis."""
    return any(takes_ct(truss, member) for member in truss.members)


def _ct(trusses: Sequence[Truss], le_in_plane: Array, km: int) -> Array:
    ct = np.ones_like(le_in_plane)
    for t, truss in enumerate(trusses):
        for m, member in enumerate(truss.members):
            if takes_ct(truss, member):
                lumber = lookup(member.lumber)
                ct[m, t] = nds.buckling_stiffness(le_in_plane[m, t], lumber.e, km, nds.KT[lumber.rule])
    return ct


@lru_cache(maxsize=1024)
def _of_members(
    plies: int, together: bool, service: Service, cr: tuple[float, ...], members: tuple[Member, ...]
) -> Array:
    """The quantities of `Pieces` that lumber gives, (quantities, m), in their order there."""
    factor = dict(zip(ROLES, cr, strict=True))
    rows = [_values(one.lumber, one.flat, plies, together, service, factor[one.role]) for one in members]
    values = np.array(rows).T
    values.flags.writeable = False
    return values


def in_service(lumber: Lumber, service: Service, value: Value) -> ServiceFactors:
    """CM, Ct and Ci of one reference value of a piece in service."""
    size = nds.size_factor(lumber.rule, lumber.nominal[1], stud=lumber.grade == "Stud")
    sized = {"fb": lumber.fb * size.fb, "fc": lumber.fc * size.fc}.get(value, np.inf)
    return service_factors(value, service.wet, service.temperature_f, service.incised, sized)


#: The reference values that each rule takes, as they are told.
_VALUES_OF: Mapping[str, tuple[Value, ...]] = {
    "tension": ("ft",),
    "compression": ("fc", "e"),
    "bending": ("fb", "e"),
    "bending and tension": ("ft", "fb", "e"),
    "compression and bending": ("fc", "fb", "e"),
    "shear": ("fv",),
    "bearing": ("fc_perp",),
}
_TOLD: Mapping[Value, str] = {
    "fb": "Fb",
    "ft": "Ft",
    "fv": "Fv",
    "fc_perp": "Fc-perp",
    "fc": "Fc",
    "e": "Emin",
}


@lru_cache(maxsize=4096)
def service_terms(service: Service, key: str, rule: str) -> tuple[tuple[str, float], ...]:
    """CM, Ct and Ci of each value that a rule takes of a piece; none in dry service up to 100 °F without incising."""
    lumber = lookup(key)
    every = {value: in_service(lumber, service, value) for value in VALUES}
    if all(factors.product == 1.0 for factors in every.values()):
        return ()
    return tuple(
        (f"{name} of {_TOLD[value]}", factor)
        for value in _VALUES_OF.get(rule, ())
        for name, factor in zip(("CM", "Ct", "Ci"), every[value], strict=True)
    )


@lru_cache(maxsize=4096)
def _values(key: str, flat: bool, plies: int, together: bool, service: Service, cr: float) -> tuple[float, ...]:
    lumber = lookup(key)
    shape = section(lumber, flat, plies)
    size = nds.size_factor(lumber.rule, lumber.nominal[1], stud=lumber.grade == "Stud")
    cfu = nds.flat_use_factor(lumber.nominal[1]) if flat else 1.0
    serve = {value: in_service(lumber, service, value).product for value in VALUES}
    return (
        shape.area,
        shape.modulus,
        shape.depth_in,
        shape.breadth_in,
        shape.breadth_in * (plies if together else 1),
        lumber.fb * size.fb * cr * cfu * serve["fb"],
        lumber.ft * size.ft * serve["ft"],
        lumber.fc * size.fc * serve["fc"],
        lumber.fv * serve["fv"],
        lumber.fc_perp * serve["fc_perp"],
        shape.breadth_in * plies,
        lumber.e_min * serve["e"],
        size.fb,
        size.ft,
        size.fc,
        cfu,
        cr,
    )
