"""Where the members of a stack of trusses lie, and how stiff they are: from records to arrays, once."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from trusses.analysis.format.model import TOUCH, Member, Service, Truss
from trusses.analysis.frame.topology import Topology
from trusses.analysis.lumber import lookup, section, service_factors


class Geometry(NamedTuple):
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
        return Geometry(*(values[..., t : t + 1] for values in self))


def geometry(trusses: Sequence[Truss], shape: Topology) -> Geometry:
    """The geometry of trusses of one shape."""
    return located(trusses, [rigidities(truss.plies, truss.members, truss.service) for truss in trusses], shape)


def located(trusses: Sequence[Truss], stiff: Sequence[np.ndarray], shape: Topology) -> Geometry:
    """The geometry of trusses whose `rigidities` are known already."""
    t, m = len(trusses), len(shape.ends)
    xy = np.concatenate([truss.xy for truss in trusses]).reshape(t, 2, shape.joints).transpose(1, 2, 0).copy()
    first, second = xy.take(shape.ends.T, axis=1).transpose(1, 0, 2, 3)
    along = second - first
    length = np.hypot(along[0], along[1])
    along /= length
    right, upward = along
    hand = np.copysign(1.0, right + TOUCH * upward)
    up = along[::-1] * hand
    np.negative(up[0], out=up[0])
    each = np.empty((2, m, t))
    # mostly the trusses of a stack are of the same pieces, and share one array
    each[:] = stiff[0][..., None] if len(set(map(id, stiff))) == 1 else np.array(stiff).transpose(1, 2, 0)
    return Geometry(xy, first[0], second[0], length, along, up, hand, each)


def rigidities(plies: int, members: Sequence[Member], service: Service) -> np.ndarray:
    """EA and EI of members of so many plies, (2, m), with the E' of their service."""
    return _of_pieces((plies, service, *[(member.lumber, member.flat) for member in members]))


@lru_cache(maxsize=1024)
def _of_pieces(pieces: tuple[Any, ...]) -> np.ndarray:
    plies, service, *members = pieces
    return np.array([_of_piece(lumber, flat, plies, service) for lumber, flat in members]).T


@lru_cache(maxsize=4096)
def _of_piece(key: str, flat: bool, plies: int, service: Service) -> tuple[float, float]:
    lumber = lookup(key)
    shape = section(lumber, flat, plies)
    e = lumber.e * service_factors("e", service.wet, service.temperature_f, service.incised).product
    return e * shape.area, e * shape.inertia
