"""What keeps the saw waiting: the holds on the copies that a designer is about to say are cut."""

from __future__ import annotations

from collections.abc import Sequence

from changes.models import Hold
from changes.refusals import Refused
from trusses.models import Copy

_KEEPS = {
    Hold.Standing.ASKED: "hold-asked",
    Hold.Standing.ACKNOWLEDGED: "held",
}


def keeps_waiting(copies: Sequence[Copy]) -> Refused | None:
    """Why these copies may not be cut yet; None where nothing stands in the way."""
    held = Hold.objects.filter(copies__in=[copy.pk for copy in copies], standing__in=_KEEPS)
    row = held.order_by("pk").values_list("standing", "request", "copies__number").first()
    if row is None:
        return None
    standing, request, number = row
    return Refused(_KEEPS[Hold.Standing(standing)], "copies", request=request, copy=number)
