"""One request as the API tells it, in as few queries whatever it holds."""

from __future__ import annotations

from typing import Any

from django.db.models import Prefetch

from changes.api.serializers import DetailSerializer
from changes.asks.pending import pending
from changes.models import Ask, Consequence, Decision, Kind, Request, State
from changes.pages.sections import sections
from trusses.models import Role
from trusses.permissions import role_in

_CARRIERS = (
    Consequence.objects.select_related("carrier", "revision")
    .defer("analysis", "revision__document", "revision__analysis")
    .order_by("place")
)
DECIDED = (State.APPROVED, State.SENT_BACK, State.DECLINED)


def _others(change: Request, asks: list[Ask]) -> bool:
    """Whether another open request asks of the same trusses; most have none, and cost no more than this look."""
    return change.is_open and bool(pending({ask.truss_id for ask in asks if ask.truss_id}, but=change))


def detail(change: Request, user: Any) -> dict[str, Any]:
    """The body of `GET requests/{id}/` for one person. Options that two asks share are the same objects."""
    options = list(
        change.options.filter(stale=False)
        .select_related("drawn_by", "revision")
        .defer("analysis", "revision__document", "revision__analysis")
        .prefetch_related("asks", Prefetch("consequences", _CARRIERS))
    )
    # what passes comes first, what fails last, what waits for its computation between them
    options.sort(key=lambda option: (option.passes is False, option.passes is None, option.rank, option.pk))
    decisions = change.decisions.select_related("by").prefetch_related("issues__revision__truss")
    asks = list(change.asks.filter(replaced=False).select_related("truss"))
    for ask in asks:
        ask.to_designer = ask.kind == Kind.DAMAGE and role_in(user, change.job) == Role.DESIGNER
    decision, last = None, decisions.order_by("-id").first()
    if change.state in DECIDED:
        decision = last
    elif change.is_open and any(ask.kind == Kind.DAMAGE for ask in asks):
        decision = decisions.filter(ends_by=Decision.EndsBy.KEEP_OFF).order_by("-id").first()
    held = {
        "change": change,
        "asks": asks,
        "runs": change.runs.filter(asks__in=asks).distinct() if any(ask.run_id for ask in asks) else [],
        "pending": [one for section in sections(change) for one in section.others] if _others(change, asks) else [],
        "decision": decision,
        "last_decision": last.pk if last else 0,
        "events": change.events.select_related("by"),
        "holds": change.holds.select_related("truss", "asked_by", "answered_by").prefetch_related("copies"),
        "computing": change.computations.filter(option=None).order_by("-id").first(),
    }
    return dict(DetailSerializer(held, context={"options": options}).data)
