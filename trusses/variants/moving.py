"""Copies written down as those of another mark: the variant that they become, or the one that they join.

Called inside the transaction of the decision, whose locks it shares. Copies keep their number, their place in plan,
their stage and what was found of them; the mark without copies ends, and its record stays.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any, NamedTuple, TypeVar

from django.db import IntegrityError, transaction
from django.db.models import F, Q
from django.utils import timezone

from trusses.analysis.alike import begins_off, outer_bearings
from trusses.analysis.load_path.chain import Step
from trusses.analysis.load_path.landing import CarryingError
from trusses.models import BearingLink, Copy, MarkEvent, Placement, Revision, Truss
from trusses.once import once
from trusses.refusals import Refused
from trusses.revisions import write_variant
from trusses.variants.homes import Home, root
from trusses.variants.rows import Row, joined, parted, stood_anew, turned_over

Code = MarkEvent.Code
T = TypeVar("T")
_SAME_IN = 1e-6


def lock(trusses: Iterable[Truss], beside: Iterable[int] = ()) -> None:
    """From here on no other decision comes between on these marks or their variants, nor on those `beside` them. All
    in one order, so that two who decide at once never wait for each other."""
    roots = {root(truss) for truss in trusses}
    rows = Truss.objects.select_for_update().filter(Q(pk__in=roots) | Q(variant_of__in=roots) | Q(pk__in=list(beside)))
    list(rows.order_by("pk").values_list("pk", flat=True))


def settle(home: Home, by: Any, accepts: Sequence[dict[str, Any]] = (), step: Step | None = None) -> Revision | None:
    """Moves the copies of a home that isn't their own mark's; the new variant's revision, None where they joined a mark
    that was there. `step` is what others make of a new variant that carries them. Raises Refused, also where somebody
    took the variant's name just now."""
    came_from = home.truss.current
    if home.to is None:
        to = _split(home, by, accepts, step)
    else:
        to = home.to
        _take_places(home, to)
        if to.withdrawn_at is not None:
            Truss.objects.filter(pk=to.pk).update(withdrawn_at=None)
            to.withdrawn_at = None
    move(home, to)
    told = {"copies": list(home.copies), "turned": sorted(home.turned)}
    about = {"about_in": home.about_in} if home.turned else {}
    MarkEvent.objects.create(truss=home.truss, by=by, code=Code.LEFT, values={**told, **about, "to": to.mark})
    came = {**told, "from": home.truss.mark, "revision": came_from.number}
    MarkEvent.objects.create(truss=to, by=by, code=Code.CAME, values=came)
    end_when_empty(home.truss, by)
    return to.current if home.to is None else None


def _split(home: Home, by: Any, accepts: Sequence[dict[str, Any]], step: Step | None) -> Truss:
    document, analysis = (step.document, step.analysis) if step else (home.document, home.analysis)
    if document is None or analysis is None:
        raise Refused("of-another-document", "document")
    try:
        with transaction.atomic():
            to = write_variant(home.truss, document, analysis, by, accepts, step.taken if step else None)
    except IntegrityError as trouble:
        raise Refused("mark-taken", "document", mark=home.mark) from trouble
    bearings = {bearing["joint"] for bearing in home.document["bearings"]}
    numbers = _numbers(home.truss)
    for link in home.truss.stands_on.select_related("carrier"):
        stay, go = shared_out(link.hung, home, numbers, link.carrier.mark if link.carrier else "")
        if link.joint in bearings:
            on = {"joint": link.joint, "wall": link.wall, "carrier": link.carrier, "hung": list(go)}
            BearingLink.objects.create(truss=to, said_by=link.said_by, said_at=link.said_at, **on)
        if link.hung:
            BearingLink.objects.filter(pk=link.pk).update(hung=list(stay))
    return to


def _take_places(home: Home, to: Truss) -> None:
    """The places that somebody named of the copies that join a mark, in its links."""
    theirs = {link.joint: link for link in to.stands_on.all()}
    for link in home.truss.stands_on.select_related("carrier"):
        if link.carrier is None or link.joint not in theirs:
            continue
        stay, go = shared_out(link.hung, home, _numbers(home.truss), link.carrier.mark)
        there = theirs[link.joint]
        every = put_together(there.hung, _numbers(to), go, home, link.carrier.mark)
        BearingLink.objects.filter(pk=link.pk).update(hung=list(stay))
        BearingLink.objects.filter(pk=there.pk).update(hung=list(every))


def _numbers(truss: Truss) -> list[int]:
    return sorted(truss.copies.values_list("number", flat=True))


def put_together(hung: Sequence[T], numbers: Sequence[int], come: Sequence[T], home: Home, carrier: str) -> list[T]:
    """Places that somebody named of the copies `numbers`, and those of the copies that come, in the order of all.
    Raises CarryingError where they were named of some alone."""
    if len(hung) != len(numbers) or len(come) != len(home.copies):
        if hung or come:
            raise CarryingError("places-of-which-copy", mark=home.truss.mark, carrier=carrier)
        return []
    pairs = [*zip(numbers, hung, strict=True), *zip(sorted(home.copies), come, strict=True)]
    return [place for _, place in sorted(pairs, key=lambda pair: pair[0])]


def shared_out(
    hung: Sequence[T], home: Home, numbers: Sequence[int], carrier: str
) -> tuple[tuple[T, ...], tuple[T, ...]]:
    """Of places that somebody named, one for each of the copies `numbers` in their order, those of the copies that stay
    and that go. Raises CarryingError where nobody said which is whose."""
    if not hung:
        return (), ()
    if len(hung) != len(numbers):
        raise CarryingError("places-of-which-copy", mark=home.truss.mark, carrier=carrier)
    goes = set(home.copies)
    pairs = list(zip(numbers, hung, strict=True))
    return tuple(p for n, p in pairs if n not in goes), tuple(p for n, p in pairs if n in goes)


def move(home: Home, to: Truss) -> None:
    """The rows of its copies, and the rows in plan of both marks. Copies that stand nowhere go without."""
    drawn = _drawn(home.truss)
    stay, go = leaving(rows_of(home.truss), home, drawn)
    there = joined([*rows_of(to), *stood_anew(go, drawn, _drawn(to))])
    Copy.objects.filter(truss=home.truss, number__in=home.copies).update(truss=to)
    write_rows(home.truss, stay)
    write_rows(to, there)


def turn(home: Home, by: Any) -> None:
    """The same for copies that stay with their mark and are turned for its new design."""
    if home.turned:
        write_rows(home.truss, turned_for(rows_of(home.truss), home, _drawn(home.truss)))
        numbers = sorted(home.turned)
        told = {"copies": numbers, "turned": numbers, "about_in": home.about_in}
        MarkEvent.objects.create(truss=home.truss, by=by, code=Code.TURNED, values=told)


class Turn(NamedTuple):
    """That a copy was turned end for end for another design: when, and about which x of its drawing; None where the
    record is from before that was kept. What a designer corrects on the plan is none: its drawing stays."""

    at: datetime
    root: int
    number: int
    about_in: float | None


def turns_of(roots: Collection[int]) -> list[Turn]:
    """The turns of the copies of some families, the first first."""
    return once(("turns", frozenset(roots)), lambda: _turns_of(roots))


def _turns_of(roots: Collection[int]) -> list[Turn]:
    rows = MarkEvent.objects.filter(Q(truss__in=roots) | Q(truss__variant_of__in=roots))
    rows = rows.filter(code__in=(Code.LEFT, Code.TURNED)).order_by("pk")
    told = rows.values_list("at", "truss", "truss__variant_of", "values")
    return [
        Turn(at, of or pk, number, values.get("about_in", {}).get(str(number)))
        for at, pk, of, values in told
        for number in values.get("turned", ())
    ]


def leaving(rows: Sequence[Row], home: Home, drawn: Mapping[str, Any]) -> tuple[list[Row], list[Row]]:
    """The rows that are left of a mark's, and those of the copies that go, turned as they will stand; `drawn` is the
    document at whose bearings they all begin."""
    stay, go = parted(rows, set(home.copies))
    return joined(stay), turned_for(go, home, drawn)


def turned_for(rows: Sequence[Row], home: Home, drawn: Mapping[str, Any]) -> list[Row]:
    """Rows with those copies turned that a home turns, each about the middle of what was wanted for it."""
    by: dict[float, set[int]] = {}
    for number, about in home.about_in.items():
        by.setdefault(2 * about - sum(outer_bearings(drawn)), set()).add(int(number))
    left = list(rows)
    for by_in, numbers in by.items():
        left, over = parted(left, numbers)
        left += turned_over(over, by_in)
    return joined(left)


def keep_wood(truss: Truss, before: Mapping[str, Any]) -> None:
    """Called once a mark has another document: its rows begin at the outer bearings of that one, where the plan has
    them by the wood that was there before."""
    for row in truss.placements.all():
        if abs(by := begins_off(before, truss.current.document, turned=row.turned)) > _SAME_IN:
            at = "origin_x_in" if row.direction == "x" else "origin_y_in"
            Placement.objects.filter(pk=row.pk).update(**{at: F(at) + by})


def _drawn(truss: Truss) -> dict[str, Any]:
    """Its document of now, whatever was issued since it was read."""
    return Revision.objects.get(pk=Truss.objects.values_list("current", flat=True).get(pk=truss.pk)).document


def rows_of(truss: Truss) -> list[Row]:
    """Where its copies stand, each row with their numbers. Copies that nobody gave a place take what is free, in the
    order of their numbers."""
    standing: dict[int | None, list[int]] = {}
    for number, held in truss.copies.order_by("number").values_list("number", "placement"):
        standing.setdefault(held, []).append(number)
    free, rows = standing.get(None, []), list[Row]()
    for place in truss.placements.all():
        numbers = standing.get(place.pk, [])
        room = max(place.count - len(numbers), 0)
        numbers, free = sorted([*numbers, *free[:room]]), free[room:]
        rows.append(_row(place, numbers))
    return rows


def _row(place: Placement, numbers: Sequence[int]) -> Row:
    there = tuple(numbers[i] if i < len(numbers) else None for i in range(max(place.count, len(numbers))))
    first = place.origin_x_in, place.origin_y_in
    return Row(place.level, *first, place.direction, place.spacing_in, place.turned, place.note, there)


def write_rows(truss: Truss, rows: Sequence[Row]) -> None:
    """A mark's places in plan, and its copies at them."""
    truss.placements.all().delete()
    for row in rows:
        place = Placement.objects.create(
            truss=truss,
            level=row.level,
            origin_x_in=row.x,
            origin_y_in=row.y,
            direction=row.direction,
            spacing_in=row.spacing,
            count=len(row.numbers),
            turned=row.turned,
            note=row.note,
        )
        Copy.objects.filter(truss=truss, number__in=[n for n in row.numbers if n is not None]).update(placement=place)


def end_when_empty(truss: Truss, by: Any) -> None:
    """A mark that its last copy left ends: nothing of it is released any more, it stands on nothing, its record
    stays."""
    if truss.copies.exists():
        return
    if Truss.objects.filter(pk=truss.pk, withdrawn_at=None).update(withdrawn_at=timezone.now()):
        MarkEvent.objects.create(truss=truss, by=by, code=Code.ENDED)
