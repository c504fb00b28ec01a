"""What keeps a copy from being set: damage that was told of, until a sealed repair that a designer decided on is
attached, recorded as its job asks, and carried out; or a new truss; or whoever told of it withdraws."""

from __future__ import annotations

from collections.abc import Sequence

from changes.models import Ask, Decision, Kind, State
from changes.refusals import Refused
from changes.workflow.repairing import repairs_of, standing
from trusses.models import Copy

EndsBy = Decision.EndsBy


def damaged(copies: Sequence[Copy]) -> Refused | None:
    """Why these copies of one mark may not be set; None where nothing was told of them, or all of it has ended."""
    numbers = {copy.number for copy in copies}
    told = Ask.objects.filter(kind=Kind.DAMAGE, replaced=False, truss__in={copy.truss_id for copy in copies})
    rows = told.exclude(request__state=State.WITHDRAWN).select_related("truss__job", "request")
    asks = [(ask, met) for ask in rows if (met := sorted(numbers & set(ask.copies)))]
    repairs = repairs_of(copies[0].truss.job, [ask for ask, _ in asks])
    for ask, met in asks:
        about = {"mark": ask.on_truss.mark, "copies": met, "request": ask.request_id}
        decided = ask.request.decisions.last() if ask.request.state == State.APPROVED else None
        if decided is not None and decided.ends_by == EndsBy.NEW_TRUSS:
            continue
        seal = standing(repairs.get(ask.pk, ()))
        if decided is None or seal is None:
            return Refused("copy-damaged", "copies", **about)
        if seal.lacks:
            return Refused("repair-lacks", "copies", **about, lacks=list(seal.lacks))
    return None
