"""What a request's page tells: the asks and their answers, the options beside today's truss, what happened, what may
be done next. Reads only; `workflow` acts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.db.models import Count, Exists, F, OuterRef, Prefetch, Q, QuerySet, Subquery
from django.urls import reverse

from changes import permissions, words, workflow
from changes.asks import as_built
from changes.asks.kinds import designs
from changes.carriers import NotWorkedOut, moved_of, together, wanted
from changes.computations import last_together
from changes.models import (
    Ask,
    Computation,
    Consequence,
    Decision,
    Event,
    Hold,
    Issue,
    Kind,
    Request,
    State,
    Verdict,
)
from changes.pages import repairing
from changes.pages.in_short import NOT_SEALED, each_since, since, state_says, tone, waits_for
from changes.pages.next_step import kept_after, next_step
from changes.pages.one_design import one_design
from changes.pages.run_plan import place_asked, runs_of
from changes.pages.section import Section
from changes.pages.sections import sections
from changes.words import holders
from changes.workflow.on_the_plan import shifts_of
from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.analysis.words.phrases import as_counted, copies
from trusses.forms import number_of
from trusses.marks.release_page import address as release_at
from trusses.models import CHANGEABLE_STAGES, Role
from trusses.permissions import role_in
from trusses.sealing.records_page import address as records_at
from trusses.sealing.together_page import address as together_at
from trusses.variants.homes import Home, as_shown, homes

TOLD = {
    "file": "Filed",
    "start": "Revision started",
    "begin computing": "Computation began",
    "finish computing": "Computed",
    "fail": "Computation broke",
    "compute an option": "Option computed",
    "draw": "Option drawn",
    "approve": "New revision issued, not sealed",
    "keep off": "Off limits until it ends",
    "send back": "Sent back with a question",
    "decline": "Declined",
    "answer": "Answered",
    "compute": "Sent to be computed again",
    "withdraw": "Withdrawn",
    "attach a repair": "Sealed repair attached",
    "move on the plan": "Moved on the plan",
    "ask for a hold": "Hold asked for",
    "acknowledge the hold": "Hold acknowledged",
    "refuse the hold": "Hold refused",
    "release the hold": "Hold lifted",
    "overtaken": "Truss revised meanwhile",
    "split": "Variant made",
    "join": "Copies joined a mark",
    "copies moved": "Copies became another mark's",
    "copies cut": "Copies cut meanwhile",
    "asks turned": "Read by today's drawing",
}
"""An event's verb as the story tells it."""


_ISSUES = Prefetch(
    "issues",
    Issue.objects.select_related("revision__truss", "option").only(
        "decision",
        "because",
        "revision__number",
        "revision__truss__mark",
        "revision__truss__current",
        "revision__truss__withdrawn_at",
        "option__titled",
        "option__elsewhere",
    ),
)


UNDER_WAY = (Computation.Progress.QUEUED, Computation.Progress.RUNNING)


def working(change: Request) -> Computation | None:
    """The computation that somebody waits for, if one is under way."""
    return change.computations.filter(state__in=UNDER_WAY).order_by("id").first()


def _asks(change: Request) -> QuerySet[Ask]:
    """The asks that count, each with the request's state at that moment, the computation that was under way, and
    whether it told of damage, also before an answer."""
    under_way = Computation.objects.filter(request=OuterRef("request"), state__in=UNDER_WAY).order_by("id")
    damage = Exists(Ask.objects.filter(request=OuterRef("request"), kind=Kind.DAMAGE))
    rows = change.asks.filter(replaced=False).select_related("truss__job", "revision", "run")
    return rows.annotate(
        state_now=F("request__state"), under_way=Subquery(under_way.values("pk")[:1]), with_damage=damage
    )


def _left_out(change: Request) -> dict[str, str]:
    """What damage was told of before an answer to a sending back that tells of it no more: {the ids of its asks: its
    copies}, without what a designer said since is not damaged."""
    gone: dict[str, dict[int, set[int]]] = {}
    for ask, left in workflow.left_out(change).items():
        if left:
            gone.setdefault(ask.on_truss.mark, {})[ask.pk] = left
    said = {pk for leaves in change.decisions.values_list("leaves", flat=True) for pk in leaves} if gone else set()
    return {
        " ".join(str(pk) for pk in of): f"{mark}, {copies(sorted(set().union(*of.values())))}"
        for mark, of in sorted(gone.items())
        if not said.issuperset(of)
    }


def _holds(change: Request) -> list[Hold]:
    """The holds of a request, `n_copies` each, and `still`: which other requests hold copies of the mark that aren't
    cut yet."""
    waits = Q(truss__in=change.holds.values("truss"), standing__in=(Hold.Standing.ASKED, Hold.Standing.ACKNOWLEDGED))
    rows = Hold.objects.filter(Q(request=change) | waits).select_related("truss", "asked_by", "answered_by")
    not_cut = Count("copies", filter=Q(copies__stage__in=CHANGEABLE_STAGES))
    every = list(rows.annotate(n_copies=Count("copies"), not_cut=not_cut).order_by("request", "id"))
    holds: list[Hold] = [hold for hold in every if hold.request_id == change.pk]
    for hold in holds:
        others = [one for one in every if one.truss_id == hold.truss_id and one.request_id != change.pk and one.not_cut]
        hold.still = holders([one.request_id for one in others]) if others else ""
    return holds


@dataclass(frozen=True)
class Lacking:
    """That what the options on show put on a carrier together isn't worked out yet, and why not if that was tried."""

    carrier: str
    options: list[int]
    trouble: str


def carriers(change: Request, told: Iterable[Section]) -> tuple[list[Consequence], Lacking | None]:
    """What the options on show do to the marks that carry them. Of several trusses together while it can still be
    decided, or one by one where the worker hasn't worked that out."""
    chosen = [section.chosen for section in told if section.chosen]
    rows = [row for option in chosen for row in option.consequences.all()]
    if len(chosen) < 2 or not rows or change.state != State.AWAITING_DECISION:
        return rows, None
    try:
        return together(chosen).rows(None), None
    except NotWorkedOut as lacks:
        options = [option.pk for option in chosen]
        last = last_together(change, options)
        return rows, Lacking(lacks.carrier, options, last.trouble_says if last else "")


def waits_at(change: Request, options: Iterable[object]) -> dict[str, str]:
    """The request's page with these options on show, and what tells there how far its computation is."""
    shown = urlencode([("option", str(pk)) for pk in options if number_of(pk) is not None])
    where = [reverse(f"changes:{name}", args=[change.pk]) for name in ("request", "progress")]
    again, progress = [f"{one}?{shown}" if shown else one for one in where]
    return {"again": again, "progress": progress}


def acceptable(told: Sequence[Section], chain: Iterable[Consequence]) -> list[tuple[str, str]]:
    """The failed checks that a designer may accept, each with what it fails in: of serviceability, and only where
    nothing else fails of the same. Where something can be left, what fails otherwise doesn't keep the rest from it."""
    each = [(one.called_copies, {check["rule"] for check in one.failing}) for one in told]
    each += [(one.carrier.mark, {check["rule"] for check in one.fails}) for one in chain]
    fails = [(called, rules) for called, rules in each if rules]
    can = [(called, rules) for called, rules in fails if rules <= SERVICEABILITY]
    if len(can) < len(fails) and not _leavable(told):
        return []
    found: dict[str, list[str]] = {}
    for called, rules in can:
        for rule in sorted(rules):
            found.setdefault(rule, []).append(called)
    return [(rule, f"{rule}: {'; '.join(called)}" if len(each) > 1 else rule) for rule, called in sorted(found.items())]


def _last_decided(change: Request) -> int:
    """The id of the last decision, 0 where there is none; `requests` asks for it with the request itself."""
    if hasattr(change, "decided_last"):
        return int(change.decided_last or 0)
    return change.decisions.order_by("-pk").values_list("pk", flat=True).first() or 0


def now(state: str, event: int | None) -> str:
    """What stands while nothing happens to a request: its state, and the last that happened."""
    return f"{state} {event or 0}"


def tell(change: Request, user: Any, role: Role | None, chosen: Iterable[str] = ()) -> dict[str, Any]:
    """The template's context of one request for one person."""
    # What is under way and the state are read at once: an answer that comes later is polled for.
    asks: list[Any] = list(_asks(change))
    change.state = asks[0].state_now
    under_way = Computation.objects.get(pk=asks[0].under_way) if asks[0].under_way else None
    decision = None
    damaged = asks[0].with_damage
    issues = designs(asks)
    ends_apart = not issues or any(ask.kind == Kind.DAMAGE for ask in asks)
    if change.state in (State.APPROVED, State.DECLINED, State.SENT_BACK):
        rows = change.decisions.select_related("by")
        decision = (rows.prefetch_related(_ISSUES) if change.state == State.APPROVED else rows).last()
    elif damaged and change.is_open:
        decision = change.decisions.filter(ends_by=Decision.EndsBy.KEEP_OFF).select_related("by").last()
    tells_of_damage = any(ask.kind == Kind.DAMAGE for ask in asks)
    # what an answer left out goes on where it tells of other damage
    goes_on = damaged and (change.is_open or (change.state == State.APPROVED and tells_of_damage))
    left_out = _left_out(change) if goes_on else {}
    for ask in asks:
        ask.on_plan = place_asked(change.job, ask.wish["place"]) if ask.wish and "place" in ask.wish else ""
    approved = decision is not None and change.state == State.APPROVED
    issued = {issue.option_id for issue in decision.issues.all()} if decision and approved else ()
    told = sections(change, chosen, asks, issued)
    chain, lacking = carriers(change, told)
    if role != Role.DESIGNER:
        for one in [*asks, *(option for section in told for option in section.options), *chain]:
            one.plainly = True
    for ask in asks:
        ask.to_designer = role == Role.DESIGNER
    moved = moved_of(change, (option for one in told for option in one.options if option.analysis is not None))
    # what is cut meanwhile keeps its design: the request is computed again without it
    cut = change.state == State.AWAITING_DECISION and any(section.cut and designs(section.asks) for section in told)
    built_since = [ask.on_truss.mark for ask in as_built.moved(change)] if damaged and change.is_open else []
    overtaken = change.is_open and (bool(built_since) or any(section.overtaken for section in told))
    lacking = None if moved or overtaken else lacking  # computing again answers that too
    may = {verb: _may(user, verb, change) for verb in ("answer", "decide", "draw")}
    may["withdraw"] = may_withdraw(user, change)
    # what waits for its builder can be ended by a designer, or taken up again as it was asked; nothing is issued of it
    may["end"] = may["decide"] and change.state == State.SENT_BACK
    may["decide"] = may["decide"] and not may["end"]
    # computing again answers what changed meanwhile; otherwise it would only repeat itself
    repeats = change.state == State.AWAITING_DECISION and not (overtaken or moved or cut)
    may["compute"] = not repeats and _may(user, "compute", change)
    may["hold"] = permissions.may(user, "hold", change)
    may_keep_off = damaged and ends_apart and change.state == State.APPROVED and _may(user, "keep off", change)
    by_repair = decision is not None and approved and decision.ends_by == Decision.EndsBy.REPAIR
    lacks = workflow.unfinished([change.job_id]).get(change.pk, ()) if by_repair else ()
    # `requests` asks whether there are any with the request itself
    became = since([change]).get(change.pk, NOT_SEALED)
    rows_issued = list(decision.issues.all()) if decision and approved else []
    events = _events(change, issues)
    holds = _holds(change) if getattr(change, "is_held", True) else []
    goes = _goes(told) if may["decide"] else []
    return {
        "change": change,
        "job": change.job,
        "role": role,
        "own": change.filed_by_id == user.pk,
        "sections": told,
        "to_issue": [section for section in told if section.chosen],
        "marks": sorted({section.truss.mark for section in told}, key=as_counted),
        "runs": runs_of(change, asks, decision.lines if decision and change.state == State.SENT_BACK else None),
        "apart": sum(section.chosen is not None for section in told) > 1,
        "one_design": one_design(told) if change.is_open else [],
        "goes": [words.event(home.goes, home.told, "") for home in goes],
        "goes_as": as_shown(goes) if goes else "",
        "on_no_mark": [ask for ask in asks if ask.truss is None],
        "chain": chain,
        "lacking": lacking,
        **waits_at(change, (one.chosen.pk for one in told if one.chosen)),
        "moved_below": moved,
        "acceptable": acceptable(told, chain),
        "working": under_way,
        "decision": decision,
        "issued": list(zip(rows_issued, each_since(change.job, rows_issued), strict=True)),
        "seal_together": together_at(user, change.job, (revisions := [issue.revision for issue in rows_issued])),
        "release_together": release_at(user, change.job, revisions, reverse("changes:request", args=[change.pk])),
        "record_together": records_at(user, change.job, revisions),
        "decided_last": (may["decide"] or may["end"] or may_keep_off) and _last_decided(change),
        "events": events,
        "now": now(change.state, events[-1][1].pk if events else None),
        "holds": holds,
        "hold_asked": (asked := any(hold.standing == Hold.Standing.ASKED for hold in holds)),
        "hold_waits": may["hold"] and asked,
        "kept": kept_after(change, told, chain, rows_issued, decides=may["decide"]),
        "tone": tone(change.state, asks, lacks, became),
        "waits_for": (waits := waits_for(change, asks, lacks, became)),
        "next_step": next_step(change, told, holds, waits),
        "may": may,
        "cut": cut,
        "overtaken": change.state != State.APPROVED
        and bool(cut or moved or built_since or any(one.overtaken for one in told)),
        "built_since": built_since,
        "leavable": _leavable(told),
        "left": _left(decision, told) if decision else [],
        "unharmed_said": _unharmed(decision) if decision and tells_of_damage else [],
        "unchanged": [one for one in told if one.unchanged],
        "can_approve": _can_approve(told) and change.state == State.AWAITING_DECISION,
        "may_keep_off": may_keep_off,
        "damaged": damaged,
        "mended": by_repair and not lacks and not left_out,
        "damages": [f"{ask.on_truss.mark} {copies(ask.copies)}: {ask.harm}" for ask in asks if ask.kind == Kind.DAMAGE],
        "left_out": left_out,
        "unharmed": list(left_out.items()) if tells_of_damage else [],
        "shifts": shifts_of(change) if any(ask.kind == Kind.PASSAGE for ask in asks) else [],
        "may_shift": role == Role.DESIGNER,
        "repairs": repairing.told(change, user, [ask for ask in asks if ask.kind == Kind.DAMAGE]),
        "designs": issues,
        "state_says": state_says(change.state, asks, lacks, became),
        "became": became,
    }


def _goes(told: Iterable[Section]) -> list[Home]:
    """Where the copies would go with the options on show; nothing to say where each mark is revised whole."""
    shown = [section.chosen for section in told if section.chosen and section.chosen.analysis is not None]
    shown.sort(key=lambda option: option.pk)
    if not any(section.family or not section.whole for section in told):
        return []
    return homes([wanted(option) for option in shown])


def _designed(told: Iterable[Section]) -> list[Section]:
    """What ends by a design."""
    return [one for one in told if designs(one.asks)]


def _can_approve(told: Iterable[Section]) -> bool:
    """Whether what ends by a design has one to issue, or one of several that can be left; what ends by words alone
    needs none."""
    each = [bool(one.chosen and one.chosen.analysis and not one.unchanged) for one in _designed(told)]
    return not each or any(each)


def _leavable(told: Iterable[Section]) -> list[tuple[str, str]]:
    """What can be left as it is, the ids of the asks and how it is called: of several groups of copies each, and of
    several openings in the same copies what is never possible there."""
    several = _designed(told)
    named = [(" ".join(str(ask.pk) for ask in one.asks), one.called_copies) for one in several if len(several) > 1]
    for one in several:
        never = [(ask.pk, ask.opening["id"]) for ask in one.asks if ask.verdict == Verdict.NEVER and ask.opening]
        if never and len(never) < len(one.asks):
            named += [(str(pk), f"{one.called_copies}: {name}, not possible there") for pk, name in never]
    return named


def _left(decision: Decision, told: Iterable[Section]) -> list[str]:
    """For what the decision issued nothing."""
    left = {" ".join(str(ask.pk) for ask in one.asks if ask.pk in decision.leaves): one for one in told}
    labels = dict(_leavable(told))
    return [labels.get(pks, one.called_copies) for pks, one in left.items() if pks]


def _unharmed(decision: Decision) -> list[str]:
    """Which damage, that an answer had left out, the decision says is none."""
    asks = Ask.objects.filter(pk__in=decision.leaves, kind=Kind.DAMAGE).select_related("truss").order_by("pk")
    return [f"{ask.on_truss.mark}, {copies(ask.copies)}" for ask in asks] if decision.leaves else []


def _events(change: Request, designs: bool) -> list[tuple[str, Event]]:
    """What happened, as the story tells it. Where no design is asked for an approval is an answer, but for one that
    issued a revision before its damage was kept off again."""
    events = list(change.events.select_related("by"))
    approvals = [event for event in events if event.verb == "approve"]
    answers = set()
    if approvals and not designs:
        ended = change.decisions.filter(verdict=Decision.Choice.APPROVE).exclude(ends_by=Decision.EndsBy.KEEP_OFF)
        issued = ended.order_by("pk").annotate(issued=Exists(Issue.objects.filter(decision=OuterRef("pk"))))
        # each approval is one decision
        answers = {event.pk for event, one in zip(approvals, issued, strict=False) if not one.issued}
    return [("Answered" if event.pk in answers else TOLD.get(event.verb, event.verb), event) for event in events]


def _may(user: Any, verb: str, change: Request) -> bool:
    """Whether the person may, and whether the request stands where it is possible to one in that role: what the page
    offers."""
    role = role_in(user, change.job)
    steps = {"decide": ("approve", "send back", "decline")}.get(verb, (verb,))
    there = [step for step in workflow.TRANSITIONS if step.state == change.state and step.role == role]
    possible = any(step.verb in steps for step in there)
    return possible and permissions.may(user, "decide" if verb == "keep off" else verb, change)


def may_withdraw(user: Any, change: Request) -> bool:
    return _may(user, "withdraw", change) and not workflow.tells_of_damage(change)


def may_draw(user: Any, change: Request) -> bool:
    return _may(user, "draw", change)
