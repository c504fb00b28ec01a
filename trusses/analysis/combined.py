"""The combinations of a stack of trusses of one shape, and the places along their members where the checks look.

Arrays are t trusses, r combinations, p places, m members: members come last, as in `member_loads`.
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
    """Internal forces at places along each member, (t, r, p, m): inches from its first joint, lb, lb, in-lb.

    The places are the starts of the k segments, their ends, and where the moment within each peaks: p = 3 k.
    """

    at: Array
    axial: Array
    shear: Array
    moment: Array


def forces(combined: Solution) -> Forces:
    """The forces of a stack under each of its rows."""
    along = combined.along
    n, v, m, p, q = along.axial, along.shear, along.moment, along.axial_load, along.transverse_load
    start, length = along.start[:, None], along.length[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        to_peak = v / q
    # where q is zero there is no peak, and this is neither true
    to_peak = np.where((to_peak > 0) & (to_peak < length), to_peak, 0.0)
    half = q / 2
    at, axial, shear, moment = (np.empty((*v.shape[:2], 3 * v.shape[2], v.shape[3])) for _ in range(4))
    for third, s in enumerate((None, length, to_peak)):
        where = slice(third * v.shape[2], (third + 1) * v.shape[2])
        if s is None:
            at[:, :, where], axial[:, :, where], shear[:, :, where], moment[:, :, where] = start, n, v, m
            continue
        at[:, :, where] = start + s
        axial[:, :, where] = n - p * s
        shear[:, :, where] = v - q * s
        moment[:, :, where] = m + (v - half * s) * s
    return Forces(at, axial, shear, moment)


def sinking(solution: Solution, members: npt.NDArray[np.int64], stations: Array) -> Array:
    """How far down points of some members move in each row, (t, r, q, c) inches; `stations` (t, q, c) from their first
    joints. The same integrals as `Response.deflection`, for a stack and one direction."""
    its, place = solution.along, solution.place
    n, v, m, p, q = (
        values[..., members] for values in (its.axial, its.shear, its.moment, its.axial_load, its.transverse_load)
    )
    start, length = its.start[:, None, :, members], its.length[:, None, :, members]
    ends = solution.shape.ends[members]
    first, second = solution.displacements[:, :, ends[:, 0]], solution.displacements[:, :, ends[:, 1]]
    along, up = (values.transpose(0, 2, 1)[:, None, members] for values in (place.along, place.up))
    whole, ea, ei = (v[:, None, members] for v in (place.length, place.stiff[:, 0], place.stiff[:, 1]))

    def bends(x: Array, k: int) -> Array:
        return (m[:, :, k, None] / 2 + (v[:, :, k, None] / 6 - q[:, :, k, None] / 24 * x) * x) * x

    stretch, sag, far = np.zeros(1), np.zeros(1), np.zeros(1)
    turn = np.zeros_like(n[:, :, 0])
    for k in range(n.shape[2]):
        # what a segment adds up to a place in it, or to its end where the place is beyond
        x, h = np.clip(stations - start[:, 0, k, None], 0.0, length[:, 0, k, None])[:, None], length[:, :, k]
        sag = sag + (turn[:, :, None] + bends(x, k)) * x
        stretch = stretch + (n[:, :, k, None] - p[:, :, k, None] / 2 * x) * x
        far = far + (turn + bends(h[:, :, None], k)[:, :, 0]) * h
        turn = turn + (m[:, :, k] + (v[:, :, k] / 2 - q[:, :, k] / 6 * h) * h) * h
    slope = (((second - first) * up).sum(axis=3) - far / ei) / whole
    rise = slope[:, :, None] * stations[:, None] + sag / ei[:, :, None]
    lengthening = stretch / ea[:, :, None]
    return -(first[..., 1][:, :, None] + rise * up[..., 1][:, :, None] + lengthening * along[..., 1][:, :, None])


def noise(values: Array) -> Array:
    """The size up to which a truss's forces of one kind are what is left of larger ones that cancel, (t, 1, 1, 1)."""
    largest = np.maximum(values.max(axis=(1, 2, 3), initial=0.0), -values.min(axis=(1, 2, 3), initial=0.0))
    return np.maximum(NOISE * largest, LEAST_FORCE)[:, None, None, None]
