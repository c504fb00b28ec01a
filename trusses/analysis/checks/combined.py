"""The combinations of a stack of trusses of one shape, and the places along their members where the checks look.

Arrays are r combinations, p places, m members, t trusses: members and trusses come last, as in `member_loads`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt

from trusses.analysis.format.model import CHORDS, ROLES
from trusses.analysis.frame.member_loads import superposed
from trusses.analysis.frame.results import LEAST_FORCE, NOISE
from trusses.analysis.frame.solution import Along, Solution
from trusses.analysis.frame.topology import Topology

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Forces:
    """Internal forces at places along some `members` (m,): `forces` (3, r, p, m, t) axial, shear and moment, lb and
    in-lb.

    The places are the starts of the k segments, their ends, and where the moment within each peaks, `to_peak` (r, k, m,
    t) inches from its start, p = 3 k; or one place where the members carry axial force alone, which is then all of
    `forces`. `segments` are what they were taken from; both are None in that case.
    """

    members: npt.NDArray[np.int64]
    forces: Array
    segments: Along | None = None
    to_peak: Array | None = None

    @property
    def axial_only(self) -> bool:
        return len(self.forces) == 1

    @cached_property
    def at(self) -> Array:
        """How far from the first joint each place is, (r, p, m, t) inches."""
        if self.segments is None or self.to_peak is None:
            return np.zeros_like(self.forces[0])
        start, h, _ = self.segments
        return np.concatenate([np.broadcast_to(start + x, self.to_peak.shape) for x in (0.0, h, self.to_peak)], axis=1)


def forces(solution: Solution, factors: Array, members: npt.NDArray[np.int64], along: Along) -> tuple[Forces, ...]:
    """The forces of a stack under combinations of its cases, `factors` (combinations, r), in groups of members: those
    that carry axial force alone, the same all along them, at one place each, then the `members` that the cases' forces
    `along` were found for."""
    groups = []
    straight = np.ones(len(solution.shape.ends), dtype=bool)
    straight[members] = False
    if straight.any():
        others = np.flatnonzero(straight)
        axial = superposed(factors, solution.ends[:, :1].take(others, axis=2))
        groups.append(Forces(others, axial[None]))
    if len(members):
        groups.append(_at_places(members, along.combine(factors)))
    return tuple(groups)


def may_bend(solution: Solution) -> npt.NDArray[np.int64]:
    """The members of a stack that may be bent, and all of its chords, (c,)."""
    return np.flatnonzero(chords(solution.shape) | ~(solution.loads.bare & solution.shape.pinned.all(axis=1)))


@lru_cache(maxsize=256)
def chords(shape: Topology) -> npt.NDArray[np.bool_]:
    """Which members of a shape are chords, (m,)."""
    return np.array([ROLES[role] in CHORDS for role in shape.roles.tolist()], dtype=bool)


def _at_places(members: npt.NDArray[np.int64], along: Along) -> Forces:
    _, h, rows = along
    r, _, k, *rest = rows.shape
    n, v, m, p, q = rows.swapaxes(0, 1)
    with np.errstate(divide="ignore", invalid="ignore"):
        to_peak = v / q
        # where q is zero there is no peak, and this is neither true
        to_peak[~((to_peak > 0) & (to_peak < h))] = 0.0
    found = np.empty((3, r, 3 * k, *rest))
    axial, shear, moment = found
    axial[:, :k], shear[:, :k], moment[:, :k] = n, v, m
    half = q / 2
    for third, x in ((1, h), (2, to_peak)):
        places = slice(third * k, (third + 1) * k)
        np.subtract(n, p * x, out=axial[:, places])
        np.subtract(v, q * x, out=shear[:, places])
        np.add(m, (v - half * x) * x, out=moment[:, places])
    return Forces(members, found, along, to_peak)


def sinking(solution: Solution, members: npt.NDArray[np.int64], along: Along) -> Array:
    """How far down the points of some members move in each row, inches, as quartics in each of their k segments, with
    the forces `along` them: coefficients (r, 5, k, c, t) of 1, x, x², x³, x⁴, x inches from the segment's start. The
    same integrals as `Results.deflection`, for a stack and one direction."""
    starts, lengths, rows = along
    place = solution.place
    low, high = (solution.displacements.take(v, axis=1) for v in 2 * solution.shape.ends[members].T + 1)
    right_up, face_up, stiff = (values.take(members, axis=1) for values in (place.along, place.up, place.stiff))
    # how it goes up by stretching and by bending, and what the segments before it have added by then
    by_stretch, by_bend = right_up[1] / stiff[0], face_up[1] / stiff[1]
    n, v, m, p, q = rows.swapaxes(0, 1)
    rise = np.empty_like(rows)
    rise[:, 0] = 0.0
    np.multiply(n, by_stretch, out=rise[:, 1])
    np.subtract(m * (by_bend / 2), p * (by_stretch / 2), out=rise[:, 2])
    np.multiply(v, by_bend / 6, out=rise[:, 3])
    np.multiply(q, by_bend / -24, out=rise[:, 4])
    for k in range(1, n.shape[1]):
        h, before = lengths[k - 1], rise[:, :, k - 1]
        rise[:, 0, k] = value_of(before, h)
        turn = (m[:, k - 1] + (v[:, k - 1] / 2 - q[:, k - 1] / 6 * h) * h) * h * by_bend
        rise[:, 1, k] += before[:, 1] - n[:, k - 1] * by_stretch + turn
    # the far end moves as its joint does: what is missing is the turn of the first end
    slope = (high - low - value_of(rise[:, :, -1], lengths[-1])) / place.length.take(members, axis=0)
    rise[:, 0] += low[:, None]
    if n.shape[1] > 1:
        rise[:, 0] += slope[:, None] * starts
    rise[:, 1] += slope[:, None]
    return np.negative(rise, out=rise)


def value_of(quartics: Array, x: Array) -> Array:
    """Quartics, coefficients (r, 5, …), at x."""
    c = quartics
    return ((((c[:, 4] * x + c[:, 3]) * x + c[:, 2]) * x) + c[:, 1]) * x + c[:, 0]


def noise(groups: Sequence[Array]) -> Array:
    """The size up to which a truss's forces of one kind are what is left of larger ones that cancel, (f, t): of groups
    of forces (f, r, p, m, t), the last with all f kinds and others with the first of them."""
    largest = []
    for forces in groups:
        each = forces.reshape(len(forces), -1, forces.shape[-1])
        largest.append(np.maximum(np.maximum.reduce(each, axis=1), -np.minimum.reduce(each, axis=1)))
    *others, least = largest
    for size in others:
        np.maximum(least[: len(size)], size, out=least[: len(size)])
    return np.maximum(NOISE * least, LEAST_FORCE)
