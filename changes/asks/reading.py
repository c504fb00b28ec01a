"""What a builder asks, read and bounded: every refusal is a sentence that names the place."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.conf import settings
from django.http import Http404

from changes.asks.pending import pending
from changes.models import Ask, Kind, Request
from changes.refusals import Refused
from trusses.analysis.clearance.apart import beyond, gap
from trusses.analysis.clearance.free_space import TOUCH_IN, Space, space
from trusses.analysis.format.document import DocumentError, canonical, read_opening, read_stored
from trusses.analysis.format.model import Opening
from trusses.analysis.format.strict import plain
from trusses.analysis.words.given import brief
from trusses.models import Job, Truss
from trusses.refusals import because

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
            _refuse_overlap(wish, other, f"asks[{i}]", f"asks[{j}]")
        wishes.append(wish)
    return wishes


def _refuse_overlap(wish: Wish, other: Wish, at: str, at_other: str) -> None:
    """Two openings in one place are a slip: whoever builds could not tell which of the two is meant."""
    if wish.truss.pk != other.truss.pk:
        return
    one, two = read_opening(wish.opening), read_opening(other.opening)
    free = gap(one, two)
    if free < -TOUCH_IN:
        both = {"one": one.id, "two": two.id, "other": at_other}
        raise Refused("openings-overlap", "asks", at, **both, mark=wish.truss.mark, by_in=-free)


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
    taken = [opening["id"] for opening in truss.current.document.get("openings", ())]
    taken += [wish.opening["id"] for wish in before if wish.truss.pk == truss.pk]
    return Wish(truss, kind, _opening(ask.get("opening"), i, truss, taken))


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


def _opening(value: Any, i: int, truss: Truss, taken: list[str]) -> dict[str, Any]:
    """The opening as the truss document would hold it. An id that is missing or taken becomes the next free one."""
    at = f"asks[{i}].opening"
    try:
        held = plain(value, ("asks", i, "opening"))
        if isinstance(held, dict) and ("id" not in held or held["id"] in taken):
            held["id"] = next(name for n in range(1, 10_000) if (name := f"O{n}") not in taken)
        opening = read_opening(held, at)
    except DocumentError as refused:
        raise Refused("opening", "asks", refused.place, why=because(refused, placed=False)) from refused
    _refuse_beyond(truss, opening, f"{at} ({opening.id})")
    _refuse_outside(truss, opening, f"{at} ({opening.id})")
    return held


def _refuse_outside(truss: Truss, opening: Opening, at: str) -> None:
    """What lies wholly beside the truss asks nothing of it, and the saw must not wait for it."""
    away = beyond(_room(truss), opening)
    if away is None:
        return
    raise Refused("lies-outside", "asks", at, away_in=away, mark=truss.mark)


def _room(truss: Truss) -> Space:
    return space(read_stored(truss.current.document))


def _refuse_beyond(truss: Truss, opening: Opening, at: str) -> None:
    """What is larger than the whole truss is a slip of the finger; what merely doesn't fit gets an answer."""
    xs, ys = zip(*truss.current.document["joints"].values(), strict=True)
    longest = max(max(xs) - min(xs), max(ys) - min(ys))
    for name, size in zip(("across", "") if opening.shape == "circle" else ("wide", "high"), opening.size, strict=True):
        if size + 2 * opening.clearance_in > longest:
            sizes = {"size_in": size, "across": name, "clearance_in": opening.clearance_in, "longest_in": longest}
            raise Refused("larger-than-the-truss", "asks", at, mark=truss.mark, **sizes)


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
        taken[wish.truss.pk] |= {opening["id"] for opening in wish.truss.current.document.get("openings", ())}
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
