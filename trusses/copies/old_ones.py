"""What is built of copies that are made anew: nobody uses it, and until somebody says by name that it is destroyed or
set apart, the sheet, the copies' page and the label say so.

A copy keeps its number when it is made anew, so two trusses of one number can lie on the ground.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Q

from trusses.models import MarkEvent, Truss
from trusses.permissions import require
from trusses.refusals import Refused
from trusses.words import runs

VERB = "say that an old truss is destroyed or set apart"
LONGEST = 500
Code = MarkEvent.Code


@dataclass(frozen=True)
class Old:
    """The old trusses of some copies: `event` is when they were to be made anew, `copies` those of which nobody said
    yet where they are."""

    event: MarkEvent
    copies: tuple[int, ...]

    @property
    def numbers(self) -> str:
        return runs(self.copies)

    @property
    def built_to(self) -> int | None:
        return self.event.values.get("revision")

    @property
    def stage(self) -> str:
        """How far they were."""
        return str(self.event.values["from"])


def there(truss: Truss) -> list[Old]:
    """The old trusses that lie about with the numbers of a mark's copies, or were of that mark when they were built."""
    return [Old(event, tuple(left)) for event, _, left in _all(truss) if left]


def _all(truss: Truss) -> list[tuple[MarkEvent, list[int], list[int]]]:
    """Each time that copies were to be made anew, with their numbers and those of which nobody said that they are
    gone."""
    root = truss.variant_of_id or truss.pk
    rows = MarkEvent.objects.filter(Q(truss=root) | Q(truss__variant_of=root), code__in=(Code.ANEW, Code.GONE))
    events = list(rows.select_related("by").order_by("pk"))
    anew = [event for event in events if event.code == Code.ANEW]
    mine = set(truss.copies.values_list("number", flat=True)) if anew else set()
    gone: dict[int, set[int]] = {}
    for event in events:
        if event.code == Code.GONE:
            gone.setdefault(event.values["event"], set()).update(event.values["copies"])
    found: list[tuple[MarkEvent, list[int], list[int]]] = []
    for event in anew:
        those = sorted(number for number in event.values["copies"] if event.truss_id == truss.pk or number in mine)
        if those:
            found.append((event, those, [number for number in those if number not in gone.get(event.pk, ())]))
    return found


def say_gone(user: Any, truss: Truss, event: int, numbers: Iterable[int], says: str) -> list[int]:
    """Says by name of which old trusses it is done, and how; those of which it wasn't said before. Raises NotAllowed,
    Refused."""
    require(user, VERB, truss.job)
    wanted, says = set(numbers), " ".join(says.split())
    if not wanted:
        raise Refused("no-copy", "copies")
    if not says:
        raise Refused("gone-how", "says", "says")
    if len(says) > LONGEST:
        raise Refused("reason-long", "says", "says", most=LONGEST, length=len(says))
    with transaction.atomic():
        Truss.objects.select_for_update(of=("self",)).get(pk=truss.pk)
        those, left = next(((those, left) for one, those, left in _all(truss) if one.pk == event), ([], []))
        if not those:
            raise Refused("gone-of-none", "event", mark=truss.mark)
        if others := sorted(wanted.difference(those)):
            raise Refused("gone-not-anew", "copies", mark=truss.mark, copies=others)
        now = sorted(wanted.intersection(left))
        if now:
            told = {"event": event, "copies": now, "reason": says}
            MarkEvent.objects.create(truss=truss, by=user, code=Code.GONE, values=told)
    return now
