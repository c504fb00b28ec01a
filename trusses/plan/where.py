"""Where the copies of a mark stand, level by level."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from trusses.analysis.alike import begins_off
from trusses.analysis.words.lengths import feet_inches
from trusses.bearings.standing import Foot
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
    span = spans_of({truss.current.sha256: truss.current.pk})[truss.current.sha256] if placements else 0.0
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
    spans = spans_of({sha256: revision for _, revision, sha256, *_ in told})
    for level, _, sha256, mark, x, y, along, *row in told:
        rows[level].append(Row(mark, x, y, along, spans[sha256], *row))
    return list(rows.items())


_SPANS: dict[str, float] = {}
"""The distance between outer bearings, inches, by a document's SHA-256: a plan of a thousand marks reads their
documents once in a process."""


def spans_of(revisions: Mapping[str, int]) -> Mapping[str, float]:
    """The same, of these documents too: {SHA-256: the id of a revision that has it}."""
    unknown = [revision for sha256, revision in revisions.items() if sha256 not in _SPANS]
    found: Iterable[tuple[str, Any]] = ()
    if unknown:
        found = Revision.objects.filter(pk__in=unknown).values_list("sha256", "document")
    for sha256, document in found:
        xs = [document["joints"][bearing["joint"]][0] for bearing in document["bearings"]]
        _SPANS[sha256] = max(xs) - min(xs)
    return _SPANS


_NEAR_IN = 12.0
"""What the plan draws no farther from a bearing than this is meant, and how far off it is drawn is said."""


def by_plan(truss: Truss, revision: Revision, feet: Iterable[Foot]) -> list[Foot]:
    """With the wall that the plan draws under every row of a mark's copies where nobody said what a bearing of its
    revision stands on."""
    told = list(feet)
    near = _near(truss, revision.document, [foot.joint for foot in told if not (foot.link or foot.parts)])
    return [replace(foot, near=near_says(near[foot.joint])) if foot.joint in near else foot for foot in told]


def drawn_under(truss: Truss, document: Mapping[str, Any], joints: Iterable[str]) -> dict[str, str]:
    """{joint: the wall that the plan draws under it}, of those bearings under which it draws one for every row of a
    mark's copies."""
    return {joint: found.wall for joint, found in _near(truss, document, joints).items()}


def _near(truss: Truss, document: Mapping[str, Any], joints: Iterable[str]) -> dict[str, From]:
    near = {}
    for joint, by_row in near_each(truss, document, joints).items():
        found = set(by_row.values())
        if len(found) == 1 and (one := found.pop()):
            near[joint] = one
    return near


def near_each(truss: Truss, document: Mapping[str, Any], joints: Iterable[str]) -> dict[str, dict[int, From | None]]:
    """{joint: {row of places: the wall that the plan draws under it there, None where it draws none}}; `document` is
    the mark's of any day: its rows begin by that of today, and the wood of both lies in the same place."""
    xs = {one["joint"]: document["joints"][one["joint"]][0] for one in document["bearings"]}
    wanted = [joint for joint in joints if joint in xs]
    rows = list(truss.placements.all()) if wanted else []
    walls = walls_of(truss.job) if rows else {}
    every = sorted(xs.values())
    off = {turned: begins_off(truss.current.document, document, turned=turned) for turned in {r.turned for r in rows}}
    return {
        joint: {row.pk: _wall_at(row, walls.get(row.level, ()), xs[joint], every, off[row.turned]) for row in rows}
        for joint in wanted
    }


def _wall_at(row: Placement, walls: Iterable[Line], x: float, xs: list[float], off: float) -> From | None:
    """`off`: how far beyond the row's beginning that of the document lies whose bearings are at `xs`."""
    along = row.direction
    end, place = (row.origin_y_in, row.origin_x_in) if along == "y" else (row.origin_x_in, row.origin_y_in)
    at = end + off + (xs[-1] - x if row.turned else x - xs[0])
    found = across(walls, along, place, at)
    return None if not found.wall or found.inches > _NEAR_IN else found


def near_says(found: From) -> str:
    off = "" if found.on else f", which is drawn {feet_inches(found.inches)} off it"
    return f"{found.wall}{off}"
