"""What keeps a copy from being set: damage that was told of, until a sealed repair that a designer decided on is
attached, recorded as its job asks, and carried out; or a new truss, which ends all that was told of the copy before,
since that is to be made anew (`ending`); or a designer declines it by name, since the truss isn't damaged; or whoever
told of it withdraws before its answer. What an answer to a sending back left out ends with its request, by a decision
that says what ends damage; where the answer tells of other damage it goes on, unless a decision says of it that it is
none. What was told stays with the wood: its cut isn't taken back either, and copies keep their
number in all of a mark's variants."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from changes.asks.as_built import built, decided_of, last_told, said_none
from changes.models import Ask, Decision, Kind, State
from changes.refusals import Refused
from changes.workflow.ending import damage_of, goes_on
from changes.workflow.repairing import repairs_of, standing, told_at
from trusses import refusals
from trusses.copies.harmed import Repaired
from trusses.copies.models import Look
from trusses.models import Copy
from trusses.production import KeptOff
from trusses.variants.homes import root

EndsBy = Decision.EndsBy


@dataclass(frozen=True)
class _Told:
    """Damage that was told of some copies of a mark, what was decided of it last, None where an answer left it out, and
    the copies that it is still of: a new truss ends what was told of the old one before."""

    ask: Ask
    decision: Decision | None
    copies: Sequence[Copy]


def damaged(copies: Sequence[Copy]) -> refusals.Refused | None:
    """Why these copies may not be set; None where nothing was told of them, or all of it has ended."""
    return next((one.why for one in keeps_off(copies)), None)


def keeps_off(copies: Sequence[Copy]) -> Iterator[KeptOff]:
    """Which copies of one job may not be set, and why."""
    told = _told_of(copies)
    repairs = repairs_of([one.ask for one in told]) if told else {}
    for one in told:
        about = {"mark": one.copies[0].truss.mark, "request": one.ask.request_id}
        about |= {"copies": [copy.number for copy in one.copies]}
        at = told_at(one.ask.request_id)
        for revision in {built(copy) for copy in one.copies}:
            # a repair counts for what its damage was worked out from
            counts = revision == one.ask.revision_id
            seal = standing(repairs.get(one.ask.pk, ()), revision) if counts else None
            repaired = one.decision is not None and one.decision.ends_by == EndsBy.REPAIR
            if not repaired or seal is None:
                yield KeptOff(
                    one.copies,
                    Refused("copy-damaged", "copies", **about),
                    harm=True,
                    at=at,
                    what=partial(_harm, one.ask),
                )
            elif seal.lacks:
                lacks = Refused("repair-lacks", "copies", **about, lacks=list(seal.lacks))
                yield KeptOff(one.copies, lacks, harm=True, at=at, what=partial(_harm, one.ask))


def _harm(ask: Ask) -> str:
    return ask.harm


def repaired(copies: Sequence[Copy]) -> Iterator[Repaired]:
    """Which copies of one mark a finished repair mended, of those that nothing keeps off for damage."""
    told = _told_of(copies)
    repairs = repairs_of([one.ask for one in told]) if told else {}
    for one in told:
        if one.decision is not None and one.decision.ends_by == EndsBy.REPAIR:
            seal = standing(repairs.get(one.ask.pk, ()), one.ask.revision_id)
            of = [copy.number for copy in one.copies if built(copy) == one.ask.revision_id]
            if seal is not None and not seal.lacks and of:
                yield Repaired(tuple(sorted(of)), told_at(one.ask.request_id), seal=seal)


def keeps_cut(copies: Sequence[Copy]) -> Refused | None:
    """Why copies of one mark stay told as cut: a repair of damage that was told of counts for this wood alone."""
    for one in _told_of(copies):
        about = {"mark": copies[0].truss.mark, "copies": [copy.number for copy in one.copies]}
        return Refused("undo-damaged", "event", **about, request=one.ask.request_id)
    return None


def _told_of(copies: Sequence[Copy]) -> list[_Told]:
    """What was told of some copies of one job and that neither a word nor a new truss ended."""
    by = {(root(copy.truss), copy.number): copy for copy in copies}
    rows = damage_of(copy.truss for copy in copies).exclude(request__state__in=(State.WITHDRAWN, State.DECLINED))
    asks = [ask for ask in rows if any((root(ask.on_truss), number) in by for number in ask.copies)]
    decided = decided_of(asks)
    last = {decision.request_id: decision for decision in decided}
    ends = {request: decision.ends_by for request, decision in last.items()}
    unharmed = said_none(asks, decided)
    answered = {ask.request_id for ask in asks if ask.replaced and ends.get(ask.request_id)}
    others = Ask.objects.filter(request__in=answered, kind=Kind.DAMAGE, replaced=False) if answered else ()
    tells_of_other = {ask.request_id for ask in others}
    found = []
    for ask in asks:
        ended = ask.replaced and ends.get(ask.request_id)
        if ask.pk in unharmed or (ended and ask.request_id not in tells_of_other):
            continue
        # without the copies made anew since, so also damage whose repair turned out impossible
        left = sorted(goes_on(ask, asks, decided))
        of = root(ask.on_truss)
        if those := [by[of, number] for number in left if (of, number) in by]:
            # what is decided of the answer is nothing decided of what it left out
            found.append(_Told(ask, None if ask.replaced else last.get(ask.request_id), those))
    return found


def told_of(looks: Sequence[Look]) -> set[int]:
    """Which of some looks at copies are told of as damage since: from then on `damaged` says what keeps them off."""
    rows = list(damage_of(look.copy.truss for look in looks).exclude(request__state=State.WITHDRAWN))
    at = last_told(rows) if rows else {}
    return {
        look.pk
        for look in looks
        for ask in rows
        if root(ask.on_truss) == root(look.copy.truss) and look.copy.number in ask.copies and at[ask.pk] >= look.at
    }
