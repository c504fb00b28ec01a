"""Handing out and ending inspectors' links."""

from __future__ import annotations

import hashlib
import secrets
from datetime import timedelta
from typing import Any

from django.db.models import Q
from django.utils import timezone

from changes.models import InspectorLink
from changes.refusals import Refused
from trusses.models import Job
from trusses.permissions import require

HAND_OUT = "hand out an inspector's link"
MOST_DAYS = 365


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


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
