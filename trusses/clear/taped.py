"""The clear openings of a truss as a tape finds them: sizes down to the eighth, places to the sixteenth. Inches.

Places are measured as the drawing measures openings: along from a bearing's face to the opening's near edge, of a round
one to its middle, and up from the bottom chord's top edge to its lower edge, or its middle. What is told fits exactly
where it is told.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely

from trusses.analysis.clearance.clear_map import HEIGHTS_IN, Clear
from trusses.analysis.clearance.free_space import TOUCH_IN, spares
from trusses.analysis.clearance.pockets import Circle, Pocket, Rectangle
from trusses.analysis.format.model import Opening
from trusses.analysis.words.lengths import tape_inches
from trusses.drawing.measures import Reach, Rise, reach, rise
from trusses.drawing.outline import outlines
from trusses.drawing.shape import Gap, shape

_EIGHTHS, _SIXTEENTHS = 8, 16
SHAPES = {1.0: "1 : 1", 1.5: "3 : 2", 2.0: "2 : 1", 3.0: "3 : 1"}
SHAPE_WORDS = {"1 : 1": "Square", "3 : 2": "3 wide, 2 high", "2 : 1": "2 wide, 1 high", "3 : 1": "3 wide, 1 high"}
"""The same, width to height, in words."""
_STEPS = 4  # so many eighths smaller is tried before the tape gives up


@dataclass(frozen=True)
class Taped:
    """One opening: `kind` is "round", a width to height or a height; `reach` and `rise` say where it stands, either
    None where nothing there is to be measured from."""

    kind: str
    opening: Opening
    reach: Reach | None
    rise: Rise | None

    @property
    def says(self) -> str:
        return SHAPE_WORDS.get(self.kind, self.kind)

    @property
    def size(self) -> str:
        width, height = self.opening.size
        if self.opening.shape == "circle":
            return f"{tape_inches(width)} round"
        return f"{tape_inches(width)} × {tape_inches(height)}"


@dataclass(frozen=True)
class PocketTaped:
    """One pocket, what the pieces around it are called, and what it holds."""

    clear: Clear
    between: tuple[str, ...]
    round: Taped
    by_shape: tuple[Taped, ...]
    by_height: Mapping[float, Taped]

    @property
    def widths(self) -> list[tuple[float, float | None]]:
        """Each usual height with the greatest width there; None where the pocket is lower."""
        found = [(height, self.by_height.get(height)) for height in HEIGHTS_IN]
        return [(height, one.opening.width_in if one else None) for height, one in found]

    @property
    def every(self) -> list[Taped]:
        return [self.round, *self.by_shape, *self.by_height.values()]


class Tape:
    """A tape along one truss."""

    def __init__(self, document: Mapping[str, Any]) -> None:
        self.shape = shape(document)
        self.wood = outlines(self.shape)

    def pocket(self, one: Clear) -> PocketTaped:
        called = self.shape.called
        return PocketTaped(
            one,
            tuple(called[name] for name in one.pocket.members),
            self.taped("round", one.pocket, one.circle),
            tuple(self.taped(SHAPES[form], one.pocket, found) for form, found in one.by_shape.items()),
            {high: self.taped(f'{high:g}" high', one.pocket, found, high) for high, found in one.by_height.items()},
        )

    def taped(self, kind: str, pocket: Pocket, found: Circle | Rectangle, high: float | None = None) -> Taped:
        """The largest that fits where a tape can say it; `high` is a height that stays."""
        for opening in self._smaller(found, high):
            for at in self._marks(opening):
                if _clear(pocket, at):
                    return Taped(kind, at, *self._measured(at))
        smallest = replace(opening, centre=found.centre_in)
        return Taped(kind, smallest, *self._measured(smallest))

    def chosen(self, pocket: Pocket, free: shapely.MultiPolygon, opening: Opening) -> Taped:
        """A place for an opening of one size in a pocket, about the middle of where it is free."""
        widest = max(free.geoms, key=lambda area: area.area)
        middle = widest.centroid if widest.contains(widest.centroid) else widest.representative_point()
        at = replace(opening, centre=(middle.x, middle.y))
        place = next((one for one in self._marks(at) if _clear(pocket, one)), at)
        return Taped("chosen", place, *self._measured(place))

    @staticmethod
    def _smaller(found: Circle | Rectangle, high: float | None) -> Iterator[Opening]:
        for less in range(_STEPS):
            if isinstance(found, Circle):
                yield Opening("", "circle", found.centre_in, diameter_in=_down(found.diameter_in, less))
            else:
                width, height = _down(found.width_in, less), high or _down(found.height_in, less)
                yield Opening("", "rectangle", found.centre_in, width_in=width, height_in=height)

    def _marks(self, opening: Opening) -> Iterator[Opening]:
        """The opening moved to where its marks are whole sixteenths, the nearest first."""
        (x, y), (along, up) = opening.centre, self._measured(opening)
        way = 1.0 if along is None or along.target >= along.face else -1.0
        places = []
        for dx in _to_marks(along):
            here = up
            if up is not None and not up.level:
                # over a sloping chord the height changes along with the place
                here = self._measured(replace(opening, centre=(x + way * dx, y)))[1]
            places += [(x + way * dx, y + dy) for dy in _to_marks(here)]
        for place in sorted(places, key=lambda place: math.dist(place, (x, y))):
            yield replace(opening, centre=place)

    def _measured(self, opening: Opening) -> tuple[Reach | None, Rise | None]:
        drawn = _gap(opening)
        return reach(self.shape, drawn), rise(self.shape, self.wood, drawn)


def _gap(opening: Opening) -> Gap:
    width, height = opening.size
    return Gap("", opening.shape == "circle", opening.centre, width, height, 0.0)


def _to_marks(mark: Reach | Rise | None) -> tuple[float, ...]:
    """How far it is to the tape's marks on both sides."""
    if mark is None:
        return (0.0,)
    low = math.floor(mark.distance * _SIXTEENTHS) / _SIXTEENTHS - mark.distance
    return low, low + 1 / _SIXTEENTHS


def _down(value: float, less: int) -> float:
    return max(math.floor(value * _EIGHTHS + TOUCH_IN) - less, 1) / _EIGHTHS


def _clear(pocket: Pocket, opening: Opening) -> bool:
    walls, (width, height) = pocket.walls, opening.size
    if walls.juts.any():
        return bool((spares(walls.lines, np.zeros(len(walls.lines)), opening) > -TOUCH_IN).all())
    reach = np.abs(walls.normals) @ [width / 2, height / 2] if opening.shape == "rectangle" else width / 2
    away = ((opening.centre - walls.lines[:, 0]) * walls.normals).sum(axis=1)
    return bool((away - reach > opening.clearance_in - TOUCH_IN).all())
