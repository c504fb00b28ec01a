"""What ends damage: a sealed repair, or a new truss, for which the copy is to be made anew. Until then a designer says
that it stays off limits, as often as there is something to say, also after an end that turned out to be none."""

from __future__ import annotations

from django.db.models import Q

from changes.asks.as_built import moved
from changes.asks.kinds import HERE
from changes.models import Decision, Kind, Request, State
from changes.refusals import Conflict, Refused
from changes.workflow.repairing import repairs_of, standing
from trusses.copies.earlier import make_anew
from trusses.models import CHANGEABLE_STAGES, Copy, Truss
from trusses.variants.homes import root

Choice, EndsBy = Decision.Choice, Decision.EndsBy


def designs(change: Request) -> bool:
    """Whether approving it issues a revision: damage and questions end by a designer's words alone."""
    return any(HERE[kind].DESIGNS for kind in change.asks.filter(replaced=False).values_list("kind", flat=True))


def verb(verdict: str, ends_by: str) -> str:
    """What the decision does to the request, as the table of states has it."""
    return EndsBy.KEEP_OFF.value if verdict == Choice.APPROVE and ends_by == EndsBy.KEEP_OFF else verdict


def refuse_end_of_damage(change: Request, verdict: str, ends_by: str) -> None:
    """Raises Refused where damage would end by nothing, or by a repair without its drawing, or something else would;
    Conflict where the repair would be of another revision than what stands."""
    damage = list(change.asks.filter(replaced=False, kind=Kind.DAMAGE))
    if verdict != Choice.APPROVE or not damage:
        if ends_by:
            raise Refused("ends-no-damage", "ends_by", "ends_by")
        return
    if ends_by not in EndsBy.values:
        raise Refused("damage-ends-by", "ends_by", "ends_by", choices=list(EndsBy.values))
    if ends_by == EndsBy.KEEP_OFF and designs(change):
        raise Refused("keep-off-alone", "ends_by", "ends_by")
    if ends_by != EndsBy.REPAIR:
        return
    for ask in moved(change):
        raise Conflict("damaged-built-since", mark=ask.on_truss.mark, copies=ask.copies)
    repairs = repairs_of(change.job, damage)
    if not all(standing(repairs.get(ask.pk, ()), ask.revision_id) for ask in damage):
        raise Refused("repair-without-drawing", "ends_by", "ends_by")


def make_new_trusses(decision: Decision) -> None:
    """Where damage ends by a new truss, what is built of the damaged copies is not used: they begin again, so that none
    of it is set. Called in the decision's transaction, under its marks' locks."""
    if decision.ends_by != EndsBy.NEW_TRUSS:
        return
    found: dict[Truss, set[Copy]] = {}
    for ask in decision.request.asks.filter(replaced=False, kind=Kind.DAMAGE).select_related("truss"):
        first = root(ask.on_truss)
        kin = Copy.objects.filter(Q(truss=first) | Q(truss__variant_of=first), number__in=ask.copies)
        for copy in kin.exclude(stage__in=CHANGEABLE_STAGES).select_related("truss__current", "built_to"):
            found.setdefault(copy.truss, set()).add(copy)
    for truss, copies in found.items():
        make_anew(decision.by, truss, sorted(copies, key=lambda copy: copy.number), decision.reason)


def open_again(change: Request) -> None:
    """Called before a request that has ended is open again: what it says may have been told anew since."""
    Request.objects.filter(pk=change.pk, state=State.APPROVED).update(fingerprint=None)
