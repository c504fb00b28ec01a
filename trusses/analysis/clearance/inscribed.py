"""The largest circle and the largest level rectangles in a pocket into which wood juts, exact to rounding. Inches.

An opening that can't be larger touches the pocket's walls in three places: sides of the pocket, or corners where wood
juts into it. So each three of them give a candidate centre, and the best is the one farthest from all walls: as the
circle measures for a circle, and for a rectangle of one shape as a square does in a plane squeezed to its shape. For
pockets of many walls the plane is halved into squares until each has few walls near, those dropped that can't hold the
best. `convex` is quicker where a pocket is convex, as most are.

The widest rectangle of one height is a level line: the longest in the region where a plumb line of that height is free.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray

from trusses.analysis.clearance.free_space import grown
from trusses.analysis.clearance.overlay import difference, union
from trusses.analysis.clearance.pockets import Circle, Rectangle, Walls, walls
from trusses.analysis.format.model import Opening

Floats = NDArray[np.float64]
_FEW = 8
#: Three walls are no three where their directions are the same to this.
_SAME_DIRECTION = 1e-9
#: Squares of this half side are as good as points, inches.
_POINT_IN = 1e-8
_SQUARES = 4_000
#: Places whose sizes differ by no more are as good as each other; the middle between them is taken, inches.
_ALIKE_IN = 1e-9
#: So much of a wanted height is let go, inches: a slot exactly as high stays a slot.
_SLOT_IN = 1e-8
_QUARTERS = np.array([[-1.0, -1.0], [-1.0, 1.0], [1.0, -1.0], [1.0, 1.0]])


def circle(region: shapely.Polygon) -> Circle:
    """The largest circle in a pocket."""
    centre, radius = _deepest(region, square=False)
    return Circle(centre, 2 * radius)


def rectangle(region: shapely.Polygon, width_to_height: float) -> Rectangle:
    """The largest level rectangle of one shape in a pocket."""
    squeezed = shapely.transform(region, lambda xy: xy / [width_to_height, 1.0])
    (x, y), half = _deepest(squeezed, square=True)
    return Rectangle((x * width_to_height, y), 2 * half * width_to_height, 2 * half)


def widest(region: shapely.Polygon, height_in: float) -> Rectangle | None:
    """The widest level rectangle of one height in a pocket; None where nothing so high fits."""
    bounds = walls(region)
    plumb = Opening("", "rectangle", (0.0, 0.0), width_in=0.0, height_in=height_in - _SLOT_IN)
    kept = shapely.polygons(grown(bounds.lines, np.zeros(len(bounds.lines)), plumb))
    free = difference(region, union([part for part in kept if part.area > 0]))
    found = [
        line
        for part in shapely.get_parts(free)
        if part.geom_type == "Polygon" and not part.is_empty
        for line in _longest_level_lines(part)
    ]
    if not found:
        return None
    width, centre = max(found, key=lambda line: line[0])
    return Rectangle(centre, width, height_in)


def _longest_level_lines(part: shapely.Polygon) -> Iterator[tuple[float, tuple[float, float]]]:
    """The longest level line between each two levels at which a region has corners, and its middle: between them its
    sides run straight on, so that of what lies between two of them the width is linear."""
    edges = np.concatenate([_edges(ring) for ring in shapely.get_rings(part)])
    edges = np.where((edges[:, :1, 1] > edges[:, 1:, 1])[..., None], edges[:, ::-1], edges)
    for low, high in itertools.pairwise(np.unique(edges[:, :, 1])):
        sides = edges[(edges[:, 0, 1] <= low) & (edges[:, 1, 1] >= high)]
        foot, run = sides[:, 0], sides[:, 1] - sides[:, 0]
        x = foot[:, 0] + run[:, 0] / run[:, 1] * (np.array([[low], [high]]) - foot[:, 1])
        x = x[:, np.argsort(x.sum(axis=0), kind="stable")]
        width, middle = x[:, 1::2] - x[:, ::2], (x[:, 1::2] + x[:, ::2]) / 2
        k = int(np.argmax(width.max(axis=0)))
        # where the sides are parallel, halfway up
        up = 0.5 if abs(width[0, k] - width[1, k]) < _ALIKE_IN else float(width[1, k] > width[0, k])
        centre = (1 - up) * np.array([middle[0, k], low]) + up * np.array([middle[1, k], high])
        yield float(width[:, k].max()), (float(centre[0]), float(centre[1]))


def _edges(ring: shapely.LinearRing) -> Floats:
    """(n, 2, 2): the sides of a ring that have a length."""
    points = shapely.get_coordinates(ring)
    edges = np.stack([points[:-1], points[1:]], axis=1)
    return edges[(edges[:, 0] != edges[:, 1]).any(axis=1)]


def _deepest(region: shapely.Polygon, *, square: bool) -> tuple[tuple[float, float], float]:
    """The point of a pocket farthest from its walls, and how far that is."""
    bounds = walls(region)
    shapely.prepare(region)
    low, high = np.array(region.bounds[:2]), np.array(region.bounds[2:])
    centres, half = ((low + high) / 2)[None], float((high - low).max()) / 2
    points, best = np.array([region.representative_point().coords[0]]), 0.0
    while len(centres):
        away = _away(centres, bounds.lines, square=square)
        inside = shapely.contains_xy(region, centres[:, 0], centres[:, 1])
        depth, reach = away.min(axis=1) * np.where(inside, 1.0, -1.0), half * (1.0 if square else math.sqrt(2))
        hopeful = np.flatnonzero(depth + reach > best - _ALIKE_IN)
        near = away[hopeful] <= (depth[hopeful] + 2 * reach)[:, None]
        few = near.sum(axis=1) <= _FEW
        places = [_touching(bounds.some(which), square=square) for which in np.unique(near[few], axis=0)]
        if half < _POINT_IN:
            places, few = [*places, centres[hopeful]], np.ones(len(hopeful), dtype=bool)
        points, best = _best(region, bounds, np.concatenate([points, *places]), square=square)
        centres = centres[hopeful[~few]][np.argsort(-depth[hopeful[~few]])[:_SQUARES]]
        half /= 2
        centres = (centres[:, None] + half * _QUARTERS).reshape(-1, 2)
    middle = points.mean(axis=0)
    if _best(region, bounds, middle[None], square=square)[1] < best - _ALIKE_IN:
        middle = points[0]
    return (float(middle[0]), float(middle[1])), best


def _best(region: shapely.Polygon, bounds: Walls, points: Floats, *, square: bool) -> tuple[Floats, float]:
    """Those of some points that lie farthest from the walls, and how far; points outside of the pocket don't count."""
    points = points[shapely.intersects_xy(region, points[:, 0], points[:, 1])]
    if not len(points):
        return np.empty((0, 2)), 0.0
    depth = _away(points, bounds.lines, square=square).min(axis=1)
    return points[depth > depth.max() - _ALIKE_IN], float(depth.max())


def _touching(bounds: Walls, *, square: bool) -> Floats:
    """(p, 2): the centres of the squares, or circles, that touch three of the walls and corners."""
    middle = bounds.lines.mean(axis=(0, 1))
    n, c = bounds.normals, bounds.corners - middle
    at = (n * (bounds.lines[:, 0] - middle)).sum(axis=1)
    rows = _square_rows(n, at, c) if square else _round_rows(n, at, c)
    rows = rows[list(itertools.combinations(range(len(rows)), 3))]
    return middle + (_solved(rows) if square else _solved_with_square(rows))


def _square_rows(n: Floats, at: Floats, c: Floats) -> Floats:
    """(m, 4): what a square of centre x, y and half side s that touches a wall or a corner satisfies, and the right
    side: n·p - s(|nx| + |ny|) = n·a, and ±x - s = ±cx or ±y - s = ±cy."""
    rows = [np.column_stack([n, -np.abs(n).sum(axis=1), at])]
    for axis in (np.array([1.0, 0.0]), np.array([0.0, 1.0])):
        for sign in (1.0, -1.0):
            rows.append(np.column_stack([np.tile(sign * axis, (len(c), 1)), -np.ones(len(c)), sign * c @ axis]))
    return np.concatenate(rows)


def _solved(rows: Floats) -> Floats:
    """(p, 2): the x, y of each three equations (t, 3, 4) that have one solution."""
    rows = rows[np.abs(np.linalg.det(rows[..., :3])) > _SAME_DIRECTION]
    return np.asarray(np.linalg.solve(rows[..., :3], rows[..., 3:])[:, :2, 0], dtype=np.float64)


def _round_rows(n: Floats, at: Floats, c: Floats) -> Floats:
    """(m, 5): what a circle of centre x, y and radius r that touches a wall or a corner satisfies, with
    q = x² + y² - r², and the right side: n·p - r = n·a, and |p - c|² = r² or q - 2c·p = -|c|²."""
    walls_too = np.column_stack([n, -np.ones(len(n)), np.zeros(len(n)), at])
    corners_too = np.column_stack([-2 * c, np.zeros(len(c)), np.ones(len(c)), -(c * c).sum(axis=1)])
    return np.concatenate([walls_too, corners_too])


def _solved_with_square(rows: Floats) -> Floats:
    """(p, 2): the x, y of each three equations (t, 3, 5) in x, y, r, q: they leave a line, which meets
    x² + y² - r² - q = 0 in two points at most."""
    _, size, base = np.linalg.svd(rows[..., :4])
    regular = size[:, 2] > _SAME_DIRECTION * size[:, 0]
    rows, along = rows[regular], base[regular, 3]
    start = (np.linalg.pinv(rows[..., :4]) @ rows[..., 4:])[..., 0]
    form = np.array([1.0, 1.0, -1.0, 0.0])
    a, b, k = ((one * form * other).sum(axis=1) for one, other in ((along, along), (along, start), (start, start)))
    b, k = 2 * b - along[:, 3], k - start[:, 3]
    root = np.sqrt(np.maximum(b * b - 4 * a * k, 0.0))
    m = -(b + np.where(b < 0, -root, root)) / 2
    with np.errstate(divide="ignore", invalid="ignore"):
        # the form that also holds where a is nothing
        points = (start + np.stack([k / m, m / a])[..., None] * along)[..., :2].reshape(-1, 2)
    return points[np.isfinite(points).all(axis=1)]


def _away(points: Floats, lines: Floats, *, square: bool) -> Floats:
    """(p, n): how far each point is from each wall; with `square`, half the side of the largest square about it that
    the wall doesn't enter."""
    off, run = lines[None, :, 0] - points[:, None], (lines[:, 1] - lines[:, 0])[None]
    if not square:
        t = np.clip(-(off * run).sum(axis=-1) / (run * run).sum(axis=-1), 0, 1)
        gap = off + t[..., None] * run
        return np.hypot(gap[..., 0], gap[..., 1])
    with np.errstate(divide="ignore", invalid="ignore"):
        # max(|x|, |y|) along a wall is convex: its least stands at an end, where |x| = |y|, or where one of them is 0
        t = [
            np.zeros(off.shape[:2]),
            np.ones(off.shape[:2]),
            -(off[..., 0] - off[..., 1]) / (run[..., 0] - run[..., 1]),
            -(off[..., 0] + off[..., 1]) / (run[..., 0] + run[..., 1]),
            -off[..., 0] / run[..., 0],
            -off[..., 1] / run[..., 1],
        ]
    along = np.clip(np.nan_to_num(np.stack(t), nan=0.0, posinf=0.0, neginf=0.0), 0, 1)
    return np.abs(off + along[..., None] * run).max(axis=-1).min(axis=0)
