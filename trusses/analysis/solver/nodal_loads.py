"""What loads along members do at the joints: the fixed-end forces reversed, for a stack of trusses of one shape."""

from __future__ import annotations

import numpy as np

from trusses.analysis.solver.member_loads import Geometry, MemberLoads
from trusses.analysis.solver.topology import Topology

#: Transverse displacement w₁, ψ₁ L, w₂, ψ₂ L → w(ξ) as coefficients of 1, ξ, ξ², ξ³, by whether each end is pinned.
_SHAPES = np.array(
    [
        [[1, 0, -3, 2], [0, 1, -2, 1], [0, 0, 3, -2], [0, 0, -1, 1]],
        [[1, 0, -1.5, 0.5], [0, 1, -1.5, 0.5], [0, 0, 1.5, -0.5], [0, 0, 0, 0]],
        [[1, -1.5, 0, 0.5], [0, 0, 0, 0], [0, 1.5, 0, -0.5], [0, -0.5, 0, 0.5]],
        [[1, -1, 0, 0], [0, 0, 0, 0], [0, 1, 0, 0], [0, 0, 0, 0]],
    ]
)


def nodal_loads(shape: Topology, place: Geometry, loads: MemberLoads) -> tuple[np.ndarray, np.ndarray]:
    """The loads at the joints that do the same work as those along the members.

    Axial (t, r, 2, m) toward the second joint; transverse (t, r, 4, m), forces toward the upper face and moments that
    work on w₁, ψ₁, w₂, ψ₂.
    """
    length = place.length[:, None]
    xi = loads.nodes / length
    powers = [np.ones_like(xi), xi, xi * xi]
    powers += [powers[2] * xi, powers[2] * powers[2]]
    pull = _moments(loads.axial, loads.axial_at, powers, length, 2)
    push = _moments(loads.transverse, loads.transverse_at, powers, length, 4)
    axial = np.stack([pull[0] - pull[1], pull[1]], axis=2)
    of_member = -_SHAPES[2 * shape.pinned[:, 0] + shape.pinned[:, 1]].transpose(1, 2, 0)
    transverse = np.stack([sum(c * q for c, q in zip(row, push, strict=True)) for row in of_member], axis=2)
    transverse[:, :, 1::2] *= length[:, None]
    return axial, transverse


def _moments(
    q: np.ndarray, at: np.ndarray | None, powers: list[np.ndarray], length: np.ndarray, count: int
) -> list[np.ndarray]:
    """The integrals over each member of its load times 1, ξ, ξ² …, `count` of them, (t, r, m) each."""
    out = []
    for power in range(count):
        step = np.diff(powers[power + 1], axis=1) * (length / (power + 1))
        whole = (q * step[:, None]).sum(axis=2)
        out.append(whole if at is None else whole + (at * powers[power][:, None]).sum(axis=2))
    return out
