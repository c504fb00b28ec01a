"""Whose turn it is, and which answers their people have not seen yet: over all jobs of one person."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, F, Max, OuterRef, Prefetch, Q, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce

from changes.models import Ask, Correction, Event, Hold, Kind, Request, Seen, State
from changes.models.requests import OPEN_STATES
from changes.workflow.ending import may_be_unfinished, unfinished
from changes.workflow.setting import keeps_off
from trusses.analysis.words.phrases import as_counted
from trusses.copies import onward
from trusses.models import Copy, Membership, Role, Truss
from trusses.sealing.models import SealRecord
from trusses.sealing.seals import OTHERS

ANSWERS = (
    "finish computing",
    "fail",
    "approve",
    "keep off",
    "send back",
    "decline",
    "acknowledge the hold",
    "refuse the hold",
)
"""Events that tell whoever asked something new."""


@dataclass(frozen=True, slots=True)
class Turn:
    """Something that waits for the person: `why` are some of `hold`, `decide`, `damage` whose computation failed, which
    a designer alone can end, `answer`, `compute`, `records`, what a sealed repair lacks before it is carried out,
    `keep off`, which a site lead is told of damaged copies until their repair is closed, and `repair`, that it is
    carried out, of one request; or `correct`, of one mark or of the job, the `corrections` that inspectors asked for;
    or `onward`, of the marks that wait for a step."""

    why: tuple[str, ...]
    job: Any
    change: Request | None = None
    corrections: tuple[Correction, ...] = ()
    waits: tuple[tuple[Truss, onward.Step], ...] = ()
    damaged: tuple[tuple[str, tuple[int, ...]], ...] = ()
    """(mark, numbers of its copies that are damaged)"""

    @property
    def marks(self) -> list[str]:
        if self.corrections:
            return [one.truss.mark for one in self.corrections[:1] if one.truss]
        return marks_of(self.change) if self.change else sorted((truss.mark for truss, _ in self.waits), key=as_counted)


def marks_of(change: Request) -> list[str]:
    return sorted({ask.truss.mark for ask in change.asks.all() if ask.truss}, key=as_counted)


def turns(user: Any) -> list[Turn]:
    """What waits for the person: damage first, then what has to be decided first."""
    roles = dict(Membership.objects.filter(user=user).values_list("job", "role"))
    decides = [job for job, role in roles.items() if role == Role.DESIGNER]
    held = Hold.objects.filter(request=OuterRef("pk"), standing=Hold.Standing.ASKED)
    site = [job for job, role in roles.items() if role == Role.SITE_LEAD]
    rows = Request.objects.filter(job__in=roles)
    damage = Exists(Ask.objects.filter(request=OuterRef("pk"), kind=Kind.DAMAGE))
    rows = rows.annotate(held=Exists(held), damage=damage)
    own = Q(filed_by=user, state__in=(State.SENT_BACK, State.FAILED))
    designers = Q(state=State.AWAITING_DECISION) | Q(state=State.FAILED, damage=True) | Q(held=True)
    to_decide = Q(state__in=OPEN_STATES) & (own | Q(job__in=decides) & designers)
    repaired = Q(state=State.APPROVED, job__in=[*decides, *site]) & Q(may_be_unfinished())
    every = list(_told(rows.filter(to_decide | repaired).order_by("-damage", "needed_by", "pk")))
    ended = _repairs([change for change in every if not change.is_open], decides, site)
    found = [*_damaged(rows, site, ended), *(one for one in ended if one.why == ("records",))]
    waits = [change for change in every if change.is_open]
    found += [Turn(tuple(_why(change, user, set(decides))), change.job, change) for change in waits]
    found += _corrections(list(roles))
    return [*found, *_onward({job: Role(role) for job, role in roles.items() if role != Role.BUILDER})]


def _corrections(jobs: list[int]) -> list[Turn]:
    """What inspectors wait to be answered, of each mark by itself; anybody of the job may be who mended it."""
    rows = Correction.objects.filter(link__job__in=jobs, state__in=Correction.UNANSWERED).order_by("pk")
    by_mark: dict[tuple[int, int | None], list[Correction]] = {}
    for one in rows.select_related("link__job", "truss"):
        by_mark.setdefault((one.link.job_id, one.truss_id), []).append(one)
    return [Turn(("correct",), those[0].link.job, corrections=tuple(those)) for those in by_mark.values()]


def _damaged(rows: QuerySet[Request], site: list[int], ended: list[Turn]) -> list[Turn]:
    """Of a site lead's jobs the damage that was told of and whose repair isn't closed: nobody has to ask for it to know
    what to keep off. What is to be recorded of it besides stands in the same row."""
    repairs = {one.change.pk for one in ended if one.change and one.why == ("repair",)}
    told = (
        Ask.objects.filter(request__job__in=site, kind=Kind.DAMAGE, truss__isnull=False) if site else Ask.objects.none()
    )
    marks = {(of or pk) for pk, of in told.values_list("truss", "truss__variant_of").order_by()}
    if not marks:
        return []
    kin = Copy.objects.filter(Q(truss__in=marks) | Q(truss__variant_of__in=marks), truss__job__in=site)
    heavy = (f"{at}__{of}" for at in ("truss__current", "built_to") for of in ("document", "analysis"))
    by_job: dict[int, list[Copy]] = {}
    for copy in kin.select_related("truss__job", "truss__current", "built_to").defer(*heavy).order_by("number"):
        by_job.setdefault(copy.truss.job_id, []).append(copy)
    off: dict[int, dict[str, set[int]]] = {}
    for copies in by_job.values():
        for one in keeps_off(copies):
            for copy in one.copies:
                numbers = off.setdefault(one.why.values["request"], {}).setdefault(copy.truss.mark, set())
                numbers.add(copy.number)
    found = []
    for change in _told(rows.filter(pk__in=off).order_by("pk")):
        why = ("keep off", "repair") if change.pk in repairs else ("keep off",)
        damaged = tuple((mark, tuple(sorted(numbers))) for mark, numbers in sorted(off[change.pk].items()))
        found.append(Turn(why, change.job, change, damaged=damaged))
    return found


def _repairs(ended: list[Request], decides: list[int], site: list[int]) -> list[Turn]:
    """Damage that a decision ended by a sealed repair, until that is reviewed, accepted and carried out: a designer
    sees to what comes before, and the site lead says by name that it is carried out."""
    lacking = unfinished({change.job_id for change in ended}) if ended else {}
    found = []
    for change in ended:
        if lacks := lacking.get(change.pk):
            carried_out = lacks == (SealRecord.Kind.CARRIED_OUT.value,)
            if change.job_id in (site if carried_out else decides):
                found.append(Turn(("repair" if carried_out else "records",), change.job, change))
    return found


def _onward(roles: dict[int, Role]) -> list[Turn]:
    """What marks wait for: each of a site lead's, and each that a decision issued, but those of one decision together
    that wait for their seals, or for what others decide of these; of the others those that wait for the same."""
    found: dict[tuple[Any, ...], list[tuple[Truss, onward.Step]]] = {}
    for truss, step in onward.waiting(roles) if roles else ():
        with_these = _with_these(truss, step, roles[truss.job_id])
        found.setdefault((truss.job_id, step.name, with_these), []).append((truss, step))
    ordered = sorted(found.items(), key=lambda one: (one[0][2] is None, one[0][0]))
    return [Turn(("onward",), waits[0][0].job, waits=tuple(waits)) for _, waits in ordered]


def _with_these(truss: Truss, step: onward.Step, role: Role) -> tuple[str, int] | None:
    """What tells whether two marks that wait for the same step stand in one row."""
    if role == Role.SITE_LEAD:
        return "mark", truss.pk
    if not hasattr(truss.current, "issue"):
        return None
    # one form takes the seals of a decision, another what others decided of them
    in_one_form = step.name in ("sealed", *OTHERS)
    return ("decision", truss.current.issue.decision_id) if in_one_form else ("mark", truss.pk)


def _why(change: Any, user: Any, decides: set[int]) -> Iterator[str]:
    if change.job_id in decides and change.held:
        yield "hold"
    if change.job_id in decides and change.state == State.AWAITING_DECISION:
        yield "decide"
    if change.filed_by_id == user.pk and change.state == State.SENT_BACK:
        yield "answer"
    if change.job_id in decides and change.state == State.FAILED and change.damage:
        yield "damage"
    elif change.filed_by_id == user.pk and change.state == State.FAILED:
        yield "compute"


def news(user: Any) -> list[Request]:
    """The person's own requests that got an answer which the person has not opened yet, the newest answer first."""
    seen = Seen.objects.filter(user=user, request=OuterRef("pk")).values("event")[:1]
    told = Q(events__verb__in=ANSWERS) & ~Q(events__by=user)
    rows = Request.objects.filter(filed_by=user, job__memberships__user=user).annotate(
        last=Max("events__pk", filter=told),
        told_at=Max("events__at", filter=told),
        seen=Coalesce(Subquery(seen), Value(0)),
    )
    return list(_told(rows.filter(last__gt=F("seen")).order_by("-last")))


def _told(rows: QuerySet[Request]) -> QuerySet[Request]:
    asks = Ask.objects.filter(replaced=False).select_related("truss").only("request", "kind", "verdict", "truss__mark")
    return rows.select_related("job").prefetch_related(Prefetch("asks", asks))


def see(user: Any, request: int) -> None:
    """The person has the request open: what it tells by now is new no more. Of another's request nothing is kept."""
    last = Event.objects.filter(request=request, request__filed_by=user).aggregate(last=Max("pk"))["last"]
    if last and not Seen.objects.filter(user=user, request=request, event__gte=last).exists():
        Seen.objects.update_or_create(user=user, request_id=request, defaults={"event": last})
