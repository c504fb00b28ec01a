"""Copies in a run's way, cut or damaged after it was asked for: nothing goes on as if it got through them."""

from __future__ import annotations

import math
from collections.abc import Collection

from changes.asks.as_cut import as_cut, made_anew, why_not
from changes.asks.holding import not_through
from changes.asks.on_plan import crossings_of
from changes.asks.run import crossing, lettered, read_path
from changes.models import Ask, Request, Run
from changes.refusals import Conflict
from trusses.plan.copies import standing


def refuse_in_cut(change: Request, left: Collection[int] = ()) -> None:
    """Raises Conflict where a run doesn't get through a cut copy that it wasn't asked without, as that was built; but
    for what lies where a decision leaves one of the asks in `left`. Also where a copy that it was to go through as that
    was built isn't that any more."""
    found: dict[Run, list[Ask]] = {}
    for ask in change.asks.filter(replaced=False, run__isnull=False).select_related("run").order_by("pk"):
        if ask.run:
            found.setdefault(ask.run, []).append(ask)
    for run, asks in found.items():
        if any(ask.pk not in left for ask in asks):
            _refuse(change, run, [ask for ask in asks if ask.pk in left])


def _refuse(change: Request, run: Run, left: list[Ask]) -> None:
    path = read_path(run.wish, ("run",))
    if anew := made_anew(change.job, path.level, run.as_cut):
        mark, copies = next(iter(anew.items()))
        raise Conflict("run-made-anew-since", mark=mark, copies=copies)
    if path.level not in standing(change.job):
        return
    without = {(row["truss"], number) for row in not_through(run) for number in row["copies"]}
    left_at = [one["at_in"] for ask in left for one in crossings_of(ask)]
    stuck = [
        one
        for one in as_cut(change.job, path.level, lettered(crossing(change.job, path)), asked=run)
        if not one.fits
        and (one.stands.truss, one.stands.number) not in without
        and all(math.dist(one.met.place_in, at) >= 1 for at in left_at)
    ]
    if stuck:
        why = why_not(stuck[0])
        copies = sorted({one.stands.number for one in stuck if why_not(one) == why})
        raise Conflict("run-in-cut-since", copies=copies, **why)
