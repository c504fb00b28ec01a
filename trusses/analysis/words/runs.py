"""What is said of a run where it crosses a truss."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import Says, listed, moved

_MOST_NAMES = 6


def _fits(spare_in: float) -> str:
    return f"Fits, with {feet_inches(spare_in)} to spare." if spare_in >= 1 / 32 else "Fits, with nothing to spare."


def _redesign(members: Sequence[str]) -> str:
    webs = listed(members, _MOST_NAMES)
    return f"Needs a redesign: {webs} {'is' if len(members) == 1 else 'are'} in the way."


def corner_clear(moves: Sequence[Sequence[float]]) -> str:
    """Where a corner is clear, by how far it is along x and y of the plan: It is clear 2 3/4" to the right …"""
    return f"It is clear {' or '.join(moved(right, up) for right, up in moves)} on the plan."


RUNS: Mapping[str, Says] = {
    "run-clear": lambda spare_in: "Passes by without touching it.",
    "run-fits": _fits,
    "run-moves": lambda right_in, up_in: f"Fits if the run moves {moved(right_in, up_in) or 'a hair'} in this truss.",
    "run-redesign": _redesign,
    "run-never-chord": lambda members: f"Never: it would cut {listed(members, _MOST_NAMES)}. A chord is never cut.",
    "run-out": "Never: it would leave the truss, and no opening reaches outside the chords.",
}
"""The answer of one crossing."""

LINES: Mapping[str, Says] = {
    "run-no-better-line": lambda sideways, sideways_in, up_in: (
        "No line asks for fewer changes: neither moved as a whole,"
        f" {f'by up to {feet_inches(sideways_in)} sideways and ' if sideways else 'by up to '}"
        f"{feet_inches(up_in)} up or down, nor with other bends between its ends."
    ),
    "run-bends-in-a-truss": lambda trusses: (
        f"Lines with other bends were not looked for: it begins, turns or ends in {listed(trusses, _MOST_NAMES)}."
    ),
    "run-bends-too-many": lambda trusses: (
        f"Lines with other bends were not looked for: among the {trusses:,} trusses that this line comes to there are"
        " too many to try. A line through part of them, or with fewer corners, may be answered."
    ),
}
"""Which better lines there are none of, or that none were looked for."""

VERDICT_WORDS = {
    "clear": "passes by",
    "fits": "fits",
    "moves": "fits if moved",
    "redesign": "needs a redesign",
    "never": "never",
}
