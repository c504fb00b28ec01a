"""What an approved passage asks of the plan: copies shifted or left out, offered to a designer as one act."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Q

from changes.models import Ask, Issue, Kind, Option, Request, State
from changes.refusals import Conflict
from changes.workflow.table import note
from trusses.models import Truss
from trusses.plan.shifting import shift
from trusses.variants.homes import root

DONE = "move on the plan"
_MOVES = ("shifted", "left-out", "headers")


@dataclass(frozen=True)
class Shift:
    """Of one passage: which copies move how far along their row, which go, and where all stood when it was asked."""

    ask: Ask
    moved: Mapping[int, float]
    out: Sequence[int]
    stood: Mapping[int, float]

    @property
    def family(self) -> list[Truss]:
        """The marks that its copies may be of today."""
        first = root(self.ask.on_truss)
        rows = Truss.objects.filter(Q(pk=first) | Q(variant_of=first), current__isnull=False)
        return list(rows.select_related("job").order_by("pk"))


def shifts_of(change: Request) -> list[Shift]:
    """What an approved request asks of the plan that nobody has done yet."""
    if change.state != State.APPROVED or change.events.filter(verb=DONE).exists():
        return []
    asks = change.asks.filter(kind=Kind.PASSAGE, replaced=False).select_related("truss__job")
    steps = {
        ask: step
        for option in _approved(change)
        for ask in option.asks.values_list("pk", flat=True)
        if (step := _step(option.titled))
    }
    found = []
    for ask in asks:
        asked = steps.get(ask.pk)
        if asked and ask.wish:
            row = ask.wish["row"]
            stood = dict(zip(row["numbers"], row["places_in"], strict=True))
            found.append(Shift(ask, dict(asked.get("moved", ())), asked.get("out", ()), stood))
    return found


def _approved(change: Request) -> list[Option]:
    """The options that were approved: by what the decision says, also where its copies joined a mark and no revision
    was issued; of older ones by what it issued."""
    decision = change.decisions.last()
    chosen = set(decision.options.values()) if decision else set()
    chosen |= set(Issue.objects.filter(decision__request=change, option__isnull=False).values_list("option", flat=True))
    return list(Option.objects.filter(pk__in=chosen, request=change))


def _step(titled: Any) -> dict[str, Any]:
    """The values of the step that moves trusses, of an option that has one."""
    steps = titled if isinstance(titled, list) else []
    return next((one["values"] for one in steps if one["code"] in _MOVES), {})


def move_on_the_plan(user: Any, change: Request) -> None:
    """Moves all of it, once. Raises NotAllowed, Refused, Conflict."""
    with transaction.atomic():
        Request.objects.select_for_update().get(pk=change.pk)
        wanted = shifts_of(change)
        if not wanted:
            raise Conflict("nothing-to-move", request=change.pk)
        for one in wanted:
            shift(user, one.family, one.moved, one.out, one.stood)
            moved = [[number, by] for number, by in sorted(one.moved.items())]
            note(change, DONE, by=user, mark=one.ask.on_truss.mark, moved=moved, out=list(one.out))
