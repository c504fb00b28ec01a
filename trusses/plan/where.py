"""Where the copies of a mark stand, level by level."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from trusses.models import Placement, Revision, Truss
from trusses.plan.plan import Row


def where(truss: Truss) -> dict[str, Any]:
    """Where its copies stand in plan, beside everything else on those levels."""
    placements = list(truss.placements.all())
    everyone = Placement.objects.filter(truss__job=truss.job_id).select_related("truss__current")
    everyone = everyone.defer("truss__current__document", "truss__current__analysis")
    return {"placements": placements, "levels": levels(placements, everyone if placements else ())}


def levels(placements: Sequence[Placement], everyone: Iterable[Placement]) -> list[tuple[str, list[Row]]]:
    """(level, all that stands there) for each level on which `placements` stand; `everyone` are the job's."""
    names = list(dict.fromkeys(placement.level for placement in placements))
    there = [one for one in everyone if one.level in names and one.truss.current]
    spans = _spans([placement.truss.current for placement in there])
    rows: dict[str, list[Row]] = {name: [] for name in names}
    for placement in there:
        rows[placement.level].append(_row(placement, spans[placement.truss.current.sha256]))
    return list(rows.items())


_SPANS: dict[str, float] = {}
"""The distance between outer bearings, inches, by a document's SHA-256: a plan of a thousand marks reads their
documents once in a process."""


def _spans(revisions: Sequence[Revision]) -> Mapping[str, float]:
    unknown = [revision.pk for revision in revisions if revision.sha256 not in _SPANS]
    found = Revision.objects.filter(pk__in=unknown).values_list("sha256", "document") if unknown else ()
    for sha256, document in found:
        xs = [document["joints"][bearing["joint"]][0] for bearing in document["bearings"]]
        _SPANS[sha256] = max(xs) - min(xs)
    return _SPANS


def _row(placement: Placement, span: float) -> Row:
    return Row(
        mark=placement.truss.mark,
        x=placement.origin_x_in,
        y=placement.origin_y_in,
        along=placement.direction,
        span=span,
        spacing=placement.spacing_in,
        count=placement.count,
    )
