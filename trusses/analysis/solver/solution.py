"""What a stack of trusses of one shape does under its cases, as arrays; one truss's `Response` when asked for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np

from trusses.analysis.loads import Case
from trusses.analysis.solver.geometry import Geometry
from trusses.analysis.solver.mechanism import Mechanism
from trusses.analysis.solver.member_loads import MemberLoads, superposed
from trusses.analysis.solver.response import Response
from trusses.analysis.solver.segments import segments
from trusses.analysis.solver.topology import Topology


@dataclass(frozen=True)
class Along:
    """The forces along the members of a stack, in k segments each, as `Response` has them for one truss.

    `start` and `length` (k, m, t) inches, the same in every row; the rest (r, k, m, t).
    """

    start: np.ndarray
    length: np.ndarray
    axial: np.ndarray
    shear: np.ndarray
    moment: np.ndarray
    axial_load: np.ndarray
    transverse_load: np.ndarray


@dataclass(frozen=True)
class Solution:
    """Results of r rows, the `cases` or combinations of them, on t trusses of j joints, m members and b bearings, in
    pounds and inches.

    `displacements` (r, 2 j, t), `reactions` (r, 2, b, t), `ends` (r, 6, m, t): axial forces, shears and moments at
    the first and second end of each member, with the signs of `Response`. `moving` are those of the trusses that can
    move freely, whose numbers mean nothing. `loads` are those of the cases; `factors` (r, cases) make rows of
    combinations from them.
    """

    shape: Topology
    cases: tuple[Case, ...]
    place: Geometry
    loads: MemberLoads
    displacements: np.ndarray
    reactions: np.ndarray
    ends: np.ndarray
    moving: Mapping[int, Mechanism]
    factors: np.ndarray | None = None

    def combine(self, factors: np.ndarray) -> Solution:
        """The superposition of these rows: `factors` (combinations, r). See `loads.factors_of`."""
        return self._with(self.place, self.loads, partial(superposed, factors), self.moving, factors)

    @cached_property
    def along(self) -> Along:
        """The forces along the members, by statics from their first ends."""
        of_rows = self.loads if self.factors is None else self.loads.combine(self.factors)
        loads = segments(of_rows, self.place.length)
        h = np.diff(loads.nodes, axis=0)
        n, v, moment = (self.ends[:, first : first + 1] for first in (0, 2, 4))
        if len(h) == 1:
            return Along(loads.nodes[:-1], h, n, v, moment, loads.axial, loads.transverse)
        n, v, moment = (np.repeat(values, len(h), axis=1) for values in (n, v, moment))
        n[:, 1:] -= np.cumsum(loads.axial * h, axis=1)[:, :-1]
        v[:, 1:] -= np.cumsum(loads.transverse * h, axis=1)[:, :-1]
        # a load that stands on the very end is in the end forces, and acts beyond it
        if loads.axial_at is not None and loads.transverse_at is not None:
            n -= np.cumsum(loads.axial_at, axis=1)[:, :-1]
            v -= np.cumsum(loads.transverse_at, axis=1)[:, :-1]
        moment[:, 1:] += np.cumsum((v - loads.transverse * (h / 2)) * h, axis=1)[:, :-1]
        return Along(loads.nodes[:-1], h, n, v, moment, loads.axial, loads.transverse)

    def response(self, t: int) -> Response:
        """One truss's. Raises the Mechanism that it is, if it can move freely."""
        if t in self.moving:
            raise self.moving[t]
        one = self.only(t)
        along, place = one.along, one.place
        turned = {name: getattr(along, name)[..., 0].transpose(0, 2, 1) for name in _ALONG}
        rows, m = len(one.ends), len(self.shape.ends)
        axial, shear, moment = one.ends.reshape(rows, 3, 2, m).transpose(1, 0, 3, 2)
        return Response(
            displacements=one.displacements.reshape(rows, self.shape.joints, 2),
            reactions=one.reactions[..., 0].transpose(0, 2, 1),
            **turned,
            end_axial=axial,
            end_shear=shear,
            end_moment=moment,
            segment_start=along.start[..., 0].T,
            segment_length=along.length[..., 0].T,
            ends=self.shape.ends,
            length=place.length[:, 0],
            along=place.along[..., 0].T,
            up=place.up[..., 0].T,
            ea=place.stiff[0, :, 0],
            ei=place.stiff[1, :, 0],
        )

    def only(self, t: int) -> Solution:
        """One truss's, as of a stack of one."""
        return self._with(
            self.place.only(t), self.loads.only(t), lambda values: values[..., t : t + 1], {}, self.factors
        )

    def _with(
        self,
        place: Geometry,
        loads: MemberLoads,
        of: Callable[[np.ndarray], np.ndarray],
        moving: Mapping[int, Mechanism],
        factors: np.ndarray | None,
    ) -> Solution:
        return Solution(
            shape=self.shape,
            cases=self.cases,
            place=place,
            loads=loads,
            displacements=of(self.displacements),
            reactions=of(self.reactions),
            ends=of(self.ends),
            moving=moving,
            factors=factors,
        )


_ALONG = ("axial", "shear", "moment", "axial_load", "transverse_load")
