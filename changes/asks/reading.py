"""What a builder asks, read and bounded: every refusal is a sentence that names the place."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.conf import settings
from django.http import Http404

from changes.asks import opening
from changes.asks.pending import pending
from changes.models import Ask, Kind, Request
from changes.refusals import Refused
from trusses.analysis.format.document import canonical
from trusses.analysis.words.given import brief
from trusses.models import Job, Truss

KINDS = [kind for kind in Kind.values if kind != Kind.REVISION]
"""What a builder asks; a revision is started by a designer."""


@dataclass(frozen=True)
class Wish:
    """One ask that was read; `opening` is as in the truss document, with an id that is free in this truss."""

    truss: Truss
    kind: str
    opening: dict[str, Any]

    @property
    def what(self) -> tuple[int, str, bytes]:
        """What is asked, whatever it is called."""
        geometry = {key: value for key, value in self.opening.items() if key not in ("id", "note")}
        return self.truss.pk, self.kind, canonical(geometry)


LONGEST_WAIT = timedelta(days=36_525)
"""A date further off than a hundred years is a slip of the finger."""


def read_asks(job: Job, asks: Any) -> list[Wish]:
    """The asks of one request. Raises Refused on `asks`; Http404 for a truss that isn't this job's."""
    if not isinstance(asks, Sequence) or isinstance(asks, (str, bytes)) or not asks:
        raise Refused("no-ask", "asks")
    if len(asks) > settings.ASKS_PER_REQUEST:
        raise Refused("too-many-asks", "asks", asks=len(asks), most=settings.ASKS_PER_REQUEST)
    wishes: list[Wish] = []
    for i, ask in enumerate(asks):
        wish = _read(job, ask, i, wishes)
        for j, other in enumerate(wishes):
            if wish.what == other.what:
                raise Refused("asked-twice", "asks", f"asks[{i}]", mark=wish.truss.mark, other=f"asks[{j}]")
            if wish.truss.pk == other.truss.pk:
                opening.refuse_both(wish.truss, wish.opening, other.opening, f"asks[{i}]", f"asks[{j}]")
        wishes.append(wish)
    return wishes


def _read(job: Job, ask: Any, i: int, before: Sequence[Wish]) -> Wish:
    at = f"asks[{i}]"
    if not isinstance(ask, Mapping):
        raise Refused("ask-no-object", "asks", at, given=brief(ask))
    truss = _truss(job, ask.get("truss"), at)
    kind = ask.get("kind", "")
    if kind not in KINDS:
        raise Refused("no-such-kind", "asks", f"{at}.kind", kinds=KINDS)
    if kind != Kind.OPENING:
        raise Refused("kind-not-yet", "asks", f"{at} ({truss.mark})", kind=str(kind))
    for key in ask:
        if key not in ("truss", "kind", "opening"):
            raise Refused("not-of-an-ask", "asks", at, key=str(key)[:40])
    refuse_what_is_over(truss, f"{at} ({truss.mark})")
    taken = [held["id"] for held in truss.current.document.get("openings", ())]
    taken += [wish.opening["id"] for wish in before if wish.truss.pk == truss.pk]
    asked = opening.read(ask.get("opening"), ("asks", i, "opening"), taken)
    opening.refuse(truss, asked, f"{at}.opening")
    return Wish(truss, kind, asked)


def _truss(job: Job, which: Any, at: str) -> Truss:
    if isinstance(which, bool) or not isinstance(which, (int, Truss)):
        raise Refused("no-number-of-a-truss", "asks", f"{at}.truss", given=brief(which))
    pk = which.pk if isinstance(which, Truss) else which
    try:
        found = Truss.objects.filter(job=job, pk=pk).select_related("job", "current").defer("current__analysis").first()
    except OverflowError:
        found = None
    if found is None:
        raise Http404("Not found.")
    if found.current is None:
        raise Refused("without-a-revision", "asks", f"{at} ({found.mark})")
    return found


def refuse_what_is_over(truss: Truss, at: str) -> None:
    """Raises Refused where no copy can take an ordinary change any more."""
    if closed := truss.past_change:
        raise Refused("past-change", "asks", at, closed=closed)


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
    asked = sorted([str(pk), kind, geometry.decode()] for pk, kind, geometry in (wish.what for wish in wishes))
    said = {"job": job.pk, "reason": reason, "needed_by": needed_by.isoformat(), "asks": asked}
    return hashlib.sha256(repr(sorted(said.items())).encode("utf-8", "surrogatepass")).hexdigest()


def write_asks(change: Request, wishes: Sequence[Wish]) -> list[Ask]:
    """The asks as rows. Openings get names that neither the truss has nor another open request gave; whoever files at
    the same moment on the same mark comes before or after."""
    trusses = sorted({wish.truss.pk for wish in wishes})
    list(Truss.objects.select_for_update().filter(pk__in=trusses).order_by("pk"))
    others = pending(trusses, but=change)
    taken = {pk: {one.opening["id"] for one in others.get(pk, ())} for pk in trusses}
    for wish in wishes:
        taken[wish.truss.pk] |= {held["id"] for held in wish.truss.current.document.get("openings", ())}
    written = []
    for wish in wishes:
        opening, names = dict(wish.opening), taken[wish.truss.pk]
        if opening["id"] in names:
            opening["id"] = next(name for n in range(1, 10_000) if (name := f"O{n}") not in names)
        names.add(opening["id"])
        written.append(
            Ask.objects.create(
                request=change, truss=wish.truss, revision=wish.truss.current, kind=wish.kind, opening=opening
            )
        )
    return written
