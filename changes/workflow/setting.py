"""What keeps a copy from being set: damage that was told of, until a sealed repair that a designer decided on is
attached, recorded as its job asks, and carried out; or a new truss, which ends all that was told of the copy before,
since that is to be made anew (`ending`); or a designer declines it by name, since the truss isn't damaged; or whoever
told of it withdraws before its answer. What was told stays with the wood: its cut isn't taken back either."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.db.models import Q

from changes.asks.as_built import built
from changes.models import OPEN_STATES, Ask, Decision, Kind, State
from changes.refusals import Refused
from changes.workflow.repairing import repairs_of, standing
from trusses import refusals
from trusses.copies.models import Look
from trusses.models import Copy
from trusses.production import KeptOff

EndsBy = Decision.EndsBy


@dataclass(frozen=True)
class _Told:
    """Damage that was told of some copies of a mark, what was decided of it last, and the copies that it is still of:
    a new truss ends what was told of the old one before."""

    ask: Ask
    decision: Decision | None
    copies: Sequence[Copy]


def damaged(copies: Sequence[Copy]) -> refusals.Refused | None:
    """Why these copies may not be set; None where nothing was told of them, or all of it has ended."""
    return next((one.why for one in keeps_off(copies)), None)


def keeps_off(copies: Sequence[Copy]) -> Iterator[KeptOff]:
    """Which copies of one job may not be set, and why."""
    told = _told_of(copies)
    repairs = repairs_of(copies[0].truss.job, [one.ask for one in told]) if told else {}
    for one in told:
        about = {"mark": one.ask.on_truss.mark, "request": one.ask.request_id}
        about |= {"copies": [copy.number for copy in one.copies]}
        for revision in {built(copy) for copy in one.copies}:
            seal = standing(repairs.get(one.ask.pk, ()), revision)
            if one.decision is None or seal is None:
                yield KeptOff(one.copies, Refused("copy-damaged", "copies", **about))
            elif seal.lacks:
                yield KeptOff(one.copies, Refused("repair-lacks", "copies", **about, lacks=list(seal.lacks)))


def keeps_cut(copies: Sequence[Copy]) -> Refused | None:
    """Why copies of one mark stay told as cut: a repair of damage that was told of counts for this wood alone."""
    for one in _told_of(copies):
        about = {"mark": copies[0].truss.mark, "copies": [copy.number for copy in one.copies]}
        return Refused("undo-damaged", "event", **about, request=one.ask.request_id)
    return None


def _told_of(copies: Sequence[Copy]) -> list[_Told]:
    """What was told of some copies of one job and that neither a word nor a new truss ended."""
    by: dict[tuple[int | None, int], Copy] = {(copy.truss_id, copy.number): copy for copy in copies}
    # an answer with other asks ends no damage: what it was before waits for the designer's decision as well
    waits = Q(replaced=False) | Q(request__state__in=OPEN_STATES)
    rows = Ask.objects.filter(waits, kind=Kind.DAMAGE, truss__in={copy.truss_id for copy in copies})
    rows = rows.exclude(request__state__in=(State.WITHDRAWN, State.DECLINED)).select_related("truss__job", "request")
    asks = [ask for ask in rows if any((ask.truss_id, number) in by for number in ask.copies)]
    approved = {ask.request_id for ask in asks if ask.request.state == State.APPROVED}
    decided = Decision.objects.filter(request__in=approved).order_by("pk") if approved else ()
    last = {decision.request_id: decision for decision in decided}
    found = []
    for ask in asks:
        # so also damage whose repair turned out impossible
        later = [one for one in asks if one.truss_id == ask.truss_id and one.pk >= ask.pk]
        anew = [one for one in later if (made := last.get(one.request_id)) and made.ends_by == EndsBy.NEW_TRUSS]
        left = sorted(set(ask.copies).difference(*(one.copies for one in anew)))
        if those := [by[ask.truss_id, number] for number in left if (ask.truss_id, number) in by]:
            found.append(_Told(ask, last.get(ask.request_id), those))
    return found


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
