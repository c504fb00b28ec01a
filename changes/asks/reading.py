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
from trusses.analysis.clearance.apart import beyond, gap
from trusses.analysis.clearance.free_space import TOUCH_IN, Space, space
from trusses.analysis.format.document import DocumentError, canonical, read_opening, read_stored
from trusses.analysis.format.model import Opening
from trusses.analysis.format.strict import plain
from trusses.analysis.words.given import told
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import stopped
from trusses.models import Job, Truss
from trusses.revisions import Refused

NOT_YET = {
    Kind.LOAD: (
        "something hung or set on a truss",
        "with the member, the place along it and the weight in pounds, and hang nothing before an answer",
    ),
    Kind.BEARING: (
        "a bearing moved, added or taken away",
        "with the wall and how far it moves, and leave the wall as it is until then",
    ),
    Kind.REPAIR: (
        "a repair",
        "with the member, the place along it and what broke; leave it as it is, and load nothing on it, until a "
        "repair is designed",
    ),
}
"""What can't be asked for yet, and what to do instead: call the truss designer, with what in hand."""


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


WHAT_REMAINS = "What remains is a repair request or a new truss; call the truss designer."

LONGEST_WAIT = timedelta(days=36_525)
"""A date further off than a hundred years is a slip of the finger."""


def read_asks(job: Job, asks: Any) -> list[Wish]:
    """The asks of one request. Raises Refused on `asks`; Http404 for a truss that isn't this job's."""
    if not isinstance(asks, Sequence) or isinstance(asks, (str, bytes)) or not asks:
        raise Refused("A request needs at least one ask: a truss and an opening in it.", "asks")
    if len(asks) > settings.ASKS_PER_REQUEST:
        most = settings.ASKS_PER_REQUEST
        raise Refused(f"{len(asks)} asks are more than the limit of {most} in one request.", "asks")
    wishes: list[Wish] = []
    for i, ask in enumerate(asks):
        wish = _read(job, ask, i, wishes)
        for j, other in enumerate(wishes):
            if wish.what == other.what:
                raise Refused(f"asks the same of {wish.truss.mark} as asks[{j}].", "asks", f"asks[{i}]")
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
        raise Refused(
            f"opening {one.id} overlaps opening {two.id} of {at_other} in {wish.truss.mark} by "
            f"{feet_inches(-free)}, with the clear space of both; move one of the two, or ask for one opening.",
            "asks",
            at,
        )


def _read(job: Job, ask: Any, i: int, before: Sequence[Wish]) -> Wish:
    at = f"asks[{i}]"
    if not isinstance(ask, Mapping):
        raise Refused(f"must be an object with a truss, a kind and an opening, not {told(ask)}.", "asks", at)
    truss = _truss(job, ask.get("truss"), at)
    kind = ask.get("kind", "")
    if kind not in KINDS:
        raise Refused(f"must be {', '.join(KINDS[:-1])} or {KINDS[-1]}.", "asks", f"{at}.kind")
    if kind != Kind.OPENING:
        what, instead = NOT_YET[Kind(kind)]
        says = f"kind {kind}, {what}, can't be asked for here yet. Call the truss designer {instead}."
        raise Refused(says, "asks", f"{at} ({truss.mark})")
    for key in ask:
        if key not in ("truss", "kind", "opening"):
            raise Refused(f"{key!s:.40} is not something that an ask has.", "asks", at)
    refuse_what_is_over(truss, f"{at} ({truss.mark})")
    taken = [opening["id"] for opening in truss.current.document.get("openings", ())]
    taken += [wish.opening["id"] for wish in before if wish.truss.pk == truss.pk]
    return Wish(truss, kind, _opening(ask.get("opening"), i, truss, taken))


def _truss(job: Job, which: Any, at: str) -> Truss:
    if isinstance(which, bool) or not isinstance(which, (int, Truss)):
        raise Refused(f"must be the number of a truss, not {told(which)}.", "asks", f"{at}.truss")
    pk = which.pk if isinstance(which, Truss) else which
    try:
        found = Truss.objects.filter(job=job, pk=pk).select_related("job", "current").defer("current__analysis").first()
    except OverflowError:
        found = None
    if found is None:
        raise Http404("Not found.")
    if found.current is None:
        raise Refused("this mark has no revision yet.", "asks", f"{at} ({found.mark})")
    return found


def refuse_what_is_over(truss: Truss, at: str) -> None:
    """Raises Refused where no copy can take an ordinary change any more."""
    if closed := truss.past_change:
        raise Refused(f"{closed} {WHAT_REMAINS}", "asks", at)


def refuse_when_all_cut(truss: Truss, at: str) -> None:
    """As above, but for the last day: what was asked in time is answered after it."""
    if Truss.objects.filter(pk=truss.pk, withdrawn_at__isnull=False).exists():
        raise Refused(f"{truss.mark} is withdrawn from the set; call the truss designer.", "asks", at)
    if closed := truss.all_cut:
        raise Refused(f"{closed} {WHAT_REMAINS}", "asks", at)


def _opening(value: Any, i: int, truss: Truss, taken: list[str]) -> dict[str, Any]:
    """The opening as the truss document would hold it. An id that is missing or taken becomes the next free one."""
    at = f"asks[{i}].opening"
    try:
        held = plain(value, ("asks", i, "opening"))
        if isinstance(held, dict) and ("id" not in held or held["id"] in taken):
            held["id"] = next(name for n in range(1, 10_000) if (name := f"O{n}") not in taken)
        opening = read_opening(held, at)
    except DocumentError as refused:
        raise Refused(stopped(refused.says), "asks", refused.place) from refused
    _refuse_beyond(truss, opening, f"{at} ({opening.id})")
    _refuse_outside(truss, opening, f"{at} ({opening.id})")
    return held


def _refuse_outside(truss: Truss, opening: Opening, at: str) -> None:
    """What lies wholly beside the truss asks nothing of it, and the saw must not wait for it."""
    away = beyond(_room(truss), opening)
    if away is None:
        return
    where = f"lies {feet_inches(away)} outside of" if away >= 1 / 32 else "lies just outside of"
    raise Refused(
        f"{where} truss {truss.mark}, which has nothing there; move it to where it crosses the truss.", "asks", at
    )


def _room(truss: Truss) -> Space:
    return space(read_stored(truss.current.document))


def _refuse_beyond(truss: Truss, opening: Opening, at: str) -> None:
    """What is larger than the whole truss is a slip of the finger; what merely doesn't fit gets an answer."""
    xs, ys = zip(*truss.current.document["joints"].values(), strict=True)
    longest = max(max(xs) - min(xs), max(ys) - min(ys))
    for name, size in zip(("across", "") if opening.shape == "circle" else ("wide", "high"), opening.size, strict=True):
        if size + 2 * opening.clearance_in > longest:
            clear = f" with {feet_inches(opening.clearance_in)} of clearance" if opening.clearance_in else ""
            raise Refused(
                f"{feet_inches(size)} {name}{clear} is more than the whole truss {truss.mark}, "
                f"which is {feet_inches(longest)} long.",
                "asks",
                at,
            )


def read_needed_by(job: Job, value: Any) -> date:
    """The day by which it is needed, today at the building at the earliest. Raises Refused on `needed_by`."""
    if isinstance(value, str):
        try:
            value = date.fromisoformat(value)
        except ValueError:
            raise Refused(f"{value[:40]!r} is not a date such as 2026-11-30.", "needed_by", "needed_by") from None
    if not isinstance(value, date):
        raise Refused("the request needs a date.", "needed_by", "needed_by")
    today = job.today()
    if value < today:
        raise Refused(
            f"{value:%b} {value.day}, {value.year} is past; today is {today:%b} {today.day}, {today.year} "
            "at the building.",
            "needed_by",
            "needed_by",
        )
    if value > today + LONGEST_WAIT:
        raise Refused(
            f"{value:%b} {value.day}, {value.year} is more than a hundred years away.", "needed_by", "needed_by"
        )
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
