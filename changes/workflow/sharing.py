"""Weights that several copies share, whichever mark of the family these are by now: what went to a variant has its
share there."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

from django.db.models import Q

from changes.models import Ask, Request
from changes.refusals import Conflict
from trusses.models import CHANGEABLE_STAGES, Copy, Truss
from trusses.variants.homes import root


def _kin(truss: Truss) -> Q:
    """The rows of a mark's family."""
    first = root(truss)
    return Q(truss=first) | Q(truss__variant_of=first)


def shared_with(ask: Ask, left: Collection[int]) -> bool:
    """Whether a weight lies on what is left too: all that share it are drawn for their share, or none.

    Raises Conflict where a copy that it lies on was cut since: what that one was to carry lies on the others, which
    are not drawn for it yet.
    """
    if not ask.wish or "over" not in ask.wish:
        return False
    kin = Copy.objects.filter(_kin(ask.on_truss))
    cut = list(
        kin.filter(number__in=ask.wish["over"])
        .exclude(stage__in=CHANGEABLE_STAGES)
        .order_by("truss", "number")
        .values_list("truss__mark", "number")
    )
    if cut:
        mark = cut[0][0]
        raise Conflict("copies-cut-since", mark=mark, copies=[number for of, number in cut if of == mark])
    others = Ask.objects.filter(pk__in=left, kind=ask.kind)
    shared = {number for one in others if _lies_as(one.wish, ask.wish) for number in one.copies}
    return kin.filter(number__in=shared, stage__in=CHANGEABLE_STAGES).exists()


def _lies_as(one: Any, other: Any) -> bool:
    """Whether two wishes are of one weight: its place is another on drawings of copies that were turned since."""
    return bool({**one, "at_in": 0.0} == {**other, "at_in": 0.0})


def share_by_fewer(change: Request, ask: Ask, cut: Sequence[int]) -> None:
    """What lies over copies of which some are cut lies on the others: nobody looked at what the cut ones take."""
    for one in change.asks.filter(_kin(ask.on_truss), replaced=False, wish__over__isnull=False):
        wish = one.wish or {}
        if over := [number for number in wish["over"] if number not in cut]:
            change.asks.filter(pk=one.pk).update(wish={**wish, "over": over})
