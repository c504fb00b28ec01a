"""What keeps the saw waiting: the holds on the copies that a designer is about to say are cut."""

from __future__ import annotations

from collections.abc import Sequence

from changes.models import Hold
from trusses.models import Copy

_KEEPS = {
    Hold.Standing.ASKED: "Request {request} asks for a hold on copy {number}: acknowledge or refuse it first.",
    Hold.Standing.ACKNOWLEDGED: "Copy {number} is held for request {request}: the saw waits for its decision.",
}


def keeps_waiting(copies: Sequence[Copy]) -> str | None:
    """Why these copies may not be cut yet, in one sentence; None where nothing stands in the way."""
    held = Hold.objects.filter(copies__in=[copy.pk for copy in copies], standing__in=_KEEPS)
    row = held.order_by("pk").values_list("standing", "request", "copies__number").first()
    if row is None:
        return None
    standing, request, number = row
    return _KEEPS[Hold.Standing(standing)].format(request=request, number=number)
