"""What one truss does under its cases and combinations: the one thing to ask for a force, a reaction or a deflection.

It is the same whether the truss was just solved (`of_solution`) or its analysis document is read back
(`analysis_document.read_back`).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from trusses.analysis.format.model import Truss
from trusses.analysis.frame.solution import Along, Solution
from trusses.analysis.loads.combinations import Combination

Array = npt.NDArray[np.float64]

#: A force smaller than this share of the largest of its kind, or than so many pounds, is arithmetic, not force.
NOISE = 1e-8
LEAST_FORCE = 1e-6


@dataclass(frozen=True, eq=False)
class Results:
    """One truss of j joints, m members and b bearings in r rows: its `cases`, by name, then its `combinations`.

        results.under("D + S").end_moment[0, results.truss.member_index["T1"]]

    is the moment at both ends of a member under a combination. `by_case`, `combined` and `under` hold some of the rows.
    Pounds and inches.

    `displacements` (r, j, 2) and `reactions` (r, b, 2) are right and up positive.

    `end_axial`, `end_shear`, `end_moment` (r, m, 2) are at the first and second joint, which take the loads that stand
    on the very end: tension positive; the force on the member's end toward its upper face; sagging. The upper face of
    a vertical member is its left one.

    Each member is cut into k segments at every place where a load of any case begins, ends or stands, padded with
    segments of no length at its far end. `segment_start` and `segment_length` (m, k) are distances from the member's
    first joint. Within a segment, x from its start,

        N(x) = axial - axial_load x                              tension positive
        V(x) = shear - transverse_load x                         dM/dx
        M(x) = moment + shear x - transverse_load x² / 2         positive with the lower face in tension

    with each of the five (r, m, k); a point load at a segment's start is already in them. They follow by statics from
    the first ends: `statics` makes the solution of this truss alone that they are of, when they are asked for.

    `ends` (m, 2) are joint indices, `length`, `ea` (lb), `ei` (lb-in²) are (m,), `along` and `up` (m, 2) are unit
    vectors from the first joint to the second and toward the upper face.
    """

    truss: Truss
    cases: tuple[str, ...]
    combinations: tuple[Combination, ...]
    displacements: Array
    reactions: Array
    end_axial: Array
    end_shear: Array
    end_moment: Array
    statics: Callable[[Results], Solution]

    @cached_property
    def by_case(self) -> Results:
        """The rows of the cases."""
        return dataclasses.replace(self._those(slice(0, len(self.cases))), combinations=())

    @cached_property
    def combined(self) -> Results:
        """The rows of the combinations."""
        return dataclasses.replace(self._those(slice(len(self.cases), None)), cases=())

    def under(self, name: str) -> Results:
        """The row of one case or combination. Raises KeyError where there is none of that name."""
        for row, case in enumerate(self.cases):
            if case == name:
                return dataclasses.replace(self._those(slice(row, row + 1)), cases=(case,), combinations=())
        for row, combination in enumerate(self.combinations, len(self.cases)):
            if combination.name == name:
                one = self._those(slice(row, row + 1))
                return dataclasses.replace(one, cases=(), combinations=(combination,))
        raise KeyError(name)

    def reaction(self, name: str, joint: str) -> tuple[float, float]:
        """That of one bearing under one case or combination, right and up. Raises KeyError where there is none."""
        for b, bearing in enumerate(self.truss.bearings):
            if bearing.joint == joint:
                right, up = self.under(name).reactions[0, b].tolist()
                return right, up
        raise KeyError(joint)

    def _those(self, rows: slice) -> Results:
        return Results(
            self.truss,
            self.cases,
            self.combinations,
            self.displacements[rows],
            self.reactions[rows],
            self.end_axial[rows],
            self.end_shear[rows],
            self.end_moment[rows],
            lambda _: self.solution.rows(rows),
        )

    @cached_property
    def solution(self) -> Solution:
        """The same rows as a stack of one truss, which checks are made from."""
        return self.statics(self)

    @cached_property
    def _segments(self) -> Along:
        return self.solution.along(np.arange(len(self.truss.members)))

    @property
    def segment_start(self) -> Array:
        return self._segments.start[..., 0].T

    @property
    def segment_length(self) -> Array:
        return self._segments.length[..., 0].T

    @cached_property
    def _along(self) -> Array:
        """(5, r, m, k)."""
        return self._segments.forces[..., 0].transpose(1, 0, 3, 2)

    @property
    def axial(self) -> Array:
        return self._along[0]

    @property
    def shear(self) -> Array:
        return self._along[1]

    @property
    def moment(self) -> Array:
        return self._along[2]

    @property
    def axial_load(self) -> Array:
        return self._along[3]

    @property
    def transverse_load(self) -> Array:
        return self._along[4]

    @property
    def ends(self) -> npt.NDArray[np.int64]:
        return self.solution.shape.ends

    @property
    def length(self) -> Array:
        return self.solution.place.length[:, 0]

    @property
    def along(self) -> Array:
        return self.solution.place.along[..., 0].T

    @property
    def up(self) -> Array:
        return self.solution.place.up[..., 0].T

    @property
    def ea(self) -> Array:
        return self.solution.place.stiff[0, :, 0]

    @property
    def ei(self) -> Array:
        return self.solution.place.stiff[1, :, 0]

    @cached_property
    def extreme_axial(self) -> Array:
        """The largest and the least axial force anywhere along each member, tension positive, (2, r, m)."""
        # axial force runs straight within a segment, so its extremes stand at the segments' ends
        axial, end = self.axial, self.axial - self.axial_load * self.segment_length
        return np.stack([np.maximum(axial, end).max(axis=2), np.minimum(axial, end).min(axis=2)])

    @cached_property
    def peak_moment(self) -> Array:
        """The moment of largest magnitude anywhere along each member, signed, (r, m)."""
        _, shear, moment, _, q = self._along
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            x = shear / q
            top = moment + shear * x / 2
        inside = (q != 0) & (x > 0) & (x < self.segment_length)
        moments = np.concatenate([moment, np.where(inside, top, 0.0), self.end_moment], axis=2)
        largest = np.abs(moments).argmax(axis=2)
        return np.take_along_axis(moments, largest[..., None], axis=2)[..., 0]

    def forces(self, stations: Array) -> tuple[Array, Array, Array]:
        """Axial force, shear and moment, each (r, m, q), at `stations` (m, q) inches from each first joint.

        At a point load they are those just beyond it.
        """
        segment, x = self._locate(stations)
        axial, shear, moment, p, q = (np.take_along_axis(values, segment[None], axis=2) for values in self._along)
        return axial - p * x, shear - q * x, moment + (shear - q * x / 2) * x

    def deflection(self, stations: Array) -> Array:
        """How far points of the members move, right and up, (r, m, q, 2) in; `stations` (m, q) as in `forces`.

        Exact for the model: the member's curvature M / EI and strain N / EA integrated twice and once between the
        displacements of its joints.
        """
        segment, x = self._locate(stations)
        stretch, turn, sag = self._integrals
        first, second = (self.displacements[:, self.ends[:, end]] for end in (0, 1))
        across = np.einsum("rmc,mc->rm", second - first, self.up)
        slope = (across - sag[..., -1] / self.ei) / self.length

        def pick(values: Array) -> Array:
            return np.take_along_axis(values, segment[None], axis=2)

        axial, shear, moment, p, q = map(pick, self._along)
        lengthening = pick(stretch) + (axial - p * x / 2) * x
        rise = pick(sag) + (pick(turn) + (moment / 2 + (shear / 6 - q * x / 24) * x) * x) * x
        rise = slope[..., None] * stations + rise / self.ei[:, None]
        moved = rise[..., None] * self.up[:, None] + (lengthening / self.ea[:, None])[..., None] * self.along[:, None]
        return first[:, :, None] + moved

    def _locate(self, stations: Array) -> tuple[npt.NDArray[np.int64], Array]:
        """The segment that each station is in, and how far beyond its start."""
        segment = (self.segment_start[:, None] <= stations[..., None]).sum(axis=2) - 1
        return segment, stations - np.take_along_axis(self.segment_start, segment, axis=1)

    @cached_property
    def _integrals(self) -> tuple[Array, Array, Array]:
        """EA × lengthening, EI × rotation, EI × deflection from the first joint to each segment's start and to the
        far end, (r, m, k + 1), as if that joint neither moved nor turned."""
        axial, shear, moment, p, q = self._along
        x = self.segment_length
        stretch = _running((axial - p * x / 2) * x)
        turn = _running((moment + (shear / 2 - q * x / 6) * x) * x)
        sag = _running((turn[..., :-1] + (moment / 2 + (shear / 6 - q * x / 24) * x) * x) * x)
        return stretch, turn, sag


def of_solution(
    truss: Truss, solution: Solution, t: int, combinations: tuple[Combination, ...] = (), factors: Array | None = None
) -> Results:
    """Those of one truss of a stack under the cases that were solved, and under their `combinations`, which `factors`
    (combinations, cases) make of them. Raises the Mechanism that it is, if it can move freely."""
    if t in solution.moving:
        raise solution.moving[t]
    alone = solution.only(t)
    if factors is not None:
        alone = alone.combine(np.concatenate([np.eye(len(solution.cases)), factors]))
    axial, shear, moment = alone.ends.reshape(len(alone.values), 3, 2, len(truss.members)).transpose(1, 0, 3, 2)
    return Results(
        truss,
        tuple(case.name for case in solution.cases),
        combinations,
        alone.displacements.reshape(-1, len(truss.joints), 2),
        alone.reactions[..., 0].transpose(0, 2, 1),
        axial,
        shear,
        moment,
        lambda _: alone,
    )


def noise(forces: Array) -> float:
    """The size up to which forces of one kind are what is left of larger ones that cancel."""
    return max(NOISE * float(np.abs(forces).max(initial=0.0)), LEAST_FORCE)


def _running(steps: Array) -> Array:
    """Sums of the steps before each one and of them all: (…, k) to (…, k + 1), from zero."""
    total = np.zeros((*steps.shape[:-1], steps.shape[-1] + 1))
    np.cumsum(steps, axis=-1, out=total[..., 1:])
    return total
