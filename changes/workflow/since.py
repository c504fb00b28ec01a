"""What was decided of a request since somebody began a decision on it."""

from __future__ import annotations

from changes.models import Decision, Request
from changes.refusals import Conflict
from changes.workflow.table import TRANSITIONS, moment, person


def refuse_what_moved(change: Request, does: str, role: str, state: str, after: int | None) -> int:
    """Returns the id of the last decision, or 0. Raises Conflict where the request moved from what whoever decides saw
    of it; what moves from here on meets `refuse_newer`, or the conditional UPDATE of `move`, which says the rest."""
    last = _last(change)
    seen = last.pk if last else 0
    moved = (state and state != change.state) or (after is not None and after != seen)
    if moved and any((step.state, step.verb, step.role) == (change.state, does, role) for step in TRANSITIONS):
        raise _moved(change, change.state, last if last is not None and last.pk != after else None)
    return seen


def refuse_newer(change: Request, state: str, seen: int) -> None:
    """Called under the lock of `move`, before the own decision is written. `state` is the request's before it, `seen`
    the id of the last decision then, or 0. Raises Conflict where somebody decided in between."""
    last = _last(change)
    if last is not None and last.pk != seen:
        raise _moved(change, state, last)


def _last(change: Request) -> Decision | None:
    return change.decisions.select_related("by").order_by("pk").last()


def _moved(change: Request, state: str, newer: Decision | None) -> Conflict:
    who = (
        {"last": newer.verdict, "by": person(newer.by, change.job), "at": moment(newer.at, change.job)} if newer else {}
    )
    return Conflict("moved-since", request=change.pk, state=state, **who)
