"""What stands of a job's asks: what is open, and what was approved and issued."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from datetime import datetime
from typing import NamedTuple

from django.db.models import Exists, OuterRef, Q

from changes.asks.turned import turned_since
from changes.models import OPEN_STATES, Ask, Decision, Kind
from trusses.models import Job
from trusses.once import once
from trusses.plan.on_walls import Number


class Standing(NamedTuple):
    """An ask that stands; when it was decided, None while it is open; and which copies were turned end for end since:
    it is said of their drawing the other way round."""

    ask: Ask
    decided_at: datetime | None
    turned: frozenset[Number]


def standing_asks(job: Job, *kinds: str) -> list[Standing]:
    """The asks of some kinds that are about a mark, in the order in which they were filed. What a decision issued
    stands whatever became of its request, as `holding.standing_runs` has it of runs: also where that is open again for
    its damage, or ended since."""
    rows = Ask.objects.filter(request__job=job, kind__in=kinds, truss__isnull=False)
    approved = Decision.objects.filter(request=OuterRef("request"), verdict=Decision.Choice.APPROVE)
    rows = rows.alias(approved=Exists(approved))
    rows = rows.filter(Q(approved=True) | Q(replaced=False, request__state__in=OPEN_STATES))
    heavy = ("revision__analysis", "truss__current__analysis")
    rows = rows.select_related("request", "revision", "truss__current", "truss__job").defer(*heavy)
    asks = list(rows.prefetch_related("truss__placements").order_by("pk"))
    chosen = issued(job) if asks else {}
    asks = [ask for ask in asks if ask.pk in chosen or (not ask.replaced and ask.request.is_open)]
    return list(_with_turns(asks, chosen)) if asks else []


def standing_bearings(job: Job) -> list[Standing]:
    """Those of bearings, which several ask for on a page."""
    return once(("standing bearings", job.pk), lambda: standing_asks(job, Kind.BEARING))


def _with_turns(asks: Collection[Ask], decided: Mapping[int, datetime]) -> Iterator[Standing]:
    since = turned_since(asks, decided)
    for ask in asks:
        over = (Number(*copy) for copy, turns in since.get(ask.pk, {}).items() if len(turns) % 2)
        yield Standing(ask, decided.get(ask.pk), frozenset(over))


def issued(job: Job) -> dict[int, datetime]:
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
