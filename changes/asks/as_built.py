"""Copies as they stand, whatever their mark's drawing says by now: the revision that each was built to."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from changes.models import Ask, Kind, Request
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


def one_revision(ask: Ask) -> Revision | None:
    """The one that all copies of an ask were built to; None where they are of several, or another mark's by now."""
    found = revisions(ask.on_truss, ask.copies)
    return found[0][0] if len(found) == 1 else None


def moved(change: Request) -> list[Ask]:
    """The asks about copies as they were built that were answered from another revision than these are recorded to be
    built to by now."""
    rows = change.asks.filter(replaced=False, kind__in=Kind.as_built()).select_related("truss")
    return [ask for ask in rows if not _same(ask)]


def _same(ask: Ask) -> bool:
    found = one_revision(ask)
    return found is not None and found.pk == ask.revision_id


def regroup(asks: Iterable[Ask]) -> None:
    """Parts asks about copies as they were built so that each is about copies of one revision, and names it."""
    for ask in asks:
        found = revisions(ask.on_truss, ask.copies)
        if not found:
            continue
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
