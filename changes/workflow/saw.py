"""What keeps the saw waiting: the holds on the copies that a designer is about to say are cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from changes.models import Hold
from changes.refusals import Refused
from trusses.models import Copy
from trusses.production import KeptOff

_KEEPS = (Hold.Standing.ASKED, Hold.Standing.ACKNOWLEDGED)


def keeps_waiting(copies: Sequence[Copy]) -> Iterator[KeptOff]:
    """Which of these copies may not be cut yet, for all holds at once: nobody has to find them one after the other."""
    by = {copy.pk: copy for copy in copies}
    held = Hold.objects.filter(copies__in=by, standing__in=_KEEPS)
    rows = held.order_by("pk", "copies__number").values_list("request", "standing", "copies")
    found: dict[int, dict[str, Any]] = {}
    kept = set()
    for request, standing, pk in rows:
        one = found.setdefault(request, {"request": request, "asked": standing == Hold.Standing.ASKED, "copies": []})
        one["copies"].append(by[pk].number)
        kept.add(pk)
    if found:
        those = [copy for copy in copies if copy.pk in kept]
        yield KeptOff(those, Refused("held", "copies", holds=list(found.values())))
