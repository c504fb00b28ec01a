"""Where the members of a stack of trusses lie, and how stiff they are: from records to arrays, once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain
from operator import attrgetter
from typing import Any

import numpy as np

from trusses.analysis.lumber import lookup, section
from trusses.analysis.model import Truss
from trusses.analysis.solver.topology import Topology

#: Places along a member closer than this share of its length are one place; also the slope of a vertical member.
TOUCH = 1e-9
_XY, _LUMBER = attrgetter("x", "y"), attrgetter("lumber", "flat")


@dataclass(frozen=True)
class Geometry:
    """t trusses of one shape, which come last in every array. `xy` (2, j, t) of the joints, inches; the rest is of the
    members, (…, m, t).

    `first` and `second` are the x of its joints. `along` and `up` (2, m, t) are the parts to the right and upward of
    the unit vectors from its first joint to its second and toward its upper face, which is the left one of a vertical
    member; `hand` is +1 where `up` is `along` turned counterclockwise, and -1 where it is turned clockwise. `stiff`
    (2, m, t) are EA, lb, and EI, lb-in², all plies together.
    """

    xy: np.ndarray
    first: np.ndarray
    second: np.ndarray
    length: np.ndarray
    along: np.ndarray
    up: np.ndarray
    hand: np.ndarray
    stiff: np.ndarray

    def only(self, t: int) -> Geometry:
        """One truss's, as a stack of one."""
        return Geometry(*(getattr(self, name)[..., t : t + 1] for name in self.__dataclass_fields__))


def geometry(trusses: Sequence[Truss], shape: Topology, stiff: Sequence[np.ndarray] | None = None) -> Geometry:
    """The geometry of trusses of one shape; `stiff` their `rigidities`, where they are known already."""
    known = [rigidities(truss) for truss in trusses] if stiff is None else stiff
    joints = chain.from_iterable([truss.joints for truss in trusses])
    numbers = np.fromiter(chain.from_iterable(map(_XY, joints)), float)
    xy = numbers.reshape(len(trusses), shape.joints, 2).transpose(2, 1, 0).copy()
    first, second = xy.take(shape.ends[:, 0], axis=1), xy.take(shape.ends[:, 1], axis=1)
    along = second - first
    length = np.hypot(along[0], along[1])
    along /= length
    right, upward = along
    hand = np.copysign(1.0, np.where(np.abs(right) > TOUCH, right, upward))
    up = np.empty_like(along)
    np.multiply(upward, -hand, out=up[0])
    np.multiply(right, hand, out=up[1])
    return Geometry(xy, first[0], second[0], length, along, up, hand, np.array(known).transpose(1, 2, 0).copy())


def rigidities(truss: Truss) -> np.ndarray:
    """EA and EI of every member, (2, m)."""
    return _of_pieces((truss.plies, *map(_LUMBER, truss.members)))


@lru_cache(maxsize=1024)
def _of_pieces(pieces: tuple[Any, ...]) -> np.ndarray:
    plies, *members = pieces
    return np.array([_of_piece(lumber, flat, plies) for lumber, flat in members]).T


@lru_cache(maxsize=4096)
def _of_piece(key: str, flat: bool, plies: int) -> tuple[float, float]:
    lumber = lookup(key)
    shape = section(lumber, flat, plies)
    return lumber.e * shape.area, lumber.e * shape.inertia
