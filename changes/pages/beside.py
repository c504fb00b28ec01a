"""What other open requests ask of a truss that one asks about."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from changes import words
from changes.asks.pending import Pending
from changes.models import Ask, Option
from trusses.analysis.clearance.apart import overlap
from trusses.analysis.clearance.openings import fit, space
from trusses.analysis.format.document import read_opening, read_stored
from trusses.analysis.words.phrases import coded


@dataclass(frozen=True)
class Beside:
    """An opening that another open request asks of the same truss. `overlap` says where it meets one that is asked
    here; `clear` whether it would be clear in the option on show, None without one."""

    asked: Pending
    overlap: str
    clear: bool | None


def beside(pending: Sequence[Pending], asks: Iterable[Ask], chosen: Option | None) -> list[Beside]:
    """Each of them, checked against what is asked here and the option on show."""
    if not pending:
        return []
    mine = [read_opening(ask.opening) for ask in asks if ask.opening]
    room = space(read_stored(chosen.document)) if chosen else None
    told = []
    for one in pending:
        theirs = read_opening(one.opening)
        met = overlap(theirs, mine)
        says = words.told([coded("overlaps-here", **met._asdict())]) if met else ""
        told.append(Beside(one, says, fit(room, theirs).fits if room else None))
    return told
