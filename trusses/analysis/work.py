"""How much an analysis has to do, known before it is begun."""

from __future__ import annotations

from trusses.analysis.findings.missed_bearing import interior
from trusses.analysis.format.model import Truss
from trusses.analysis.loads.combinations import cases, superposition

#: What a person may wait for on a page: half a second where this was measured, so that a machine of a quarter of the
#: speed takes two. Ordinary trusses of forty members are a tenth of it.
MOST_WHILE_ONE_WAITS = 20_000

_A_STATE = 360
_A_COMBINATION = 2.5


class TooMuch(ValueError):
    """More than a person may wait for; the text is one sentence."""


class Allowance:
    """What all analyses of one answer may do together while a person waits for it. `instead` says what to do where
    that isn't enough."""

    def __init__(self, instead: str, left: float = MOST_WHILE_ONE_WAITS):
        self.instead, self.left = instead, left

    def take(self, truss: Truss) -> None:
        """Raises TooMuch where the analysis of one more truss is beyond what is left."""
        self.left -= work(truss)
        if self.left < 0:
            raise TooMuch(f"To analyse {truss.mark} takes longer than one may wait on a page: {self.instead}.")


def work(truss: Truss) -> float:
    """In checks of one member, which took 22 microseconds where this was measured (2026-11-27).

    Each bearing between two others is looked at in three more states (missed, high, low), each of which costs as much
    as so many members besides its own; what every combination does in each member is written out.
    """
    states = 1 + 3 * len(interior(truss))
    combinations = len(superposition(truss, cases(truss))[0])
    members = len(truss.members)
    return states * (members + _A_STATE) + _A_COMBINATION * members * combinations
