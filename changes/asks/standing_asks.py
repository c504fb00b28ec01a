"""What stands of a job's asks: what is open, and what was approved and issued."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from datetime import datetime
from typing import NamedTuple

from django.db.models import Exists, OuterRef, Q

from changes.models import OPEN_STATES, Ask, Decision, Event
from trusses.models import Job, MarkEvent
from trusses.plan.on_walls import Number
from trusses.variants.homes import root


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
    issued = _issued(job) if asks else {}
    asks = [ask for ask in asks if ask.pk in issued or (not ask.replaced and ask.request.is_open)]
    return list(_with_turns(asks, issued)) if asks else []


def _with_turns(asks: Collection[Ask], decided: Mapping[int, datetime]) -> Iterator[Standing]:
    """An answer to a sending back and a computation anew take each ask as of today's drawing (`workflow.filing`)."""
    rows = Event.objects.filter(request__in={ask.request_id for ask in asks}, verb__in=("answer", "compute"))
    anew: dict[int, list[datetime]] = {}
    for request, at in rows.values_list("request", "at"):
        anew.setdefault(request, []).append(at)
    turned = _turned({root(ask.on_truss) for ask in asks})
    for ask in asks:
        decided_at = decided.get(ask.pk)
        again = [at for at in anew.get(ask.request_id, ()) if not decided_at or at < decided_at]
        drawn = max([ask.request.filed_at, *again])
        times = Counter(number for at, number in turned if at > drawn)
        yield Standing(ask, decided_at, frozenset(number for number, n in times.items() if n % 2))


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


def _turned(roots: Collection[int]) -> list[tuple[datetime, Number]]:
    """Copies that decisions turned end for end for another design, and when."""
    rows = MarkEvent.objects.filter(Q(truss__in=roots) | Q(truss__variant_of__in=roots), code=MarkEvent.Code.LEFT)
    told = rows.values_list("at", "truss", "truss__variant_of", "values")
    return [(at, Number(of or pk, number)) for at, pk, of, values in told for number in values.get("turned", ())]
