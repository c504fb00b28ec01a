"""Runs that were asked for, as the job's plan and its set in three dimensions draw them."""

from __future__ import annotations

from changes.asks.run import read_path
from changes.models import OPEN_STATES, Run, State
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
    """The same of every level, as the set in three dimensions shows them."""
    rows = Run.objects.filter(request__job=job, request__state__in=(*OPEN_STATES, State.APPROVED))
    return [
        (f"{one.name or 'run'} ({one.request_id})", read_path(one.wish, ("run",)), f"/requests/{one.request_id}/")
        for one in rows.select_related("request")
    ]
