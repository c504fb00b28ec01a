"""Asking for a computation: the row first, then a nudge to the worker that may get lost without harm."""

from __future__ import annotations

import logging
from collections.abc import Collection
from datetime import timedelta
from time import monotonic
from typing import Any

from celery import current_app
from django.conf import settings
from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone

from changes.asks.likely import key_of, said_of, wanted
from changes.models import Atlas, Computation, Option, Request, Together
from trusses.models import Submission, Truss

log = logging.getLogger(__name__)

TASK = "changes.compute"
ATLAS_TASK = "changes.survey"
LONGEST_WAIT_S = 600.0
"""The sweep waits twice as long after each ring, up to this, so that a long outage ends within minutes."""

Progress = Computation.Progress
_silent_until = 0.0
"""On the monotonic clock: before then, a broker that did not answer isn't asked again by this process."""


def enqueue(change: Request, option: Option | None = None) -> Computation:
    """A computation of the whole request, or of one drawn option; the bell rings when the transaction is committed."""
    return _enqueue(request=change, option=option)


def enqueue_submission(sent: Submission) -> Computation:
    """A computation of what a designer sent to the set."""
    return _enqueue(submission=sent)


def enqueue_together(change: Request, options: Collection[int]) -> Computation:
    """A computation of what these options make of their carriers at once; the one that is under way, where one is."""
    with transaction.atomic():
        Request.objects.select_for_update().get(pk=change.pk)
        last = last_together(change, options)
        if last is not None and last.state in (Progress.QUEUED, Progress.RUNNING):
            return last
        return _enqueue(request=change, together=Together.objects.create(request=change, options=sorted(options)))


def last_together(change: Request, options: Collection[int]) -> Computation | None:
    """The newest computation of these options together."""
    tried = change.computations.filter(together__isnull=False).select_related("together").order_by("-id")
    return next((work for work in tried if work.together and work.together.options == sorted(options)), None)


def _enqueue(**of_what: Any) -> Computation:
    first_sweep = timezone.now() + timedelta(seconds=settings.COMPUTE_SWEEP_S)
    work = Computation.objects.create(next_ring_at=first_sweep, **of_what)
    ring_on_commit(work.pk)
    return work


def want_atlas(truss: Truss) -> None:
    """Sees to it that there is an atlas of a mark's current revision, or will be once the worker has nothing else to
    do. Asked again it does nothing, but for one that was left half done while something else was said."""
    if not settings.ATLAS_SEARCHES or truss.current is None or not wanted(truss):
        return
    atlas, made = Atlas.objects.get_or_create(
        **key_of(truss, *said_of(truss)),
        defaults={
            "revision": truss.current,
            "next_ring_at": timezone.now() + timedelta(seconds=settings.COMPUTE_SWEEP_S),
        },
    )
    if not made and atlas.done and not atlas.found.get("done"):
        # this mark's revision too: that of the row may be another mark's, of which something else is said by now
        made = bool(Atlas.objects.filter(pk=atlas.pk, done=True).update(done=False, revision=truss.current))
    if made:
        transaction.on_commit(lambda: ring(atlas.pk, ATLAS_TASK), robust=True)


def unfinished() -> Q:
    """Atlases that nobody works on and that are not done."""
    lapsed = timezone.now() - timedelta(seconds=settings.COMPUTE_LEASE_S)
    free = Q(claimed_at=None) | Q(claimed_at__lt=lapsed)
    return free & Q(done=False, attempts__lt=settings.COMPUTE_ATTEMPTS)


def somebody_waits() -> bool:
    """Whether the worker has, or should have, anything in hand that a person waits for."""
    return Computation.objects.filter(state__in=(Progress.QUEUED, Progress.RUNNING)).exists()


def ring_on_commit(pk: int) -> None:
    transaction.on_commit(lambda: ring(pk), robust=True)


def ring(pk: int, task: str = TASK) -> None:
    """Sends the message. A broker that is down or full costs a line in the log: the sweep rings again.

    One that hangs costs its time limit once, and not again for each page and each row until the next sweep.
    """
    global _silent_until
    if monotonic() < _silent_until:
        return
    try:
        current_app.send_task(task, args=(pk,), retry=False)
    except Exception:
        _silent_until = monotonic() + settings.COMPUTE_SWEEP_S
        log.exception("the bell for %s %s did not ring; the sweep will ring again", task, pk)


def waiting() -> Q:
    """Rows that nobody works on: queued, or running under a lease that has run out."""
    lapsed = timezone.now() - timedelta(seconds=settings.COMPUTE_LEASE_S)
    return Q(state=Progress.QUEUED) | Q(state=Progress.RUNNING, claimed_at__lt=lapsed)


def ring_if_due(work: Computation) -> bool:
    """Rings for a row that waits and whose time has come; of several who try at once, one rings."""
    now = timezone.now()
    wait = min(settings.COMPUTE_SWEEP_S * 2 ** min(work.rings + 1, 30), LONGEST_WAIT_S)
    due = Computation.objects.filter(waiting(), pk=work.pk, next_ring_at__lte=now)
    if not due.update(next_ring_at=now + timedelta(seconds=wait), rings=F("rings") + 1):
        return False
    ring(work.pk)
    return True
