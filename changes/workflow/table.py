"""The one table of (from, verb, role, to), and the one place where a request's state changes.

A state changes by a conditional UPDATE on the state that was read, so that of two who act at once one acts; the event
that tells of it is written in the same transaction.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import Any, NamedTuple

from django.db import transaction

from changes.models import Event, Request, State
from changes.refusals import Conflict, NotAllowed
from trusses.models import Job, Role
from trusses.permissions import role_in

WORKER = "worker"
"""The role of the computation itself; its events name no person."""

NEW = ""
"""The state of a request that is not filed yet."""


class Step(NamedTuple):
    state: str
    verb: str
    role: str
    to: str


TRANSITIONS: tuple[Step, ...] = (
    Step(NEW, "file", Role.BUILDER, State.FILED),
    Step(NEW, "tell", Role.BUILDER, State.FILED),
    Step(NEW, "tell", Role.SITE_LEAD, State.FILED),
    Step(NEW, "start", Role.DESIGNER, State.FILED),
    Step(State.FILED, "begin computing", WORKER, State.COMPUTING),
    Step(State.COMPUTING, "finish computing", WORKER, State.AWAITING_DECISION),
    Step(State.COMPUTING, "fail", WORKER, State.FAILED),
    Step(State.AWAITING_DECISION, "draw", Role.DESIGNER, State.AWAITING_DECISION),
    Step(State.AWAITING_DECISION, "approve", Role.DESIGNER, State.APPROVED),
    Step(State.AWAITING_DECISION, "keep off", Role.DESIGNER, State.AWAITING_DECISION),
    Step(State.APPROVED, "keep off", Role.DESIGNER, State.AWAITING_DECISION),
    Step(State.AWAITING_DECISION, "send back", Role.DESIGNER, State.SENT_BACK),
    Step(State.AWAITING_DECISION, "decline", Role.DESIGNER, State.DECLINED),
    Step(State.SENT_BACK, "answer", Role.BUILDER, State.FILED),
    Step(State.SENT_BACK, "answer", Role.DESIGNER, State.FILED),
    Step(State.SENT_BACK, "answer", Role.SITE_LEAD, State.FILED),
    Step(State.AWAITING_DECISION, "compute", Role.BUILDER, State.FILED),
    Step(State.AWAITING_DECISION, "compute", Role.DESIGNER, State.FILED),
    Step(State.AWAITING_DECISION, "compute", Role.SITE_LEAD, State.FILED),
    Step(State.SENT_BACK, "decline", Role.DESIGNER, State.DECLINED),
    Step(State.SENT_BACK, "compute", Role.DESIGNER, State.FILED),
    Step(State.FAILED, "decline", Role.DESIGNER, State.DECLINED),
    Step(State.FAILED, "compute", Role.BUILDER, State.FILED),
    Step(State.FAILED, "compute", Role.DESIGNER, State.FILED),
    Step(State.FAILED, "compute", Role.SITE_LEAD, State.FILED),
    Step(State.FILED, "withdraw", Role.BUILDER, State.WITHDRAWN),
    Step(State.FILED, "withdraw", Role.DESIGNER, State.WITHDRAWN),
    Step(State.FILED, "withdraw", Role.SITE_LEAD, State.WITHDRAWN),
    Step(State.COMPUTING, "withdraw", Role.BUILDER, State.WITHDRAWN),
    Step(State.COMPUTING, "withdraw", Role.DESIGNER, State.WITHDRAWN),
    Step(State.COMPUTING, "withdraw", Role.SITE_LEAD, State.WITHDRAWN),
    Step(State.AWAITING_DECISION, "withdraw", Role.BUILDER, State.WITHDRAWN),
    Step(State.AWAITING_DECISION, "withdraw", Role.DESIGNER, State.WITHDRAWN),
    Step(State.AWAITING_DECISION, "withdraw", Role.SITE_LEAD, State.WITHDRAWN),
    Step(State.SENT_BACK, "withdraw", Role.BUILDER, State.WITHDRAWN),
    Step(State.SENT_BACK, "withdraw", Role.DESIGNER, State.WITHDRAWN),
    Step(State.SENT_BACK, "withdraw", Role.SITE_LEAD, State.WITHDRAWN),
    Step(State.FAILED, "withdraw", Role.BUILDER, State.WITHDRAWN),
    Step(State.FAILED, "withdraw", Role.DESIGNER, State.WITHDRAWN),
    Step(State.FAILED, "withdraw", Role.SITE_LEAD, State.WITHDRAWN),
)

_DECIDES = ("approve", "send back", "decline")


def move(change: Request, verb: str, role: str, *, by: Any = None, says: str = "", **values: Any) -> Event:
    """Changes the state as the table says and writes the event, both or neither. Raises Conflict or NotAllowed.

    `change.state` is the new one afterwards. The caller has asked `permissions.require` already.
    """
    steps = {step.state: step.to for step in TRANSITIONS if step.verb == verb and step.role == role}
    if not steps:
        raise NotAllowed("no-role-for-it", role=str(role), verb=verb)
    with transaction.atomic():
        while True:
            state = Request.objects.values_list("state", flat=True).get(pk=change.pk)
            late = verb in _DECIDES and change.state in steps and change.state != state
            if state not in steps or late:  # late: another decision was made on what this one was to decide
                change.state = state
                raise too_late(change, verb)
            if Request.objects.filter(pk=change.pk, state=state).update(state=steps[state]):
                break
        change.state = steps[state]
        return Event.objects.create(
            request=change, by=by, verb=verb, from_state=state, to_state=change.state, says=says, values=values
        )


@contextmanager
def acting(change: Request) -> Iterator[None]:
    """One transaction. Where it fails, `change` says its old state again, as the database does."""
    before = change.state
    try:
        with transaction.atomic():
            yield
    except BaseException:
        change.state = before
        raise


def note(change: Request, verb: str, *, by: Any = None, says: str = "", **values: Any) -> Event:
    """An event that leaves the state as it is; `values` are those of `words.EVENTS`."""
    return Event.objects.create(
        request=change, by=by, verb=verb, from_state=change.state, to_state=change.state, says=says, values=values
    )


def too_late(change: Request, verb: str) -> Conflict:
    """Why the verb comes too late or too early: what happened last, by whom and when."""
    last = change.events.filter(to_state=change.state).exclude(from_state=change.state).order_by("-id").first()
    if last is None:
        return Conflict("not-now", request=change.pk, state=change.state, verb=verb)
    by, at = person(last.by, change.job) if last.by else "", moment(last.at, change.job)
    return Conflict("too-late", request=change.pk, last=last.verb, by=by, at=at, verb=verb)


def person(user: Any, job: Job) -> str:
    """A person's name as the record writes it, with the role in the job."""
    role = role_in(user, job)
    name = user.get_full_name() or user.get_username()
    return f"{name}, {role.label}" if role and role.label != name else name


def moment(at: datetime, job: Job) -> list[str]:
    """A moment as a refusal holds it: ISO 8601, and the building's time zone."""
    return [at.isoformat(), job.time_zone]
