"""A scene as a plain picture: seen from above and from the lower left, drawn from the farthest to the nearest.

Isometric: x and y of the plan run up to the right and up to the left by 30°, heights upright, all at one scale
(ISO 5456-3). Copies of one truss document that run one way look alike, so each is drawn once and used many times.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import svgwrite
from numpy.typing import NDArray
from svgwrite.base import Title
from svgwrite.container import Group

from trusses.drawing.pens import MARKER, WOOD
from trusses.drawing.text import clean
from trusses.solid.bodies import Body, Prism
from trusses.solid.mesh import box, swept
from trusses.solid.scene import AFTER, BEFORE, TOUCHED, Placed, Scene

Floats = NDArray[np.float64]
_COS, _SIN = math.cos(math.radians(30)), math.sin(math.radians(30))
_LOOKS = np.array([1.0, 1.0, -1.0]) / math.sqrt(3)
"""Which way one looks: to the north-east and down."""
_WIDTH, _MARGIN = 1200.0, 12.0
_TOP, _FRONT, _SIDE = "#fbf3df", "#e9d7b0", "#cdb583"
_WALL_TOP, _WALL_LIGHT, _WALL_DARK = "#f2f0ea", "#e2dfd6", "#cfcbc0"
_SHOWN = {TOUCHED: MARKER, AFTER: MARKER, BEFORE: "#c9c4b8"}


Form = tuple[str, int, str]
"""What looks alike from here: a body, its quarter turns, and what a request does to it."""


def flat(points: Floats) -> Floats:
    """(n, 2): where points (n, 3) of plan and height come to lie, x to the right and y down, inches."""
    x, y, z = points.T
    return np.stack([(x - y) * _COS, (x + y) * -_SIN - z], axis=1)


def picture(scene: Scene, title: str) -> str:
    """The scene as an SVG of its own."""
    svg = svgwrite.Drawing(size=("100%", "100%"), debug=False)
    for name in ("baseProfile", "version", "xmlns:ev"):
        svg.attribs.pop(name, None)
    svg["role"], svg["aria-label"] = "img", f"{clean(title, 90)}, seen from above and from one corner of the plan"
    forms: dict[Form, tuple[str, Floats]] = {}
    # of two at one place the one that is to come
    coming = {(one.mark, one.number) for one in scene.placed if one.shown == AFTER}
    placed = [one for one in scene.placed if one.shown != BEFORE or (one.mark, one.number) not in coming]
    for one in placed:
        key = _key(one)
        if key not in forms:
            name = f"t{len(forms)}"
            forms[key] = name, _form(svg, name, scene.bodies[one.body], one)
    corners = [flat(_corner(one, forms)) for one in placed]
    corners += [flat(box(wall).points) for wall in (*scene.walls, *scene.weights)] + [
        flat(swept(run).points) for run in scene.runs
    ]
    every = np.concatenate(corners) if corners else np.zeros((1, 2))
    low, high = every.min(axis=0), every.max(axis=0)
    wide, tall = np.maximum(high - low, 1.0) + 2 * _MARGIN
    svg.viewbox(*(round(float(v), 1) for v in (*(low - _MARGIN), wide, tall)))
    lines = {"stroke": "#1c2321", "stroke_width": round(float(wide) / _WIDTH * 0.7, 2), "stroke_linejoin": "round"}
    layer = svg.g(**lines)
    svg.add(layer)
    for level in scene.levels:
        walls = [wall for wall in (*scene.walls, *scene.weights) if wall.level == level]
        for wall in sorted(walls, key=lambda wall: -_depth((*_middle(wall.a, wall.b), 0.0))):
            _faces(svg, layer, box(wall).points, box(wall).triangles, (_WALL_TOP, _WALL_LIGHT, _WALL_DARK), wall.label)
        there = [one for one in placed if one.level == level]
        for one in sorted(there, key=lambda one: -_depth(_centre(one, scene.bodies[one.body]))):
            u, v = flat(np.array([[one.x, one.y, one.z]]))[0]
            layer.add(svg.use(f"#{forms[_key(one)][0]}", insert=(round(u, 1), round(v, 1))))
    for run in scene.runs:
        mesh = swept(run)
        _faces(svg, layer, mesh.points, mesh.triangles, ("#dfe5e8", "#c3ccd1", "#a9b4ba"), run.name)
    return str(svg.tostring())


def _middle(a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float]:
    return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2


def _depth(point: Sequence[float]) -> float:
    """How far along the way one looks."""
    return float(np.asarray(point) @ _LOOKS)


def _centre(one: Placed, body: Body) -> tuple[float, float, float]:
    left, low, right, high = body.bounds
    return one.at((left + right) / 2, 0.0, (low + high) / 2)


def _key(one: Placed) -> Form:
    return one.body, one.quarters, one.shown


def _corner(one: Placed, forms: dict[Form, tuple[str, Floats]]) -> Floats:
    return forms[_key(one)][1] + np.array([one.x, one.y, one.z])


def _form(svg: svgwrite.Drawing, name: str, body: Body, like: Placed) -> Floats:
    """Draws a body about the foot of its left bearing into the definitions; its corners."""
    here = Placed("", 0, "", 0, "", like.along, 0.0, 0.0, 0.0, turned=like.turned)
    colour = _SHOWN.get(like.shown, WOOD)
    group = svg.g(id=name)
    # one sees the faces toward the south and the west: the near one (w low) of what runs along x or against y
    side = -1 if like.quarters in (0, 3) else 1
    colour_of_side = _FRONT if like.along == "x" else _SIDE
    tops: list[Floats] = []
    fronts: list[Floats] = []
    every: list[Floats] = []
    for prism in body.wood:
        seen, hidden = (prism.near, prism.far) if side < 0 else (prism.far, prism.near)
        fronts.append(_at(here, prism, seen))
        every += [fronts[-1], _at(here, prism, hidden)]
        tops += _edges_seen(here, prism)
    group.add(svg.path(d="".join(map(_path, tops)), fill=_TOP if like.shown != BEFORE else colour))
    group.add(svg.path(d="".join(map(_path, fronts)), fill=colour if like.shown else colour_of_side))
    for gap in body.openings:
        group.add(svg.path(d=_path(_at(here, gap, 0.0)), fill="#6b2d82", fill_opacity=0.35, stroke="#6b2d82"))
    svg.defs.add(group)
    return np.concatenate(every)


def _at(here: Placed, prism: Prism, w: float) -> Floats:
    return np.array([here.at(s, w, z) for s, z in prism.outline])


def _edges_seen(here: Placed, prism: Prism) -> list[Floats]:
    """The sides of a prism that one sees from above: those whose normal points against the way one looks."""
    found = []
    outline = prism.outline
    for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        ends = ((a, prism.near), (b, prism.near), (b, prism.far), (a, prism.far))
        corners = np.array([here.at(point[0], w, point[1]) for point, w in ends])
        normal = np.cross(corners[1] - corners[0], corners[3] - corners[0])
        run = b - a
        outward = np.array([*here.at(run[1], 0.0, -run[0])])
        if normal @ outward < 0:
            normal = -normal
        if normal @ _LOOKS < -1e-9:
            found.append(corners)
    return found


def _path(corners: Floats) -> str:
    return "M" + "L".join(f"{u:.1f},{v:.1f}" for u, v in flat(corners)) + "Z"


def _faces(
    svg: svgwrite.Drawing, layer: Group, points: Floats, ears: NDArray[np.int64], fills: tuple[str, str, str], says: str
) -> None:
    """What one sees of a convex solid: its triangles without their edges, then nothing more."""
    group = svg.g(stroke="none")
    group.add(Title(clean(says)))
    a, b, c = (points[ears[:, k]] for k in range(3))
    normals = np.cross(b - a, c - a)
    for k in np.argsort(-points[ears].mean(axis=1) @ _LOOKS):
        if normals[k] @ _LOOKS < 0:
            x, y, z = np.abs(normals[k])
            fill = fills[0] if z > max(x, y) else fills[1] if y > x else fills[2]
            group.add(svg.path(d=_path(points[ears[k]]), fill=fill, stroke=fill, stroke_width=0.5))
    layer.add(group)
