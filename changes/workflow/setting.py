"""What keeps a copy from being set: damage that was told of, until a sealed repair that a designer decided on is
attached, recorded as its job asks, and carried out; or a new truss, which ends all that was told of the copy before; or
a designer declines it by name, since the truss isn't damaged; or whoever told of it withdraws before its answer."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Q

from changes.asks.as_built import built
from changes.models import OPEN_STATES, Ask, Decision, Kind, State
from changes.refusals import Refused
from changes.workflow.repairing import repairs_of, standing
from trusses.copies.models import Look
from trusses.models import Copy

EndsBy = Decision.EndsBy


def damaged(copies: Sequence[Copy]) -> Refused | None:
    """Why these copies of one mark may not be set; None where nothing was told of them, or all of it has ended."""
    numbers = {copy.number for copy in copies}
    # an answer with other asks ends no damage: what it was before waits for the designer's decision as well
    waits = Q(replaced=False) | Q(request__state__in=OPEN_STATES)
    told = Ask.objects.filter(waits, kind=Kind.DAMAGE, truss__in={copy.truss_id for copy in copies})
    ended = (State.WITHDRAWN, State.DECLINED)
    rows = told.exclude(request__state__in=ended).select_related("truss__job", "request")
    asks = [ask for ask in rows if numbers & set(ask.copies)]
    decisions = {ask.pk: ask.request.decisions.last() for ask in asks if ask.request.state == State.APPROVED}
    anew = [ask for ask in asks if (made := decisions.get(ask.pk)) and made.ends_by == EndsBy.NEW_TRUSS]
    repairs = repairs_of(copies[0].truss.job, asks)
    for ask in asks:
        # a new truss ends what was told of the old one before, so also damage whose repair turned out impossible
        met = sorted((numbers & set(ask.copies)).difference(*(one.copies for one in anew if one.pk >= ask.pk)))
        if not met:
            continue
        about = {"mark": ask.on_truss.mark, "copies": met, "request": ask.request_id}
        for revision in {built(copy) for copy in copies if copy.number in met}:
            seal = standing(repairs.get(ask.pk, ()), revision)
            if decisions.get(ask.pk) is None or seal is None:
                return Refused("copy-damaged", "copies", **about)
            if seal.lacks:
                return Refused("repair-lacks", "copies", **about, lacks=list(seal.lacks))
    return None


def told_of(looks: Sequence[Look]) -> set[int]:
    """Which of some looks at copies are told of as damage since: from then on `damaged` says what keeps them off."""
    asks = Ask.objects.filter(kind=Kind.DAMAGE, truss__in={look.copy.truss_id for look in looks})
    rows = list(asks.exclude(request__state=State.WITHDRAWN).select_related("request"))
    return {
        look.pk
        for look in looks
        for ask in rows
        if ask.truss_id == look.copy.truss_id and look.copy.number in ask.copies and ask.request.filed_at >= look.at
    }
