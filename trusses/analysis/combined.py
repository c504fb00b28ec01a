"""The combinations of a stack of trusses of one shape, and the places along their members where the checks look.

Arrays are r combinations, p places, m members, t trusses: members and trusses come last, as in `member_loads`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trusses.analysis.solver.solution import Solution
from trusses.analysis.stations import LEAST_FORCE, NOISE

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Forces:
    """Internal forces at places along each member, (r, p, m, t): inches from its first joint, lb, lb, in-lb.

    The places are the starts of the k segments, their ends, and where the moment within each peaks: p = 3 k.
    """

    at: Array
    axial: Array
    shear: Array
    moment: Array


def forces(combined: Solution) -> Forces:
    """The forces of a stack under each of its rows."""
    its = combined.along
    n, v, m, p, q = its.axial, its.shear, its.moment, its.axial_load, its.transverse_load
    r, k, *rest = v.shape
    with np.errstate(divide="ignore", invalid="ignore"):
        to_peak = v / q
        # where q is zero there is no peak, and this is neither true
        to_peak[~((to_peak > 0) & (to_peak < its.length))] = 0.0
    at, axial, shear, moment = (np.empty((r, 3 * k, *rest)) for _ in range(4))
    at[:, :k], axial[:, :k], shear[:, :k], moment[:, :k] = its.start, n, v, m
    half = q / 2
    for third, s in ((1, its.length), (2, to_peak)):
        where = slice(third * k, (third + 1) * k)
        np.add(its.start, s, out=at[:, where])
        np.subtract(n, p * s, out=axial[:, where])
        np.subtract(v, q * s, out=shear[:, where])
        np.add(m, (v - half * s) * s, out=moment[:, where])
    return Forces(at, axial, shear, moment)


def sinking(solution: Solution, members: npt.NDArray[np.int64], stations: Array) -> Array:
    """How far down points of some members move in each row, (r, q, c, t) inches; `stations` (q, c, t) from their first
    joints. The same integrals as `Response.deflection`, for a stack and one direction."""
    its, place = solution.along, solution.place
    n, v, m, p, q = (
        values.take(members, axis=2)
        for values in (its.axial, its.shear, its.moment, its.axial_load, its.transverse_load)
    )
    start, length = its.start.take(members, axis=1), its.length.take(members, axis=1)
    ends = 2 * solution.shape.ends[members].T
    (left, low), (right, high) = (
        [solution.displacements.take(joints + way, axis=1) for way in (0, 1)] for joints in ends
    )
    along, up, stiff = (values.take(members, axis=1) for values in (place.along, place.up, place.stiff))
    whole = place.length.take(members, axis=0)
    stretch, sag, far, turn = np.zeros(1), np.zeros(1), np.zeros(1), np.zeros_like(n[:, 0])
    for k in range(n.shape[1]):
        # what a segment adds up to a place in it, or to its end where the place is beyond
        x, h = np.clip(stations - start[k], 0.0, length[k]), length[k]
        bent, sheared, load = m[:, k], v[:, k], q[:, k]
        sag = sag + (turn[:, None] + _bends(x, bent[:, None], sheared[:, None], load[:, None])) * x
        stretch = stretch + (n[:, k, None] - p[:, k, None] / 2 * x) * x
        far = far + (turn + _bends(h, bent, sheared, load)) * h
        turn = turn + (bent + (sheared / 2 - load / 6 * h) * h) * h
    slope = ((right - left) * up[0] + (high - low) * up[1] - far / stiff[1]) / whole
    rise = slope[:, None] * stations + sag / stiff[1]
    return -(low[:, None] + rise * up[1] + stretch / stiff[0] * along[1])


def _bends(x: Array, moment: Array, shear: Array, load: Array) -> Array:
    """How far a segment bends over x of it, times EI / x."""
    return (moment / 2 + (shear / 6 - load / 24 * x) * x) * x


def noise(values: Array) -> Array:
    """The size up to which a truss's forces of one kind are what is left of larger ones that cancel, (t,)."""
    reach = (0, 1, 2)
    largest = np.maximum(values.max(axis=reach, initial=0.0), -values.min(axis=reach, initial=0.0))
    return np.maximum(NOISE * largest, LEAST_FORCE)
