"""What is said of the loads that one truss puts on another."""

from __future__ import annotations

from collections.abc import Sequence

from trusses.analysis.words.lengths import feet_inches


def hung(mark: str, along_in: float, stands_in: str | None) -> str:
    """The note of a load in its carrier's document, for whoever reads that."""
    note = f"from {mark} at {feet_inches(along_in)}"
    return note if stands_in is None else f"{note}, its {stands_in} standing in"


def stands_in(mark: str, case: str, pattern: str, used: Sequence[str]) -> str:
    heaviest = f"its {used[0]}" if len(used) == 1 else "the heaviest of those that it has"
    case = case.replace("_", " ")
    return f"{mark} has no arrangement “{pattern}” of its own {case} load: {heaviest} stands in for it."
