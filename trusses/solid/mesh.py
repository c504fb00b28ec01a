"""Triangles of prisms, walls and runs. Inches: x and y in plan (s and w of a body), z up."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from trusses.solid.bodies import Prism, triangles
from trusses.solid.scene import Run, Wall

Floats = NDArray[np.float64]
_ROUND = 20


class Mesh(NamedTuple):
    """points and normals (n, 3), grain (n, 2) along and across the wood, parts (n,) numbers of members, and triangles
    (t, 3), counter-clockwise seen from outside."""

    points: Floats
    normals: Floats
    grain: Floats
    parts: NDArray[np.int64]
    triangles: NDArray[np.int64]


def merged(meshes: Sequence[Mesh]) -> Mesh:
    starts = np.cumsum([0, *(len(one.points) for one in meshes[:-1])])
    return Mesh(
        np.concatenate([one.points for one in meshes]),
        np.concatenate([one.normals for one in meshes]),
        np.concatenate([one.grain for one in meshes]),
        np.concatenate([one.parts for one in meshes]),
        np.concatenate([one.triangles + start for one, start in zip(meshes, starts, strict=True)]),
    )


def prism(one: Prism, part: int = 0) -> Mesh:
    """Both faces and a side for each edge of the outline; each face has corners of its own, so that edges are sharp."""
    outline = np.ascontiguousarray(one.outline)
    count = len(outline)
    ears = triangles(count, outline.tobytes())
    s, z = outline.T
    faces = [
        # w grows to the left of the span, away from who looks at the drawing: its face is the near one
        _face(np.stack([s, np.full(count, one.near), z], axis=1), (0.0, -1.0, 0.0), ears),
        _face(np.stack([s, np.full(count, one.far), z], axis=1), (0.0, 1.0, 0.0), ears[:, ::-1]),
    ]
    for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        run = b - a
        length = math.hypot(*run)
        if length < 1e-9:
            continue
        corners = np.array([[*_in(a, one.near)], [*_in(b, one.near)], [*_in(b, one.far)], [*_in(a, one.far)]])
        faces.append(_face(corners, (run[1] / length, 0.0, -run[0] / length), np.array([[0, 1, 2], [0, 2, 3]])))
    mesh = _outward(merged(faces))
    along = mesh.points[:, [0, 2]] @ np.array(one.along)
    across = mesh.points[:, [0, 2]] @ np.array([-one.along[1], one.along[0]]) + mesh.points[:, 1]
    return mesh._replace(grain=np.stack([along, across], axis=1), parts=np.full(len(mesh.points), part))


def _in(point: Floats, w: float) -> tuple[float, float, float]:
    return float(point[0]), w, float(point[1])


def _face(corners: Floats, normal: tuple[float, float, float], ears: NDArray[np.int64]) -> Mesh:
    count = len(corners)
    return Mesh(corners, np.tile(normal, (count, 1)), np.zeros((count, 2)), np.zeros(count, dtype=np.int64), ears)


def box(wall: Wall) -> Mesh:
    """A wall as a box about its line, square at its ends and half its thickness longer, so that corners close."""
    (ax, ay), (bx, by) = wall.a, wall.b
    length = math.dist(wall.a, wall.b) or 1.0
    along = np.array([bx - ax, by - ay]) / length * wall.thick / 2
    left = np.array([-along[1], along[0]])
    a, b = np.array(wall.a) - along, np.array(wall.b) + along
    base = np.array([a - left, b - left, b + left, a + left])
    return _upright(base, wall.bottom, wall.top)


def _upright(base: Floats, bottom: float, top: float) -> Mesh:
    """A plumb prism on a convex base (n, 2), counter-clockwise seen from above."""
    count = len(base)
    low, high = (np.column_stack([base, np.full(count, level)]) for level in (bottom, top))
    fan = np.array([[0, i, i + 1] for i in range(1, count - 1)])
    faces = [_face(high, (0.0, 0.0, 1.0), fan), _face(low, (0.0, 0.0, -1.0), fan[:, ::-1])]
    for i in range(count):
        j = (i + 1) % count
        run = base[j] - base[i]
        length = math.hypot(*run) or 1.0
        corners = np.array([low[i], low[j], high[j], high[i]])
        faces.append(_face(corners, (run[1] / length, -run[0] / length, 0.0), np.array([[0, 1, 2], [0, 2, 3]])))
    return _outward(merged(faces))


def swept(run: Run) -> Mesh:
    """A run's section along its path, each straight piece by itself, its ends closed."""
    pieces = []
    for a, b in itertools.pairwise(np.array(run.points, dtype=np.float64)):
        along = b - a
        length = float(np.linalg.norm(along))
        if length < 1e-9:
            continue
        along = along / length
        side = np.cross(along, [0.0, 0.0, 1.0])
        side = side / np.linalg.norm(side) if np.linalg.norm(side) > 1e-6 else np.array([1.0, 0.0, 0.0])
        up = np.cross(side, along)
        if run.round:
            turn = 2 * math.pi / _ROUND * np.arange(_ROUND)
            ring = np.stack([np.cos(turn) * run.width / 2, np.sin(turn) * run.width / 2], axis=1)
        else:
            ring = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * np.array([run.width, run.height]) / 2
        section = ring[:, :1] * side + ring[:, 1:] * up
        count = len(section)
        fan = np.array([[0, i, i + 1] for i in range(1, count - 1)])
        pieces += [_face(a + section, tuple(-along), fan), _face(b + section, tuple(along), fan[:, ::-1])]
        for i in range(count):
            j = (i + 1) % count
            out = section[i] + section[j]
            normal = np.cross(along, section[j] - section[i])
            normal = normal / np.linalg.norm(normal) * (1 if normal @ out > 0 else -1)
            corners = np.array([a + section[i], b + section[i], b + section[j], a + section[j]])
            pieces.append(_face(corners, tuple(normal), np.array([[0, 1, 2], [0, 2, 3]])))
    return _outward(merged(pieces))


def _outward(mesh: Mesh) -> Mesh:
    """Each triangle turned so that it is counter-clockwise seen from where its normal points."""
    a, b, c = (mesh.points[mesh.triangles[:, k]] for k in range(3))
    wrong = (np.cross(b - a, c - a) * mesh.normals[mesh.triangles[:, 0]]).sum(axis=1) < 0
    turned = mesh.triangles.copy()
    turned[wrong] = turned[wrong][:, ::-1]
    return mesh._replace(triangles=turned)
