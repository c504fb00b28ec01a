"""The plan as a designer draws it: where copies stand, walls, which way north lies. Each refuses in plain words."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from typing import Any

from django.db import transaction

from trusses.bearings.links import named_line
from trusses.models import BearingLink, Job, MarkEvent, Placement, Truss, WallLine
from trusses.permissions import require
from trusses.plan import shown
from trusses.plan.on_walls import before_redrawn
from trusses.refusals import Refused
from trusses.revisions import MOST_COPIES, begun, settle_copies

VERB = "draw the plan"
MOST_POINTS = 40


def place(
    user: Any, truss: Truss, row: Placement | None, said: Mapping[str, Any], seen: str | None = None
) -> Placement:
    """A row of places of a mark, new or as it is said now; its copies follow. `said` has level, x_in, y_in, direction,
    spacing_in, count, note and turned; `seen` is what `shown.row` calls the row as whoever says it saw it. Raises
    Refused, NotAllowed."""
    require(user, VERB, truss.job)
    if said["count"] > 1 and not said["spacing_in"] > 0:
        raise Refused("apart", "spacing_in", count=said["count"])
    _refuse_level(said["level"])
    with transaction.atomic():
        truss = Truss.objects.select_for_update().select_related("job").get(pk=truss.pk)
        row = _as_seen(truss, row, seen) if row else None
        others = sum(truss.placements.exclude(pk=row.pk if row else 0).values_list("count", flat=True))
        _refuse_counts(truss, others + said["count"])
        before = _told(row) if row else None
        held = row or Placement(truss=truss)
        held.level, held.note = said["level"], said["note"]
        held.origin_x_in, held.origin_y_in, held.direction = said["x_in"], said["y_in"], said["direction"]
        held.spacing_in, held.count, held.turned = said["spacing_in"], said["count"], said.get("turned", False)
        held.save()
        settle_copies(truss, user)
        if before != _told(held):
            _note(user, truss, held.level, before, _told(held))
    return held


def _as_seen(truss: Truss, row: Placement, seen: str | None) -> Placement:
    """The row as it is. Raises Refused where it is no more, or is another than was `seen`."""
    now = truss.placements.filter(pk=row.pk).first()
    if now is None:
        raise Refused("place-gone", mark=truss.mark)
    if seen not in (None, shown.row(now)):
        raise Refused("place-otherwise", mark=truss.mark, level=now.level, note=now.note, **_told(now))
    return now


def take_away(user: Any, row: Placement, seen: str | None = None) -> None:
    """A row of places goes, with its copies as far as nothing of them is released; `seen` as `place` has it. Raises
    Refused, NotAllowed."""
    require(user, VERB, row.truss.job)
    with transaction.atomic():
        truss = Truss.objects.select_for_update().select_related("job").get(pk=row.truss_id)
        row = _as_seen(truss, row, seen)
        others = sum(truss.placements.exclude(pk=row.pk).values_list("count", flat=True))
        if not others:
            raise Refused("last-place", mark=truss.mark)
        _refuse_counts(truss, others)
        before = _told(row)
        row.delete()
        settle_copies(truss, user)
        _note(user, truss, row.level, before, None)


def _refuse_counts(truss: Truss, places: int) -> None:
    if (going := begun(truss)) > places:
        raise Refused("places-begun", "count", begun=going, mark=truss.mark, places=places)
    if places > MOST_COPIES:
        raise Refused("places-too-many", "count", places=places, most=MOST_COPIES)


def _told(row: Placement) -> dict[str, Any]:
    return {
        "x_in": row.origin_x_in,
        "y_in": row.origin_y_in,
        "direction": row.direction,
        "spacing_in": row.spacing_in,
        "count": row.count,
        "turned": row.turned,
    }


def _note(user: Any, truss: Truss, level: str, before: Any, after: Any) -> None:
    values = {"level": level, "before": before, "after": after}
    MarkEvent.objects.create(truss=truss, by=user, code=MarkEvent.Code.PLACED, values=values)


def wall(
    user: Any,
    job: Job,
    line: WallLine | None,
    label: str,
    level: str,
    points: Sequence[Sequence[float]],
    seen: str | None = None,
) -> WallLine:
    """A wall line drawn, new or as it is said now; `seen` is what `shown.wall` calls it as whoever says it saw it.
    Raises Refused, NotAllowed."""
    require(user, VERB, job)
    label = named_line(label, "label")
    _refuse_level(level)
    if not 2 <= len(points) <= MOST_POINTS:
        raise Refused("wall-points", "points", least=2, most=MOST_POINTS)
    for n, (one, other) in enumerate(itertools.pairwise(points), 2):
        if math.dist(one, other) < 1 / 16:
            raise Refused("wall-point-twice", "points", n=n)
    with transaction.atomic():
        held = _wall_as_seen(line, seen) if line else WallLine(job=job)
        if WallLine.objects.filter(job=job, label=label).exclude(pk=held.pk).exists():
            raise Refused("wall-taken", "label", label=label)
        if line:
            _keep_what_stands(held)
        held.label, held.level, held.points = label, level, [list(point) for point in points]
        held.save()
    return held


def _keep_what_stands(line: WallLine) -> None:
    for keep in before_redrawn:
        keep(line.job)


def _wall_as_seen(line: WallLine, seen: str | None) -> WallLine:
    now = WallLine.objects.select_for_update().filter(pk=line.pk).first()
    if now is None:
        raise Refused("wall-gone", label=line.label)
    if seen not in (None, shown.wall(now)):
        raise Refused("wall-otherwise", label=now.label, level=now.level, points=now.points)
    return now


def take_down(user: Any, line: WallLine, seen: str | None = None) -> None:
    """A wall line goes, if nothing stands on it; `seen` as `wall` has it. Raises Refused, NotAllowed."""
    require(user, VERB, line.job)
    with transaction.atomic():
        _take_down(_wall_as_seen(line, seen))


def _take_down(line: WallLine) -> None:
    links = BearingLink.objects.filter(wall=line).values_list("truss__mark", "joint")
    if bearings := [f"{mark} at {joint}" for mark, joint in links]:
        raise Refused("wall-in-use", label=line.label, bearings=bearings)
    _keep_what_stands(line)
    line.delete()


def turn_north(user: Any, job: Job, degrees: float | None) -> None:
    """Which way north lies, clockwise from the plan's y; None: not said. Raises Refused, NotAllowed."""
    require(user, VERB, job)
    if degrees is not None and not 0 <= degrees <= 360:
        raise Refused("north", "north_deg")
    job.north_deg = degrees
    job.save(update_fields=["north_deg"])


def _refuse_level(level: str) -> None:
    most = Placement._meta.get_field("level").max_length or 0
    if not level.strip() or len(level) > most:
        raise Refused("level-name", "level", most=most)
