"""The matrices of a plane frame, for a stack of trusses of one shape: compatibility and stiffness, each whole.

`band` makes the same stiffness member by member; whole matrices are for asking whether a truss can move, and for the
rare one whose stiffness is ill-conditioned.

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

from trusses.analysis.solver.geometry import Geometry
from trusses.analysis.solver.topology import Topology


def compatibility(shape: Topology, place: Geometry) -> np.ndarray:
    """B (t, rows, 2 j + g): the stretch of every member, then the bending of those that are continuous."""
    t, m = place.length.shape
    both, one = shape.both, shape.one
    b = np.zeros((t, m + 2 * len(both) + len(one), 2 * shape.joints + shape.rotations))
    xy = 2 * shape.ends[:, :, None] + (0, 1)
    turn = 2 * shape.joints + shape.turn
    along, sway = place.along.transpose(0, 2, 1), (place.up / place.length[:, None]).transpose(0, 2, 1)
    rows = np.arange(m)
    b[:, rows[:, None], xy[:, 0]] = -along
    b[:, rows[:, None], xy[:, 1]] = along
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


def stiffness(shape: Topology, place: Geometry) -> np.ndarray:
    """C's diagonal, (t, rows), in the order of B's rows."""
    pull, bend = (place.stiff / place.length[:, None]).transpose(1, 0, 2)
    return np.concatenate([pull, bend[:, shape.both], 3 * bend[:, shape.both], 3 * bend[:, shape.one]], axis=1)
