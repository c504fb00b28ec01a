"""What other open requests ask of the same marks: their openings are drawn, checked against and named apart."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from changes.asks.turned import DRAWN, as_drawn_now, as_drawn_then
from changes.models import OPEN_STATES, Ask, Request


@dataclass(frozen=True)
class Pending:
    """An opening that another open request asks for, as the truss document would hold it."""

    request: int
    state: str
    opening: dict[str, Any]
    copies: tuple[int, ...] = ()


def pending(trusses: Iterable[int], but: Request | None = None) -> dict[int, list[Pending]]:
    """{truss: the openings that open requests other than `but` ask of it}, the first filed first, as its drawing of
    today has them."""
    rows = Ask.objects.filter(truss__in=list(trusses), replaced=False, request__state__in=OPEN_STATES)
    rows = rows.exclude(request=but) if but is not None else rows
    rows = rows.filter(opening__isnull=False).select_related(*DRAWN, "run").order_by("id")
    found: dict[int, list[Pending]] = {}
    # documents are read where copies were turned alone
    heavy = [f"{of}__{what}" for of in ("revision", "truss__current") for what in ("document", "analysis")]
    for ask, wishes in as_drawn_now(rows.defer(*heavy)):
        for wish in wishes:
            if wish.opening:
                one = Pending(ask.request_id, ask.request.state, wish.opening, wish.copies)
                found.setdefault(ask.on_truss.pk, []).append(one)
    return found


def by_the_drawing_of(ask: Ask, those: Sequence[Pending]) -> list[Pending]:
    """The same beside an open ask whose drawing isn't today's: where that one has them."""
    if not those or ask.revision_id == ask.on_truss.current_id:
        return list(those)
    return [
        replace(one, opening=opening, copies=copies)
        for one in those
        for opening, copies in as_drawn_then(ask, one.opening, one.copies)
    ]
