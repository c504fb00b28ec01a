"""What a stack of trusses of one shape does under its cases, as arrays: what the solver leaves and checks take.

Whoever asks about one truss takes its `Results`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from trusses.analysis.frame.geometry import Geometry
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.frame.member_loads import MemberLoads, superposed
from trusses.analysis.frame.segments import check_pieces, segments
from trusses.analysis.frame.topology import Topology
from trusses.analysis.loads.combinations import Case


class Along(NamedTuple):
    """The forces along some members of a stack, in k segments each, as `Results` has them for one truss.

    `start` and `length` (k, c, t) inches, the same in every row; `forces` (r, 5, k, c, t): axial force, shear and
    moment at the start of each segment, axial and transverse load along it.
    """

    start: np.ndarray
    length: np.ndarray
    forces: np.ndarray

    def combine(self, factors: np.ndarray) -> Along:
        """The superposition of these rows: `factors` (combinations, r). Raises LoadError for too many pieces."""
        check_pieces(len(factors) * self.start[..., 0].size)
        return self._replace(forces=superposed(factors, self.forces))

    def those(self, members: np.ndarray) -> Along:
        """Some of these members, by their numbers among them."""
        if len(members) == self.start.shape[1]:
            return self
        start, length, forces = (values.take(members, axis=-2) for values in self)
        return Along(start, length, forces)


def blank(shape: Topology, r: int, t: int) -> np.ndarray:
    """Room for the `values` of a solution, (r, 2 j + 2 b + 6 m, t)."""
    return np.empty((r, 2 * shape.joints + 2 * len(shape.bearings) + 6 * len(shape.ends), t))


class Solution(NamedTuple):
    """Results of r rows, the `cases` or combinations of them, on t trusses of j joints, m members and b bearings, in
    pounds and inches.

    `values` (r, 2 j + 2 b + 6 m, t) are all of them together: `displacements`, `reactions` and `ends` are parts of it.
    `moving` are those of the trusses that can move freely, whose numbers mean nothing. `loads` are those of the cases;
    `factors` (r, cases) make rows of combinations from them.
    """

    shape: Topology
    cases: tuple[Case, ...]
    place: Geometry
    loads: MemberLoads
    values: np.ndarray
    moving: Mapping[int, Mechanism]
    factors: np.ndarray | None = None

    @property
    def displacements(self) -> np.ndarray:
        """(r, 2 j, t), right and up of every joint in turn."""
        return self.values[:, : 2 * self.shape.joints]

    @property
    def reactions(self) -> np.ndarray:
        """(r, 2, b, t), right and up."""
        r, _, t = self.values.shape
        start, b = 2 * self.shape.joints, len(self.shape.bearings)
        return self.values[:, start : start + 2 * b].reshape(r, 2, b, t)

    @property
    def ends(self) -> np.ndarray:
        """(r, 6, m, t): axial forces, shears and moments at the first and second end of each member, with the signs of
        `Results`."""
        r, _, t = self.values.shape
        start = 2 * (self.shape.joints + len(self.shape.bearings))
        return self.values[:, start:].reshape(r, 6, len(self.shape.ends), t)

    def combine(self, factors: np.ndarray) -> Solution:
        """The superposition of these rows: `factors` (combinations, r). See `combinations.factors_of`."""
        return self._replace(values=superposed(factors, self.values), factors=factors)

    def rows(self, which: slice) -> Solution:
        """Some of the rows of combinations."""
        factors = np.eye(len(self.values)) if self.factors is None else self.factors
        return self._replace(values=self.values[which], factors=factors[which])

    def along(self, members: np.ndarray) -> Along:
        """The forces along some members (c,), by statics from their first ends."""
        loads = segments(
            self.loads if self.factors is None else self.loads.combine(self.factors), self.place.length, members
        )
        h = np.diff(loads.nodes, axis=0)
        r, k, c, t = loads.axial.shape
        forces = np.empty((r, 5, k, c, t))
        forces[:, :3] = self.ends[:, 0::2, None].take(members, axis=3)
        forces[:, 3], forces[:, 4] = loads.axial, loads.transverse
        if k > 1:
            n, v, m, p, q = forces.swapaxes(0, 1)
            n[:, 1:] -= np.cumsum(p * h, axis=1)[:, :-1]
            v[:, 1:] -= np.cumsum(q * h, axis=1)[:, :-1]
            if loads.axial_at is not None and loads.transverse_at is not None:
                n -= np.cumsum(loads.axial_at, axis=1)[:, :-1]
                v -= np.cumsum(loads.transverse_at, axis=1)[:, :-1]
            m[:, 1:] += np.cumsum((v - q * (h / 2)) * h, axis=1)[:, :-1]
        return Along(loads.nodes[:-1], h, forces)

    def only(self, t: int) -> Solution:
        """One truss's, as of a stack of one."""
        values = self.values[..., t : t + 1].copy()
        return self._replace(place=self.place.only(t), loads=self.loads.only(t), values=values, moving={})
