"""A request in one line: how it stands, what it waits for, what bites first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from django.db.models import Case, Count, F, Min, Q, QuerySet, Value, When
from django.db.models.functions import Coalesce, Least

from changes.asks.kinds import designs
from changes.carriers import stale
from changes.models import OPEN_STATES, Ask, Issue, Kind, Request, State, Verdict
from changes.workflow.ending import NO_DRAWING
from trusses.analysis.words.phrases import as_counted, listed
from trusses.models import Copy, Stage, Truss
from trusses.sealing.seals import Seal, seals_of

WAITS_FOR = {
    State.FILED: "the computation, which starts within seconds",
    State.COMPUTING: "the computation",
    State.AWAITING_DECISION: "a designer's decision",
    State.FAILED: "somebody to compute it again",
    State.APPROVED: "the sealed drawing of the new revision, which is current",
    State.DECLINED: "nothing: the truss stays as it is",
    State.WITHDRAWN: "nothing: the truss stays as it is",
}

_TOLD_BY_STATE = (State.COMPUTING, State.AWAITING_DECISION)

BITE = (Verdict.NEVER, Verdict.NONE_PASS, Verdict.UNSURE, Verdict.OPTIONS, Verdict.TIE, Verdict.MORE, Verdict.FITS)
"""Verdicts, what needs a designer most first."""

TONES = {State.APPROVED: "", State.DECLINED: "stop", State.FAILED: "stop", State.WITHDRAWN: ""}
"""How a state's tag looks; every other one is waited for. None is good: to build from is a sheet that says so."""


NOT_SEALED = "not sealed"
_WAITS_SINCE = {
    NOT_SEALED: WAITS_FOR[State.APPROVED],
    "its sealed drawing on record": "nothing more; the sheet alone says whether to build",
    "its sealed drawing not complete": "what the sealed drawing of the new revision lacks",
    "superseded since": "nothing more: a later revision is current",
}
"""What became of a revision that was issued, and what is waited for then."""
_UNFINISHED = (NOT_SEALED, "its sealed drawing not complete")


def since(changes: Iterable[Request]) -> dict[int, str]:
    """{request: what became since of the revisions that it issued}, of what was approved; of several the least."""
    approved = [change.pk for change in changes if change.state == State.APPROVED]
    if not approved:
        return {}
    issues = Issue.objects.filter(decision__request__in=approved).select_related("decision", "revision__truss__job")
    by_job: dict[Any, list[Issue]] = {}
    for issue in issues.defer("revision__document", "revision__analysis"):
        by_job.setdefault(issue.revision.truss.job, []).append(issue)
    found: dict[int, list[str]] = {}
    for job, those in by_job.items():
        seals = seals_of(job, [issue.revision_id for issue in those])
        for issue in those:
            found.setdefault(issue.decision.request_id, []).append(_became(issue, seals.get(issue.revision_id)))
    least = (NOT_SEALED, "its sealed drawing not complete", "superseded since", "its sealed drawing on record")
    return {pk: min(those, key=least.index) for pk, those in found.items()}


def _became(issue: Issue, seal: Seal | None) -> str:
    if not issue.revision.is_current:
        return "superseded since"
    if seal is None:
        return NOT_SEALED
    return "its sealed drawing on record" if seal.counts else "its sealed drawing not complete"


def each_since(job: Any, issues: Iterable[Issue]) -> list[str]:
    """What became of each revision of a decision, and how many copies of its mark were cut to it and are set."""
    rows = list(issues)
    if not rows:
        return []
    seals = seals_of(job, [issue.revision_id for issue in rows])
    built = Q(built_to=F("truss__current"))
    copies_of = Copy.objects.filter(truss__in=[issue.revision.truss_id for issue in rows]).values("truss")
    counts = copies_of.annotate(
        n=Count("pk"), cut=Count("pk", filter=built), set=Count("pk", filter=built & Q(stage=Stage.SET))
    )
    of = {row["truss"]: row for row in counts.order_by("truss")}
    found = []
    for issue in rows:
        says = _became(issue, seals.get(issue.revision_id))
        if issue.revision.is_current and (row := of.get(issue.revision.truss_id)):
            says += f"; {row['cut']} of {row['n']} cut to it" + (f", {row['set']} set" if row["set"] else "")
        found.append(says)
    return found


def waits_for(change: Request, asks: Iterable[Ask], lacks: Sequence[str] = (), since: str = NOT_SEALED) -> str:
    """What is waited for; `lacks`: what an unfinished repair does. What was answered in words waits for no drawing of a
    revision."""
    asks = list(asks)
    repair = f"{listed([_REPAIR[one] for one in lacks])} of its sealed repair" if lacks else ""
    if change.state == State.SENT_BACK:
        return f"the answer of {asker(change)}"
    if change.state != State.APPROVED:
        return WAITS_FOR[State(change.state)]
    if not designs(asks):
        damage = any(ask.kind == Kind.DAMAGE for ask in asks)
        return repair or ("nothing: what ends its damage is recorded" if damage else "nothing")
    return f"{_WAITS_SINCE[since]}; and {repair}" if repair else _WAITS_SINCE[since]


_REPAIR = {
    NO_DRAWING: "another drawing in place of the withdrawn one",
    "reviewed": "the building designer's review",
    "accepted": "the building department's acceptance",
    "carried out": "a record, by name, of the carrying out",
}


def tone(state: str, asks: Iterable[Ask], lacks: Sequence[str] = (), since: str = NOT_SEALED) -> str:
    """How its tag looks that says `state_says`."""
    waits = lacks or (state == State.APPROVED and since in _UNFINISHED and designs(asks))
    return "look" if waits else TONES.get(State(state), "look")


def state_says(state: str, asks: Iterable[Ask], lacks: Sequence[str] = (), since: str = NOT_SEALED) -> str:
    """A request's state as people read it: where no revision can come of it, none is spoken of; of one that was issued
    what became of it `since`."""
    if lacks:
        return "answered, its repair isn't finished"
    if state == State.APPROVED and not designs(asks):
        return "answered by a designer"
    return f"revision issued, {since}" if state == State.APPROVED else str(State(state).label)


def answers(asks: Iterable[Ask]) -> str:
    """What was answered, in a few words; by mark where not all are answered alike, what needs a designer most first."""
    found: dict[str, set[str]] = {}
    for ask in sorted((ask for ask in asks if ask.verdict), key=lambda ask: BITE.index(ask.verdict)):
        found.setdefault(ask.answered, set()).add(ask.truss.mark if ask.truss else "the job")
    if len(found) == 1:
        return next(iter(found))
    return "; ".join(f"{says} ({', '.join(sorted(marks, key=as_counted))})" for says, marks in found.items())


def asker(change: Request) -> str:
    """Whoever asked, by name: a builder, or of damage and questions the site lead."""
    return str(change.filed_by.get_full_name() or change.filed_by.get_username())


def open_requests(user: Any, truss: Truss) -> list[Request]:
    """What the person asked of a mark already and still waits for, the newest first."""
    own = Request.objects.filter(filed_by=user, state__in=OPEN_STATES, asks__truss=truss, asks__replaced=False)
    return list(own.distinct().order_by("-id")[:5])


def by_urgency(rows: QuerySet[Request]) -> QuerySet[Request]:
    """What bites first on top: open damage, which somebody may stand under; then the nearer of the last day that a
    truss can change, which wood as it was built has none of, and the day the answer is needed by; of one day, what no
    redesign answers before what fits, and the older before the newer."""
    drawn = [kind for kind in Kind.values if kind not in Kind.as_built()]
    last_day = Min("asks__truss__can_change_until", filter=Q(asks__replaced=False, asks__kind__in=drawn))
    told = Q(asks__kind__in=Kind.as_built(), asks__replaced=False, state__in=OPEN_STATES)
    harm = Min(Case(When(told, then=Value(0)), default=Value(1)))
    bite = Case(
        *(When(asks__verdict=verdict, then=Value(place)) for place, verdict in enumerate(BITE)),
        default=Value(len(BITE)),
    )
    rows = rows.annotate(last_day=Least(Coalesce(last_day, "needed_by"), "needed_by"), bite=Min(bite), harm=harm)
    rows = rows.select_related("job", "filed_by").prefetch_related("asks__truss", "holds")
    return rows.order_by("harm", "last_day", "bite", "filed_at", "id")


def past_last_day(change: Request, asks: Iterable[Ask]) -> list[Truss]:
    """The marks whose last day for changes comes before the day on which an answer is wanted. Wood as it was built has
    none."""
    return over_by({ask.truss for ask in asks if ask.truss and ask.kind not in Kind.as_built()}, change.needed_by)


def over_by(marks: Iterable[Truss], day: date) -> list[Truss]:
    """Those of which a day comes after the last one for changes."""
    late = [one for one in marks if one.can_change_until and one.can_change_until < day]
    return sorted(late, key=lambda one: as_counted(one.mark))


def told_over(marks: Sequence[str]) -> str:
    """Of a day on which an answer is wanted, that it is late for those."""
    they = "it" if len(marks) == 1 else "they"
    return f"That is after the last day for changes of {listed(marks)}: {they} may be cut by then"


def lines(changes: Iterable[Request], lacking: Mapping[int, Sequence[str]]) -> list[dict[str, Any]]:
    """The lines of a page of the queue, of requests that `by_urgency` fetched. `lacking`: {request: what its unfinished
    repair lacks}."""
    rows = list(changes)
    went_stale, became = stale(rows), since(rows)
    told = {change.pk: (lacking.get(change.pk, ()), became.get(change.pk, NOT_SEALED)) for change in rows}
    return [line(change, *told[change.pk]) | {"stale": went_stale.get(change.pk, [])} for change in rows]


def line(change: Request, lacks: Sequence[str] = (), since: str = NOT_SEALED) -> dict[str, Any]:
    asks = [ask for ask in change.asks.all() if not ask.replaced]
    days = (change.last_day - change.job.today()).days  # type: ignore[attr-defined]  # by_urgency seeks it
    return {
        "change": change,
        "tone": tone(change.state, asks, lacks, since),
        "state_says": state_says(change.state, asks, lacks, since),
        "marks": sorted({ask.truss.mark for ask in asks if ask.truss}, key=as_counted),
        "answers": answers(asks) if change.is_open else "",  # what was decided says more than what was computed
        "days": days,
        "days_over": -days,
        "late": [one.mark for one in past_last_day(change, asks)] if change.is_open else [],
        # what its state says already isn't said twice
        "waits_for": waits_for(change, asks, lacks, since) if change.state not in _TOLD_BY_STATE else "",
        "holds": [hold.standing for hold in change.holds.all()],
    }
