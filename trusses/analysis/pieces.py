"""Each member as the checks see it: section, adjusted reference values, slenderness. One array a quantity.

Every factor that doesn't change with the combination is in here; load duration, CP and CL are not.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trusses.analysis import nds
from trusses.analysis.lumber import lookup, section
from trusses.analysis.model import Member, Truss
from trusses.analysis.stability import lengths

Array = npt.NDArray[np.float64]

#: 4.3.9: Cr where members stand no farther apart than this, and are held by sheathing at least as closely, inches.
REPETITIVE_SPACING = 24.0


@dataclass(frozen=True)
class Pieces:
    """Members, one a row: every array (m, 1), to broadcast over combinations and stations; inches and psi.

    `breadth` is what buckles out of the plane: one ply's, or all plies' where they are fastened together. `fb` has CF,
    Cr and Cfu, `ft` and `fc` have CF.
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


def is_repetitive(truss: Truss, member: Member) -> bool:
    """Whether a member takes Cr: a chord of a single-ply truss, both spacings at most 24 in."""
    restraint = truss.lateral_restraint.spacing(member.role) if member.is_chord else None
    return (
        restraint is not None
        and restraint <= REPETITIVE_SPACING
        and truss.spacing_in <= REPETITIVE_SPACING
        and truss.plies == 1
    )


def pieces(truss: Truss) -> Pieces:
    """The arrays of a truss's members, in their order."""
    held = lengths(truss)
    rows = [_values(truss, member) for member in truss.members]
    columns = {name: np.array([[row[name]] for row in rows], dtype=float) for name in rows[0]}
    return Pieces(
        **columns,
        le_in_plane=held.in_plane[:, None],
        le_out_of_plane=held.out_of_plane[:, None],
        lu_upper=held.upper[:, None],
        lu_lower=held.lower[:, None],
    )


def _values(truss: Truss, member: Member) -> dict[str, float]:
    lumber = lookup(member.lumber)
    shape = section(lumber, member.flat, truss.plies)
    size = nds.size_factor(lumber.rule, lumber.nominal[1], stud=lumber.grade == "Stud")
    cfu = nds.flat_use_factor(lumber.nominal[1]) if member.flat else 1.0
    cr = nds.REPETITIVE if is_repetitive(truss, member) else 1.0
    return {
        "area": shape.area,
        "modulus": shape.modulus,
        "depth": shape.depth_in,
        "ply": shape.breadth_in,
        "breadth": shape.breadth_in * (truss.plies if truss.ply_fastening else 1),
        "fb": lumber.fb * size.fb * cr * cfu,
        "ft": lumber.ft * size.ft,
        "fc": lumber.fc * size.fc,
        "fv": lumber.fv,
        "e_min": lumber.e_min,
        "cf_b": size.fb,
        "cf_t": size.ft,
        "cf_c": size.fc,
        "cfu": cfu,
        "cr": cr,
    }
