"""The matrices of a plane frame, for a stack of trusses of one shape: compatibility, stiffness, loads.

B's rows are the ways a member can deform, each with a stiffness of its own, so that C is diagonal:

    stretch                      e = along · (u₂ - u₁)                  EA / L
    continuous at both ends      e = ψ₂ - ψ₁                            EI / L
                                 e = ψ₁ + ψ₂ - 2 (w₂ - w₁) / L        3 EI / L
    continuous at one end        e = ψ - (w₂ - w₁) / L                3 EI / L

with u an end's displacement, w its part toward the member's upper face, and ψ its rotation dw/ds. A pinned end is
condensed out: it has no rotation among the unknowns, and loads along the member reach the other end by the shape
functions of a member pinned there. Euler-Bernoulli, so BᵀCB is the stiffness that any text on matrix structural
analysis gives.
"""

from __future__ import annotations

import numpy as np

from trusses.analysis.member_loads import Geometry, MemberLoads
from trusses.analysis.topology import Topology


def compatibility(shape: Topology, place: Geometry) -> np.ndarray:
    """B (t, rows, 2 j + g): the stretch of every member, then the bending of those that are continuous."""
    t, m = place.length.shape
    both, one = shape.both, shape.one
    b = np.zeros((t, m + 2 * len(both) + len(one), 2 * shape.joints + shape.rotations))
    xy = 2 * shape.ends[:, :, None] + (0, 1)
    turn = 2 * shape.joints + shape.turn
    sway = place.up / place.length[..., None]
    rows = np.arange(m)
    b[:, rows[:, None], xy[:, 0]] = -place.along
    b[:, rows[:, None], xy[:, 1]] = place.along
    kink = m + np.arange(len(both))
    hand = place.hand[:, both]
    b[:, kink, turn[both, 0]] = -hand
    b[:, kink, turn[both, 1]] = hand
    lean = kink + len(both)
    b[:, lean, turn[both, 0]] = hand
    b[:, lean, turn[both, 1]] = hand
    b[:, lean[:, None], xy[both, 0]] = 2 * sway[:, both]
    b[:, lean[:, None], xy[both, 1]] = -2 * sway[:, both]
    free = m + 2 * len(both) + np.arange(len(one))
    b[:, free, turn[one, shape.one_end]] = place.hand[:, one]
    b[:, free[:, None], xy[one, 0]] = sway[:, one]
    b[:, free[:, None], xy[one, 1]] = -sway[:, one]
    return b


def stiffness(shape: Topology, place: Geometry, ea: np.ndarray, ei: np.ndarray) -> np.ndarray:
    """C's diagonal, (t, rows), in the order of B's rows."""
    bend = ei / place.length
    return np.concatenate(
        [ea / place.length, bend[:, shape.both], 3 * bend[:, shape.both], 3 * bend[:, shape.one]], axis=1
    )


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
    """The loads at the joints that do the same work as those along the members: the fixed-end forces reversed.

    Axial (t, r, m, 2) toward the second joint; transverse (t, r, m, 4), forces toward the upper face and moments that
    work on w₁, ψ₁, w₂, ψ₂.
    """
    length = place.length[..., None, None]
    xi = (loads.nodes / place.length[..., None])[..., None] ** np.arange(5)
    bent = _SHAPES[2 * shape.pinned[:, 0] + shape.pinned[:, 1]].transpose(0, 2, 1)
    straight = np.array([[1.0, 0.0], [-1.0, 1.0]])

    def work(on: np.ndarray, coefficients: np.ndarray, q: np.ndarray, at: np.ndarray) -> np.ndarray:
        power = coefficients.shape[-2]
        whole = np.diff(on[..., 1 : power + 1] / np.arange(1, power + 1) @ coefficients, axis=2) * length
        spread = np.einsum("trmk,tmki->trmi", q, whole)
        return spread + np.einsum("trmk,tmki->trmi", at, on[..., :power] @ coefficients)

    axial = work(xi, straight, loads.axial, loads.axial_at)
    transverse = -work(xi, bent, loads.transverse, loads.transverse_at)
    transverse[..., 1::2] *= length[:, None, ..., 0]
    return axial, transverse


def assemble(
    shape: Topology, place: Geometry, joints: np.ndarray, axial: np.ndarray, transverse: np.ndarray
) -> np.ndarray:
    """F (t, r, 2 j + g): loads at joints, and what those along the members bring there."""
    t, r = joints.shape[:2]
    force = joints.transpose(0, 1, 3, 2)
    moment = np.zeros((t, r, shape.rotations))
    for end in (0, 1):
        global_ = axial[..., end, None] * place.along[:, None] + transverse[..., 2 * end, None] * place.up[:, None]
        force = force + global_.transpose(0, 1, 3, 2) @ shape.at_joint[end]
        moment += (transverse[..., 2 * end + 1] * place.hand[:, None]) @ shape.at_turn[end]
    return np.concatenate([force.transpose(0, 1, 3, 2).reshape(t, r, 2 * shape.joints), moment], axis=2)
