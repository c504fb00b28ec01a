"""What loads along members do at the joints: the fixed-end forces reversed, for a stack of trusses of one shape."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from trusses.analysis.frame.geometry import Geometry
from trusses.analysis.frame.member_loads import Loaded, MemberLoads, Pieces, add_pieces
from trusses.analysis.frame.topology import Topology

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
    """The loads at the ends of the loaded members that do the same work as those along them, (r, 6, c, t).

    The six work on s₁, s₂, w₁, w₂, ψ₁, ψ₂: an end's displacement along the member, toward its upper face, and its
    rotation dw/ds.
    """
    length = loads.on.of(place.length)
    r, c, t = loads.axial.shape
    out = np.empty((r, 6, c, t))
    out[:, :2] = (loads.axial * (length / 2))[:, None]
    np.multiply((loads.transverse * length)[:, None], _uniform(shape, loads.on), out=out[:, 2:])
    for pieces, along in ((loads.strips, _over), (loads.points, _at)):
        if pieces is not None:
            of_members = _shapes(shape)[pieces.member]
            worked = along(pieces, place.length[pieces.member, pieces.truss], of_members)
            mine = replace(pieces, member=loads.on.among[pieces.member])
            add_pieces(out, mine, pieces.rows[:, :, None] * worked[:, None])
    out[:, 4:] *= length
    return out


@lru_cache(maxsize=256)
def _uniform(shape: Topology, on: Loaded) -> np.ndarray:
    """What a transverse load of 1 along each loaded member does on w₁, w₂, ψ₁, ψ₂, (4, c, 1), length one."""
    return -(_shapes(shape)[on.members] / _POWERS).sum(axis=2).T[..., None]


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
