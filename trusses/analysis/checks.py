"""The checks of a truss under its combinations: for each object and rule, where and by which one it governs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from trusses.analysis import nds
from trusses.analysis.deflection import LIVE, TOTAL, deflection_checks
from trusses.analysis.loads import Combination
from trusses.analysis.lumber import Lumber, lookup, section
from trusses.analysis.member_checks import member_checks
from trusses.analysis.model import Truss
from trusses.analysis.outcome import PASSES, TERM_UNITS, Check, terms
from trusses.analysis.response import Response

__all__ = ["SERVICEABILITY", "TERM_UNITS", "Check", "check"]

#: The rules whose failure a designer may accept with a reason; every other one is of strength, stability or bearing.
SERVICEABILITY = frozenset({LIVE, TOTAL})


def check(truss: Truss, combinations: Sequence[Combination], response: Response) -> tuple[Check, ...]:
    """Every check of a truss: members in order, bearings, then the truss. `response` has a row a combination."""
    return (
        *member_checks(truss, combinations, response),
        *_bearing_checks(truss, combinations, response),
        *deflection_checks(truss, combinations, response),
    )


def _bearing_checks(truss: Truss, combinations: Sequence[Combination], response: Response) -> Iterator[Check]:
    """Compression across the grain of the chord on each bearing that is pressed on (NDS 3.10.2, Cb = 1)."""
    for i, bearing in enumerate(truss.bearings):
        down = response.reactions[:, i, 1]
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
