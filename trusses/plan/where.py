"""Where the copies of a mark stand, level by level."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from trusses.models import Job, Placement, Revision, Truss
from trusses.plan.from_walls import From, Line, across, beside
from trusses.plan.plan import Row

_ROW = ("truss__mark", "origin_x_in", "origin_y_in", "direction", "spacing_in", "count", "turned")


@dataclass(frozen=True)
class Told:
    """A row of places; where its first truss stands, and the end at which it begins, of a turned one the right."""

    row: Placement
    first: From
    end: From


def where(truss: Truss) -> dict[str, Any]:
    """Where its copies stand in plan, beside everything else on those levels."""
    placements = list(truss.placements.all())
    walls = walls_of(truss.job) if placements else {}
    span = _spans({truss.current.sha256: truss.current.pk})[truss.current.sha256] if placements else 0.0
    told = [_told(row, span, walls.get(row.level, ())) for row in placements]
    return {"placements": told, "levels": _levels(truss, placements)}


def walls_of(job: Job) -> dict[str, list[Line]]:
    """The walls that are drawn, level by level."""
    found: dict[str, list[Line]] = {}
    for line in job.wall_lines.all():
        if line.points:
            found.setdefault(line.level, []).append((line.label, line.points))
    return found


def _told(row: Placement, span: float, walls: Sequence[Line]) -> Told:
    x, y, along = row.origin_x_in, row.origin_y_in, row.direction
    place, end = (x, y) if along == "y" else (y, x)
    places = place, place + (row.count - 1) * row.spacing_in
    return Told(row, beside(walls, along, places, (end, end + span)).of(place), across(walls, along, place, end))


def _levels(truss: Truss, placements: Sequence[Placement]) -> list[tuple[str, list[Row]]]:
    """(level, all of the job that stands there) for each level on which `placements` stand."""
    rows: dict[str, list[Row]] = {placement.level: [] for placement in placements}
    if not rows:
        return []
    there = Placement.objects.filter(truss__job=truss.job_id, truss__current__isnull=False, level__in=rows)
    # a job has thousands of them: tuples, and no rows as objects
    told = list(there.values_list("level", "truss__current", "truss__current__sha256", *_ROW))
    spans = _spans({sha256: revision for _, revision, sha256, *_ in told})
    for level, _, sha256, mark, x, y, along, *row in told:
        rows[level].append(Row(mark, x, y, along, spans[sha256], *row))
    return list(rows.items())


_SPANS: dict[str, float] = {}
"""The distance between outer bearings, inches, by a document's SHA-256: a plan of a thousand marks reads their
documents once in a process."""


def _spans(revisions: Mapping[str, int]) -> Mapping[str, float]:
    unknown = [revision for sha256, revision in revisions.items() if sha256 not in _SPANS]
    found: Iterable[tuple[str, Any]] = ()
    if unknown:
        found = Revision.objects.filter(pk__in=unknown).values_list("sha256", "document")
    for sha256, document in found:
        xs = [document["joints"][bearing["joint"]][0] for bearing in document["bearings"]]
        _SPANS[sha256] = max(xs) - min(xs)
    return _SPANS
