"""The largest openings that a truss has room for: one circle and one rectangle in each pocket between its members.

A pocket is a piece of the outline that no member's wood covers. The search halves squares of the plane, keeping those
that could still hold a larger opening than the best found so far. Inches.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from trusses.analysis.clearance.free_space import Space, space
from trusses.analysis.clearance.overlay import difference, union
from trusses.analysis.format.model import Truss

Floats = NDArray[np.float64]
#: Distance, inches, of points (p, 2) from the nearest of some segments (s, 2, 2).
Measure = Callable[[Floats, Floats], Floats]
#: Sizes are found to this, and then given a little smaller, inches.
CLOSE_IN = 1 / 64
_LEAST_IN = 1.0
_SQUARES = 4_000


@dataclass(frozen=True, slots=True)
class Pocket:
    """One clear space: its largest circle and its largest level rectangle of the wanted shape, clearance taken off."""

    circle_centre_in: tuple[float, float]
    diameter_in: float
    rectangle_centre_in: tuple[float, float]
    width_in: float
    height_in: float


def largest(truss: Truss | Space, width_to_height: float = 1.0, clearance_in: float = 0.0) -> tuple[Pocket, ...]:
    """The pockets of `truss` from left to right; those with no room for a circle of an inch are left out."""
    if not 0.01 <= width_to_height <= 100:
        raise ValueError(f"a rectangle's width must be 0.01 to 100 times its height, not {width_to_height:g}")
    if not 0 <= clearance_in < math.inf:
        raise ValueError(f"a clearance must be 0 in. or more, not {clearance_in:g}")
    room = truss if isinstance(truss, Space) else space(truss)
    found = [_pocket(part, width_to_height, clearance_in) for part in clear_parts(room)]
    return tuple(sorted((p for p in found if p is not None), key=lambda p: p.circle_centre_in))


def clear_parts(room: Space) -> list[shapely.Polygon]:
    """The outline less the members' wood, piece by piece."""
    along = room.lines[:, 1] - room.lines[:, 0]
    across = np.stack([-along[:, 1], along[:, 0]], axis=1) / np.hypot(along[:, 0], along[:, 1])[:, None]
    half = across * room.depths[:, None] / 2
    a, b = room.lines[:, 0], room.lines[:, 1]
    wood = shapely.polygons(np.stack([a - half, b - half, b + half, a + half], axis=1))
    clear = difference(room.outline.region, union(list(wood)))
    return [part for part in shapely.get_parts(clear) if part.geom_type == "Polygon" and part.area > _LEAST_IN**2 / 2]


def _pocket(part: shapely.Polygon, aspect: float, clearance: float) -> Pocket | None:
    kept = part.buffer(-clearance, quad_segs=64) if clearance else part
    best: Pocket | None = None
    for piece in shapely.get_parts(kept):
        if piece.is_empty:
            continue
        centre, radius = _deepest(piece, _round_distance)
        if 2 * radius < _LEAST_IN or (best and 2 * radius <= best.diameter_in):
            continue
        # squeezed across, the rectangle of the wanted shape is a square
        squeezed = shapely.transform(piece, lambda xy: xy / [aspect, 1.0])
        middle, half = _deepest(squeezed, _square_distance)
        best = Pocket(centre, 2 * radius, (middle[0] * aspect, middle[1]), 2 * half * aspect, 2 * half)
    return best


def _deepest(piece: shapely.Polygon, measure: Measure) -> tuple[tuple[float, float], float]:
    """The point of `piece` farthest from its boundary, and how far that is at least."""
    rings = [shapely.get_coordinates(ring) for ring in shapely.get_rings(piece)]
    walls = np.concatenate([np.stack([ring[:-1], ring[1:]], axis=1) for ring in rings])
    low, high = np.array(piece.bounds[:2]), np.array(piece.bounds[2:])
    half = float((high - low).min()) / 2
    counts = np.minimum(np.ceil((high - low) / (2 * half)).astype(int), 64)
    half = float(((high - low) / counts).max()) / 2
    grid = np.stack(np.meshgrid(*(np.arange(n) for n in counts), indexing="ij"), axis=-1).reshape(-1, 2)
    centres = low + half * (2 * grid + 1)
    shapely.prepare(piece)
    best, at = 0.0, np.asarray(piece.representative_point().coords[0])
    while len(centres) and half > CLOSE_IN / 8:
        inside = shapely.contains_xy(piece, centres[:, 0], centres[:, 1])
        depth = measure(centres, walls) * np.where(inside, 1.0, -1.0)
        top = int(np.argmax(depth))
        if depth[top] > best:
            best, at = float(depth[top]), centres[top]
        hopeful = depth + half * math.sqrt(2) > best + CLOSE_IN / 4
        keep = np.flatnonzero(hopeful)
        if len(keep) > _SQUARES:
            keep = keep[np.argsort(-depth[keep])[:_SQUARES]]
        half /= 2
        corners = half * np.array([[-1, -1], [-1, 1], [1, -1], [1, 1]])
        centres = (centres[keep][:, None] + corners).reshape(-1, 2)
    return (float(at[0]), float(at[1])), best


def _round_distance(points: Floats, walls: Floats) -> Floats:
    off, run = points[:, None] - walls[None, :, 0], walls[:, 1] - walls[:, 0]
    t = np.clip((off * run).sum(-1) / np.maximum((run * run).sum(-1), 1e-18), 0, 1)
    gap = off - t[..., None] * run
    return np.hypot(gap[..., 0], gap[..., 1]).min(axis=1)


def _square_distance(points: Floats, walls: Floats) -> Floats:
    """Half the side of the largest square about each point that no wall enters."""
    off, run = walls[None, :, 0] - points[:, None], (walls[:, 1] - walls[:, 0])[None]
    ends = [np.zeros(off.shape[:2]), np.ones(off.shape[:2])]
    with np.errstate(divide="ignore", invalid="ignore"):
        # max(|x|, |y|) along a wall is convex: its least stands at an end, where |x| = |y|, or where one of them is 0
        ends += [
            -(off[..., 0] - off[..., 1]) / (run[..., 0] - run[..., 1]),
            -(off[..., 0] + off[..., 1]) / (run[..., 0] + run[..., 1]),
            -off[..., 0] / run[..., 0],
            -off[..., 1] / run[..., 1],
        ]
    t = np.clip(np.nan_to_num(np.stack(ends), nan=0.0, posinf=0.0, neginf=0.0), 0, 1)
    return np.abs(off + t[..., None] * run).max(axis=-1).min(axis=(0, 2))
