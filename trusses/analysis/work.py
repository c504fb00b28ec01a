"""How much an analysis has to do, known before it is begun."""

from __future__ import annotations

from trusses.analysis.findings.missed_bearing import interior
from trusses.analysis.format.model import Truss
from trusses.analysis.loads.combinations import cases, superposition

#: What a program may wait for in one call: half a second where this was measured, so that a machine of a quarter of
#: the speed takes two. Ordinary trusses of forty members are a tenth of it.
MOST_WHILE_ONE_WAITS = 20_000

_A_STATE = 360
_A_COMBINATION = 2.5


def work(truss: Truss) -> float:
    """In checks of one member, which took 22 microseconds where this was measured (2026-11-27).

    Each bearing between two others is looked at in three more states (missed, high, low), each of which costs as much
    as so many members besides its own; what every combination does in each member is written out.
    """
    states = 1 + 3 * len(interior(truss))
    combinations = len(superposition(truss, cases(truss))[0])
    members = len(truss.members)
    return states * (members + _A_STATE) + _A_COMBINATION * members * combinations
