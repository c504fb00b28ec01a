"""The combinations of a stack of trusses of one shape, and the places along their members where the checks look.

Arrays are r combinations, p places, m members, t trusses: members and trusses come last, as in `member_loads`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trusses.analysis.frame.member_loads import superposed
from trusses.analysis.frame.solution import Along, Solution
from trusses.analysis.frame.stations import LEAST_FORCE, NOISE

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Forces:
    """Internal forces at places along some `members` (m,), (r, p, m, t): inches from the first joint, lb, lb, in-lb.

    The places are the starts of the k segments, their ends, and where the moment within each peaks, p = 3 k; or one
    place where the members carry `axial_only`. `segments` are what they were taken from, None in that case.
    """

    members: npt.NDArray[np.int64]
    axial_only: bool
    at: Array
    axial: Array
    shear: Array
    moment: Array
    segments: Along | None = None


def forces(solution: Solution, factors: Array) -> tuple[Forces, ...]:
    """The forces of a stack under combinations of its cases, `factors` (combinations, r), in groups of members: those
    that carry axial force alone, the same all along them, at one place each, then the others."""
    straight = solution.loads.bare & solution.shape.pinned.all(axis=1)
    found = []
    if straight.any():
        members = np.flatnonzero(straight)
        axial = superposed(factors, solution.ends[:, :1].take(members, axis=2))
        none = np.zeros_like(axial)
        found.append(Forces(members, True, none, axial, none, none))
    if not straight.all():
        found.append(_at_places(np.flatnonzero(~straight), solution, factors))
    return tuple(found)


def _at_places(members: npt.NDArray[np.int64], solution: Solution, factors: Array) -> Forces:
    segments = solution.along(members, factors)
    start, length, n, v, m, p, q = segments
    r, k, *rest = v.shape
    with np.errstate(divide="ignore", invalid="ignore"):
        to_peak = v / q
        # where q is zero there is no peak, and this is neither true
        to_peak[~((to_peak > 0) & (to_peak < length))] = 0.0
    at, axial, shear, moment = (np.empty((r, 3 * k, *rest)) for _ in range(4))
    at[:, :k], axial[:, :k], shear[:, :k], moment[:, :k] = start, n, v, m
    half = q / 2
    for third, s in ((1, length), (2, to_peak)):
        where = slice(third * k, (third + 1) * k)
        np.add(start, s, out=at[:, where])
        np.subtract(n, p * s, out=axial[:, where])
        np.subtract(v, q * s, out=shear[:, where])
        np.add(m, (v - half * s) * s, out=moment[:, where])
    return Forces(members, False, at, axial, shear, moment, segments)


def sinking(solution: Solution, members: npt.NDArray[np.int64]) -> tuple[Array, Array, Array]:
    """How far down the points of some members move in each row, inches, as quartics in each of their k segments: where
    these start and how long they are, (k, c, t) inches, and the coefficients (r, 5, k, c, t) of 1, x, x², x³, x⁴, x
    inches from the start. The same integrals as `Response.deflection`, for a stack and one direction."""
    starts, lengths, n, v, m, p, q = solution.along(members)
    place = solution.place
    low, high = (solution.displacements.take(v, axis=1) for v in 2 * solution.shape.ends[members].T + 1)
    along, up, stiff = (values.take(members, axis=1) for values in (place.along, place.up, place.stiff))
    # how it goes up by stretching and by bending, and what the segments before it have added by then
    by_stretch, by_bend = along[1] / stiff[0], up[1] / stiff[1]
    rise = np.zeros((len(n), 5, *n.shape[1:]))
    rise[:, 1], rise[:, 2] = n * by_stretch, m / 2 * by_bend - p / 2 * by_stretch
    rise[:, 3], rise[:, 4] = v / 6 * by_bend, q / -24 * by_bend
    for k in range(1, n.shape[1]):
        h, before = lengths[k - 1], rise[:, :, k - 1]
        rise[:, 0, k] = value_of(before, h)
        turn = (m[:, k - 1] + (v[:, k - 1] / 2 - q[:, k - 1] / 6 * h) * h) * h * by_bend
        rise[:, 1, k] += before[:, 1] - n[:, k - 1] * by_stretch + turn
    # the far end moves as its joint does: what is missing is the turn of the first end
    slope = (high - low - value_of(rise[:, :, -1], lengths[-1])) / place.length.take(members, axis=0)
    rise[:, 0] += low[:, None] + slope[:, None] * starts
    rise[:, 1] += slope[:, None]
    return starts, lengths, np.negative(rise, out=rise)


def value_of(quartics: Array, x: Array) -> Array:
    """Quartics, coefficients (r, 5, …), at x."""
    c = quartics
    return ((((c[:, 4] * x + c[:, 3]) * x + c[:, 2]) * x) + c[:, 1]) * x + c[:, 0]


def noise(groups: Iterable[Array]) -> Array:
    """The size up to which a truss's forces of one kind are what is left of larger ones that cancel, (t,)."""
    largest = [np.maximum(values.max(axis=(0, 1, 2)), -values.min(axis=(0, 1, 2))) for values in groups]
    return np.maximum(NOISE * np.max(largest, axis=0), LEAST_FORCE)
