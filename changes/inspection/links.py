"""Handing out and ending inspectors' links, and the corrections that come by them."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Sequence
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from changes.models import Correction, InspectorLink
from changes.refusals import Refused
from trusses.models import Job, Truss
from trusses.permissions import require
from trusses.sheets.closing import Open

HAND_OUT = "hand out an inspector's link"
ANSWER = "answer an inspector"
MOST_DAYS = 365
MOST_OPEN = 50
"""So many corrections of one link may wait for an answer: whoever has its address is known by nothing else."""


def hand_out(by: Any, job: Job, *, for_whom: str, days: int, token: str = "") -> tuple[InspectorLink, str]:
    """A new link and the token of its address, which is kept nowhere. Raises NotAllowed, Refused."""
    require(by, HAND_OUT, job)
    if not for_whom.strip():
        raise Refused("link-for-nobody", "for_whom", "for_whom")
    if not 1 <= days <= MOST_DAYS:
        raise Refused("link-days", "days", "days", most=MOST_DAYS)
    token = token or secrets.token_urlsafe(24)
    link = InspectorLink.objects.create(
        job=job,
        for_whom=for_whom.strip()[:120],
        token_sha256=_hash(token),
        made_by=by,
        expires_at=timezone.now() + timedelta(days=days),
    )
    return link, token


def end(by: Any, link: InspectorLink) -> None:
    """Raises NotAllowed. Ending one that has ended is nothing new."""
    require(by, HAND_OUT, link.job)
    InspectorLink.objects.filter(pk=link.pk, ended_at=None).update(ended_at=timezone.now(), ended_by=by)


def found(token: str) -> InspectorLink | None:
    return InspectorLink.objects.select_related("job").filter(token_sha256=_hash(token)).first()


def opened(link: InspectorLink) -> None:
    """Notes that it is in use, once an hour: the page is read, not written, by who reloads it."""
    now = timezone.now()
    stale = Q(opened_at=None) | Q(opened_at__lt=now - timedelta(hours=1))
    InspectorLink.objects.filter(stale, pk=link.pk).update(opened_at=now)


def correct(link: InspectorLink, *, key: UUID, by_name: str, says: str, truss: Truss | None) -> Correction:
    """What an inspector wants corrected; the same form sent again is the same. Raises Refused."""
    if not link.counts:
        raise Refused("link-ended")
    with transaction.atomic():
        InspectorLink.objects.select_for_update().get(pk=link.pk)
        if (before := link.corrections.filter(key=key).first()) is not None:
            if (before.says, before.by_name, before.truss_id) != (says.strip(), by_name.strip(), truss and truss.pk):
                raise Refused("correction-sent")
            return before
        if link.corrections.filter(answered_at=None).count() >= MOST_OPEN:
            raise Refused("corrections-too-many", most=MOST_OPEN)
        return link.corrections.create(key=key, by_name=by_name.strip(), says=says.strip(), truss=truss)


def answer(by: Any, correction: Correction, says: str) -> None:
    """Answers it, once. Raises NotAllowed, Refused."""
    require(by, ANSWER, correction.link.job)
    rows = Correction.objects.filter(pk=correction.pk, answered_at=None)
    if not rows.update(answer=says.strip(), answered_by=by, answered_at=timezone.now()):
        raise Refused("correction-answered", "answer")


def waiting(job: Job) -> int:
    """How many corrections wait for an answer."""
    return Correction.objects.filter(link__job=job, answered_at=None).count()


def still_open(job: Job) -> Sequence[Open]:
    """What is told of them once every truss of the job is set."""
    n = waiting(job)
    says = f"{n} correction{'' if n == 1 else 's'} that an inspector asked for {'is' if n == 1 else 'are'} not answered"
    return [Open(says, f"{reverse('changes:inspectors', args=[job.pk])}#corrections")] if n else []


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
