"""What keeps a copy from being set: damage that was told of, until a designer says which sealed repair or new truss
ends it, or whoever told of it withdraws."""

from __future__ import annotations

from collections.abc import Sequence

from changes.models import Ask, Kind, State
from changes.refusals import Refused
from trusses.models import Copy

_ENDED = (State.APPROVED, State.WITHDRAWN)


def damaged(copies: Sequence[Copy]) -> Refused | None:
    """Why these copies of one mark may not be set; None where nothing was told of them."""
    numbers = {copy.number for copy in copies}
    told = Ask.objects.filter(kind=Kind.DAMAGE, replaced=False, truss__in={copy.truss_id for copy in copies})
    for request, mark, those in told.exclude(request__state__in=_ENDED).values_list("request", "truss__mark", "copies"):
        if met := sorted(numbers & set(those)):
            return Refused("copy-damaged", "copies", mark=mark, copies=met, request=request)
    return None
