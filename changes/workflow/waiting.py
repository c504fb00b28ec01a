"""What is open on a mark: the requests that ask for it or touch it, and the holds on its copies, over all requests."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from django.db.models import Prefetch, Q

from changes.models import OPEN_STATES, Consequence, Hold, Option, Request
from trusses.models import Copy, Truss


@dataclass
class Waiting:
    """Open requests, the first filed first, and the holds that are asked for or acknowledged."""

    requests: list[Request] = field(default_factory=list)
    holds: list[Hold] = field(default_factory=list)

    def __bool__(self) -> bool:
        return bool(self.requests or self.holds)


def waiting(trusses: Iterable[Truss]) -> dict[int, Waiting]:
    """{truss: what is open on it}, for those on which anything is; three queries for however many."""
    pks = {truss.pk for truss in trusses}
    found: dict[int, Waiting] = {}
    touches = Request.objects.filter(
        Q(asks__truss__in=pks, asks__replaced=False) | Q(options__stale=False, options__consequences__carrier__in=pks),
        state__in=OPEN_STATES,
    )
    # without the documents, which are nothing of what is told here and most of what would be read
    on_carriers = Prefetch("consequences", Consequence.objects.only("option", "carrier"))
    options = Option.objects.only("request", "stale").prefetch_related(on_carriers)
    rows = touches.distinct().order_by("id").prefetch_related("asks", Prefetch("options", options))
    for change in rows.select_related("job", "filed_by"):
        marks = {ask.truss_id for ask in change.asks.all() if ask.truss_id and not ask.replaced}
        live = (option for option in change.options.all() if not option.stale)
        marks |= {one.carrier_id for option in live for one in option.consequences.all()}
        for pk in marks & pks:
            found.setdefault(pk, Waiting()).requests.append(change)
    held = Hold.objects.filter(truss__in=pks, standing__in=(Hold.Standing.ASKED, Hold.Standing.ACKNOWLEDGED))
    for hold in held.select_related("answered_by", "asked_by", "request").prefetch_related("copies").order_by("id"):
        found.setdefault(hold.truss_id, Waiting()).holds.append(hold)
    return found


def open_on(copies: Sequence[Copy]) -> bool:
    """Whether a request or a hold is open on some of these copies of one mark; one that names none is on each, and so
    is one that loads the mark."""
    if not copies:
        return False
    truss, numbers = copies[0].truss_id, {copy.number for copy in copies}
    found = waiting([copies[0].truss]).get(truss, Waiting())
    for change in found.requests:
        here = [ask.copies for ask in change.asks.all() if ask.truss_id == truss and not ask.replaced]
        if not here or any(not those or numbers.intersection(those) for those in here):
            return True
    return any(numbers.intersection(copy.number for copy in hold.copies.all()) for hold in found.holds)
