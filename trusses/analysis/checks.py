"""The checks of a truss under its combinations: for each object and rule, where and by which one it governs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from trusses.analysis import nds
from trusses.analysis.combined import forces
from trusses.analysis.deflection import LIVE, TOTAL, Deflections, deflection_checks
from trusses.analysis.loads import Combination
from trusses.analysis.lumber import Lumber, lookup, section
from trusses.analysis.member_checks import MemberChecks, member_checks
from trusses.analysis.model import Truss
from trusses.analysis.outcome import PASSES, TERM_UNITS, Check, terms
from trusses.analysis.solver.solution import Solution

__all__ = ["SERVICEABILITY", "TERM_UNITS", "Check", "StackChecks", "check_stack"]

#: The rules whose failure a designer may accept with a reason; every other one is of strength, stability or bearing.
SERVICEABILITY = frozenset({LIVE, TOTAL})


@dataclass(frozen=True)
class StackChecks:
    """The checks of a stack of trusses: the worst ratios as arrays, one truss's `Check` records when asked for."""

    members: MemberChecks
    bearings: Sequence[Sequence[Check]]
    deflections: Deflections

    @cached_property
    def worst(self) -> npt.NDArray[np.float64]:
        """The largest ratio of each truss, (t,); 0 where nothing is checked."""
        bearings = np.array([max((check.ratio for check in checks), default=0.0) for checks in self.bearings])
        return np.maximum(np.maximum(self.members.worst(), bearings), self.deflections.worst())

    def of(self, t: int) -> tuple[Check, ...]:
        """Every check of one truss: members in order, bearings, then the truss."""
        return *self.members.of(t), *self.bearings[t], *self.deflections.of(t)


def check_stack(
    trusses: Sequence[Truss],
    combinations: Sequence[Combination],
    solution: Solution,
    factors: npt.NDArray[np.float64],
) -> StackChecks:
    """The checks of trusses of one shape, use and ceiling under the same combinations, which `factors` (r, cases) make
    of the solution's cases."""
    combined = solution.combine(factors)
    return StackChecks(
        member_checks(trusses, combinations, forces(combined)),
        [
            list(_bearing_checks(truss, combinations, down))
            for truss, down in zip(trusses, combined.reactions[:, 1].transpose(2, 0, 1), strict=True)
        ],
        deflection_checks(trusses, combinations, solution, factors),
    )


def _bearing_checks(
    truss: Truss, combinations: Sequence[Combination], reactions: npt.NDArray[np.float64]
) -> Iterator[Check]:
    """Compression across the grain of the chord on each bearing that is pressed on (NDS 3.10.2, Cb = 1); `reactions`
    (r, b) are upward, lb."""
    for i, bearing in enumerate(truss.bearings):
        down = reactions[:, i]
        most = int(down.argmax())
        if down[most] <= 0:
            continue
        lumber, breadth = _bears_on(truss, bearing.joint)
        clause = nds.bearing(float(down[most]), breadth * bearing.width_in, lumber.fc_perp)
        yield Check(
            of="bearing",
            id=bearing.joint,
            rule="bearing",
            source="NDS 3.10.2",
            combination=combinations[most].name,
            at_in=None,
            demand=float(clause.demand),
            capacity=float(clause.capacity),
            ratio=float(clause.ratio),
            passes=float(clause.ratio) <= PASSES,
            terms=terms([*clause.factors.items(), ("lumber", lumber.key)]),
        )


def _bears_on(truss: Truss, joint: str) -> tuple[Lumber, float]:
    """The chord that a bearing presses on, and its breadth over all plies, inches: the weakest piece that meets there.

    The bottom chord at that joint, or the top chord where there is none; a document has a chord on every bearing.
    """
    meeting = truss.members_at[joint]
    role = "bottom_chord" if any(member.role == "bottom_chord" for member in meeting) else "top_chord"
    pieces = [(lookup(m.lumber), section(lookup(m.lumber), m.flat, truss.plies)) for m in meeting if m.role == role]
    on = [(lumber, shape.breadth_in * shape.plies) for lumber, shape in pieces]
    return min(on, key=lambda piece: piece[0].fc_perp * piece[1])
