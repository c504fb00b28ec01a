"""The answer while a thumb drags: an opening against today's truss, from geometry kept by the document's SHA-256."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
from django.http import Http404

from changes.asks.likely import likely
from changes.asks.opening import with_openings
from changes.asks.pending import Pending, pending
from changes.refusals import Refused
from changes.words import at_once, told
from trusses.analysis.clearance.apart import overlap
from trusses.analysis.clearance.openings import Fit, OpeningError, Space, fit, nearest, space
from trusses.analysis.clearance.pockets import clear_parts, walls
from trusses.analysis.format.document import DocumentError, read_opening
from trusses.analysis.format.model import Opening
from trusses.analysis.format.strict import plain
from trusses.analysis.requirements.row_edges import Rows, rows_of
from trusses.analysis.words.phrases import coded
from trusses.designs import stored_design
from trusses.models import Truss
from trusses.permissions import visible
from trusses.plan.copies import standing
from trusses.plan.rows import edges_with
from trusses.refusals import because

_PLACED = ""
"""No opening's name but of the one that is being placed."""


@lru_cache(maxsize=256)
def room_of(sha256: str) -> tuple[Space, tuple[Opening, ...]]:
    """The truss as openings meet it, and those that it has already."""
    truss = stored_design(sha256)
    return space(truss), truss.openings


@lru_cache(maxsize=256)
def pockets_of(sha256: str) -> list[list[list[list[float]]]]:
    """Of each pocket its walls, [[x, y], [x, y]] each with the pocket on its left, inches to a thousandth."""
    room, _ = room_of(sha256)
    return [np.round(walls(part).lines, 3).tolist() for part in clear_parts(room)]


def fit_answer(user: Any, truss: int, opening: Any) -> dict[str, Any]:
    """What `FitAnswerSerializer` tells; inches. Raises Refused, Http404. No analysis, nothing stored."""
    try:
        rows = visible(Truss, user).filter(pk=truss, current__isnull=False)
        mark = rows.select_related("current", "job").defer("current__document", "current__analysis").first()
    except OverflowError:
        mark = None
    if mark is None:
        raise Http404("Not found.")
    try:
        held = plain(opening, ("opening",))
        if isinstance(held, dict):
            held.setdefault("id", "O1")
        wanted = read_opening(held)
        room, _ = room_of(mark.current.sha256)
        found = fit(room, wanted)
        near = None if found.fits else nearest(room, wanted)
    except (DocumentError, OpeningError) as refused:
        raise Refused("opening", "opening", refused.place, why=because(refused, placed=False)) from refused
    return {
        "fits": found.fits,
        "spare_in": found.spare_in,
        "touches": list(found.touches),
        "called": list(found.called),
        "nearest": None if near is None else {"centre_in": list(near.centre_in), "moved_in": near.moved_in},
        "never": found.never,
        "answer": at_once(found.fits, found.never, found.called),
        "says": found.says,
        "beside": beside(mark, wanted, found, pending([truss]).get(truss, [])),
        "likely": likely(mark, room, wanted, found),
    }


@lru_cache(maxsize=256)
def rows_kept(sha256: str) -> Rows:
    return rows_of(stored_design(sha256))


def beside(mark: Truss, wanted: Opening, found: Fit, asked: Sequence[Pending]) -> str:
    """What an opening meets besides wood: one which the truss has, or which an open request asks for, and where it fits
    the places of rows of restraint, which a redesign would have elsewhere, also of rows that run on into the trusses
    beside; else empty."""
    sha256 = mark.current.sha256
    rows = [*in_rows_way(sha256, wanted, asked), *_of_rows_beside(mark, wanted)] if found.fits else ()
    return " ".join(filter(None, [_overlaps(sha256, wanted, asked), *rows]))


def _of_rows_beside(mark: Truss, wanted: Opening) -> Iterator[str]:
    """Of rows that the copies of the mark which can still change share with other trusses."""
    if not rows_kept(mark.current.sha256).meet(wanted):
        return
    for level, there in standing(mark.job).items():
        if mine := {one.name: wanted for one in there if one.truss == mark.pk and one.can_change}:
            yield from edges_with(mark.job, level, mine)


def _overlaps(sha256: str, wanted: Opening, asked: Iterable[Pending]) -> str:
    _, held = room_of(sha256)
    if met := overlap(wanted, held):
        return told([coded("overlaps", **met._asdict())])
    for one in asked:
        if met := overlap(wanted, [read_opening(one.opening)]):
            return told([coded("overlaps-request", request=one.request, **met._asdict())])
    return ""


def in_rows_way(sha256: str, wanted: Opening, asked: Sequence[Pending]) -> Iterator[str]:
    """Of each row that it is in the way of, where that still goes beside all the openings, as they are drawn."""
    rows = rows_kept(sha256)
    if not rows.meet(wanted):
        return
    drawn = with_openings(stored_design(sha256).document, [one.opening for one in asked])["openings"]
    placed = replace(wanted, id=_PLACED)
    for row in rows.beside([placed, *map(read_opening, drawn)]):
        if _PLACED in row.in_the_way:
            yield row.told(_PLACED)
