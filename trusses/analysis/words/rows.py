"""What is said of rows of lateral restraint: of those that a change cuts off, and of openings in their way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from trusses.analysis.words.phrases import Says, listed, say

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


def edges(row: str, web: str, taken: Mapping[str, Sequence[str]]) -> str:
    """On which edge of its web a row still goes. `taken` has for both edges the openings that are in its way there, and
    one at least for one of them."""
    free = [edge for edge, by in taken.items() if not by]
    every = list(dict.fromkeys(name for by in taken.values() for name in by))
    openings, one = f"opening{'' if len(every) == 1 else 's'} {listed(every)}", len(every) == 1
    if free:
        (other,) = taken.keys() - free
        are = "is" if one else "are"
        return f"Row on {row}: on its {free[0]} edge only; on the {other} one {openings} {are} in the way."
    return (
        f"Row on {row}: {openings} {'leaves' if one else 'leave'} no room for it on either edge."
        f" The designer has to say how {web} is held before anything is built."
    )
