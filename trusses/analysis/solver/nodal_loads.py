"""What loads along members do at the joints: the fixed-end forces reversed, for a stack of trusses of one shape."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from trusses.analysis.solver.geometry import Geometry
from trusses.analysis.solver.member_loads import MemberLoads, Pieces, add_pieces
from trusses.analysis.solver.topology import Topology

#: Transverse displacement w₁, w₂, ψ₁ L, ψ₂ L → w(ξ) as coefficients of 1, ξ, ξ², ξ³, by whether each end is pinned.
_SHAPES = np.array(
    [
        [[1, 0, -3, 2], [0, 0, 3, -2], [0, 1, -2, 1], [0, 0, -1, 1]],
        [[1, 0, -1.5, 0.5], [0, 0, 1.5, -0.5], [0, 1, -1.5, 0.5], [0, 0, 0, 0]],
        [[1, -1.5, 0, 0.5], [0, 1.5, 0, -0.5], [0, 0, 0, 0], [0, -0.5, 0, 0.5]],
        [[1, -1, 0, 0], [0, 1, 0, 0], [0, 0, 0, 0], [0, 0, 0, 0]],
    ]
)
_POWERS = np.arange(1, 5)


def nodal_loads(shape: Topology, place: Geometry, loads: MemberLoads) -> np.ndarray:
    """The loads at the joints that do the same work as those along the members, (r, 6, m, t).

    The six work on s₁, s₂, w₁, w₂, ψ₁, ψ₂: an end's displacement along the member, toward its upper face, and its
    rotation dw/ds.
    """
    r, m, t = loads.axial.shape
    out = np.empty((r, 6, m, t))
    np.multiply(loads.axial[:, None], place.length / 2, out=out[:, :2])
    np.multiply((loads.transverse * place.length)[:, None], _uniform(shape), out=out[:, 2:])
    for pieces, along in ((loads.strips, _over), (loads.points, _at)):
        if pieces is not None:
            of_members = _shapes(shape)[pieces.member]
            its = along(pieces, place.length[pieces.member, pieces.truss], of_members)
            add_pieces(out, pieces, pieces.rows[:, :, None] * its[:, None])
    out[:, 4:] *= place.length
    return out


@lru_cache(maxsize=256)
def _uniform(shape: Topology) -> np.ndarray:
    """What a transverse load of 1 along each member of a shape does on w₁, w₂, ψ₁, ψ₂, (4, m, 1), length one."""
    return -(_shapes(shape) / _POWERS).sum(axis=2).T[..., None]


def _shapes(shape: Topology) -> np.ndarray:
    """The coefficients of each member's shape functions, (m, 4, 4)."""
    return _SHAPES[2 * shape.pinned[:, 0] + shape.pinned[:, 1]]


def _over(strips: Pieces, length: np.ndarray, of_members: np.ndarray) -> np.ndarray:
    """What uniform loads on parts of members do, (n, 6)."""
    powers = (strips.end[:, None] ** _POWERS - strips.start[:, None] ** _POWERS) / _POWERS * length[:, None]
    return _both(strips, powers, of_members)


def _at(points: Pieces, _length: np.ndarray, of_members: np.ndarray) -> np.ndarray:
    """What loads at a place do, (n, 6)."""
    return _both(points, points.start[:, None] ** (_POWERS - 1), of_members)


def _both(pieces: Pieces, powers: np.ndarray, of_members: np.ndarray) -> np.ndarray:
    pull = pieces.axial[:, None] * np.stack([powers[:, 0] - powers[:, 1], powers[:, 1]], axis=1)
    push = -pieces.transverse[:, None] * np.einsum("nip,np->ni", of_members, powers)
    return np.concatenate([pull, push], axis=1)
