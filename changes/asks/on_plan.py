"""Runs that were asked for, as the job's plan and its set in three dimensions draw them."""

from __future__ import annotations

from django.db.models import Prefetch

from changes.asks.run import read_path
from changes.models import OPEN_STATES, Ask, Run, State
from trusses.analysis.words.phrases import copies, listed
from trusses.models import Job
from trusses.plan.overlays import Path
from trusses.solid.standing import NamedRun


def on_the_plan(job: Job, level: str) -> list[Path]:
    """The runs of a job that are open or approved, as its plan draws them."""
    return [
        Path(name, run.points, run.section.outer[0], (), href)
        for name, run, href in in_the_set(job)
        if run.level == level
    ]


def in_the_set(job: Job) -> list[NamedRun]:
    """The same of every level, as the set in three dimensions shows them. What a decision left of a run is named with
    it; a run that it left whole isn't shown, since nothing was issued for it."""
    rows = Run.objects.filter(request__job=job, request__state__in=(*OPEN_STATES, State.APPROVED))
    asks = Prefetch("asks", Ask.objects.filter(replaced=False).select_related("truss"))
    found = []
    for one in rows.select_related("request").prefetch_related("request__decisions", asks):
        mine = list(one.asks.all())
        decided = list(one.request.decisions.all()) if one.request.state == State.APPROVED else []
        left = [ask for ask in mine if decided and ask.pk in decided[-1].leaves]
        if left and left == mine:
            continue
        name = f"{one.name or 'run'} ({one.request_id})"
        if left:
            # what a plan cuts short says first that it isn't all of it
            without = listed([f"{ask.on_truss.mark}, {copies(ask.copies)}" for ask in left])
            name = f"Only in part: {name}, not through {without}"
        found.append((name, read_path(one.wish, ("run",)), f"/requests/{one.request_id}/"))
    return found
