"""What stands of a job's asks: what is open, and what was approved and issued."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from django.db.models import Q

from changes.models import OPEN_STATES, Ask, Decision
from trusses.models import Job, MarkEvent
from trusses.plan.on_walls import Number


def standing_asks(job: Job, *kinds: str) -> list[tuple[Ask, datetime | None]]:
    """The asks of some kinds that are about a mark, in the order in which they were filed, each with when it was
    decided; None while it is open. What a decision issued stands whatever became of its request, as
    `holding.standing_runs` has it of runs: also where that is open again for its damage, or ended since."""
    issued = _issued(job)
    rows = Ask.objects.filter(request__job=job, kind__in=kinds, truss__isnull=False)
    rows = rows.filter(Q(pk__in=issued) | Q(replaced=False, request__state__in=OPEN_STATES))
    heavy = ("revision__analysis", "truss__current__analysis")
    rows = rows.select_related("request", "revision", "truss__current", "truss__job").defer(*heavy)
    return [(ask, issued.get(ask.pk)) for ask in rows.prefetch_related("truss__placements").order_by("pk")]


def _issued(job: Job) -> dict[int, datetime]:
    """{ask: when a decision chose what answers it}: of the rest of its request nothing was issued."""
    found: dict[int, datetime] = {}
    rows = Decision.objects.filter(request__job=job, verdict=Decision.Choice.APPROVE).order_by("pk")
    # of older decisions their issues alone say what was chosen; of what became copies of a mark that was there, or of
    # one that is alike, only the choice does
    for at, options, issued in rows.values_list("at", "options", "issues__option__asks"):
        found.update(dict.fromkeys(map(int, options), at))
        if issued:
            found[issued] = at
    return found


def turned_since(roots: Collection[int]) -> list[tuple[datetime, Number]]:
    """Copies that decisions turned end for end for another design, and when: what was asked of one before was said of
    its drawing the other way round."""
    rows = MarkEvent.objects.filter(Q(truss__in=roots) | Q(truss__variant_of__in=roots), code=MarkEvent.Code.LEFT)
    told = rows.values_list("at", "truss", "truss__variant_of", "values")
    return [(at, Number(of or pk, number)) for at, pk, of, values in told for number in values.get("turned", ())]
