"""Where the members of a stack of trusses lie, and how stiff they are: from records to arrays, once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain
from operator import attrgetter

import numpy as np

from trusses.analysis.lumber import lookup, section
from trusses.analysis.model import Truss
from trusses.analysis.solver.topology import Topology

#: Places along a member closer than this share of its length are one place; also the slope of a vertical member.
TOUCH = 1e-9
_XY, _LUMBER = attrgetter("x", "y"), attrgetter("lumber", "flat")


@dataclass(frozen=True)
class Geometry:
    """t trusses of one shape. `x`, `y` (t, j) of the joints, inches; the rest (t, m), a member each.

    `first` and `second` are the x of its joints; `cos`, `sin` the direction from the first to the second. `hand` is +1
    where the direction toward the upper face (to the left on a vertical member) is that one turned counterclockwise,
    and -1 where it is turned clockwise. `ea` lb, `ei` lb-in², all plies together.
    """

    x: np.ndarray
    y: np.ndarray
    first: np.ndarray
    second: np.ndarray
    length: np.ndarray
    cos: np.ndarray
    sin: np.ndarray
    hand: np.ndarray
    ea: np.ndarray
    ei: np.ndarray

    @property
    def along(self) -> np.ndarray:
        """Unit vectors from the first joint to the second, (t, m, 2)."""
        return np.stack([self.cos, self.sin], axis=-1)

    @property
    def up(self) -> np.ndarray:
        """Unit vectors toward the upper face, (t, m, 2)."""
        return np.stack([-self.hand * self.sin, self.hand * self.cos], axis=-1)

    def only(self, t: int) -> Geometry:
        """One truss's, as a stack of one."""
        return Geometry(*(getattr(self, name)[t : t + 1] for name in self.__dataclass_fields__))


def geometry(trusses: Sequence[Truss], shape: Topology) -> Geometry:
    """The geometry of trusses of one shape."""
    joints = chain.from_iterable([truss.joints for truss in trusses])
    xy = np.fromiter(chain.from_iterable(map(_XY, joints)), float).reshape(len(trusses), shape.joints, 2)
    x, y = xy[:, :, 0], xy[:, :, 1]
    left, right = x[:, shape.ends[:, 0]], x[:, shape.ends[:, 1]]
    dx, dy = right - left, y[:, shape.ends[:, 1]] - y[:, shape.ends[:, 0]]
    length = np.hypot(dx, dy)
    cos, sin = dx / length, dy / length
    hand = np.where(np.abs(cos) > TOUCH, np.sign(cos), np.sign(sin))
    ea, ei = _rigidities(trusses)
    return Geometry(x, y, left, right, length, cos, sin, hand, ea, ei)


def _rigidities(trusses: Sequence[Truss]) -> tuple[np.ndarray, np.ndarray]:
    """EA and EI of every member, (t, m)."""
    rows = [_of_pieces(tuple(map(_LUMBER, truss.members)), truss.plies) for truss in trusses]
    return np.array([row[0] for row in rows]), np.array([row[1] for row in rows])


@lru_cache(maxsize=4096)
def _of_pieces(pieces: tuple[tuple[str, bool], ...], plies: int) -> tuple[np.ndarray, np.ndarray]:
    found = [_of_piece(lumber, flat, plies) for lumber, flat in pieces]
    return np.array([ea for ea, _ in found]), np.array([ei for _, ei in found])


@lru_cache(maxsize=4096)
def _of_piece(key: str, flat: bool, plies: int) -> tuple[float, float]:
    lumber = lookup(key)
    shape = section(lumber, flat, plies)
    return lumber.e * shape.area, lumber.e * shape.inertia
