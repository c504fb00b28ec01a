"""The pockets of a truss: the pieces of its outline that no member's wood covers. Inches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray

from trusses.analysis.clearance.free_space import Space, grown
from trusses.analysis.clearance.overlay import difference, union
from trusses.analysis.format.model import Opening

Floats = NDArray[np.float64]
#: A pocket of less room than a circle of this diameter is a crack between pieces, inches.
LEAST_IN = 1.0
_STRAIGHT_IN = 1e-9
_ON_IN = 1e-5
_BARE = Opening("", "circle", (0.0, 0.0), diameter_in=0.0)


class Circle(NamedTuple):
    centre_in: tuple[float, float]
    diameter_in: float


class Rectangle(NamedTuple):
    """A level one."""

    centre_in: tuple[float, float]
    width_in: float
    height_in: float


@dataclass(frozen=True)
class Walls:
    """What bounds a pocket: `lines` (n, 2, 2), the pocket on their left, and `juts` (n,), whether at a line's first end
    wood juts into it."""

    lines: Floats
    juts: NDArray[np.bool_]

    @cached_property
    def normals(self) -> Floats:
        """(n, 2): of length 1, into the pocket."""
        along = self.lines[:, 1] - self.lines[:, 0]
        return np.stack([-along[:, 1], along[:, 0]], axis=1) / np.hypot(along[:, 0], along[:, 1])[:, None]

    @property
    def corners(self) -> Floats:
        """(m, 2): where wood juts in."""
        return self.lines[self.juts, 0]

    def some(self, which: NDArray[np.bool_]) -> Walls:
        return Walls(self.lines[which], self.juts[which])


@dataclass(frozen=True)
class Pocket:
    """One pocket, its walls, the ids of the members that these are of, and of the openings whose centre lies in it."""

    region: shapely.Polygon
    walls: Walls
    members: tuple[str, ...]
    openings: tuple[str, ...] = ()


def pockets(room: Space, openings: Sequence[Opening] = ()) -> tuple[Pocket, ...]:
    """The pockets of a truss from left to right, slivers left out. An opening is no wood: it is told, not cut out."""
    parts = clear_parts(room)
    parts.sort(key=lambda part: part.centroid.x)
    faces = shapely.boundary(_wood(room))
    found = []
    for part in parts:
        around = walls(part)
        away = shapely.distance(faces[:, None], shapely.points(around.lines.mean(axis=1)))
        beside = np.flatnonzero((away < _ON_IN).any(axis=1))
        held = tuple(one.id for one in openings if part.intersects(shapely.Point(one.centre)))
        found.append(Pocket(part, around, tuple(room.members[i].id for i in beside), held))
    return tuple(found)


def clear_parts(room: Space) -> list[shapely.Polygon]:
    """The outline less the members' wood, piece by piece."""
    clear = difference(room.outline.region, union(list(_wood(room))))
    return [part for part in shapely.get_parts(clear) if part.geom_type == "Polygon" and part.area > LEAST_IN**2 / 2]


def _wood(room: Space) -> NDArray[np.object_]:
    return shapely.polygons(grown(room.lines, room.depths, _BARE))


def walls(region: shapely.Polygon) -> Walls:
    """The walls of a pocket, those in one line as one."""
    lines, juts = [], []
    for ring in shapely.get_rings(shapely.orient_polygons(region)):
        points = _bends(shapely.get_coordinates(ring)[:-1])
        after = np.roll(points, -1, axis=0)
        before = np.roll(points, 1, axis=0)
        into, out = points - before, after - points
        lines.append(np.stack([points, after], axis=1))
        juts.append(into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0] < 0)
    return Walls(np.concatenate(lines), np.concatenate(juts))


def _bends(points: Floats) -> Floats:
    """Without the points between two others of a line, one after the other."""
    i = 0
    while i < len(points) and len(points) > 3:
        a, b = points[i - 1], points[(i + 1) % len(points)]
        run, off = b - a, points[i] - a
        straight = abs(run[0] * off[1] - run[1] * off[0]) <= _STRAIGHT_IN * np.hypot(*run)
        if straight and run @ off >= 0 <= run @ (b - points[i]):
            points = np.delete(points, i, axis=0)
            i = max(i - 1, 0)
        else:
            i += 1
    return points
