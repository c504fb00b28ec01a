"""Bearings: the wall plates in section below the wood, the ground hatched, the width written beside.

A plate that carries on across the drawing is crossed, as American drawings show framing cut through.
"""

from __future__ import annotations

import math

from svgwrite.container import Group

from trusses.analysis.words.lengths import tape_inches
from trusses.drawing import pens as P
from trusses.drawing.measures import seat
from trusses.drawing.outline import Outline
from trusses.drawing.paper import Paper, Point
from trusses.drawing.placing import Spot, box
from trusses.drawing.shape import Shape, Support
from trusses.drawing.text import NAME_LETTERS, TAG_LETTERS, clean, magnitude, width_of

_PLATE_IN = 1.5
_LEAST_LB = 0.5
_LEADING = 1.2


def draw_bearings(
    paper: Paper, shape: Shape, outlines: dict[str, Outline], carried: dict[str, tuple[float, float]] | None
) -> None:
    """`carried` has for each bearing the magnitude down on the wall and the uplift, where forces are shown."""
    layer = paper.group("bearings", label="Bearings")
    for support in shape.supports:
        if not paper.shows([paper.view.at(support.at)], beyond=200.0):
            continue
        group = paper.group("bearing", layer)
        group["data-joint"] = clean(support.joint, NAME_LETTERS)
        group["data-restrains"] = support.restrains
        paper.title(group, f"bearing at {clean(support.joint, TAG_LETTERS)}, {tape_inches(support.width)} wide")
        if not support.holds_up:
            _draw_side_stop(paper, group, shape, support, outlines)
            continue
        _draw_plates(paper, group, shape, support)
        if paper.pens.names:
            _label(paper, group, shape, support, (carried or {}).get(support.joint))


def plate_height(paper: Paper) -> float:
    """One of the two plates, user units."""
    return max(_PLATE_IN * paper.view.scale, paper.pens.small * 0.32)


def ground_level(paper: Paper, shape: Shape, support: Support) -> float:
    """The underside of a bearing's plates on the drawing."""
    return paper.view.at((0.0, seat(shape, support)))[1] + 2 * plate_height(paper)


def _ground_half(paper: Paper, support: Support) -> float:
    return max(support.width * paper.view.scale * 0.8, paper.pens.small * (0.75 if paper.pens.names else 0.4))


def _draw_plates(paper: Paper, group: Group, shape: Shape, support: Support) -> None:
    u, top = paper.view.at((support.at[0], seat(shape, support)))
    width, high = support.width * paper.view.scale, plate_height(paper)
    for i in (0, 1):
        plate = box(u, top + (i + 0.5) * high, width, high)
        paper.polygon(group, plate, class_="plate paper", fill=P.PAPER, **paper.narrow())
        if paper.pens.dimensions:
            paper.polyline(group, (plate[0], plate[2]), (plate[1], plate[3]), class_="plate-cross", **paper.extension())
    bottom, half = top + 2 * high, _ground_half(paper, support)
    _draw_ground(paper, group, (u - half, bottom), (u + half, bottom))
    paper.room.take(box(u, (top + bottom) / 2 + 3, 2 * half, bottom - top + paper.pens.small))


def _draw_ground(paper: Paper, group: Group, start: Point, end: Point) -> None:
    """A line with short strokes at 45° on its far side."""
    paper.line(group, start, end, class_="ground", **paper.wide())
    if not paper.pens.names:
        return
    length = math.dist(start, end)
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    depth = paper.pens.small * 0.5
    count = max(3, round(length / (depth * 0.85)))
    lines = []
    for i in range(1, count + 1):
        x, y = start[0] + ux * length * i / count, start[1] + uy * length * i / count
        lines.append(((x, y), (x - ux * depth - uy * depth, y - uy * depth + ux * depth)))
    paper.polyline(group, *lines, class_="ground-hatch", **paper.narrow())


def _draw_side_stop(paper: Paper, group: Group, shape: Shape, support: Support, outlines: dict[str, Outline]) -> None:
    """A bearing that only keeps the joint from sliding: a stop at the face of the wood."""
    outward = -1.0 if support.at[0] <= shape.middle else 1.0
    near = [
        x
        for piece in shape.at[support.joint]
        for x, y in outlines[piece.id].corners
        if abs(y - support.at[1]) < 2 * piece.depth
    ]
    face = (min if outward < 0 else max)([*near, support.at[0]])
    half = max(support.width / 2, 4 / paper.view.scale)
    lower, upper = paper.view.at((face, support.at[1] - half)), paper.view.at((face, support.at[1] + half))
    start, end = (upper, lower) if outward < 0 else (lower, upper)
    _draw_ground(paper, group, start, end)
    paper.room.take(box((start[0] + end[0]) / 2 + outward * 6, (start[1] + end[1]) / 2, 14, abs(end[1] - start[1]) + 6))


def _label(paper: Paper, group: Group, shape: Shape, support: Support, carried: tuple[float, float] | None) -> None:
    """Joint, width and what the wall carries: beside the plates, toward the middle where there is room."""
    size = paper.pens.small
    u = paper.view.at(support.at)[0]
    off = _ground_half(paper, support) + size * 0.5
    # with magnitude to show, the row under the wood is left to the chord's own label
    first = ground_level(paper, shape, support) - 2 * plate_height(paper) + size * (0.85 if carried is None else 2.0)
    toward = 1 if support.at[0] <= shape.middle else -1
    found = paper.room.first_free(
        Spot(box(u + side * (off + wide / 2), first + high / 2 - size * 0.6 + drop, wide, high), (side, drop, lines))
        for lines in _wordings(paper, support, carried)
        for wide, high in [(max(width_of(line, size) for line in lines), size * _LEADING * len(lines))]
        for drop in (0.0, size, 2 * size, 3 * size, 4 * size)
        for side in (toward, -toward)
    )
    if found is None:
        return
    side, drop, lines = found
    name = paper.group("bearing-name", group)
    for i, line in enumerate(lines):
        anchor = "start" if side > 0 else "end"
        at = (u + side * off, first + drop + i * size * _LEADING)
        paper.text(name, line, at, anchor=anchor, fill=P.INK, kind="bearing-label")
    paper.stands(name, lambda other: _label(other, other.group("bearings"), shape, support, carried))


def _wordings(paper: Paper, support: Support, carried: tuple[float, float] | None) -> list[list[str]]:
    """What the label says, in few long lines and in more short ones."""
    width, name = tape_inches(support.width), clean(support.joint, TAG_LETTERS)
    forces = []
    if carried is not None:
        down, uplift = carried
        forces = [f"{magnitude(down)} down"] + ([f"{magnitude(uplift)} uplift"] if uplift >= _LEAST_LB else [])
    if not paper.pens.dimensions:
        return [[f"{name} {width}", *forces], [name, width, *forces], [name, *forces[:1]], [name]]
    return [
        [f"bearing {name}, {width}", *forces],
        [f"bearing {name}", width, *forces],
        [f"{name} {width}", *forces],
        [name, width, *forces],
        [name],
    ]
