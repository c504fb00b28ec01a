"""The checks of a truss under its combinations: for each object and rule, where and by which one it governs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt

from trusses.analysis import nds
from trusses.analysis.combined import forces
from trusses.analysis.deflection import LIVE, TOTAL, Deflections, deflection_checks
from trusses.analysis.loads import Combination
from trusses.analysis.member_checks import MemberChecks, member_checks
from trusses.analysis.model import ROLES, Truss
from trusses.analysis.outcome import PASSES, TERM_UNITS, Check, terms
from trusses.analysis.pieces import Pieces, stack_pieces
from trusses.analysis.solver.solution import Solution
from trusses.analysis.solver.topology import Topology

__all__ = ["SERVICEABILITY", "TERM_UNITS", "Check", "StackChecks", "check_stack"]

#: The rules whose failure a designer may accept with a reason; every other one is of strength, stability or bearing.
SERVICEABILITY = frozenset({LIVE, TOTAL})


@dataclass(frozen=True)
class StackChecks:
    """The checks of a stack of trusses: `worst` (t,) the largest ratio of each, 0 where nothing is checked.

    The records of one truss are made from its solution alone when asked for: a search asks for few of its many, and
    all that was looked at on the way would fill the memory.
    """

    trusses: Sequence[Truss]
    combinations: Sequence[Combination]
    solution: Solution
    factors: npt.NDArray[np.float64]
    worst: npt.NDArray[np.float64]

    def of(self, t: int) -> tuple[Check, ...]:
        """Every check of one truss: members in order, bearings, then the truss."""
        parts = _parts([self.trusses[t]], self.combinations, self.solution.only(t), self.factors)
        return tuple(check for part in parts for check in part.of(0))


def check_stack(
    trusses: Sequence[Truss],
    combinations: Sequence[Combination],
    solution: Solution,
    factors: npt.NDArray[np.float64],
) -> StackChecks:
    """The checks of trusses of one shape, use and ceiling under the same combinations, which `factors` (r, cases) make
    of the solution's cases."""
    worst = np.max([part.worst() for part in _parts(trusses, combinations, solution, factors)], axis=0)
    return StackChecks(trusses, combinations, solution, factors, worst)


def _parts(
    trusses: Sequence[Truss],
    combinations: Sequence[Combination],
    solution: Solution,
    factors: npt.NDArray[np.float64],
) -> list[MemberChecks | BearingChecks | Deflections]:
    combined, pieces = solution.combine(factors), stack_pieces(trusses, solution.shape, solution.place)
    deflections = deflection_checks(trusses, combinations, solution, factors)
    return [
        member_checks(trusses, combinations, pieces, forces(combined)),
        BearingChecks(trusses, combinations, solution.shape, pieces, combined.reactions[:, 1]),
        *([] if deflections is None else [deflections]),
    ]


@dataclass(frozen=True)
class BearingChecks:
    """Compression across the grain of the chord on each bearing that is pressed on (NDS 3.10.2, Cb = 1); `upward`
    (r, b, t) are its reactions, lb."""

    trusses: Sequence[Truss]
    combinations: Sequence[Combination]
    shape: Topology
    pieces: Pieces
    upward: npt.NDArray[np.float64]

    @cached_property
    def _bears_on(self) -> npt.NDArray[np.int64]:
        """The member that each bearing presses on, (b, t): the weakest piece of the chord that meets there.

        The bottom chord at that joint, or the top chord where there is none; a document has a chord on every bearing.
        """
        strength = self.pieces.fc_perp * self.pieces.width
        found = []
        for meeting in _meeting(self.shape):
            found.append(meeting[strength[meeting].argmin(axis=0)])
        return np.array(found, dtype=int).reshape(-1, len(self.trusses))

    @cached_property
    def _area(self) -> npt.NDArray[np.float64]:
        """Of contact, in², (b, t)."""
        widths = np.array([[bearing.width_in for bearing in truss.bearings] for truss in self.trusses]).T
        return widths * np.take_along_axis(self.pieces.width, self._bears_on, axis=0)

    @cached_property
    def _clause(self) -> nds.Clause:
        fc_perp = np.take_along_axis(self.pieces.fc_perp, self._bears_on, axis=0)
        return nds.bearing(self.upward.max(axis=0), self._area, fc_perp)

    def worst(self) -> npt.NDArray[np.float64]:
        """The largest ratio of each truss, (t,); 0 where nothing presses on a bearing."""
        return np.asarray(np.max(self._clause.ratio, axis=0, initial=0.0))

    def of(self, t: int) -> Iterator[Check]:
        """The checks of one truss's bearings."""
        truss, most = self.trusses[t], self.upward[:, :, t].argmax(axis=0)
        demand, capacity, ratio, area = (
            np.asarray(values)[:, t].tolist()
            for values in (self._clause.demand, self._clause.capacity, self._clause.ratio, self._area)
        )
        for b, bearing in enumerate(truss.bearings):
            pressing = float(self.upward[most[b], b, t])
            if pressing <= 0:
                continue
            factors = {"R": pressing, "area": area[b], "Cb": 1.0}
            yield Check(
                of="bearing",
                id=bearing.joint,
                rule="bearing",
                source="NDS 3.10.2",
                combination=self.combinations[most[b]].name,
                at_in=None,
                demand=demand[b],
                capacity=capacity[b],
                ratio=ratio[b],
                passes=ratio[b] <= PASSES,
                terms=terms([*factors.items(), ("lumber", truss.members[self._bears_on[b, t]].lumber)]),
            )


@lru_cache(maxsize=256)
def _meeting(shape: Topology) -> list[npt.NDArray[np.int64]]:
    """The pieces of the chord that each bearing presses on."""
    found = []
    for joint in shape.bearings:
        meeting = np.flatnonzero((shape.ends == joint).any(axis=1))
        roles = [ROLES[role] for role in shape.roles[meeting]]
        on = "bottom_chord" if "bottom_chord" in roles else "top_chord"
        found.append(meeting[[role == on for role in roles]])
    return found
