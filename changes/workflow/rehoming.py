"""What else is open when copies become another mark's: other requests' asks and holds go with them, and all that was
told of them as damage, until it is declined: also what was decided, whose repair may have to be carried out yet. And
what is open on copies that were turned end for end, whichever mark these are of by now.

An ask that went keeps the revision that its answer was computed from, so that its request counts as overtaken and is
computed again before it is decided.
"""

from __future__ import annotations

from typing import Any

from django.db.models import Q

from changes.models import OPEN_STATES, Ask, Hold, Kind, Option, Request, State
from changes.workflow.filing import drop_computations, start_over
from changes.workflow.table import note
from trusses.models import Copy, Truss
from trusses.variants.homes import Home

Standing = Hold.Standing
_WITH_IT = ("kind", "opening", "wish", "run", "revision", "verdict", "told", "nearest", "figures", "replaced", "walls")


def rehome(change: Request, home: Home, to: Truss, by: object) -> None:
    """Called once the copies of a home are those of `to`, by the decision on `change`."""
    _asks(change, home, to, by)
    _holds(change, home, to)
    turned_over(change, home, to, by)


def _asks(change: Request, home: Home, to: Truss, by: object) -> None:
    moved = set(home.copies)
    waits = Q(replaced=False, request__state__in=OPEN_STATES) & ~Q(request=change)
    damage = Q(kind=Kind.DAMAGE) & ~Q(request__state__in=(State.WITHDRAWN, State.DECLINED))
    asks = Ask.objects.filter(waits | damage, truss=home.truss)
    told: dict[int, Request] = {}
    for ask in asks.select_related("request").order_by("id"):
        went = sorted(moved & set(ask.copies))
        if not went:
            continue
        told[ask.request_id] = ask.request
        # what was worked out for these copies together isn't for some of them
        Option.objects.filter(Q(asks=ask), stale=False).update(stale=True)
        stayed = sorted(set(ask.copies) - moved)
        if not stayed:
            Ask.objects.filter(pk=ask.pk).update(truss=to)
            continue
        Ask.objects.filter(pk=ask.pk).update(copies=stayed)
        Ask.objects.create(
            request=ask.request, truss=to, copies=went, **{name: getattr(ask, name) for name in _WITH_IT}
        )
    for other in told.values():
        values: dict[str, Any] = {"mark": home.truss.mark, "to": to.mark, "copies": list(home.copies)}
        note(other, "copies moved", by=by, **values, request=change.pk)


def _holds(change: Request, home: Home, to: Truss) -> None:
    rows = Copy.objects.filter(truss=to, number__in=home.copies)
    holds = Hold.objects.filter(truss=home.truss, copies__in=rows).exclude(request=change).distinct()
    for hold in holds.exclude(standing=Standing.RELEASED):
        went = list(hold.copies.filter(pk__in=rows))
        same = {
            name: getattr(hold, name) for name in ("standing", "asked_by", "asked_at", "answered_by", "answered_at")
        }
        new, made = Hold.objects.get_or_create(request=hold.request, truss=to, defaults=same)
        if not made and new.standing == Standing.RELEASED:
            Hold.objects.filter(pk=new.pk).update(**same, released_at=None)
        new.copies.add(*went)
        hold.copies.remove(*went)
        if not hold.copies.exists():
            Hold.objects.filter(pk=hold.pk).delete()


def turned_over(change: Request, home: Home, to: Truss, by: Any) -> None:
    """Called once the copies of a home that are turned stand so as those of `to`, by the decision on `change`. What is
    being computed of them begins anew; what waits for somebody is read so when it is computed again."""
    if not home.turned:
        return
    open_asks = Ask.objects.filter(truss=to, replaced=False, request__state__in=OPEN_STATES)
    open_asks = open_asks.exclude(request=change).exclude(kind__in=Kind.as_built())
    here = [ask for ask in open_asks if home.turned.intersection(ask.copies)]
    Option.objects.filter(asks__in=here, stale=False).update(stale=True)
    for pk in sorted({ask.request_id for ask in here}):
        # whoever is just writing an answer comes first, or writes none
        drop_computations(Request(pk=pk), but_drawn=True)
        other = Request.objects.select_related("job").get(pk=pk)
        if other.state in (State.FILED, State.COMPUTING):
            start_over(other, by=by)
