"""Runs that were asked for, as the job's plan draws them."""

from __future__ import annotations

from changes.asks.run import read_path
from changes.models import OPEN_STATES, Run, State
from trusses.models import Job
from trusses.plan.overlays import Path


def on_the_plan(job: Job, level: str) -> list[Path]:
    """The runs of a job that are open or approved, as its plan draws them."""
    found = []
    rows = Run.objects.filter(request__job=job, request__state__in=(*OPEN_STATES, State.APPROVED))
    for one in rows.filter(wish__level=level).select_related("request"):
        path = read_path(one.wish, ("run",))
        name = f"{one.name or 'run'} ({one.request_id})"
        found.append(Path(name, path.points, path.section.outer[0], (), f"/requests/{one.request_id}/"))
    return found
