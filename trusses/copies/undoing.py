"""A move of copies taken back: within a day, by the role whose move it is, and never past what a decision counted on.

Nothing is deleted: the move stays in the record, and an event says who took it back, when, and why.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from trusses.copies import trail
from trusses.models import Copy, MarkEvent, Role, Stage, Truss
from trusses.permissions import STAGE_MOVES, role_in
from trusses.production import FOUND_FIELDS
from trusses.refusals import NotAllowed, Refused

WITHIN = timedelta(hours=24)
JUST_NOW = timedelta(minutes=10)
LONGEST = 500
Code = MarkEvent.Code

before_uncut: list[Callable[[Sequence[Copy]], Refused | None]] = []
"""What may keep a cut from being taken back: each is asked with its copies, and answers with the refusal, or None."""


def until(event: MarkEvent) -> datetime:
    """Until when a move can be taken back."""
    return event.at + WITHIN


def role_of(event: MarkEvent) -> Role:
    """Whose move it was to make, and is to take back."""
    return STAGE_MOVES[_step(event)]


def open_to(role: str | None, event: MarkEvent | None) -> bool:
    """Whether someone in that role may still take a move back, as far as the clock goes."""
    return event is not None and event.code == Code.MOVED and role_of(event) == role and timezone.now() <= until(event)


@dataclass(frozen=True)
class Just:
    """What somebody just said of a copy: that it is in a stage (`to`), or that it isn't in the one after (`back`).
    `event` is the move where that person may take it back."""

    to: Stage
    back: bool
    event: MarkEvent | None


def just_said(user: Any, role: str | None, copy: Copy) -> Just | None:
    """The last that was said of where a copy is, where it was this person, within minutes, and it is there still."""
    truss = copy.truss
    root = truss.variant_of_id or truss.pk
    rows = MarkEvent.objects.filter(Q(truss=root) | Q(truss__variant_of=root), code__in=(Code.MOVED, Code.TAKEN_BACK))
    recent = rows.filter(at__gte=timezone.now() - JUST_NOW).order_by("-pk")
    last = next((one for one in recent if copy.number in one.values["copies"]), None)
    if last is None or last.by_id != user.pk or last.values["to"] != copy.stage:
        return None
    may = open_to(role, last) and last.truss_id == truss.pk
    return Just(Stage(copy.stage), last.code == Code.TAKEN_BACK, last if may else None)


def take_back(user: Any, truss: Truss, event: MarkEvent | None, reason: str = "") -> list[int]:
    """Takes back a move of copies of a mark; the numbers of those that went back. Copies for which it is taken back
    already stay as they are: a second tap is harmless. Raises NotAllowed, Refused."""
    if event is None or event.truss_id != truss.pk or event.code != Code.MOVED:
        raise Refused("no-such-move", "event")
    start, to = _step(event)
    role = STAGE_MOVES[start, to]
    if role_in(user, truss.job) != role:
        raise NotAllowed("stage-role", role=role.label, to=to.value)
    reason = " ".join(reason.split())
    if len(reason) > LONGEST:
        raise Refused("reason-long", "reason", most=LONGEST, length=len(reason))
    with transaction.atomic():
        current = Truss.objects.select_for_update(of=("self",)).select_related("current").get(pk=truss.pk)
        last = trail.of_family(truss)
        root = truss.variant_of_id or truss.pk
        rows = list(truss.copies.filter(number__in=event.values["copies"]).order_by("number"))
        here = [copy for copy in rows if last.get((root, copy.number)) == event and copy.stage == to]
        if not here:
            _refuse_moved_on(truss, event, rows)
            return []
        if timezone.now() > until(event):
            raise Refused("undo-late", "event", hours=int(WITHIN.total_seconds() // 3600))
        if to == Stage.CUT:
            _refuse_counted_on(current, event, here)
        return _write(user, truss, event, here, reason)


def _refuse_counted_on(truss: Truss, event: MarkEvent, here: Sequence[Copy]) -> None:
    """Raises Refused where somebody decided or told something since that rests on what is cut."""
    if any(copy.built_to_id != truss.current_id for copy in here):
        raise Refused("undo-overtaken", "event", mark=truss.mark, number=truss.current.number)
    if left := truss.events.filter(code=Code.LEFT, pk__gt=event.pk).first():
        raise Refused("undo-left", "event", mark=truss.mark, copies=left.values["copies"], of=left.values["to"])
    for keeps_cut in before_uncut:
        if why := keeps_cut(here):
            raise why


def _step(event: MarkEvent) -> tuple[Stage, Stage]:
    """From where to where the copies went; those that were released anew go back to not released at all."""
    start, to = Stage(event.values["from"]), Stage(event.values["to"])
    return (Stage.DESIGNING if start == to else start), to


def _refuse_moved_on(truss: Truss, event: MarkEvent, rows: list[Copy]) -> None:
    """A repeat is harmless; copies that went on since are named."""
    taken = MarkEvent.objects.filter(truss=truss, code=Code.TAKEN_BACK, pk__gt=event.pk)
    back = {number for one in taken if one.values["event"] == event.pk for number in one.values["copies"]}
    if on := [copy.number for copy in rows if copy.number not in back]:
        raise Refused("undo-moved-on", "event", mark=truss.mark, copies=on)


def _write(user: Any, truss: Truss, event: MarkEvent, here: list[Copy], reason: str) -> list[int]:
    start, to = _step(event)
    change: dict[str, Any] = {"stage": start}
    if to == Stage.RELEASED:
        change["released_to"] = None
    if to == Stage.CUT:
        change |= {"built_to": None, "earlier": "", "earlier_for": None}
    if to in FOUND_FIELDS:
        change[FOUND_FIELDS[to]] = ""
    rows = Copy.objects.filter(pk__in=[copy.pk for copy in here], stage=to)
    numbers = sorted(rows.select_for_update().values_list("number", flat=True))
    rows.update(**change)
    values = {"event": event.pk, "from": to.value, "to": start.value, "copies": numbers, "reason": reason}
    MarkEvent.objects.create(truss=truss, by=user, code=Code.TAKEN_BACK, values=values)
    return numbers
