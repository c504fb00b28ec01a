"""A mark in one line, as an inspector reads it first: what is sealed, where its copies are, what is in place, and
everything that is open on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from changes.models import Kind, Request
from changes.workflow.waiting import Waiting
from trusses.analysis.words.phrases import copies, counted, listed
from trusses.copies import disputed, harmed
from trusses.copies.disputed import Dispute
from trusses.copies.harmed import Off
from trusses.copies.models import Look
from trusses.models import Truss
from trusses.plan.on_walls import Under
from trusses.sealing.models import SealRecord
from trusses.sealing.seals import Seal
from trusses.sheets import fixing, words


@dataclass(frozen=True)
class Open:
    """Something that is open on a mark, and the part of the index or of the mark's page where it is told."""

    says: str
    at: str


@dataclass(frozen=True)
class InShort:
    """`says` what is done; `open`, what isn't: empty where nothing is known to be."""

    says: str
    open: Sequence[Open]


def in_short(
    truss: Truss,
    seal: Seal | None,
    stands: Sequence[tuple[str, str]],
    fixed: Sequence[fixing.Listed],
    off: Sequence[Off],
    asked: Waiting | None,
    walls: Sequence[Under],
    found: Sequence[Look],
) -> InShort:
    """`found`: what was found of its copies and keeps them from being set."""
    says = [f"{_sealed(seal)}.", *_copies(stands), *_in_place(fixed)]
    return InShort(
        " ".join(says),
        [
            *_corrections(disputed.of(truss)),
            *_damaged(off),
            *_found(found, off),
            *_walls(walls),
            *_requests(truss, asked),
        ],
    )


def _sealed(seal: Seal | None) -> str:
    if seal is None:
        return "Not sealed"
    kinds = SealRecord.Kind
    done = ["Sealed", *(str(one.label) for one in (kinds.REVIEWED, kinds.ACCEPTED) if one in seal.records)]
    lacking = words.lacking(seal)
    return listed(done) + (f"; not recorded: {lacking}" if lacking else "")


def _copies(stands: Sequence[tuple[str, str]]) -> list[str]:
    told = [f"cop{'ies' if '–' in numbers or ',' in numbers else 'y'} {numbers} {where}" for numbers, where in stands]
    says = "; ".join(told)
    return [f"{says[0].upper()}{says[1:]}."] if told else ["It has no copies."]


def _in_place(fixed: Sequence[fixing.Listed]) -> list[str]:
    if not fixed:
        return []
    done = sum(one.done for one in fixed)
    return [f"{done} of {counted(len(fixed), 'row, hanger or tie', 'rows, hangers and ties')} in place."]


def _corrections(found: Sequence[Dispute]) -> list[Open]:
    waits = [one for one in found if not one.waits]
    more = "" if not waits else f", {len(waits)} of them answered and not accepted yet"
    if len(waits) == len(found):
        more = ", answered and not accepted yet"
    return [Open(disputed.says(found).removesuffix(" open") + more, "corrections")] if found else []


def _damaged(off: Sequence[Off]) -> list[Open]:
    every = harmed.together(off)
    return [Open(f"{every.called} damaged", "repairs")] if every else []


def _found(found: Sequence[Look], off: Sequence[Off]) -> list[Open]:
    """What isn't told as damage of its own already."""
    hurt = {number for one in off for number in one.copies}
    numbers = sorted({one.copy.number for one in found} - hurt)
    return [Open(f"{copies(numbers)}: what was found wrong isn’t closed", "looks")] if numbers else []


def _walls(walls: Sequence[Under]) -> list[Open]:
    told = [(one.request, f"a wall {_goes(one)}") for one in walls]
    return [
        Open(f"{says} under it by request {request}", f"request-{request}") for request, says in dict.fromkeys(told)
    ]


def _goes(one: Under) -> str:
    if one.comes:
        return "comes" if one.decided else "may come"
    return "moves" if one.decided else "may move"


def _requests(truss: Truss, asked: Waiting | None) -> list[Open]:
    return [
        Open(f"request {one.pk} {_asks(truss, one)}, not decided", f"request-{one.pk}")
        for one in (asked.requests if asked else ())
    ]


def _asks(truss: Truss, change: Request) -> str:
    kinds = {ask.kind for ask in change.asks.all() if ask.truss_id == truss.pk and not ask.replaced}
    if not kinds:
        return "would change what stands on it"
    if kinds == {Kind.DAMAGE}:
        return "tells of damage to it"
    if kinds == {Kind.QUESTION}:
        return "asks about it"
    return "asks to change it"
