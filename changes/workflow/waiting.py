"""What is open on a mark: the requests that ask for it or touch it, and what they keep from the saw and from being set,
over all requests."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Prefetch, Q
from django.urls import reverse

from changes.models import OPEN_STATES, Consequence, Hold, Option, Request, State
from changes.words import open_says, saw_waits
from changes.workflow.ending import damage_of
from changes.workflow.setting import keeps_off
from trusses.models import CHANGEABLE_STAGES, Copy, Stage, Truss
from trusses.production import Open


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


def open_on(copies: Sequence[Copy]) -> dict[int, list[Open]]:
    """What requests and holds are open on some copies, by their ids; one that names none is on each of its mark, and so
    is one that loads the mark."""
    on, found = waiting({copy.truss for copy in copies}), {}
    for copy in copies:
        here = on.get(copy.truss_id, Waiting())
        asked = {change.pk for change in here.requests if _is_on(change, copy)}
        asked |= {hold.request_id for hold in here.holds if copy.number in {one.number for one in hold.copies.all()}}
        if asked:
            at = {request: reverse("changes:request", args=(request,)) for request in sorted(asked)}
            found[copy.pk] = [Open(open_says(request), where) for request, where in at.items()]
    return found


def _is_on(change: Request, copy: Copy) -> bool:
    here = [ask.copies for ask in change.asks.all() if ask.truss_id == copy.truss_id and not ask.replaced]
    return not here or any(not those or copy.number in those for those in here)


@dataclass(frozen=True)
class Kept:
    """Copies of a mark that a request keeps from the saw or from being set, in words; its state, where it is open."""

    request: int
    says: str
    state: str = ""


def kept_by_others(trusses: Iterable[Truss], but: Request | None = None) -> list[Kept]:
    """What requests other than `but` keep from the saw, then from being set, of all copies of some marks: another's
    decision, or a seal, lifts none of it."""
    every = list(trusses)
    marks = {truss.pk: truss.mark for truss in every}
    held = Hold.objects.filter(
        truss__in=marks,
        standing__in=(Hold.Standing.ASKED, Hold.Standing.ACKNOWLEDGED),
        copies__stage__in=CHANGEABLE_STAGES,
    )
    rows = held.exclude(request=but).order_by("truss__mark", "request", "copies__number")
    those: dict[tuple[Any, ...], list[int]] = {}
    for *of, number in rows.values_list("truss", "request", "request__state", "standing", "copies__number"):
        those.setdefault(tuple(of), []).append(number)
    found = [
        Kept(request, saw_waits(marks[truss], request, standing == Hold.Standing.ASKED, copies), State(state).label)
        for (truss, request, state, standing), copies in those.items()
    ]
    return found + _kept_from_being_set(every, but)


def _kept_from_being_set(trusses: Sequence[Truss], but: Request | None) -> list[Kept]:
    if not trusses or not damage_of(trusses).exists():
        return []
    copies = Copy.objects.filter(truss__in=trusses).exclude(stage=Stage.SET).select_related("truss", "built_to")
    heavy = [f"{of}__{what}" for of in ("truss__current", "built_to") for what in ("document", "analysis")]
    found = []
    for one in keeps_off(list(copies.defer(*heavy).order_by("truss__mark", "number"))):
        request = one.why.values["request"]
        if but is None or request != but.pk:
            found.append(Kept(request, one.why.says))
    return list(dict.fromkeys(found))
