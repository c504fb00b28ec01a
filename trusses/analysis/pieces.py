"""Each member as the checks see it: section, adjusted reference values, slenderness. One array a quantity.

Every factor that doesn't change with the combination is in here; load duration, CP and CL are not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from trusses.analysis import nds
from trusses.analysis.lumber import lookup, section
from trusses.analysis.model import CHORDS, ROLES, Member, Role, Truss
from trusses.analysis.stability import lengths

Array = npt.NDArray[np.float64]

#: 4.3.9: Cr where members stand no farther apart than this, and are held by sheathing at least as closely, inches.
REPETITIVE_SPACING = 24.0


@dataclass(frozen=True)
class Pieces:
    """Members, one an entry: every array shaped to broadcast over combinations and stations; inches and psi.

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


def pieces(truss: Truss) -> Pieces:
    """The arrays of a truss's members, in their order, (m, 1) each."""
    return _shaped([truss], (-1, 1))


def stack_pieces(trusses: Sequence[Truss]) -> Pieces:
    """Those of trusses with as many members each, (t, 1, 1, m): members last, as `combined` has them."""
    return _shaped(trusses, (len(trusses), 1, 1, -1))


def _shaped(trusses: Sequence[Truss], shape: tuple[int, ...]) -> Pieces:
    rows, held = [], []
    for truss in trusses:
        cr = {role: _cr(truss, role) for role in ROLES}
        rows.append(
            [_values(m.lumber, m.flat, truss.plies, bool(truss.ply_fastening), cr[m.role]) for m in truss.members]
        )
        held.append(lengths(truss))
    values = np.array(rows, dtype=float)
    columns = {name: values[..., i].reshape(shape) for i, name in enumerate(_COLUMNS)}

    def reshaped(name: str) -> Array:
        return np.array([getattr(one, name) for one in held]).reshape(shape)

    return Pieces(
        **columns,
        le_in_plane=reshaped("in_plane"),
        le_out_of_plane=reshaped("out_of_plane"),
        lu_upper=reshaped("upper"),
        lu_lower=reshaped("lower"),
    )


#: What `_values` gives, in its order.
_COLUMNS = (
    *("area", "modulus", "depth", "ply", "breadth", "fb", "ft", "fc", "fv", "e_min"),
    *("cf_b", "cf_t", "cf_c", "cfu", "cr"),
)


@lru_cache(maxsize=4096)
def _values(key: str, flat: bool, plies: int, fastened: bool, cr: float) -> tuple[float, ...]:
    lumber = lookup(key)
    shape = section(lumber, flat, plies)
    size = nds.size_factor(lumber.rule, lumber.nominal[1], stud=lumber.grade == "Stud")
    cfu = nds.flat_use_factor(lumber.nominal[1]) if flat else 1.0
    return (
        shape.area,
        shape.modulus,
        shape.depth_in,
        shape.breadth_in,
        shape.breadth_in * (plies if fastened else 1),
        lumber.fb * size.fb * cr * cfu,
        lumber.ft * size.ft,
        lumber.fc * size.fc,
        lumber.fv,
        lumber.e_min,
        size.fb,
        size.ft,
        size.fc,
        cfu,
        cr,
    )
