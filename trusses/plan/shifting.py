"""Copies shifted along their row, or taken out of it, as an approved design asks: one act of a designer, all of it or
nothing, with an event on each mark."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from django.db import transaction
from django.db.models import QuerySet

from trusses.bearings.links import carriers_above
from trusses.models import Copy, MarkEvent, Stage, Truss
from trusses.permissions import require
from trusses.plan.placing import VERB
from trusses.refusals import Refused
from trusses.revisions import kept_for_good
from trusses.variants.homes import family as families
from trusses.variants.moving import lock, rows_of, write_rows
from trusses.variants.rows import Row, joined, parted

_SAME_IN = 1 / 64


def shift(
    user: Any, family: Sequence[Truss], moved: Mapping[int, float], out: Collection[int], stood: Mapping[int, float]
) -> None:
    """Moves copies of some marks that share their numbers: {number: inches along the row, toward higher numbers}, and
    takes those of `out` away. `stood` is where each copy of their row stood along it when that was worked out; where
    they stand otherwise now, nothing moves; nor what stands on a mark that is released or further with what it carries
    today. Raises NotAllowed, Refused."""
    require(user, VERB, family[0].job)
    with transaction.atomic():
        # all that may carry them before or after: what stands on one of a family may land on another of it
        carriers = [one for those in families(carriers_above(family)).values() for one in those]
        lock([*family, *carriers])
        rows = {truss.pk: rows_of(truss) for truss in family}
        refuse_when_moved([row for those in rows.values() for row in those], stood)
        _refuse_cut(family, {*moved, *out})
        _refuse_begun(family, out)
        _refuse_carriers_begun(family, carriers)
        for truss in family:
            stay, go = parted(rows[truss.pk], {*moved, *out})
            if not go:
                continue
            then = [*stay, *(shifted(one, moved[n]) for row in go for n, one in _each(row) if n in moved)]
            gone = sorted(n for row in go for n in row.numbers if n is not None and n in out)
            Copy.objects.filter(truss=truss, number__in=gone).delete()
            write_rows(truss, joined(then))
            by = {str(n): moved[n] for row in go for n in row.numbers if n is not None and n in moved}
            values = {"moved": by, "out": gone}
            MarkEvent.objects.create(truss=truss, by=user, code=MarkEvent.Code.SHIFTED, values=values)


def shifted(row: Row, by_in: float) -> Row:
    """A row stood elsewhere along the way in which its copies step."""
    return replace(row, y=row.y + by_in) if row.direction == "x" else replace(row, x=row.x + by_in)


def along_rows(rows: Iterable[Row]) -> dict[int, float]:
    """How far along the way in which they step each copy stands, in plan inches."""
    found = {}
    for row in rows:
        for number, one in _each(row):
            found[number] = one.y if row.direction == "x" else one.x
    return found


def _each(row: Row) -> Iterable[tuple[int, Row]]:
    return [(number, row.part(i, i + 1)) for i, number in enumerate(row.numbers) if number is not None]


def refuse_when_moved(rows: Iterable[Row], stood: Mapping[int, float]) -> None:
    """Raises Refused where the copies no longer stand beside each other as they did."""
    now = along_rows(rows)
    if not stood or not stood.keys() <= now.keys():
        raise Refused("row-moved-since", "copies")
    first = min(stood)
    for number, place in stood.items():
        if abs((now[number] - now[first]) - (place - stood[first])) > _SAME_IN:
            raise Refused("row-moved-since", "copies")


def _refuse_cut(family: Sequence[Truss], numbers: Collection[int]) -> None:
    if cut := sorted(copy.number for copy in _those(family, numbers) if not copy.can_change):
        raise Refused("shifted-cut", "copies", mark=family[0].mark, copies=cut)


def _refuse_begun(family: Sequence[Truss], out: Collection[int]) -> None:
    """Copies that are further than being designed, or were looked at, are never taken away."""
    begun = kept_for_good(_those(family, out)).values_list("number", flat=True)
    if begun:
        raise Refused("left-out-begun", "copies", mark=family[0].mark, copies=sorted(begun))


def _refuse_carriers_begun(family: Sequence[Truss], carriers: Sequence[Truss]) -> None:
    begun = Copy.objects.filter(truss__in=carriers).exclude(stage=Stage.DESIGNING).select_related("truss")
    if copy := begun.order_by("truss__mark", "number").first():
        raise Refused("shifted-off-carrier", "copies", mark=family[0].mark, carrier=copy.truss.mark, stage=copy.stage)


def _those(family: Sequence[Truss], numbers: Collection[int]) -> QuerySet[Copy]:
    return Copy.objects.filter(truss__in=family, number__in=numbers)
