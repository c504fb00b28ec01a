"""Bearings: the wall plates in section below the wood, the ground hatched, the width written beside.

A plate that carries on across the drawing is crossed, as American drawings show framing cut through.
"""

from __future__ import annotations

import math

from svgwrite.container import Group

from trusses.analysis.units import tape_inches
from trusses.drawing import pens as P
from trusses.drawing.outline import Outline, partner
from trusses.drawing.paper import Paper, Point
from trusses.drawing.placing import box
from trusses.drawing.shape import Piece, Shape, Support
from trusses.drawing.text import NAME_LETTERS, TAG_LETTERS, clean, pounds, width_of

_PLATE_IN = 1.5
_LEAST_COS = 0.3


def seat(shape: Shape, support: Support) -> float:
    """The level, in inches, at which the wood sits on a bearing: the highest underside over its width."""
    borne = [p for p in shape.at[support.joint] if p.role == "bottom_chord"]
    borne = borne or [p for p in shape.at[support.joint] if p.role == "top_chord"]
    levels = [level for piece in borne for level in _undersides(shape, piece, support)]
    return max(levels, default=support.at[1])


def _undersides(shape: Shape, piece: Piece, support: Support) -> list[float]:
    dx, dy = piece.away_from(support.joint)
    if abs(dx) < _LEAST_COS:
        return [support.at[1]]
    inner = math.copysign(support.width / 2, dx)
    steps = (0.0, inner) if partner(shape, piece, support.joint) else (-inner, 0.0, inner)
    return [support.at[1] + step * dy / dx - piece.half / abs(dx) for step in steps]


def draw_bearings(
    paper: Paper, shape: Shape, outlines: dict[str, Outline], forces: dict[str, tuple[float, float]] | None
) -> None:
    layer = paper.group("bearings", label="Bearings")
    for support in shape.supports:
        name = clean(support.joint, TAG_LETTERS)
        group = paper.group("bearing", layer)
        group["data-joint"] = clean(support.joint, NAME_LETTERS)
        group["data-restrains"] = support.restrains
        paper.title(group, f"bearing at {name}, {tape_inches(support.width)} wide")
        if not support.holds_up:
            _draw_side_stop(paper, group, shape, support, outlines)
            continue
        bottom = _draw_plates(paper, group, shape, support)
        if paper.pens.names:
            _label(paper, group, shape, support, bottom, (forces or {}).get(support.joint))


def plate_height(paper: Paper) -> float:
    """One of the two plates, user units."""
    return max(_PLATE_IN * paper.view.scale, paper.pens.small * 0.32)


def ground_level(paper: Paper, shape: Shape, support: Support) -> float:
    """The underside of a bearing's plates on the drawing."""
    return paper.view.at((0.0, seat(shape, support)))[1] + 2 * plate_height(paper)


def _draw_plates(paper: Paper, group: Group, shape: Shape, support: Support) -> float:
    u, top = paper.view.at((support.at[0], seat(shape, support)))
    width, height = support.width * paper.view.scale, plate_height(paper)
    pens = paper.pens
    for i in (0, 1):
        corners = box(u, top + (i + 0.5) * height, width, height)
        paper.polygon(group, corners, class_="plate", fill=P.PAPER, stroke=P.INK, stroke_width=pens.narrow)
        if pens.dimensions:
            paper.polyline(
                group,
                (corners[0], corners[2]),
                (corners[1], corners[3]),
                class_="plate-cross",
                stroke=P.INK,
                stroke_width=pens.narrow * 0.7,
            )
    bottom = top + 2 * height
    reach = max(width * 0.8, pens.small * 0.75)
    paper.line(group, (u - reach, bottom), (u + reach, bottom), class_="ground", stroke=P.INK, stroke_width=pens.wide)
    _hatch_ground(paper, group, (u - reach, bottom), (u + reach, bottom))
    paper.room.take(box(u, (top + bottom) / 2 + 3, 2 * reach, bottom - top + pens.small))
    return bottom


def _hatch_ground(paper: Paper, group: Group, start: Point, end: Point) -> None:
    """Short strokes on the far side of a line, at 45° to it."""
    length = math.dist(start, end)
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    depth = paper.pens.small * 0.5
    count = max(3, round(length / (depth * 0.85)))
    lines = []
    for i in range(count):
        along = length * (i + 1) / count
        x, y = start[0] + ux * along, start[1] + uy * along
        lines.append(((x, y), (x - ux * depth - uy * depth, y - uy * depth + ux * depth)))
    paper.polyline(group, *lines, class_="ground-hatch", stroke=P.INK, stroke_width=paper.pens.narrow)


def _draw_side_stop(paper: Paper, group: Group, shape: Shape, support: Support, outlines: dict[str, Outline]) -> None:
    """A bearing that only keeps the joint from sliding: a stop at the face of the wood."""
    outward = -1.0 if support.at[0] <= shape.middle else 1.0
    xs = [
        x
        for piece in shape.at[support.joint]
        for x, y in outlines[piece.id].corners
        if abs(y - support.at[1]) < 2 * piece.depth
    ]
    face = (min if outward < 0 else max)([*xs, support.at[0]])
    half = max(support.width / 2, 4 / paper.view.scale)
    lower, upper = paper.view.at((face, support.at[1] - half)), paper.view.at((face, support.at[1] + half))
    start, end = (upper, lower) if outward < 0 else (lower, upper)
    paper.line(group, start, end, class_="ground", stroke=P.INK, stroke_width=paper.pens.wide)
    _hatch_ground(paper, group, start, end)
    paper.room.take(box((start[0] + end[0]) / 2 + outward * 6, (start[1] + end[1]) / 2, 14, abs(end[1] - start[1]) + 6))


def _label(
    paper: Paper, group: Group, shape: Shape, support: Support, bottom: float, force: tuple[float, float] | None
) -> None:
    """Joint, width and, in a view of forces, what the wall carries: beside the plates, toward the middle."""
    width = tape_inches(support.width)
    one_line = [f"bearing {clean(support.joint, TAG_LETTERS)}, {width}"]
    two_lines = [f"bearing {clean(support.joint, TAG_LETTERS)}", width]
    if not paper.pens.dimensions:
        one_line, two_lines = [f"{width} bearing"], [width]
    carried = [] if force is None else [f"{pounds(force[0])} down"]
    if force is not None and force[1] >= 0.5:
        carried.append(f"{pounds(force[1])} uplift")
    size = paper.pens.small
    toward = 1.0 if support.at[0] <= shape.middle else -1.0
    u, _ = paper.view.at(support.at)
    reach = max(support.width * paper.view.scale * 0.8, size * 0.75) + size * 0.5
    first = bottom - 2 * plate_height(paper) + size * 0.85
    options = []
    for lines in ([*one_line, *carried], [*two_lines, *carried]):
        wide, high = max(width_of(line, size) for line in lines), size * 1.2 * len(lines)
        for side, drop in ((s, d) for d in (0.0, size, 2 * size) for s in (toward, -toward)):
            middle = (u + side * (reach + wide / 2), first + high / 2 - size * 0.6 + drop)
            options.append((box(*middle, wide, high), (side, drop, lines)))
    side, drop, lines = paper.room.first_free(options) or options[0][1]
    for i, line in enumerate(lines):
        anchor = "start" if side > 0 else "end"
        at = (u + side * reach, first + drop + i * size * 1.2)
        paper.text(group, line, at, anchor=anchor, fill=P.INK, kind="bearing-label")
