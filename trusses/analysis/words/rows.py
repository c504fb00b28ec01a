"""What is said of rows of lateral restraint that a change cuts off."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from trusses.analysis.words.phrases import Says, say

#: What became of the web to which a row went on, in the truss that changes.
BECAME: Mapping[str, Says] = {
    "gone": "In {truss}, {web} is gone.",
    "no-row": "In {truss}, {web} has no row any more.",
    "other-places": "In {truss}, {web} has its rows in other places: {rows} instead of {were}.",
    "moved": "In {truss}, the row on {web} is {moved_in:tape} from where it was.",
}


def cut_off(
    web: str, trusses: str, towards: str, alone: bool, single: bool, code: str, values: Mapping[str, Any]
) -> str:
    """What whoever restrains the trusses that stay has to do, and why."""
    row, them = f"The row on {web} of {trusses}", "that web" if single else "those webs"
    why = say(BECAME, code, values)
    if alone:
        return f"{row} has nothing to run to: reinforce {them} singly, or keep the row. {why}"
    return (
        f"{row} doesn't run on into {towards} any more: brace it diagonally at its new end, reinforce {them} singly,"
        f" or keep the row. {why}"
    )
