"""The largest circle and the largest level rectangles in a convex pocket, all of them at once. Inches.

An opening of centre p and size s stays within a wall through a, of normal n into the pocket, where
n·p - g s >= n·a + u: g is how far the opening reaches toward the wall for each s, and u how far it reaches anyway. The
largest s stands where three walls are touched, and in a convex pocket no other place is better than one that can't be
bettered nearby.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.clearance.pockets import Circle, Rectangle, Walls

Floats = NDArray[np.float64]
_SAME_DIRECTION = 1e-9
_ALIKE_IN = 1e-9


def inscribed(
    bounds: Walls, shapes: Sequence[float], heights: Sequence[float]
) -> tuple[Circle, dict[float, Rectangle], dict[float, Rectangle]]:
    """The largest circle, the largest rectangle of each of `shapes` (width to height), and the widest of each of
    `heights` that the pocket holds."""
    n, middle = bounds.normals, bounds.lines.mean(axis=(0, 1))
    across, up = np.abs(n).T
    at = (n * (bounds.lines[:, 0] - middle)).sum(axis=1)
    # half a diameter, half a height of each shape, half the width at each height
    g = np.stack([np.ones(len(n)), *(shape * across + up for shape in shapes), *(across for _ in heights)])
    u = np.stack([0 * up] * (1 + len(shapes)) + [up * height / 2 for height in heights])
    centres, sizes = _largest(n, at, g, u)
    places = [(float(x), float(y)) for x, y in centres + middle]
    square = zip(shapes, places[1:], sizes[1:], strict=False)
    level = zip(heights, places[1 + len(shapes) :], sizes[1 + len(shapes) :], strict=True)
    return (
        Circle(places[0], float(2 * sizes[0])),
        {shape: Rectangle(place, float(2 * s * shape), float(2 * s)) for shape, place, s in square},
        {height: Rectangle(place, float(2 * s), height) for height, place, s in level if s > 0},
    )


def _largest(n: Floats, at: Floats, g: Floats, u: Floats) -> tuple[Floats, Floats]:
    """For each kind of opening (k) its best centre (k, 2) and its size (k,), 0 where none fits; normals n (w, 2), at
    (w,), g and u (k, w)."""
    threes = _threes(len(n))
    left = np.concatenate([np.broadcast_to(n[threes], (len(g), *threes.shape, 2)), -g[:, threes, None]], axis=-1)
    regular = np.abs(np.linalg.det(left)) > _SAME_DIRECTION
    left = np.where(regular[..., None, None], left, np.eye(3))
    x = np.linalg.solve(left, (at + u)[:, threes, None])[..., 0]
    spare = (x[..., :2] @ n.T - x[..., 2:] * g[:, None] - (at + u)[:, None]).min(axis=-1)
    size = np.where(regular & (spare > -_ALIKE_IN), x[..., 2], 0.0)
    most = size.max(axis=1)
    # where several places are as good, the middle between them is, too
    best = (size > (most - _ALIKE_IN)[:, None]) & (size > 0)
    return (x[..., :2] * best[..., None]).sum(axis=1) / np.maximum(best.sum(axis=1), 1)[:, None], most


@lru_cache(maxsize=64)
def _threes(count: int) -> NDArray[np.int64]:
    return np.array(list(itertools.combinations(range(count), 3)), dtype=np.int64)
