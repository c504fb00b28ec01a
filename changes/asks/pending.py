"""What other open requests ask of the same marks: their openings are drawn, checked against and named apart."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from changes.models import OPEN_STATES, Ask, Request


@dataclass(frozen=True)
class Pending:
    """An opening that another open request asks for, as the truss document would hold it."""

    request: int
    state: str
    opening: dict[str, Any]
    copies: tuple[int, ...] = ()


def pending(trusses: Iterable[int], but: Request | None = None) -> dict[int, list[Pending]]:
    """{truss: the openings that open requests other than `but` ask of it}, the first filed first; one query."""
    rows = Ask.objects.filter(truss__in=list(trusses), replaced=False, request__state__in=OPEN_STATES)
    rows = rows.exclude(request=but) if but is not None else rows
    found: dict[int, list[Pending]] = {}
    told = ("truss", "request", "request__state", "opening", "copies")
    for truss, request, state, opening, copies in rows.order_by("id").values_list(*told):
        if opening:
            found.setdefault(truss, []).append(Pending(request, state, opening, tuple(copies)))
    return found
