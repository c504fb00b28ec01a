"""A request in one line: how it stands, what it waits for, what bites first."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import Case, Min, Q, QuerySet, Value, When
from django.db.models.functions import Coalesce, Least

from changes.asks.kinds import designs
from changes.carriers import stale
from changes.models import OPEN_STATES, Ask, Kind, Request, State, Verdict
from trusses.models import Truss

WAITS_FOR = {
    State.FILED: "the computation, which starts within seconds",
    State.COMPUTING: "the computation",
    State.AWAITING_DECISION: "a designer's decision",
    State.SENT_BACK: "the builder's answer",
    State.FAILED: "somebody to compute it again",
    State.APPROVED: "the sealed drawing of the new revision, which is current",
    State.DECLINED: "nothing: the truss stays as it is",
    State.WITHDRAWN: "nothing: the truss stays as it is",
}

BITE = (Verdict.NEVER, Verdict.NONE_PASS, Verdict.OPTIONS, Verdict.FITS)
"""Verdicts, what needs a designer most first."""

TONES = {State.APPROVED: "good", State.DECLINED: "stop", State.FAILED: "stop", State.WITHDRAWN: ""}
"""How a state's tag looks; every other one is waited for."""


def waits_for(state: str, asks: Iterable[Ask]) -> str:
    """What is waited for; what was answered in words waits for no drawing of a revision."""
    if state == State.APPROVED and not designs(asks):
        return "what was decided to be done" if any(ask.kind == Kind.DAMAGE for ask in asks) else "nothing"
    return WAITS_FOR[State(state)]


def state_says(state: str, asks: Iterable[Ask]) -> str:
    """A request's state as people read it: where no revision can come of it, none is spoken of."""
    if state == State.APPROVED and not designs(asks):
        return "answered by a designer"
    return str(State(state).label)


def open_requests(user: Any, truss: Truss) -> list[Request]:
    """What the person asked of a mark already and still waits for, the newest first."""
    own = Request.objects.filter(filed_by=user, state__in=OPEN_STATES, asks__truss=truss, asks__replaced=False)
    return list(own.distinct().order_by("-id")[:5])


def by_urgency(rows: QuerySet[Request]) -> QuerySet[Request]:
    """What bites first on top: the nearer of the last day that a truss can change and the day the answer is needed by;
    of one day, what no redesign answers before what fits, and the older before the newer."""
    last_day = Min("asks__truss__can_change_until", filter=Q(asks__replaced=False))
    bite = Case(
        *(When(asks__verdict=verdict, then=Value(place)) for place, verdict in enumerate(BITE)),
        default=Value(len(BITE)),
    )
    rows = rows.annotate(last_day=Least(Coalesce(last_day, "needed_by"), "needed_by"), bite=Min(bite))
    rows = rows.select_related("job", "filed_by").prefetch_related("asks__truss", "holds")
    return rows.order_by("last_day", "bite", "filed_at", "id")


def lines(changes: Iterable[Request]) -> list[dict[str, Any]]:
    """The lines of a page of the queue, of requests that `by_urgency` fetched."""
    rows = list(changes)
    went_stale = stale(rows)
    return [line(change) | {"stale": went_stale.get(change.pk, [])} for change in rows]


def line(change: Request) -> dict[str, Any]:
    asks = [ask for ask in change.asks.all() if not ask.replaced]
    days = (change.last_day - change.job.today()).days  # type: ignore[attr-defined]  # by_urgency seeks it
    return {
        "change": change,
        "tone": TONES.get(State(change.state), "look"),
        "state_says": state_says(change.state, asks),
        "marks": sorted({ask.truss.mark for ask in asks if ask.truss}),
        "verdicts": sorted({ask.answered for ask in asks if ask.verdict}),
        "days": days,
        "days_over": -days,
        "waits_for": waits_for(change.state, asks),
        "holds": [hold.standing for hold in change.holds.all()],
    }
