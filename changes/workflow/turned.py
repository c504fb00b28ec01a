"""What was asked of copies that a decision turned end for end for another design since, written anew by their drawing
as it is now: the same places on their wood."""

from __future__ import annotations

from typing import Any

from changes.asks.standing_asks import issued
from changes.asks.turned import DRAWN, READ_SO, as_drawn_now
from changes.models import Ask, Event, Request
from changes.workflow.table import note


def read_by_todays_drawing(change: Request, *, by: Any, begun: Event | None = None) -> None:
    """Writes what a request asks of copies that were turned since it was asked by the drawings of today, in asks of
    their own where others of the same ask weren't. `begun`: the event of what is being done just now, which
    reads none of them anew."""
    rows = change.asks.filter(replaced=False, truss__isnull=False).exclude(pk__in=set(issued(change.job)))
    rows = rows.select_related(*DRAWN, "truss__job", "run").defer("revision__analysis", "truss__current__analysis")
    told: dict[str, set[int]] = {}
    for ask, wishes in as_drawn_now(list(rows), before=begun.pk if begun else None):
        as_it_was = (ask.opening, ask.wish)
        moved = [one for one in wishes if (one.opening, one.wish) != as_it_was]
        if not moved:
            continue
        told.setdefault(ask.on_truss.mark, set()).update(number for one in moved for number in one.copies)
        first, *others = [{"copies": list(w.copies), "opening": w.opening, "wish": w.wish} for w in wishes]
        Ask.objects.filter(pk=ask.pk).update(**first)
        for one in others:
            names = ("truss", "kind", "run", "revision", "walls")
            same = {"request": change, **{name: getattr(ask, name) for name in names}}
            Ask.objects.create(**same, **one)
    for mark, copies in told.items():
        note(change, READ_SO, by=by, mark=mark, copies=sorted(copies))
