"""Trusses that can move freely: found, and said in plain words.

Whether a truss can move is a matter of geometry alone. So it is read from the compatibility matrix, every row and
unknown of it in inches, and neither units nor a stub beside a slender chord can hide or feign it.
"""

from __future__ import annotations

import numpy as np

from trusses.analysis.model import Truss
from trusses.analysis.topology import Topology

#: Inches of deformation per inch of motion at or below which a motion is free.
_FREE = 1e-5
_CLEARLY = 2.0


class Mechanism(ValueError):
    """A truss that can move freely. The text is one sentence; `joint` moves most, `direction` is how."""

    def __init__(self, joint: str, direction: str, because: str = "") -> None:
        self.joint = joint
        self.direction = direction
        self.because = because
        super().__init__(f"the truss can move freely: joint {joint} {direction}{because and f' {because}'}")


def free_motion(truss: Truss, shape: Topology, b: np.ndarray, length: float) -> Mechanism | None:
    """The motion that a truss can make without deforming, if any.

    `b` (rows, 2 j + g) is its compatibility matrix, `length` a typical member's, inches. Of several motions it is the
    one that moves some one joint most.
    """
    inches = b.copy()
    inches[len(shape.ends) :] *= length
    inches[:, 2 * shape.joints :] /= length
    motions = _null(inches, shape.free)
    share = (motions[:, : 2 * shape.joints] ** 2).sum(axis=0)
    if not share.any():
        return None
    motion = motions[:, share.argmax()] @ motions
    moved = motion[: 2 * shape.joints].reshape(-1, 2)
    distance = np.hypot(moved[:, 0], moved[:, 1])
    joint = int(np.flatnonzero(distance >= distance.max() * (1 - 1e-6))[0])
    return Mechanism(truss.joints[joint].name, _way(*moved[joint]))


def _null(inches: np.ndarray, free: np.ndarray) -> np.ndarray:
    """Orthonormal free motions (n, unknowns)."""
    _, sizes, rows = np.linalg.svd(inches[:, free])
    sizes = np.concatenate([sizes, np.zeros(len(free) - len(sizes))]) if len(sizes) < len(free) else sizes
    motions = np.zeros((int((sizes <= _FREE).sum()), inches.shape[1]))
    motions[:, free] = rows[sizes <= _FREE]
    return motions


def _way(x: float, y: float) -> str:
    if abs(x) > _CLEARLY * abs(y):
        return "slides sideways"
    if abs(y) > _CLEARLY * abs(x):
        return "moves up and down"
    return "moves at a slant"
