"""The worker's side of a computation's row: claim, tell, finish, give back, give up, sweep.

The row is the truth. A claim is one conditional UPDATE with a fresh token; whatever is written afterwards is written
only while the token still stands, so that of two workers on one row one has an effect.
"""

from __future__ import annotations

import logging
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from time import monotonic
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import F, QuerySet
from django.utils import timezone

from changes.computations import Progress, ring_if_due, ring_on_commit, waiting
from changes.models import Computation, Option, Request, State
from changes.worker.atlases import ring_for_atlas
from changes.workflow.table import WORKER, move, note
from trusses.analysis.words.phrases import Coded, coded
from trusses.models import Submission

log = logging.getLogger(__name__)

SWEPT_AT_ONCE = 20
TOLD_EVERY_S = 0.5


def stopped(code: str, /, **values: Any) -> Coded:
    """Why a computation came to nothing, as its row keeps it."""
    return {"code": code, "place": "", "values": values}


class Lost(RuntimeError):
    """The row is no longer this worker's: withdrawn, decided, or claimed by another after the lease ran out."""


@dataclass(frozen=True)
class Claim:
    pk: int
    token: uuid.UUID
    attempts: int
    request_id: int | None
    option_id: int | None
    together_id: int | None = None
    submission_id: int | None = None

    @property
    def row(self) -> QuerySet[Computation]:
        """The row, as long as it is this claim's."""
        return Computation.objects.filter(pk=self.pk, token=self.token, state=Progress.RUNNING)


def claim(pk: int) -> Claim | None:
    """The row for this worker alone, or None when another has it, it is done, or its request waits no longer."""
    token = uuid.uuid4()
    with transaction.atomic():
        free = Computation.objects.filter(waiting(), pk=pk, attempts__lt=settings.COMPUTE_ATTEMPTS)
        won = free.update(
            state=Progress.RUNNING,
            token=token,
            claimed_at=timezone.now(),
            attempts=F("attempts") + 1,
            fraction=0,
            doing=None,
        )
        if not won:
            return None
        work = Computation.objects.select_related("request__job", "submission").get(pk=pk)
        of = (work.request_id, work.option_id, work.together_id, work.submission_id)
        mine = Claim(pk, token, work.attempts, *of)
        if _still_wanted(work):
            return mine
        mine.row.update(state=Progress.DROPPED, finished_at=timezone.now())
        return None


def _still_wanted(work: Computation) -> bool:
    """Whether the request or what was sent waits for this row; moves a request to computing the first time."""
    if work.submission is not None:
        return work.submission.waits
    change = work.request
    if change is None:
        return False
    if work.option_id is not None or work.together_id is not None:
        return change.state == State.AWAITING_DECISION
    if change.state == State.FILED:
        move(change, "begin computing", WORKER)
    return change.state == State.COMPUTING


class Teller:
    """Writes to the row how far the computation is, at most twice a second. Raises Lost when the row was lost."""

    def __init__(self, mine: Claim):
        self.mine, self.last = mine, -TOLD_EVERY_S

    def __call__(self, fraction: float, doing: Coded) -> None:
        now = monotonic()
        if now - self.last < TOLD_EVERY_S:
            return
        self.last = now
        if not self.mine.row.update(fraction=min(max(fraction, 0.0), 1.0), doing=doing):
            raise Lost(f"computation {self.mine.pk} is no longer this worker's")


def finish(mine: Claim, write: Callable[[], dict[str, Any]]) -> bool:
    """One transaction: done, its effect, the request's next state. False, and nothing written, if the row was lost.

    `write` writes the effect and returns the values of the event that tells of it.
    """
    with transaction.atomic():
        if not mine.row.update(state=Progress.DONE, finished_at=timezone.now(), fraction=1, doing=None, trouble=None):
            return False
        values = write()
        if mine.submission_id is not None or mine.together_id is not None:
            return True
        change = Request.objects.select_related("job").get(computations=mine.pk)
        if mine.option_id is None:
            move(change, "finish computing", WORKER, **values)
        else:
            note(change, "compute an option", **values)
    return True


def give_back(mine: Claim, trouble: Coded) -> None:
    """After a failed attempt: to be tried again at once, or failed with the reason when it was the last."""
    if mine.attempts >= settings.COMPUTE_ATTEMPTS:
        give_up(mine.row, trouble)
        return
    with transaction.atomic():
        next_ring = timezone.now() + timedelta(seconds=settings.COMPUTE_SWEEP_S)
        if mine.row.update(state=Progress.QUEUED, trouble=trouble, doing=None, next_ring_at=next_ring):
            ring_on_commit(mine.pk)


def give_up(row: QuerySet[Computation], trouble: Coded) -> None:
    """Fails the one row, if it is still there as the queryset wants it, and tells the request."""
    with transaction.atomic():
        work = row.select_related("request__job").first()
        failed = {"state": Progress.FAILED, "finished_at": timezone.now(), "trouble": trouble, "doing": None}
        if work is None or not row.update(**failed):
            return
        if work.submission_id is not None:
            why = coded("not-computed", why=trouble)
            Submission.objects.filter(pk=work.submission_id).update(trouble=why)
        elif work.request is None or work.together_id is not None:
            return  # whoever looks at these options sees it in the row
        elif work.option_id is not None:
            Option.objects.filter(pk=work.option_id).update(passes=False, told=[coded("not-computed", trouble=trouble)])
            note(work.request, "fail", trouble=trouble, option=True)
        elif work.request.state == State.COMPUTING:
            move(work.request, "fail", WORKER, trouble=trouble, option=False)


def sweep() -> int:
    """Rings again for the oldest rows that wait, and fails those that ended their worker too often; where nothing
    waits, for an atlas.

    Returns for how many it rang.
    """
    lapsed = timezone.now() - timedelta(seconds=settings.COMPUTE_LEASE_S)
    dead = Computation.objects.filter(
        state=Progress.RUNNING, claimed_at__lt=lapsed, attempts__gte=settings.COMPUTE_ATTEMPTS
    )
    for pk in dead.values_list("pk", flat=True)[:SWEPT_AT_ONCE]:
        log.error("computation %s ended its worker %s times", pk, settings.COMPUTE_ATTEMPTS)
        give_up(dead.filter(pk=pk), stopped("ended-its-worker", attempts=settings.COMPUTE_ATTEMPTS))
    due = Computation.objects.filter(
        waiting(), next_ring_at__lte=timezone.now(), attempts__lt=settings.COMPUTE_ATTEMPTS
    )
    rung = sum(ring_if_due(work) for work in due.order_by("id")[:SWEPT_AT_ONCE])
    return rung or ring_for_atlas()
