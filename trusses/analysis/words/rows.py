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


def edges(
    row: str, web: str, taken: Mapping[str, tuple[Sequence[str], Sequence[str]]], asked: str | None = None
) -> str:
    """On which edge of its web a row still goes. `taken` has for both edges the openings that are in its way there, and
    the members; openings for one at least, or members for both. `asked` is the opening that somebody is placing."""
    free = [edge for edge, by in taken.items() if not any(by)]
    by_openings, by_wood = (list(dict.fromkeys(name for by in taken.values() for name in by[i])) for i in (0, 1))
    things = [*_openings(by_openings, asked), *([f"the wood of {listed(by_wood)}"] if by_wood and not free else [])]
    one = len(things) == 1 and len(by_openings) <= 1
    lead = "Row" if asked is None else "Row of restraint"  # whoever places an opening has read of none
    if free:
        (other,) = taken.keys() - free
        are = "is" if one else "are"
        return f"{lead} on {row}: on its {free[0]} edge only; on the {other} one {listed(things)} {are} in the way."
    return (
        f"{lead} on {row}: {listed(things)} {'leaves' if one else 'leave'} no room for it on either edge."
        f" The designer has to say how {web} is held before anything is built."
    )


def _openings(names: Sequence[str], asked: str | None) -> list[str]:
    """Them, the one that is `asked` for first."""
    others = [name for name in names if name != asked]
    told = ["this opening"] if asked in names else []
    return told + ([f"opening{'' if len(others) == 1 else 's'} {listed(others)}"] if others else [])


def along(web: str, trusses: str, taken: Mapping[str, Sequence[tuple[Sequence[str], Sequence[str], str, bool]]]) -> str:
    """On which edge a row through several trusses runs on. `taken` has for both edges what is in its way there: which
    openings and members, in which trusses, and whether that is one."""
    free = [edge for edge, by in taken.items() if not by]
    ways = [f"on the {edge} one {_theirs(by)} in the way" for edge, by in taken.items() if by]
    if free:
        return f"The row on {web} through {trusses} runs on the {free[0]} edge in all of them: {ways[0]}."
    return (
        f"The row on {web} through {trusses} has no edge that is free in all of them: {listed(ways)}."
        " The designer has to say where it stops and how those webs are held before anything is built."
    )


def edges_of(by: str, turned: str, single: bool) -> str:
    """Whose drawing left and right are of, where others in the row stand end for end to them."""
    stand = "stands the other way round: on its drawing" if single else "stand the other way round: on their drawings"
    return f" Left and right are those of the drawing of {by}; {turned} {stand} left is right."


def _theirs(by: Sequence[tuple[Sequence[str], Sequence[str], str, bool]]) -> str:
    """opening O1 of R2-1 and the wood of W5 of R2-4 are; each truss is told with all that it has there."""
    told = [
        f"{listed([*_openings(openings, None), *([f'the wood of {listed(wood)}'] if wood else [])])} of {trusses}"
        for openings, wood, trusses, _ in by
    ]
    one = len(by) == 1 and by[0][3] and len(by[0][0]) + len(by[0][1]) == 1
    return f"{listed(told)} {'is' if one else 'are'}"
