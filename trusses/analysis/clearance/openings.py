"""Clear openings: what a wanted shape touches, how much is to spare, and the nearest place where it fits.

A member is a rectangle of its true depth about its centreline, full length between its joints, cut by nothing. An
opening is its shape grown by its clearance, corners rounded; it must miss every member and lie between the chords.
Inches throughout.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from trusses.analysis.clearance.free_space import TOUCH_IN, Space, free_centres, margin, signed_distance, space
from trusses.analysis.format.model import Member, Opening, Truss
from trusses.analysis.words.openings import FITS
from trusses.analysis.words.phrases import Coded, as_counted, coded, tell, with_names
from trusses.analysis.words.refusal import Refusal

__all__ = ["Fit", "Nearest", "OpeningError", "check", "fit", "fits", "moved", "nearest", "space"]

_LARGEST_IN = 1e6
_SIXTEENTH = 1 / 16


class OpeningError(Refusal):
    """An opening that can't be measured; `place` names it."""


@dataclass(frozen=True, slots=True)
class Fit:
    """Whether an opening is clear. `touches` are members' ids, `called` what the drawing calls them. `spare_in`
    is the smallest free distance past its clearance, inches; negative: how far it would have to move to leave the worst
    overlap (outside of the truss: how far it reaches out)."""

    id: str
    fits: bool
    touches: tuple[str, ...]
    called: tuple[str, ...]
    spare_in: float
    cuts_chord: bool
    outside: bool
    told: Coded = field(compare=False)
    """What stands in the way, or how much is to spare, of `words.openings`."""

    @property
    def never(self) -> bool:
        """A chord is never cut and an opening never leaves the truss: no redesign helps."""
        return self.cuts_chord or self.outside

    @property
    def says(self) -> str:
        return tell(FITS, [self.told])


@dataclass(frozen=True, slots=True)
class Nearest:
    """The nearest centre where an opening fits, and how far that is from the wanted one, inches."""

    centre_in: tuple[float, float]
    moved_in: float


def fit(truss: Truss | Space, opening: Opening) -> Fit:
    """What stands in the way of `opening`. Raises OpeningError for sizes that are no sizes."""
    check(opening)
    room = truss if isinstance(truss, Space) else space(truss)
    spare = signed_distance(room.grown(opening), np.asarray(opening.centre)) - margin(opening)
    count = len(room.members)
    touched = [member for member, free in zip(room.members, spare[:count], strict=True) if free < -TOUCH_IN]
    reach = _reach(room, opening)
    outside = reach > TOUCH_IN or bool((spare[count:] < -TOUCH_IN).any())
    smallest = float(spare.min())
    touches = tuple(sorted(member.id for member in touched))
    called = room.called if touches else {}
    if reach > TOUCH_IN:
        smallest = min(smallest, -reach)
    return Fit(
        id=opening.id,
        fits=not touched and not outside,
        touches=touches,
        called=tuple(sorted((called[name] for name in touches), key=as_counted)),
        spare_in=smallest,
        cuts_chord=any(member.is_chord for member in touched),
        outside=outside,
        told=with_names(_told(touched, outside, smallest), called),
    )


def fits(truss: Truss) -> tuple[Fit, ...]:
    """`fit` for each opening that the truss's own document holds."""
    if not truss.openings:
        return ()
    room = space(truss)
    return tuple(fit(room, opening) for opening in truss.openings)


def nearest(
    truss: Truss | Space, opening: Opening, *, level: bool = False, free: BaseGeometry | None = None
) -> Nearest | None:
    """The nearest centre to the wanted one where `opening` fits; None when it fits nowhere in this truss.

    With `level` it keeps its height and moves along the span alone. `free` is what `free_centres` says of it, where
    that is at hand.
    """
    room = truss if isinstance(truss, Space) else space(truss)
    if fit(room, opening).fits:
        return Nearest(opening.centre, 0.0)
    if free is None:
        free = free_centres(room, opening)
    if level and not free.is_empty:
        left, _, right, _ = free.bounds
        free = free.intersection(shapely.LineString([(left, opening.centre[1]), (right, opening.centre[1])]))
    if free.is_empty:
        return None
    wanted = shapely.Point(opening.centre)
    raw = shapely.get_coordinates(shapely.shortest_line(wanted, free))[1]
    for x, y in _tape_marks(raw, opening.centre):
        if (not level or y == opening.centre[1]) and fit(room, moved(opening, (x, y))).fits:
            return Nearest((x, y), math.dist(opening.centre, (x, y)))
    return None


def check(opening: Opening) -> None:
    """Raises OpeningError for a size, clearance or place that no opening has."""
    names = {"width": opening.width_in, "height": opening.height_in}
    if opening.shape == "circle":
        names = {"diameter": opening.diameter_in}
    at = f"opening {opening.id}"
    for name, value in names.items():
        if value is None:
            raise OpeningError("opening-lacks-size", at, shape=opening.shape, measure=name)
        _number(at, name, value)
        if value <= 0:
            raise OpeningError("opening-size-not-over-0", at, measure=name, size_in=value)
    _number(at, "clearance", opening.clearance_in)
    if opening.clearance_in < 0:
        raise OpeningError("opening-clearance-below-0", at, clearance_in=opening.clearance_in)
    for name, value in zip("xy", opening.centre, strict=True):
        _number(at, name, value)


def _number(at: str, name: str, value: float) -> None:
    if not math.isfinite(value):
        raise OpeningError("opening-not-finite", at, measure=name, shown=f"{value}")
    if abs(value) > _LARGEST_IN:
        raise OpeningError("opening-too-large", at, measure=name, size_in=value)


def moved(opening: Opening, centre: tuple[float, float]) -> Opening:
    """The same opening elsewhere."""
    return dataclasses.replace(opening, centre=centre)


def _tape_marks(raw: NDArray[np.float64], wanted: tuple[float, float]) -> list[tuple[float, float]]:
    """Places to try, best first: sixteenths around `raw` that are hardly farther, then ever finer ones, then `raw`."""
    out: list[tuple[float, float]] = []
    limit = math.dist(raw, wanted) + _SIXTEENTH
    for grid in (_SIXTEENTH, 1e-3, 1e-5):
        low = np.floor(raw / grid)
        corners = [(float(low[0] + i) * grid, float(low[1] + j) * grid) for i in (0, 1) for j in (0, 1)]
        # keeping the wanted height or place along the span exactly beats rounding it
        corners += [(c[0], wanted[1]) for c in corners] + [(wanted[0], c[1]) for c in corners]
        near = sorted({c for c in corners if math.dist(c, wanted) <= limit and math.dist(c, raw) <= 2 * grid})
        out += sorted(near, key=lambda c: math.dist(c, wanted))
    return [*out, (float(raw[0]), float(raw[1]))]


def _reach(room: Space, opening: Opening) -> float:
    """How far the opening reaches out of the outline when its centre isn't inside; 0 when it is."""
    away = room.outline.distance(*opening.centre)
    if away == 0:
        return 0.0
    if math.isinf(away):
        # chords on one side only enclose nothing: count from the nearest member's centreline
        lines = shapely.linestrings(room.lines)
        away = float(shapely.distance(lines, shapely.Point(opening.centre)).min())
    width, height = opening.size
    return away + min(width, height) / 2 + opening.clearance_in


def _told(touched: Sequence[Member], outside: bool, spare: float) -> Coded:
    chords = sorted(member.id for member in touched if member.is_chord)
    webs = sorted(member.id for member in touched if not member.is_chord)
    if chords:
        return coded("cuts-chord", members=chords)
    if outside:
        return coded("reaches-outside")
    if webs:
        return coded("webs-in-the-way", members=webs, by_in=-spare)
    return coded("fits-exactly") if spare < _SIXTEENTH / 2 else coded("fits", spare_in=spare)
