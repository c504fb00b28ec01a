"""Holds: the wish that the saw waits for a request; answered by a designer by name, released by the decision."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db import transaction
from django.utils import timezone

from changes.asks.kinds import HERE
from changes.models import OPEN_STATES, Consequence, Hold, Request
from changes.permissions import require
from changes.refusals import Conflict
from changes.workflow.table import moment, note, person
from changes.workflow.typed import words
from trusses.analysis.words.phrases import as_counted
from trusses.models import CHANGEABLE_STAGES, Truss

Standing = Hold.Standing


def ask_for_holds(change: Request, by: Any) -> None:
    """Asks for a hold on the copies not yet cut that the request is about, and on those of what carries them; drops
    what it left."""
    asked: dict[int, set[int]] = {}
    for ask in change.asks.filter(replaced=False, truss__isnull=False):
        # what ends by words alone changes nothing that the saw could cut too early
        if HERE[ask.kind].DESIGNS:
            asked.setdefault(ask.truss_id or 0, set()).update(ask.copies)
    carriers = {truss.pk for truss in _carriers(change)}
    touched = Truss.objects.filter(pk__in={*asked, *carriers}).order_by("pk")
    release(change, by=by, but=tuple(truss.pk for truss in touched))
    for truss in touched:
        copies = list(truss.copies.filter(stage__in=CHANGEABLE_STAGES))
        if truss.pk not in carriers:
            copies = [copy for copy in copies if copy.number in asked[truss.pk]]
        if copies:
            _ask(change, truss, copies, by)


def hold_carriers(change: Request) -> None:
    """The same for the marks that carry what changes, once the computation has told which."""
    asked = change.asks.filter(replaced=False, truss__isnull=False).values("truss")
    if _carriers(change) or change.holds.exclude(truss__in=asked).exists():
        ask_for_holds(change, change.filed_by)


def _carriers(change: Request) -> list[Truss]:
    live = Consequence.objects.filter(option__request=change, option__stale=False)
    return list(Truss.objects.filter(pk__in=live.values("carrier")))


def _ask(change: Request, truss: Truss, copies: list[Any], by: Any) -> None:
    hold, new = Hold.objects.get_or_create(request=change, truss=truss, defaults={"asked_by": by})
    if not new and hold.standing != Standing.RELEASED:
        return
    if not new:
        Hold.objects.filter(pk=hold.pk).update(
            standing=Standing.ASKED,
            asked_by=by,
            asked_at=timezone.now(),
            answered_by=None,
            answered_at=None,
            released_at=None,
        )
    hold.copies.set(copies)
    note(change, "ask for a hold", by=by, mark=truss.mark, copies=len(copies))


def release(change: Request, *, by: Any = None, but: tuple[int, ...] = ()) -> None:
    """Ends the holds of a request, except on the marks `but`."""
    held = change.holds.exclude(standing=Standing.RELEASED).exclude(truss__in=but)
    marks = sorted(held.values_list("truss__mark", flat=True), key=as_counted)
    if marks:
        others = held_by_others(held.values_list("truss", flat=True), change)
        held.update(standing=Standing.RELEASED, released_at=timezone.now())
        free = [mark for mark in marks if mark not in others]
        held_still = {mark: others[mark] for mark in marks if mark in others}
        note(change, "release the hold", by=by, free=free, held=held_still)


def held_by_others(trusses: Iterable[int], change: Request) -> dict[str, list[int]]:
    """{mark: the other requests that hold copies of it which aren't cut yet}, asked or acknowledged; one query."""
    rows = Hold.objects.filter(
        truss__in=list(trusses),
        standing__in=(Standing.ASKED, Standing.ACKNOWLEDGED),
        copies__stage__in=CHANGEABLE_STAGES,
    )
    found: dict[str, list[int]] = {}
    for mark, request in (
        rows.exclude(request=change).order_by("request").values_list("truss__mark", "request").distinct()
    ):
        found.setdefault(mark, []).append(request)
    return found


def answer_hold(user: Any, hold: Hold, *, acknowledge: bool, says: str = "", after_all: bool = False) -> Hold:
    """A designer says by name whether the saw waits, and why where it can't; `after_all` acknowledges one that was
    refused, while its request is open and a copy isn't cut yet. Raises NotAllowed, Refused or Conflict."""
    change = hold.request
    require(user, "hold", change)
    says = words(says, "says", needed="" if acknowledge else "say-why-no-hold")
    to = Standing.ACKNOWLEDGED if acknowledge else Standing.REFUSED
    with transaction.atomic():
        asked = Hold.objects.filter(
            pk=hold.pk, standing=Standing.REFUSED if after_all and acknowledge else Standing.ASKED
        )
        if not asked.update(standing=to, answered_by=user, answered_at=timezone.now()):
            raise _too_late(hold)
        if after_all:
            _refuse_for_nothing(hold)
        mark = hold.truss.mark
        if acknowledge:
            note(change, "acknowledge the hold", by=user, says=says, mark=mark)
        else:
            others = held_by_others([hold.truss_id], change).get(mark, [])
            note(change, "refuse the hold", by=user, says=says, mark=mark, requests=others)
    hold.refresh_from_db()
    return hold


def _refuse_for_nothing(hold: Hold) -> None:
    """Raises Conflict where a saw that waits after all would wait for nothing."""
    about = {"request": hold.request_id, "mark": hold.truss.mark}
    state = Request.objects.values_list("state", flat=True).get(pk=hold.request_id)
    if state not in OPEN_STATES:
        raise Conflict("hold-of-an-end", **about, state=state)
    if not hold.copies.filter(stage__in=CHANGEABLE_STAGES).exists():
        raise Conflict("hold-of-cut", **about)


def _too_late(hold: Hold) -> Conflict:
    hold.refresh_from_db()
    job = hold.request.job
    if hold.standing == Standing.RELEASED:
        at = moment(hold.released_at, job) if hold.released_at else None
        return Conflict("hold-released", mark=hold.truss.mark, at=at)
    by = person(hold.answered_by, job) if hold.answered_by else ""
    at = moment(hold.answered_at, job) if hold.answered_at else None
    return Conflict("hold-answered", mark=hold.truss.mark, standing=hold.standing, by=by, at=at)
