"""What ends damage: a sealed repair, or a new truss, for which the copy is to be made anew. Until then a designer says
that it stays off limits, as often as there is something to say, also after an end that turned out to be none."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery

from changes.asks.as_built import decided_of, moved
from changes.asks.kinds import HERE
from changes.asks.kinds import designs as design_asks
from changes.models import Ask, Decision, Kind, Request, State
from changes.refusals import Conflict, Refused
from changes.workflow.repairing import repairs_of, standing
from trusses.copies.earlier import make_anew
from trusses.models import CHANGEABLE_STAGES, Copy, Truss
from trusses.once import once
from trusses.sealing.models import SealedDrawing, SealRecord
from trusses.variants.homes import root

Choice, EndsBy = Decision.Choice, Decision.EndsBy


NO_DRAWING = "drawing"
"""What lacks of a repair whose sealed drawing stands no more, before anything that is recorded of one."""


def designs(change: Request) -> bool:
    """Whether approving it issues a revision: damage and questions end by a designer's words alone."""
    return design_asks(change.asks.filter(replaced=False).only("kind", "truss"))


def verb(verdict: str, ends_by: str) -> str:
    """What the decision does to the request, as the table of states has it."""
    return EndsBy.KEEP_OFF.value if verdict == Choice.APPROVE and ends_by == EndsBy.KEEP_OFF else verdict


def refuse_end_of_damage(change: Request, verdict: str, ends_by: str) -> None:
    """Raises Refused where damage would end by nothing, also what an answer to a sending back left out, or by a repair
    without its drawing, or something else would; Conflict where the repair would be of another revision than what
    stands."""
    damage = list(change.asks.filter(kind=Kind.DAMAGE))
    if verdict != Choice.APPROVE or not damage:
        if ends_by:
            raise Refused("ends-no-damage", "ends_by", "ends_by")
        return
    if ends_by not in EndsBy.values:
        raise Refused("damage-ends-by", "ends_by", "ends_by", choices=list(EndsBy.values))
    told = [ask for ask in damage if not ask.replaced]
    alone = not designs(change) or (told and Request.objects.filter(pk=change.pk, state=State.APPROVED).exists())
    if ends_by == EndsBy.KEEP_OFF and not alone:
        raise Refused("keep-off-alone", "ends_by", "ends_by")
    if ends_by != EndsBy.REPAIR:
        return
    for ask in moved(change):
        raise Conflict("damaged-built-since", mark=ask.on_truss.mark, copies=ask.copies)
    if not told:
        raise Refused("repairs-left-out", "ends_by", "ends_by")
    repairs = repairs_of(told)
    if not all(standing(repairs.get(ask.pk, ()), ask.revision_id) for ask in told):
        raise Refused("repair-without-drawing", "ends_by", "ends_by")


def damage_of(trusses: Iterable[Truss]) -> QuerySet[Ask]:
    """All that was told as damage of these marks, by whatever name they went then."""
    roots = {root(truss) for truss in trusses}
    kin = Q(truss__in=roots) | Q(truss__variant_of__in=roots)
    return Ask.objects.filter(kin, kind=Kind.DAMAGE).select_related("truss", "request")


def goes_on(ask: Ask, told: Iterable[Ask], decided: Iterable[Decision]) -> set[int]:
    """The copies, by number, that damage is still of: neither made anew since, nor told of by the answer that replaced
    it, since they are decided with that. `told`: all damage of its mark; `decided`: by what that ended, `decided_of`.
    """
    ends = {decision.request_id: decision.ends_by for decision in decided}
    # an ask's id may be later than what it tells
    of, asked = root(ask.on_truss), ask.request_id
    later = [one for one in told if root(one.on_truss) == of and one.request_id >= asked and not one.replaced]
    anew = [one.copies for one in later if ends.get(one.request_id) == EndsBy.NEW_TRUSS]
    if ask.replaced:
        anew += [one.copies for one in later if one.request_id == asked]
    return set(ask.copies).difference(*anew)


def unfinished(jobs: Iterable[int]) -> dict[int, tuple[str, ...]]:
    """{request: what its sealed repair lacks}, of the requests of some jobs that a decision ended by a repair which
    isn't reviewed, accepted and carried out as its job asks: NO_DRAWING, or what is to be recorded, in its order. What
    a new truss ended since lacks nothing."""
    wanted = frozenset(jobs)
    return once(("unfinished repairs", wanted), lambda: _unfinished(wanted))


def may_be_unfinished() -> Exists:
    """The same of a row of requests as far as the database alone can say: what it leaves out is finished."""
    return Exists(_by_repair().filter(request=OuterRef("pk")))


def _by_repair() -> QuerySet[Any]:
    """Damage that a decision ended by a repair, without what has all that any job asks, which is most of it."""
    last = Decision.objects.filter(request=OuterRef("request")).order_by("-pk").values("ends_by")[:1]
    rows = Ask.objects.filter(request__state=State.APPROVED, kind=Kind.DAMAGE, replaced=False)
    rows = rows.annotate(end=Subquery(last)).filter(end=EndsBy.REPAIR)
    every = (SealRecord.Kind.REVIEWED, SealRecord.Kind.ACCEPTED, SealRecord.Kind.CARRIED_OUT)
    drawings = SealedDrawing.objects.filter(repair__ask=OuterRef("pk"), revision=OuterRef("revision"))
    drawings = drawings.exclude(records__kind=SealRecord.Kind.WITHDRAWN)
    for kind in every:
        drawings = drawings.filter(Exists(SealRecord.objects.filter(drawing=OuterRef("pk"), kind=kind)))
    return rows.exclude(Exists(drawings))


def _unfinished(jobs: frozenset[int]) -> dict[int, tuple[str, ...]]:
    asks = list(_by_repair().filter(request__job__in=jobs).select_related("truss"))
    told = list(damage_of({ask.on_truss for ask in asks})) if asks else []
    decided = decided_of(told)
    asks = [ask for ask in asks if goes_on(ask, told, decided)]
    repairs = repairs_of(asks)
    found: dict[int, dict[str, None]] = {}
    for ask in asks:
        seal = standing(repairs.get(ask.pk, ()), ask.revision_id)
        lacks = seal.lacks if seal else (NO_DRAWING,)
        found.setdefault(ask.request_id, {}).update(dict.fromkeys(lacks))
    return {request: tuple(lacks) for request, lacks in found.items() if lacks}


def left_out(change: Request) -> dict[Ask, set[int]]:
    """The damage that the answer to a sending back replaced, with the copies that go on."""
    gone = list(change.asks.filter(kind=Kind.DAMAGE, replaced=True).select_related("truss").order_by("pk"))
    told = list(damage_of([ask.on_truss for ask in gone])) if gone else []
    decided = decided_of(told)
    return {ask: goes_on(ask, told, decided) for ask in gone}


def make_new_trusses(decision: Decision) -> None:
    """Where damage ends by a new truss, what is built of the damaged copies is not used: they begin again, so that none
    of it is set. Called in the decision's transaction, under its marks' locks."""
    if decision.ends_by != EndsBy.NEW_TRUSS:
        return
    found: dict[Truss, set[Copy]] = {}
    damage = list(decision.request.asks.filter(kind=Kind.DAMAGE).select_related("truss"))
    # where the answer to a sending back left all of it out, it is of what was told before
    for ask in [ask for ask in damage if not ask.replaced] or damage:
        first = root(ask.on_truss)
        kin = Copy.objects.filter(Q(truss=first) | Q(truss__variant_of=first), number__in=ask.copies)
        for copy in kin.exclude(stage__in=CHANGEABLE_STAGES).select_related("truss__current", "built_to"):
            found.setdefault(copy.truss, set()).add(copy)
    for truss, copies in found.items():
        make_anew(decision.by, truss, sorted(copies, key=lambda copy: copy.number), decision.reason)


def open_again(change: Request) -> None:
    """Called before a request that has ended is open again, for its damage alone: the designs that it asked for are
    issued, and stay, as `asks.holding.standing_runs` has it of runs; one that is on record alone issued nothing, and is
    answered again. What it says may have been told anew since."""
    if Request.objects.filter(pk=change.pk, state=State.APPROVED).update(fingerprint=None):
        issued = [kind for kind, one in HERE.items() if one.DESIGNS]
        change.asks.filter(kind__in=issued, truss__isnull=False).update(replaced=True)
        change.options.update(stale=True)
