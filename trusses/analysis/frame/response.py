"""What a truss does under its cases: displacements, reactions and the forces everywhere along its members."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np


@dataclass(frozen=True)
class Response:
    """Results of r cases or combinations on one truss of j joints, m members, b bearings. Pounds and inches.

    `displacements` (r, j, 2) and `reactions` (r, b, 2) are right and up positive.

    Each member is cut into k segments at every place where a load of any case begins, ends or stands, padded with
    segments of no length at its far end. `segment_start` and `segment_length` (m, k) are distances from the member's
    first joint. Within a segment, x from its start,

        N(x) = axial - axial_load x                              tension positive
        V(x) = shear - transverse_load x                         dM/dx
        M(x) = moment + shear x - transverse_load x² / 2         positive with the lower face in tension

    with each of the five (r, m, k); a point load at a segment's start is already in them.

    `end_axial`, `end_shear`, `end_moment` (r, m, 2) are at the first and second joint, which take the loads that stand
    on the very end: tension positive; the force on the member's end toward its upper face; sagging. The upper face of
    a vertical member is its left one.

    `ends` (m, 2) are joint indices, `length`, `ea` (lb), `ei` (lb-in²) are (m,), `along` and `up` (m, 2) are unit
    vectors from the first joint to the second and toward the upper face.
    """

    displacements: np.ndarray
    reactions: np.ndarray
    axial: np.ndarray
    shear: np.ndarray
    moment: np.ndarray
    axial_load: np.ndarray
    transverse_load: np.ndarray
    end_axial: np.ndarray
    end_shear: np.ndarray
    end_moment: np.ndarray
    segment_start: np.ndarray
    segment_length: np.ndarray
    ends: np.ndarray
    length: np.ndarray
    along: np.ndarray
    up: np.ndarray
    ea: np.ndarray
    ei: np.ndarray

    def combine(self, factors: np.ndarray) -> Response:
        """The superposition of these rows: `factors` (combinations, r). See `combinations.factors_of`."""
        factors = np.asarray(factors, dtype=float)

        def summed(name: str) -> np.ndarray:
            values = getattr(self, name)
            return (factors @ values.reshape(len(values), math.prod(values.shape[1:]))).reshape(
                len(factors), *values.shape[1:]
            )

        return dataclasses.replace(self, **{name: summed(name) for name in _SUMMED})

    @cached_property
    def peak_moment(self) -> np.ndarray:
        """The moment of largest magnitude anywhere along each member, signed, (r, m)."""
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            x = self.shear / self.transverse_load
            top = self.moment + self.shear * x / 2
        inside = (self.transverse_load != 0) & (x > 0) & (x < self.segment_length)
        moments = np.concatenate([self.moment, np.where(inside, top, 0.0), self.end_moment], axis=2)
        largest = np.abs(moments).argmax(axis=2)
        return np.take_along_axis(moments, largest[..., None], axis=2)[..., 0]

    def forces(self, stations: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Axial force, shear and moment, each (r, m, q), at `stations` (m, q) inches from each first joint.

        At a point load they are those just beyond it.
        """
        segment, x = self._locate(stations)
        axial, shear, moment, p, q = (
            np.take_along_axis(values, segment[None], axis=2)
            for values in (self.axial, self.shear, self.moment, self.axial_load, self.transverse_load)
        )
        return axial - p * x, shear - q * x, moment + (shear - q * x / 2) * x

    def deflection(self, stations: np.ndarray) -> np.ndarray:
        """How far points of the members move, right and up, (r, m, q, 2) in; `stations` (m, q) as in `forces`.

        Exact for the model: the member's curvature M / EI and strain N / EA integrated twice and once between the
        displacements of its joints.
        """
        segment, x = self._locate(stations)
        stretch, turn, sag = self._integrals
        first, second = (self.displacements[:, self.ends[:, end]] for end in (0, 1))
        across = np.einsum("rmc,mc->rm", second - first, self.up)
        slope = (across - sag[..., -1] / self.ei) / self.length

        def pick(values: np.ndarray) -> np.ndarray:
            return np.take_along_axis(values, segment[None], axis=2)

        axial, shear, moment, p, q = map(
            pick, (self.axial, self.shear, self.moment, self.axial_load, self.transverse_load)
        )
        lengthening = pick(stretch) + (axial - p * x / 2) * x
        rise = pick(sag) + (pick(turn) + (moment / 2 + (shear / 6 - q * x / 24) * x) * x) * x
        rise = slope[..., None] * stations + rise / self.ei[:, None]
        moved = rise[..., None] * self.up[:, None] + (lengthening / self.ea[:, None])[..., None] * self.along[:, None]
        return first[:, :, None] + moved

    def _locate(self, stations: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The segment that each station is in, and how far beyond its start."""
        segment = (self.segment_start[:, None] <= stations[..., None]).sum(axis=2) - 1
        return segment, stations - np.take_along_axis(self.segment_start, segment, axis=1)

    @cached_property
    def _integrals(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """EA × lengthening, EI × rotation, EI × deflection from the first joint to each segment's start and to the
        far end, (r, m, k + 1), as if that joint neither moved nor turned."""
        x, p, q = self.segment_length, self.axial_load, self.transverse_load
        stretch = _running((self.axial - p * x / 2) * x)
        turn = _running((self.moment + (self.shear / 2 - q * x / 6) * x) * x)
        sag = _running((turn[..., :-1] + (self.moment / 2 + (self.shear / 6 - q * x / 24) * x) * x) * x)
        return stretch, turn, sag


def _running(steps: np.ndarray) -> np.ndarray:
    """Sums of the steps before each one and of them all: (…, k) to (…, k + 1), from zero."""
    total = np.zeros((*steps.shape[:-1], steps.shape[-1] + 1))
    np.cumsum(steps, axis=-1, out=total[..., 1:])
    return total


_SUMMED = (
    "displacements",
    "reactions",
    "axial",
    "shear",
    "moment",
    "axial_load",
    "transverse_load",
    "end_axial",
    "end_shear",
    "end_moment",
)
