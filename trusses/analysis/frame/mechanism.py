"""Trusses that can move freely: found, and said in plain words.

Whether a truss can move is a matter of geometry alone. So it is read from the compatibility matrix, every row and
unknown of it in inches, and neither units nor a stub beside a slender chord can hide or feign it.
"""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np

from trusses.analysis.format.model import Truss
from trusses.analysis.frame.assembly import compatibility
from trusses.analysis.frame.geometry import Geometry, geometry
from trusses.analysis.frame.topology import Topology, topology
from trusses.analysis.words import mechanism as words

#: Inches of deformation per inch of motion below which a motion is free, and below which it is exactly so. Between
#: the two a load would move the joint by far more than small displacements allow, and the forces would mean nothing.
FREE = 1e-5
_EXACTLY = 1e-9
#: A motion this many times longer one way than the other goes that way.
_CLEARLY = 1.2

Because = tuple[str, dict[str, Any]]


class Mechanism(ValueError):
    """A truss that can move freely, or almost. The text is one sentence, made when somebody asks for it.

    `joint` is the joint that moves most, `direction` is "sideways", "up and down" or "at a slant"; `code` and `values`
    say what lets it (`words.mechanism`): a member that isn't there, a hinge, a bearing that doesn't hold that way.
    """

    def __init__(self, joint: str, direction: str, because: Because, almost: bool) -> None:
        # all of these are arguments, so that it can be sent from one process to another
        super().__init__(joint, direction, because, almost)
        self.joint, self.direction, self.almost = joint, direction, almost
        self.code, self.values = because

    @property
    def coded(self) -> dict[str, Any]:
        """What `words.mechanism.moves` makes the sentence of, plain JSON values."""
        keys = ("joint", "direction", "almost", "code", "values")
        return {key: getattr(self, key) for key in keys}

    def __str__(self) -> str:
        return words.moves(**self.coded)


def free_motion(truss: Truss) -> Mechanism | None:
    """The motion that a truss can make without deforming, if any; of several, the one that moves some joint most."""
    shape = topology(truss)
    place = geometry([truss], shape)
    sizes, motions = _motions(shape, place)
    share = (motions[:, : 2 * shape.joints] ** 2).sum(axis=0)
    if not share.any():
        return None
    motion = motions[:, _first_largest(share)] @ motions
    moved = motion[: 2 * shape.joints].reshape(-1, 2)
    joint = _first_largest(np.hypot(moved[:, 0], moved[:, 1]))
    way = _way(*moved[joint])
    because = _because(truss, place, joint, moved, way, len(motions))
    return Mechanism(truss.joints[joint].name, way, because, almost=bool(sizes.max() > _EXACTLY))


def _first_largest(sizes: np.ndarray) -> int:
    """The first of those that are as large as any, so that the last digit doesn't choose between equals."""
    return int(np.flatnonzero(sizes >= sizes.max() * (1 - 1e-6))[0])


def _motions(shape: Topology, place: Geometry) -> tuple[np.ndarray, np.ndarray]:
    """The free motions, orthonormal (n, 2 j + g), and inches of deformation per inch of each (n,)."""
    length = float(place.length.mean())
    inches = compatibility(shape, place)
    inches[len(shape.ends) :] *= length
    inches[:, 2 * shape.joints :] /= length
    inches = inches[:, shape.free]
    unknowns, motions = inches.shape[1], np.zeros((0, 2 * shape.joints + shape.rotations))
    if _surely_held(inches):
        return np.zeros(0), motions
    _, sizes, rows = np.linalg.svd(inches)
    sizes = np.concatenate([sizes, np.zeros(unknowns - len(sizes))])
    motions = np.zeros((int((sizes < FREE).sum()), motions.shape[1]))
    motions[:, shape.free] = rows[sizes < FREE]
    return sizes[sizes < FREE], motions


def _surely_held(inches: np.ndarray) -> bool:
    """Whether a bound that costs little already excludes a free motion: the smallest size is at least 1 / |R⁻¹|."""
    if inches.shape[1] > len(inches):
        return False
    upper = np.linalg.qr(inches, mode="r")
    # a diagonal entry is no smaller than the smallest size
    if np.abs(np.diagonal(upper)).min(initial=1.0) < FREE:
        return False
    return bool(np.linalg.norm(np.linalg.inv(upper)) * FREE <= 1.0)


def _way(x: float, y: float) -> str:
    if abs(x) > _CLEARLY * abs(y):
        return "sideways"
    if abs(y) > _CLEARLY * abs(x):
        return "up and down"
    return "at a slant"


def _because(truss: Truss, place: Geometry, joint: int, moved: np.ndarray, way: str, count: int) -> Because:
    if not _reaches_bearing(truss, joint):
        return "apart", {}
    at = place.xy[..., 0].T
    whole = _whole(at, moved)
    if whole is not None:
        return whole
    hinge = _hinge(truss, place, joint, count)
    if hinge is not None:
        return "hinge", {"joint": hinge}
    other = _tie(at, moved, joint)
    if other is not None:
        return "no-tie", {"joint": truss.joints[other].name}
    return "too-few", {"direction": way}


def _whole(at: np.ndarray, moved: np.ndarray) -> Because | None:
    """What to say where the truss moves as one rigid piece: moved = shift + turn × distance from the middle."""
    arm = at - at.mean(axis=0)
    turn = float((arm[:, 0] * moved[:, 1] - arm[:, 1] * moved[:, 0]).sum() / (arm**2).sum())
    shift = moved.mean(axis=0)
    rigid = shift + turn * np.stack([-arm[:, 1], arm[:, 0]], axis=1)
    if np.abs(moved - rigid).max() > FREE * np.abs(moved).max():
        return None
    if abs(turn) * np.abs(arm).max() > FREE * np.abs(moved).max():
        return "whole-turns", {}
    return "whole-slides", {"direction": _way(*shift)}


def _tie(at: np.ndarray, moved: np.ndarray, joint: int) -> int | None:
    """The joint to which a member from the one that moves would hold it best, for its length; a member that is there
    already doesn't stretch."""
    span, change = at - at[joint], moved - moved[joint]
    square = np.maximum((span**2).sum(axis=1), 1e-12)
    stretch = np.abs((span * change).sum(axis=1)) / square
    other = int(stretch.argmax())
    return other if stretch[other] * np.sqrt(square[other]) > 0.01 * np.hypot(*moved[joint]) else None


def _reaches_bearing(truss: Truss, joint: int) -> bool:
    bearings = {bearing.joint for bearing in truss.bearings}
    reached, ahead = set(), [truss.joints[joint].name]
    while ahead:
        name = ahead.pop()
        if name not in reached:
            reached.add(name)
            ahead += [end for member in truss.members_at[name] for end in member.joints]
    return bool(reached & bearings)


def _hinge(truss: Truss, place: Geometry, joint: int, count: int) -> str | None:
    """The hinge at or beside a joint that only chords reach, without which the truss could move in fewer ways."""
    members = truss.members_at[truss.joints[joint].name]
    if not all(member.is_chord for member in members):
        return None
    near = dict.fromkeys(name for member in members for name in member.joints if name in truss.hinges)
    for name in near:
        stiffer = dataclasses.replace(truss, hinges=truss.hinges - {name})
        if len(_motions(topology(stiffer), place)[1]) < count:
            return name
    return None
