"""Where along the members the checks look, and what acts there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trusses.analysis.frame.response import Response

Array = npt.NDArray[np.float64]

#: A force smaller than this share of the largest of its kind, or than so many pounds, is arithmetic, not force.
NOISE = 1e-8
LEAST_FORCE = 1e-6


@dataclass(frozen=True)
class Stations:
    """Internal forces at places along each member, (r, m, p) each: inches from the first joint, lb, lb, in-lb.

    The places are the start and end of every segment and where the moment within it peaks: p = 3 k.
    """

    at: Array
    axial: Array
    shear: Array
    moment: Array


def stations(response: Response) -> Stations:
    """The stations of every row of a response. Between them moment is monotonic and axial force runs straight."""
    length = np.broadcast_to(response.segment_length, response.moment.shape)
    load = response.transverse_load
    with np.errstate(divide="ignore", invalid="ignore"):
        to_peak = np.where(load != 0, response.shear / load, 0.0)
    to_peak = np.where((to_peak > 0) & (to_peak < length), to_peak, 0.0)
    s = np.concatenate([np.zeros_like(length), length, to_peak], axis=-1)

    def thrice(values: Array) -> Array:
        return np.concatenate([values, values, values], axis=-1)

    shear, load = thrice(response.shear), thrice(load)
    return Stations(
        at=thrice(np.broadcast_to(response.segment_start, response.moment.shape)) + s,
        axial=thrice(response.axial) - thrice(response.axial_load) * s,
        shear=shear - load * s,
        moment=thrice(response.moment) + shear * s - load * s**2 / 2,
    )


def noise(forces: Array) -> float:
    """The size up to which forces of one kind are what is left of larger ones that cancel."""
    return max(NOISE * float(np.abs(forces).max(initial=0.0)), LEAST_FORCE)
