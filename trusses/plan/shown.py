"""What a page showed of the plan: where copies stand, so that none is ticked as set by what the plan no more says; a
row of places or a wall, so that no form moves back what was moved since."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence

from trusses.models import Copy, Placement, WallLine


def places(copies: Iterable[int]) -> dict[int, str]:
    """A short name of where each copy stands, by id: another one once it is moved, turned or on another level."""
    asked = list(copies)
    found = dict.fromkeys(asked, "none")
    rows = {row.pk: row for row in Placement.objects.filter(copies__in=asked).distinct()}
    beside: dict[int, list[int]] = {}
    for place, pk in Copy.objects.filter(placement__in=rows).order_by("number").values_list("placement", "pk"):
        beside.setdefault(place or 0, []).append(pk)
    for place, there in beside.items():
        found |= {pk: _name(rows[place], i) for i, pk in enumerate(there) if pk in found}
    return found


def _name(row: Placement, i: int) -> str:
    step = i * row.spacing_in
    x, y = (0.0, step) if row.direction == "x" else (step, 0.0)
    place = (row.level, row.direction, row.turned, f"{row.origin_x_in + x:.4f}", f"{row.origin_y_in + y:.4f}")
    return _short(place)


def _short(said: object) -> str:
    return hashlib.sha256(repr(said).encode()).hexdigest()[:16]


def row(one: Placement) -> str:
    """A short name of a row of places as it stands: another one once anything of it is."""
    at = (one.level, one.direction, one.turned, f"{one.origin_x_in:.4f}", f"{one.origin_y_in:.4f}")
    return _short((*at, f"{one.spacing_in:.4f}", one.count, one.note))


def wall(one: WallLine) -> str:
    """The same of a wall."""
    return _short((one.label, one.level, [[f"{x:.4f}", f"{y:.4f}"] for x, y in one.points]))


def elsewhere(copies: Sequence[Copy], shown: Mapping[int, str]) -> list[Copy]:
    """The copies that stand elsewhere than they were `shown` to, by id; of which nothing was shown, nothing is said."""
    now = places(copy.pk for copy in copies if copy.pk in shown)
    return [copy for copy in copies if copy.pk in now and now[copy.pk] != shown[copy.pk]]
