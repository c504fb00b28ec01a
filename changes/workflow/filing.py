"""What a builder does with a request: files it, answers, withdraws; and what sends it to the worker again."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone

from changes.asks import as_built
from changes.asks.cut_since import refuse_in_cut
from changes.asks.elsewhere import as_decided
from changes.asks.kinds import HERE
from changes.asks.reading import Wish, fingerprint, read_asks, read_needed_by, refuse_when_all_cut, write_asks
from changes.asks.wishes import wish_of
from changes.carriers import moved_below
from changes.computations import enqueue
from changes.models import OPEN_STATES, Ask, Computation, Event, IdempotencyKey, Kind, Option, Request, State
from changes.permissions import may, require
from changes.refusals import Conflict, Refused
from changes.workflow.holds import ask_for_holds, release
from changes.workflow.sharing import share_by_fewer
from changes.workflow.table import NEW, acting, moment, move, note
from changes.workflow.turned import read_by_todays_drawing
from changes.workflow.typed import words
from changes.workflow.walls import keep_left
from trusses.models import CHANGEABLE_STAGES, Copy, Job, Truss

Progress = Computation.Progress

YES_THERE = "Yes, there will do."


def file(
    user: Any,
    job: Job,
    *,
    reason: str,
    needed_by: date | str,
    asks: Sequence[Any],
    key: str | None = None,
    body_sha256: str | None = None,
) -> Request:
    """A new request, its hold asked for and its computation on the way; all of it or nothing.

    With `key`, a repeat of the same body finds the request that it made. Raises NotAllowed, Refused, Conflict, Http404.
    """
    require(user, "tell" if may(user, "tell", job) else "file", job)
    if key is not None:
        key = words(key, "Idempotency-Key", longest=200, needed="key-empty")
        if body_sha256 and (first := _keyed(user, key, body_sha256)):
            return first
    reason = words(reason, "reason", needed="say-what-for")
    day = read_needed_by(job, needed_by)
    wishes = read_asks(job, asks)
    _refuse_designs(user, job, wishes)
    said = fingerprint(job, reason, day, wishes)
    body = body_sha256 or said
    try:
        with transaction.atomic():
            change = Request.objects.create(job=job, filed_by=user, reason=reason, needed_by=day, fingerprint=said)
            if key is not None:
                IdempotencyKey.objects.create(user=user, key=key, body_sha256=body, request=change)
            _start(change, wishes, user)
            return change
    except IntegrityError as trouble:
        if key is not None and (first := _keyed(user, key, body)):
            return first
        refuse_repeat(user, said, trouble)
        raise


def _refuse_designs(user: Any, job: Job, wishes: Sequence[Wish]) -> None:
    """Raises NotAllowed where who only tells and asks questions asks for another design."""
    if not may(user, "file", job) and may(user, "tell", job) and any(HERE[wish.kind].DESIGNS for wish in wishes):
        require(user, "file", job)


def keys_used(user: Any, truss: Truss) -> list[str]:
    """The keys of what the person filed on a mark, the newest first: forms that were sent."""
    rows = IdempotencyKey.objects.filter(user=user, request__asks__truss=truss).order_by("-id")
    return list(dict.fromkeys(rows.values_list("key", flat=True)[:20]))


def _keyed(user: Any, key: str, body: str) -> Request | None:
    first = IdempotencyKey.objects.filter(user=user, key=key).select_related("request__job").first()
    if first is None:
        return None
    if first.body_sha256 != body:
        at = moment(first.created_at, first.request.job)
        raise Conflict("another-body", request=first.request_id, at=at)
    return first.request


def refuse_repeat(user: Any, said: str, trouble: Exception | None = None) -> None:
    """Raises Refused with the number of the open request that says the same, if there is one."""
    first = Request.objects.filter(filed_by=user, fingerprint=said, state__in=OPEN_STATES).first()
    if first is not None:
        raise Refused("asked-already", request=first.pk, state=first.state) from trouble


def _start(change: Request, wishes: Sequence[Wish], by: Any) -> None:
    keep_left(change.job, write_asks(change, wishes))
    Event.objects.create(request=change, by=by, verb="file", from_state=NEW, to_state=State.FILED, says=change.reason)
    ask_for_holds(change, by)
    enqueue(change)


def answer(
    user: Any, change: Request, *, says: str, asks: Sequence[Any] | None = None, stay: Collection[int] = ()
) -> Request:
    """The builder's answer to a sending back, with other asks where the answer is a changed wish, for all but the asks
    in `stay`, which ask for no design; filed again."""
    role = require(user, "answer", change)
    says = words(says, "says", needed="answer-needed")
    wishes: Sequence[Wish] | None = None
    try:
        with acting(change):
            event = move(change, "answer", role, by=user, says=says)
            if asks is None:
                for ask in change.asks.filter(replaced=False, truss__isnull=False).select_related("truss__job"):
                    refuse_when_all_cut(ask.on_truss, f"Ask {ask.pk}")
                refuse_in_cut(change)
            else:
                # first, so that what is asked now isn't held against what it replaces
                change.asks.exclude(pk__in=stay).update(replaced=True)
                # what stays was asked by the drawing of its day; what is asked now is by today's
                read_by_todays_drawing(change, by=user, begun=event)
                read = read_asks(change.job, asks)
                _refuse_designs(user, change.job, read)
                wishes = [*read, *map(wish_of, change.asks.filter(replaced=False).select_related("truss", "run"))]
                said = fingerprint(change.job, change.reason, change.needed_by, wishes) if change.fingerprint else None
                Request.objects.filter(pk=change.pk).update(fingerprint=said)
                keep_left(change.job, write_asks(change, read))
                ask_for_holds(change, user)
            start_over(change, by=user, begun=event if asks is None else None)
    except IntegrityError as trouble:
        if wishes is not None:
            said = fingerprint(change.job, change.reason, change.needed_by, wishes)
            refuse_repeat(user, said, trouble)
        raise
    return change


def answer_there(user: Any, change: Request, option: Option) -> Request:
    """The builder's yes to an opening where an option has it, which is elsewhere than asked: filed again with it there.
    Raises NotAllowed, Refused, Conflict."""
    require(user, "answer", change)
    rows = list(change.asks.filter(replaced=False).select_related("truss"))
    if option.request_id != change.pk or option.stale or not option.elsewhere:
        raise Refused("place-offered-no-more", "there")
    if any(ask.kind != Kind.OPENING or ask.run_id for ask in rows):
        raise Refused("moves-openings-only", "there")
    asks = []
    for ask in rows:
        wish = wish_of(ask)
        if (ask.truss_id, ask.copies) == (option.truss_id, option.copies):
            wish = as_decided(wish, option.elsewhere)
        asks.append({"truss": ask.truss, "kind": ask.kind, "opening": wish.opening, "copies": ask.copies})
    return answer(user, change, says=YES_THERE, asks=asks)


def withdraw(user: Any, change: Request) -> Request:
    """Ends the request before a decision; a computation under way is dropped. Raises NotAllowed, Conflict."""
    role = require(user, "withdraw", change)
    with acting(change):
        move(change, "withdraw", role, by=user)
        if tells_of_damage(change):
            raise Conflict("damage-stays", request=change.pk)
        drop_computations(change)
        release(change, by=user)
    return change


def tells_of_damage(change: Request) -> bool:
    """Whether damage was told of in it, also before its answer to a sending back: a designer ends that, so that nobody
    tells of damage, takes it back and sets the truss alone."""
    return change.asks.filter(kind=Kind.DAMAGE).exists()


def compute_again(user: Any, change: Request) -> Request:
    """Another computation of a failed request, of one whose truss got a new revision meanwhile, or of one that was sent
    back and that a designer takes up again as it was asked."""
    role = require(user, "compute", change)
    with acting(change):
        event = move(change, "compute", role, by=user)
        moved = change.overtaken or moved_below(change) or cut_since(change) or as_built.moved(change)
        if event.from_state == State.AWAITING_DECISION and not moved:
            raise Conflict("nothing-moved", request=change.pk)
        start_over(change, by=user, begun=event)
    return change


def start_over(change: Request, *, by: Any, begun: Event | None = None) -> None:
    """What was computed before doesn't count any more; the asks are answered anew, from today's revisions. `begun`: the
    event of what begins it, unless that asked anew by today's drawings itself."""
    drop_computations(change)
    change.options.filter(stale=False).update(stale=True)
    read_by_todays_drawing(change, by=by, begun=begun)
    for ask, cut in cut_since(change):
        share_by_fewer(change, ask, cut)
        if left := [number for number in ask.copies if number not in cut]:
            change.asks.filter(pk=ask.pk).update(copies=left)
            note(change, "copies cut", mark=ask.truss.mark if ask.truss else "", copies=cut)
    as_built.regroup(change.asks.filter(replaced=False, kind__in=Kind.as_built()).select_related("truss", "revision"))
    for ask in change.asks.filter(replaced=False).select_related("truss"):
        revision = ask.truss.current_id if ask.truss else None
        of = {} if ask.kind in Kind.as_built() else {"revision": revision}
        change.asks.filter(pk=ask.pk).update(verdict="", told=[], nearest=None, figures={}, **of)
    enqueue(change)


def cut_since(change: Request) -> list[tuple[Ask, list[int]]]:
    """The asks for another design of copies that were cut meanwhile, and which: these keep theirs."""
    asks = change.asks.filter(replaced=False, truss__isnull=False).select_related("truss")
    designs = [ask for ask in asks if HERE[ask.kind].DESIGNS]
    rows = Copy.objects.filter(truss__in={ask.truss_id for ask in designs}).exclude(stage__in=CHANGEABLE_STAGES)
    cut = set(rows.values_list("truss", "number"))
    found = [(ask, [number for number in ask.copies if (ask.truss_id, number) in cut]) for ask in designs]
    return [(ask, numbers) for ask, numbers in found if numbers]


def drop_computations(change: Request, *, but_drawn: bool = False) -> None:
    """Ends what is under way for a request; with `but_drawn` the answer to all of it alone."""
    under_way = change.computations.filter(state__in=(Progress.QUEUED, Progress.RUNNING))
    if but_drawn:
        under_way = under_way.filter(option=None, together=None)
    under_way.update(state=Progress.DROPPED, finished_at=timezone.now(), doing="")
