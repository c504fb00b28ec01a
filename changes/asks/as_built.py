"""Copies as they stand, whatever their mark's drawing says by now: the revision that each was built to."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import datetime

from changes.models import Ask, Decision, Event, Kind, Request, State
from trusses.models import Copy, Revision, Truss


def built(copy: Copy) -> int | None:
    """The revision that a copy was built to; of one that isn't cut, what it is released to, else the current one."""
    return copy.built_to_id or copy.released_to_id or copy.truss.current_id


def revisions(truss: Truss, numbers: Collection[int]) -> list[tuple[Revision, tuple[int, ...]]]:
    """Each revision that some of these copies of a mark were built to, with their numbers; that of the most first."""
    groups: dict[int, list[int]] = {}
    for copy in Copy.objects.filter(truss=truss, number__in=numbers).select_related("truss").order_by("number"):
        groups.setdefault(built(copy) or 0, []).append(copy.number)
    found = Revision.objects.select_related("truss").in_bulk(groups)
    return sorted(((found[pk], tuple(those)) for pk, those in groups.items()), key=lambda one: -len(one[1]))


def built_of(asks: Iterable[Ask]) -> dict[int, int | None]:
    """{ask: the id of the one revision that all of its copies were built to}; None where they are of several. An ask
    whose copies its mark doesn't have any more isn't among them. One query, and no documents."""
    those = list(asks)
    numbers = {number for ask in those for number in ask.copies}
    rows = Copy.objects.filter(truss__in={ask.truss_id for ask in those}, number__in=numbers).select_related("truss")
    found: dict[tuple[int | None, int], int | None] = {
        (copy.truss_id, copy.number): built(copy)
        for copy in rows.only("truss", "number", "built_to", "released_to", "truss__current")
    }
    of: dict[int, int | None] = {}
    for ask in those:
        if mine := {found[ask.truss_id, number] for number in ask.copies if (ask.truss_id, number) in found}:
            of[ask.pk] = mine.pop() if len(mine) == 1 else None
    return of


def one_revision(ask: Ask) -> Revision | None:
    """The one that all copies of an ask were built to; None where they are of several, or another mark's by now."""
    pk = built_of([ask]).get(ask.pk)
    return Revision.objects.select_related("truss").get(pk=pk) if pk else None


def moved(change: Request) -> list[Ask]:
    """The asks about copies as they were built that were answered from another revision than these are recorded to be
    built to by now. Of copies that went from the set nothing else is recorded."""
    rows = list(change.asks.filter(replaced=False, kind__in=Kind.as_built()).select_related("truss"))
    now = built_of(rows)
    return [ask for ask in rows if ask.pk in now and now[ask.pk] != ask.revision_id]


def last_told(asks: Iterable[Ask]) -> dict[int, datetime]:
    """{ask: when it was told at the latest}: with its request, or with an answer to a sending back; what an answer
    replaced was told before that. The asks come with their requests."""
    those = list(asks)
    said: dict[int, list[datetime]] = {}
    events = Event.objects.filter(request__in={ask.request_id for ask in those}, verb__in=("file", "answer"))
    for request, at in events.order_by("pk").values_list("request", "at"):
        said.setdefault(request, []).append(at)
    found = {}
    for ask in those:
        times = said.get(ask.request_id, [])
        found[ask.pk] = (times[:-1] if ask.replaced else times)[-1:] or [ask.request.filed_at]
    return {pk: at for pk, (at,) in found.items()}


def decided_of(told: Iterable[Ask]) -> list[Decision]:
    """The decisions of the approved requests among those that told of damage, in their order."""
    approved = {ask.request_id for ask in told if ask.request.state == State.APPROVED}
    return list(Decision.objects.filter(request__in=approved).order_by("pk")) if approved else []


def said_none(told: Iterable[Ask], decided: Iterable[Decision]) -> set[int]:
    """The ids of damage that an answer left out and of which a decision then says that it is none."""
    ends = {one.request_id: one.ends_by for one in decided}
    named = {pk for one in decided for pk in one.leaves}
    return {ask.pk for ask in told if ask.replaced and ends.get(ask.request_id) and ask.pk in named}


def regroup(asks: Iterable[Ask]) -> None:
    """Parts asks about copies as they were built so that each is about copies of one revision, and names it."""
    for ask in asks:
        found = revisions(ask.on_truss, ask.copies)
        if not found:
            continue
        # the repair that is attached to it is of that revision
        found.sort(key=lambda one: one[0].pk != ask.revision_id)
        first, *others = found
        Ask.objects.filter(pk=ask.pk).update(revision=first[0], copies=list(first[1]))
        for revision, numbers in others:
            Ask.objects.create(
                request_id=ask.request_id,
                truss=ask.truss,
                kind=ask.kind,
                wish=ask.wish,
                revision=revision,
                copies=list(numbers),
            )
