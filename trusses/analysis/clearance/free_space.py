"""The geometry under the clear openings: a truss as rectangles of wood, and where an opening's centre may stand.

Rather than drawing an opening's rounded corners, its bare shape is added to every member (a Minkowski sum, a convex
polygon of at most eight corners), and the opening's centre must keep the clearance, for a circle the radius too, from
that polygon: exact to rounding. Inches throughout.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from trusses.analysis.clearance.outline import Outline, outline
from trusses.analysis.clearance.overlay import difference, union
from trusses.analysis.format.model import Member, Opening, Truss
from trusses.analysis.lumber import lookup, section
from trusses.analysis.piece_names import panel_names

Floats = NDArray[np.float64]
#: An opening may touch a member, but not overlap it by more than this, inches.
TOUCH_IN = 1e-6
#: How far the drawn corners of the free space may lie outside the true ones, inches.
_CORNER_IN = 2e-3
_SIZES_KEPT = 64


class Sides(NamedTuple):
    """Convex polygons (n, k, 2) counter-clockwise: their corners, the unit vectors from each to the next, the lengths
    (n, k) of these, and which of them have any."""

    corners: Floats
    unit: Floats
    length: Floats
    real: NDArray[np.bool_]


@dataclass(frozen=True)
class Space:
    """A truss as openings meet it: members (n, 2, 2) as centrelines, their true depths (n,), the outline."""

    members: tuple[Member, ...]
    lines: Floats
    depths: Floats
    outline: Outline
    document: Mapping[str, Any]
    """The truss document, for the names that people have for its members."""

    @cached_property
    def all_lines(self) -> Floats:
        """Members, then the ends of the outline, which have no depth."""
        return np.concatenate([self.lines, self.outline.ends])

    @cached_property
    def all_depths(self) -> Floats:
        return np.concatenate([self.depths, np.zeros(len(self.outline.ends))])

    @cached_property
    def called(self) -> Mapping[str, str]:
        """What the drawing calls each member, by its id."""
        return panel_names(self.document)

    def grown(self, opening: Opening) -> Sides:
        """The sums of `grown` of all lines; an opening that only moves has the same, so they are kept for each size."""
        size = opening.size if opening.shape == "rectangle" else None
        if size not in self._grown:
            if len(self._grown) >= _SIZES_KEPT:
                self._grown.clear()
            self._grown[size] = sides(grown(self.all_lines, self.all_depths, opening))
        return self._grown[size]

    @cached_property
    def _grown(self) -> dict[tuple[float, float] | None, Sides]:
        return {}

    @cached_property
    def _free(self) -> dict[tuple[tuple[float, float] | None, float], BaseGeometry]:
        return {}

    @cached_property
    def solid(self) -> BaseGeometry:
        """The region between the chords, and the members' centrelines."""
        return shapely.union(shapely.multilinestrings(self.lines), self.outline.region)


def space(truss: Truss) -> Space:
    """The geometry of `truss` that every question about an opening needs; build it once where many are asked."""
    ends = [truss.ends(member) for member in truss.members]
    lines = np.array([[(a.x, a.y), (b.x, b.y)] for a, b in ends], dtype=np.float64)
    return Space(truss.members, lines, depths(truss), outline(truss), truss.document)


def depths(truss: Truss) -> Floats:
    """(members,): each member's true depth in the truss's plane, inches."""
    return np.array([section(lookup(member.lumber), member.flat).depth_in for member in truss.members])


def margin(opening: Opening) -> float:
    """What the centre of the bare shape's sum with a member must keep clear of it: clearance, and a circle's radius."""
    return opening.clearance_in + (opening.size[0] / 2 if opening.shape == "circle" else 0.0)


def spares(lines: Floats, depth: Floats, opening: Opening) -> Floats:
    """(n,): free distance past the clearance between `opening` and members of centreline (n, 2, 2) and depth (n,)."""
    corners = grown(lines, depth, opening)
    return signed_distance(sides(corners), np.asarray(opening.centre)) - margin(opening)


def grown(lines: Floats, depth: Floats, opening: Opening) -> Floats:
    """(n, 8, 2): corners, counter-clockwise, of the sum of each member's rectangle and the opening's bare rectangle."""
    along = lines[:, 1] - lines[:, 0]
    length = np.hypot(along[:, 0], along[:, 1])[:, None]
    across = np.stack([-along[:, 1], along[:, 0]], axis=1) / length * depth[:, None]
    width, height = opening.size if opening.shape == "rectangle" else (0.0, 0.0)
    flat = np.broadcast_to(np.array([width, 0.0]), along.shape)
    upright = np.broadcast_to(np.array([0.0, height]), along.shape)
    sides = np.stack([along, across, flat, upright], axis=1)
    # a sum of segments is bounded by each of them twice, taken in the order of their directions
    turn = (sides[..., 1] < 0) | ((sides[..., 1] == 0) & (sides[..., 0] < 0))
    sides = np.where(turn[..., None], -sides, sides)
    order = np.argsort(np.arctan2(sides[..., 1], sides[..., 0]), axis=1, kind="stable")
    sides = np.take_along_axis(sides, order[..., None], axis=1)
    lowest = lines.mean(axis=1) - sides.sum(axis=1) / 2
    steps = np.concatenate([sides, -sides[:, :3]], axis=1)
    return np.concatenate([lowest[:, None], lowest[:, None] + np.cumsum(steps, axis=1)], axis=1)


def sides(corners: Floats) -> Sides:
    """Of convex polygons (n, k, 2) counter-clockwise."""
    edge = np.roll(corners, -1, axis=1) - corners
    length = np.hypot(edge[..., 0], edge[..., 1])
    real = length > 1e-12
    return Sides(corners, edge / np.where(real, length, 1.0)[..., None], length, real)


def signed_distance(polygons: Sides, point: Floats) -> Floats:
    """(n,): distance from `point` to each polygon; negative inside."""
    unit, off = polygons.unit, point - polygons.corners
    outward = np.where(polygons.real, off[..., 0] * unit[..., 1] - off[..., 1] * unit[..., 0], -np.inf).max(axis=1)
    t = np.minimum(np.maximum((off * unit).sum(axis=-1), 0), polygons.length)
    foot = off - t[..., None] * unit
    apart = np.hypot(foot[..., 0], foot[..., 1]).min(axis=1)
    return np.where(outward > 0, apart, outward)


def free_centres(room: Space, opening: Opening) -> BaseGeometry:
    """Where the opening's centre may stand: the outline less every member grown by the opening. Kept for each size, as
    under a thumb only the place changes."""
    # half the tolerance: a slot exactly as high as the opening must stay a slot, not vanish
    keep = max(margin(opening) - TOUCH_IN / 2, 0.0)
    size = opening.size if opening.shape == "rectangle" else None
    if (size, keep) not in room._free:
        near = [rounded(polygon, keep) for polygon in room.grown(opening).corners]
        if len(room._free) >= _SIZES_KEPT:
            room._free.clear()
        room._free[size, keep] = difference(room.outline.region, union([one for one in near if one.is_valid]))
    return room._free[size, keep]


def rounded(corners: Floats, radius: float) -> shapely.Polygon:
    """A convex polygon grown by `radius`, its arcs drawn from outside so that nothing inside counts as free."""
    edge = np.roll(corners, -1, axis=0) - corners
    real = np.hypot(edge[:, 0], edge[:, 1]) > 1e-12
    points, edge = corners[real], edge[real]
    if radius <= 0:
        return shapely.Polygon(points if len(points) > 2 else None)
    angle = np.arctan2(-edge[:, 0], edge[:, 1])
    before = np.roll(angle, 1)
    turn = np.mod(angle - before + 1e-9, 2 * math.pi)
    step = 2 * math.acos(1 / (1 + _CORNER_IN / radius))
    out = []
    for point, start, sweep in zip(points, before, turn, strict=True):
        count = max(1, math.ceil(sweep / step))
        half = sweep / count / 2
        middles = start + half * (2 * np.arange(count) + 1)
        around = np.concatenate([[start], middles, [start + sweep]])
        reach = np.full(count + 2, radius / math.cos(half))
        reach[[0, -1]] = radius
        out.append(point + reach[:, None] * np.stack([np.cos(around), np.sin(around)], axis=1))
    return shapely.Polygon(np.concatenate(out))
