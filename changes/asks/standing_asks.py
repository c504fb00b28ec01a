"""What stands of a job's asks: what is open, and what was approved and issued."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from django.db.models import Max, Q

from changes.models import OPEN_STATES, Ask, Decision, Issue, State
from trusses.models import Job, MarkEvent
from trusses.plan.on_walls import Number


def standing_asks(job: Job, *kinds: str) -> list[tuple[Ask, datetime | None]]:
    """The asks of some kinds that are about a mark, in the order in which they were filed, each with when it was
    decided; None while it is open."""
    rows = Ask.objects.filter(request__job=job, kind__in=kinds, replaced=False, truss__isnull=False)
    rows = rows.filter(request__state__in=(*OPEN_STATES, State.APPROVED))
    heavy = ("revision__analysis", "truss__current__analysis")
    rows = rows.select_related("request", "revision", "truss__current", "truss__job").defer(*heavy)
    asks = list(rows.prefetch_related("truss__placements").order_by("pk"))
    approved = {ask.request_id for ask in asks if ask.request.state == State.APPROVED}
    decided: dict[int, datetime] = {}
    issued: set[int | None] = set()
    if approved:
        choices = Decision.objects.filter(request__in=approved, verdict=Decision.Choice.APPROVE)
        decided = dict(choices.values_list("request").annotate(at=Max("at")))
        issued = set(Issue.objects.filter(decision__request__in=approved).values_list("option__asks", flat=True))
    # of a request that was approved the rest was left as it is
    return [(ask, decided.get(ask.request_id)) for ask in asks if ask.request_id not in approved or ask.pk in issued]


def turned_since(roots: Collection[int]) -> list[tuple[datetime, Number]]:
    """Copies that decisions turned end for end for another design, and when: what was asked of one before was said of
    its drawing the other way round."""
    rows = MarkEvent.objects.filter(Q(truss__in=roots) | Q(truss__variant_of__in=roots), code=MarkEvent.Code.LEFT)
    told = rows.values_list("at", "truss", "truss__variant_of", "values")
    return [(at, Number(of or pk, number)) for at, pk, of, values in told for number in values.get("turned", ())]
