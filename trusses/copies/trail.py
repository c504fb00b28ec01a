"""Who put each copy of a mark where it stands, and when: the last move that nobody took back; and since when it is of
other wood."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Q, QuerySet

from trusses.models import Copy, Job, MarkEvent, Truss
from trusses.once import once

Code = MarkEvent.Code
_MOVES = (Code.MOVED, Code.TAKEN_BACK, Code.ANEW)
Trail = dict[tuple[int, int], MarkEvent]
"""The event that put a copy where it stands, by its family's first mark and its number."""


@dataclass(frozen=True)
class Hand:
    """Copies that one hand put where they stand together; `event` is None where the record doesn't tell."""

    copies: Sequence[Copy]
    event: MarkEvent | None


def of_job(job: Job) -> Trail:
    return once(("trail", job.pk), lambda: _read(MarkEvent.objects.filter(truss__job=job)))


def of_family(truss: Truss) -> Trail:
    """Of a mark and its variants, since copies keep their number and bring their record."""
    root = truss.variant_of_id or truss.pk
    return once(("trail of", root), lambda: _read(MarkEvent.objects.filter(Q(truss=root) | Q(truss__variant_of=root))))


def made_anew(trusses: Iterable[Truss]) -> dict[tuple[int, int], datetime]:
    """When copies of these marks' families were last to be made anew, by the family's first mark and their number: what
    was found before was found of another truss."""
    roots = {truss.variant_of_id or truss.pk for truss in trusses}
    rows = MarkEvent.objects.filter(Q(truss__in=roots) | Q(truss__variant_of__in=roots), code=Code.ANEW)
    told = rows.select_related("truss").order_by("pk")
    return {
        (event.truss.variant_of_id or event.truss_id, number): event.at
        for event in told
        for number in event.values["copies"]
    }


def taken_back(trusses: Iterable[Truss]) -> dict[tuple[int, int], list[MarkEvent]]:
    """The moves of copies of these marks' families that were taken back, the oldest first, by the family's first mark
    and the copy's number."""
    roots = {truss.variant_of_id or truss.pk for truss in trusses}
    rows = MarkEvent.objects.filter(Q(truss__in=roots) | Q(truss__variant_of__in=roots), code=Code.TAKEN_BACK)
    told: dict[tuple[int, int], list[MarkEvent]] = {}
    for event in rows.select_related("truss", "by").order_by("pk"):
        for number in event.values["copies"]:
            told.setdefault((event.truss.variant_of_id or event.truss_id, number), []).append(event)
    return told


def _read(rows: QuerySet[MarkEvent]) -> Trail:
    moves: dict[tuple[int, int], list[MarkEvent]] = {}
    told: Any = rows.filter(code__in=_MOVES).select_related("by", "truss").order_by("pk")
    for event in told:
        root = event.truss.variant_of_id or event.truss_id
        for number in event.values["copies"]:
            stack = moves.setdefault((root, number), [])
            if event.code == Code.TAKEN_BACK:
                while stack and stack.pop().pk != event.values["event"]:
                    pass
            elif event.code == Code.ANEW:
                stack[:] = [event]
            else:
                stack.append(event)
    return {copy: stack[-1] for copy, stack in moves.items() if stack}


def hands(truss: Truss, copies: Sequence[Copy], trail: Trail) -> list[Hand]:
    """The copies of a mark parted by who put them where they stand."""
    root = truss.variant_of_id or truss.pk
    found: dict[int | None, list[Copy]] = {}
    events: dict[int | None, MarkEvent | None] = {}
    for copy in copies:
        event = trail.get((root, copy.number))
        if event is not None and event.values.get("to", "designing") != copy.stage:
            event = None  # somebody set it otherwise, such as a program that wrote the set
        pk = event.pk if event else None
        found.setdefault(pk, []).append(copy)
        events[pk] = event
    return [Hand(those, events[pk]) for pk, those in found.items()]
