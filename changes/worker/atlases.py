"""The worker's side of an atlas: claimed like a computation, gone on with for seconds at a time while nobody waits.

A search is left as soon as a request comes; it is asked again later, so that an atlas costs a request no more than the
moment between two looks at the queue.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from time import monotonic

from django.conf import settings
from django.db import transaction
from django.db.models import F, QuerySet
from django.utils import timezone

from changes.asks.likely import key_of, said_of
from changes.computations import ATLAS_TASK, ring, somebody_waits, unfinished
from changes.models import Atlas
from trusses.analysis.format.document import read_stored
from trusses.analysis.redesign import atlas as ways
from trusses.analysis.redesign.survey import survey
from trusses.analysis.words.phrases import Coded

SLICE_S = 4.0
"""How long it goes on at a time; the worker is free for whatever comes in between."""

_LOOKS_EVERY_S = 0.1


class _Left(RuntimeError):
    """Somebody waits: the search is left."""


@dataclass(frozen=True)
class Claim:
    pk: int
    token: uuid.UUID

    @property
    def row(self) -> QuerySet[Atlas]:
        """The row, as long as it is this claim's."""
        return Atlas.objects.filter(pk=self.pk, token=self.token, done=False)


def claim(pk: int) -> Claim | None:
    """The row for this worker alone; None where somebody waits for something else, another has it, or it is done."""
    mine = Claim(pk, uuid.uuid4())
    with transaction.atomic():
        if somebody_waits():
            return None
        free = Atlas.objects.filter(unfinished(), pk=pk)
        won = free.update(token=mine.token, claimed_at=timezone.now(), attempts=F("attempts") + 1)
        return mine if won else None


def go_on(mine: Claim) -> ways.Atlas | None:
    """What is known after a few more searches; None where the mark has another revision by now or something else is
    said of it, so that what would be found is another atlas's."""
    row = mine.row.select_related("revision__truss__job").get()
    mark = row.revision.truss
    around, building = said_of(mark)
    if key_of(mark, around, building) != {"sha256": row.sha256, "said": row.said, "version": row.version}:
        return None
    found = ways.Atlas.read(row.found)
    until = monotonic() + SLICE_S
    try:
        truss = read_stored(row.revision.document)
        for known in survey(truss, found, around, _leaving(), settings.ATLAS_SEARCHES, building):
            found = known
            if monotonic() > until:
                break
    except _Left:
        pass
    return found


def give_back(mine: Claim, found: ways.Atlas | None) -> None:
    """Writes what is known, and rings again where there is more to find and nobody else waits. None leaves what was
    found as it is, and nobody goes on with it until it is wanted again (`computations.want_atlas`)."""
    if found is None:
        mine.row.update(done=True, claimed_at=None, attempts=0)
        return
    next_ring = timezone.now() + timedelta(seconds=settings.COMPUTE_SWEEP_S)
    written = mine.row.update(
        found=found.written,
        searches=len(found.asked),
        done=found.done,
        claimed_at=None,
        attempts=0,
        next_ring_at=next_ring,
    )
    if written and not found.done and not somebody_waits():
        ring(mine.pk, ATLAS_TASK)


def ring_for_atlas() -> int:
    """Rings for the oldest atlas that nobody works on and whose time has come, where nobody waits for anything else.
    Returns for how many it rang."""
    if not settings.ATLAS_SEARCHES or somebody_waits():
        return 0
    now = timezone.now()
    due = Atlas.objects.filter(unfinished(), next_ring_at__lte=now).order_by("id").values_list("pk", flat=True).first()
    if due is None:
        return 0
    Atlas.objects.filter(pk=due).update(next_ring_at=now + timedelta(seconds=settings.COMPUTE_SWEEP_S))
    ring(due, ATLAS_TASK)
    return 1


def _leaving() -> Callable[[float, Coded], None]:
    """Called while a search goes on: leaves it when somebody waits."""
    last = monotonic()

    def look(fraction: float, doing: Coded) -> None:
        nonlocal last
        if monotonic() - last < _LOOKS_EVERY_S:
            return
        last = monotonic()
        if somebody_waits():
            raise _Left

    return look
