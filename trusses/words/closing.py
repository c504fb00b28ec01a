"""What is said once every truss of a level, or of a job, is set."""

from __future__ import annotations

from collections.abc import Sequence

from trusses.words.copies import runs


def done(copies: int, where: str, ticks: int, ticked: int) -> str:
    """What was ticked off, of trusses that are all set."""
    every = f"All {copies} trusses {where} are set" if copies != 1 else f"The one truss {where} is set"
    if not ticks:
        return f"{every}."
    if ticked == ticks:
        return (
            f"{every}, and all {ticks} rows, hangers and ties are ticked."
            if ticks != 1
            else (f"{every}, and the one row, hanger or tie is ticked.")
        )
    return f"{every}; {ticked} of {ticks} rows, hangers and ties {'is' if ticked == 1 else 'are'} ticked."


def not_ticked(mark: str, ticks: int, ticked: int) -> str:
    return f"{mark}: {ticks - ticked} of {ticks} row{'' if ticks == 1 else 's'}, hangers and ties not ticked"


def _those(copies: Sequence[int]) -> str:
    return f"cop{'y' if len(copies) == 1 else 'ies'} {runs(copies)}"


def damaged(mark: str, copies: Sequence[int]) -> str:
    return f"{mark}: {_those(copies)} damaged, {'its' if len(copies) == 1 else 'their'} repair isn’t finished"


def found(mark: str, copies: Sequence[int]) -> str:
    return f"{mark}: what was found of {_those(copies)} isn’t closed"


def unsealed(mark: str, copies: Sequence[int]) -> str:
    built = "is" if len(copies) == 1 else "are"
    return f"{mark}: no sealed drawing counts for what {_those(copies)} {built} built to"


def earlier(mark: str, copies: Sequence[int]) -> str:
    stays = "stays" if len(copies) == 1 else "stay"
    return f"{mark}: no designer said that {_those(copies)} {stays} by an earlier revision"
