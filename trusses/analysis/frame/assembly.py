"""The matrices of a plane frame, for one truss: compatibility and stiffness, each whole.

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

from trusses.analysis.frame.geometry import Geometry
from trusses.analysis.frame.topology import Topology


def compatibility(shape: Topology, place: Geometry) -> np.ndarray:
    """B (rows, 2 j + g): the stretch of every member, then the bending of those that are continuous; `place` is that
    of a stack of one."""
    m, both, one = len(shape.ends), shape.both, shape.one
    b = np.zeros((m + 2 * len(both) + len(one), 2 * shape.joints + shape.rotations))
    xy = 2 * shape.ends[:, :, None] + (0, 1)
    turn = 2 * shape.joints + shape.turn
    along, sway, hand = place.along[..., 0].T, (place.up / place.length)[..., 0].T, place.hand[:, 0]
    rows = np.arange(m)
    b[rows[:, None], xy[:, 0]] = -along
    b[rows[:, None], xy[:, 1]] = along
    kink = m + np.arange(len(both))
    b[kink, turn[both, 0]] = -hand[both]
    b[kink, turn[both, 1]] = hand[both]
    lean = kink + len(both)
    b[lean, turn[both, 0]] = hand[both]
    b[lean, turn[both, 1]] = hand[both]
    b[lean[:, None], xy[both, 0]] = 2 * sway[both]
    b[lean[:, None], xy[both, 1]] = -2 * sway[both]
    free = m + 2 * len(both) + np.arange(len(one))
    b[free, turn[one, shape.one_end]] = hand[one]
    b[free[:, None], xy[one, 0]] = sway[one]
    b[free[:, None], xy[one, 1]] = -sway[one]
    return b


def stiffness(shape: Topology, place: Geometry) -> np.ndarray:
    """C's diagonal, (rows,), in the order of B's rows."""
    pull, bend = (place.stiff / place.length)[..., 0]
    return np.concatenate([pull, bend[shape.both], 3 * bend[shape.both], 3 * bend[shape.one]])
