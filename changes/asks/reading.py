"""What a builder asks, read and bounded: every refusal is a sentence that names the place."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from django.conf import settings

from changes.asks.kinds import BUILDERS, HERE, refuse_both
from changes.asks.pending import pending
from changes.asks.wishes import Wish
from changes.models import Ask, Request, Run
from changes.refusals import Refused
from trusses.analysis.words.given import brief
from trusses.models import Job, Truss

LONGEST_WAIT = timedelta(days=36_525)
"""A date further off than a hundred years is a slip of the finger."""


def read_asks(job: Job, asks: Any) -> list[Wish]:
    """The asks of one request; one that was read before, and that is asked again, may be given as the wish that it is.
    Raises Refused on `asks`; Http404 for a truss that isn't this job's."""
    if not isinstance(asks, Sequence) or isinstance(asks, (str, bytes)) or not asks:
        raise Refused("no-ask", "asks")
    if len(asks) > settings.ASKS_PER_REQUEST:
        raise Refused("too-many-asks", "asks", asks=len(asks), most=settings.ASKS_PER_REQUEST)
    wishes: list[Wish] = []
    places: list[str] = []
    for i, ask in enumerate(asks):
        for wish in _read(job, ask, i, wishes):
            _refuse_beside(wish, f"asks[{i}]", wishes, places)
            wishes.append(wish)
            places.append(f"asks[{i}]")
    return _parted(wishes)


def _parted(wishes: Sequence[Wish]) -> list[Wish]:
    """Wishes that ask for another design of one mark are for the same copies or for others: one for copies 1 to 4 and
    one for copies 3 to 6 are two each, since copies 3 and 4 get a design of their own."""
    designs = [wish for wish in wishes if wish.truss and HERE[wish.kind].DESIGNS]
    found: list[Wish] = []
    for wish in wishes:
        if not wish.truss or not HERE[wish.kind].DESIGNS:
            found.append(wish)
            continue
        beside: dict[tuple[bool, ...], list[int]] = {}
        others = [set(one.copies) for one in designs if one.truss and one.truss.pk == wish.truss.pk]
        for number in wish.copies:
            beside.setdefault(tuple(number in copies for copies in others), []).append(number)
        found += [replace(wish, copies=tuple(copies)) for copies in beside.values()]
    return found


def _read(job: Job, ask: Any, i: int, before: Sequence[Wish]) -> list[Wish]:
    at = f"asks[{i}]"
    if isinstance(ask, Wish):
        return [ask]
    if not isinstance(ask, Mapping):
        raise Refused("ask-no-object", "asks", at, given=brief(ask))
    kind = ask.get("kind", "")
    if kind not in BUILDERS:
        raise Refused("no-such-kind", "asks", f"{at}.kind", kinds=list(BUILDERS))
    for key in ask:
        if key != "kind" and key not in HERE[kind].KEYS:
            raise Refused("not-of-an-ask", "asks", at, key=str(key)[:40])
    found = HERE[kind].read(job, ask, ("asks", i), before)
    for wish in found:
        HERE[kind].refuse(wish, at)
    return found


def _refuse_beside(wish: Wish, at: str, before: Sequence[Wish], places: Sequence[str]) -> None:
    """Raises Refused where one request asks the same twice, or what can't stand side by side."""
    for other, at_other in zip(before, places, strict=True):
        if wish.what == other.what and (wish.truss is None or wish.meets(other)):
            mark = wish.truss.mark if wish.truss else ""
            raise Refused("asked-twice", "asks", at, mark=mark, other=at_other)
        if wish.meets(other):
            refuse_both(wish, other, at, at_other)


def refuse_when_all_cut(truss: Truss, at: str) -> None:
    """As above, but for the last day: what was asked in time is answered after it."""
    if Truss.objects.filter(pk=truss.pk, withdrawn_at__isnull=False).exists():
        raise Refused("withdrawn-from-the-set", "asks", at, mark=truss.mark)
    if closed := truss.all_cut:
        raise Refused("past-change", "asks", at, closed=closed)


def read_needed_by(job: Job, value: Any) -> date:
    """The day by which it is needed, today at the building at the earliest. Raises Refused on `needed_by`."""
    if isinstance(value, str):
        try:
            value = date.fromisoformat(value)
        except ValueError:
            raise Refused("no-such-date", "needed_by", "needed_by", typed=value[:40]) from None
    if not isinstance(value, date):
        raise Refused("needs-a-date", "needed_by", "needed_by")
    today = job.today()
    if value < today:
        raise Refused("date-past", "needed_by", "needed_by", date=value.isoformat(), today=today.isoformat())
    if value > today + LONGEST_WAIT:
        raise Refused("date-far-off", "needed_by", "needed_by", date=value.isoformat())
    return value


def fingerprint(job: Job, reason: str, needed_by: date, wishes: Sequence[Wish]) -> str:
    """SHA-256 of all that a request says, so that a repeat of it is known."""
    asked = sorted([*map(str, wish.what[:2]), wish.what[2].decode(), list(wish.copies)] for wish in wishes)
    said = {"job": job.pk, "reason": reason, "needed_by": needed_by.isoformat(), "asks": asked}
    return hashlib.sha256(repr(sorted(said.items())).encode("utf-8", "surrogatepass")).hexdigest()


def write_asks(change: Request, wishes: Sequence[Wish]) -> list[Ask]:
    """The asks as rows. Openings get names that neither the truss has nor another open request gave; whoever files at
    the same moment on the same mark comes before or after."""
    trusses = sorted({wish.truss.pk for wish in wishes if wish.truss})
    list(Truss.objects.select_for_update().filter(pk__in=trusses).order_by("pk"))
    others = pending(trusses, but=change)
    taken = {pk: {one.opening["id"] for one in others.get(pk, ())} for pk in trusses}
    for truss in {wish.truss.pk: wish.truss for wish in wishes if wish.truss}.values():
        taken[truss.pk] |= {held["id"] for held in truss.current.document.get("openings", ())}
    runs: dict[int, Run] = {}
    called: dict[int, str] = {}
    written = []
    for wish in wishes:
        opening = dict(wish.opening) if wish.opening else None
        if opening and wish.truss:
            names = taken[wish.truss.pk]
            # the same opening in other copies is one opening
            if id(wish.opening) in called:
                opening["id"] = called[id(wish.opening)]
            elif opening["id"] in names:
                opening["id"] = next(name for n in range(1, 10_000) if (name := f"O{n}") not in names)
            called[id(wish.opening)] = opening["id"]
            names.add(opening["id"])
        if wish.run is not None and id(wish.run) not in runs:
            runs[id(wish.run)] = Run.objects.create(request=change, **wish.run)
        written.append(
            Ask.objects.create(
                request=change,
                truss=wish.truss,
                revision=wish.revision or (wish.truss.current if wish.truss else None),
                copies=list(wish.copies),
                kind=wish.kind,
                opening=opening,
                wish=wish.wish,
                run=runs[id(wish.run)] if wish.run is not None else None,
            )
        )
    return written
