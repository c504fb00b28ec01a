"""Bearings: the wall plates in section below the wood, the ground hatched, the width written beside.

A plate that carries on across the drawing is crossed, as American drawings show framing cut through.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from svgwrite.container import Group

from trusses.analysis.requirements.supports import paired
from trusses.analysis.words.lengths import tape_inches
from trusses.drawing import pens as P
from trusses.drawing.measures import seat, wood_at
from trusses.drawing.outline import Outline
from trusses.drawing.paper import Paper, Point
from trusses.drawing.placing import Spot, around, box
from trusses.drawing.shape import Shape, Support
from trusses.drawing.text import NAME_LETTERS, TAG_LETTERS, clean, magnitude, width_of

_PLATE_IN = 1.5
_LEAST_LB = 0.5
_STAYS = 0.01
_LEADING = 1.2


@dataclass(frozen=True)
class AskedBearing:
    """A bearing that somebody asks for at `x_in`, or that is asked to be `gone` from there, or to move there from
    `from_in`; inches."""

    x_in: float
    width_in: float
    gone: bool = False
    from_in: float | None = None

    @property
    def moves(self) -> str:
        """8" to the left; empty where it doesn't move."""
        return _moves(self.x_in - self.from_in) if self.from_in is not None else ""


def _moves(by_in: float) -> str:
    return f"{tape_inches(abs(by_in))} to the {'right' if by_in > 0 else 'left'}"


def draw_bearings(
    paper: Paper,
    shape: Shape,
    outlines: dict[str, Outline],
    carried: dict[str, tuple[float, float]] | None,
    before: Shape | None = None,
) -> None:
    """`carried` has for each bearing the magnitude down on the wall and the uplift, where forces are shown; those that
    stand nowhere in `before` are marked, and how far those went that moved."""
    layer = paper.group("bearings", label="Bearings")
    came = _came(shape, before) if before is not None else {}
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
            _label(paper, group, shape, support, (carried or {}).get(support.joint), came.get(support.joint))


def _came(shape: Shape, before: Shape) -> dict[str, str]:
    """{joint: how far it moved from where it stood before, or nothing where it was added} of the bearings that stand
    where none stood."""
    stood = {one.joint: one.at for one in before.held_up}
    same = paired(stood, {one.joint: one.at for one in shape.held_up})
    by = {one.joint: one.at[0] - stood[same[one.joint]][0] if one.joint in same else None for one in shape.held_up}
    return {joint: "" if far is None else _moves(far) for joint, far in by.items() if far is None or abs(far) >= _STAYS}


def draw_asked_bearings(paper: Paper, outlines: dict[str, Outline], asked: Sequence[AskedBearing]) -> None:
    """Plates dashed under the wood where a bearing is asked for, struck out where it is to be gone; an arrow from where
    it stands to where it is to move."""
    for one in asked:
        if (plates := _asked_plates(paper, outlines, one)) is None:
            continue
        paper.explain("bearing-gone" if one.gone else "bearing-moves" if one.moves else "bearing-asked")
        group = paper.group("bearing-asked tone-opening", label="Bearing as asked", color=P.OPENING)
        if one.gone:
            paper.polyline(group, (plates[0], plates[2]), (plates[1], plates[3]), **paper.wide(1.4))
        else:
            paper.polygon(group, plates, class_="paper", fill=P.PAPER, **paper.wide(stroke_dasharray="3 2"))
        paper.room.take(plates)
        if one.from_in is not None:
            _draw_way(paper, group, one.from_in, one.x_in, plates[2][1])


def _draw_way(paper: Paper, group: Group, from_in: float, to_in: float, below: float) -> None:
    """An arrow below the plates, from where a bearing stands to where it is asked."""
    size, v = paper.pens.small, below + paper.pens.small * 0.55
    (start, _), (end, _) = paper.view.at((from_in, 0.0)), paper.view.at((to_in, 0.0))
    head = min(abs(end - start), size * 0.5) * (1 if end > start else -1)
    paper.polyline(group, ((start, v - size * 0.3), (start, v + size * 0.3)), ((start, v), (end, v)), **paper.wide())
    tip = ((end - head, v - size * 0.3), (end, v), (end - head, v + size * 0.3))
    paper.polyline(group, tip, **paper.wide())
    paper.room.take(box((start + end) / 2, v, abs(end - start) + size * 0.3, size * 0.7))


def label_asked_bearings(paper: Paper, outlines: dict[str, Outline], asked: Sequence[AskedBearing]) -> None:
    for one in asked:
        if (plates := _asked_plates(paper, outlines, one)) is not None:
            _label_asked(paper, one, plates)


def _asked_plates(paper: Paper, outlines: dict[str, Outline], asked: AskedBearing) -> tuple[Point, ...] | None:
    wood = wood_at(outlines, asked.x_in)
    if wood is None or not paper.shows([paper.view.at((asked.x_in, wood[0]))]):
        return None
    (u, top), high = paper.view.at((asked.x_in, wood[0])), 2 * plate_height(paper)
    return box(u, top + high / 2, max(asked.width_in * paper.view.scale, paper.pens.small * 0.8), high)


def _label_asked(paper: Paper, asked: AskedBearing, plates: tuple[Point, ...]) -> None:
    """Beside the plates, else led to them from near; the key tells what it is as well."""
    size, lines = paper.pens.small, ["bearing asked", tape_inches(asked.width_in)]
    if asked.gone:
        lines = ["asked:", "taken away"]
    elif asked.moves:
        lines = ["asked: bearing moves", asked.moves]
    wide, tall = max(width_of(line, size) for line in lines) + 4, size * _LEADING * len(lines)
    (left, top), (right, bottom) = plates[0], plates[2]
    middle = ((left + right) / 2, (top + bottom) / 2)
    asides = [(right - middle[0] + off * size + wide / 2) * side for off in (0.3, 0.7) for side in (1, -1)]
    beside = [((middle[0] + by, top + off * size + tall / 2), None) for off in (0.2, 0.5, 1.0, 1.5) for by in asides]
    led = [(at, (edge, middle)) for at, edge in around(middle, (wide, tall), range(2, 14), size * 0.7)]
    found = paper.room.first_free(Spot(box(*at, wide, tall), (at, leader), leader) for at, leader in (*beside, *led))
    if found is None:
        return
    (u, v), leader = found
    group = paper.group("bearing-asked-name tone-opening", color=P.OPENING)
    if leader is not None:
        paper.line(group, *leader, class_="leader", **paper.narrow())
    for i, line in enumerate(lines):
        row = v + (i - (len(lines) - 1) / 2) * size * _LEADING
        paper.text(group, line, (u, row), fill=P.INK, font_weight="400" if i else "600")


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


def _label(
    paper: Paper,
    group: Group,
    shape: Shape,
    support: Support,
    carried: tuple[float, float] | None,
    came: str | None = None,
) -> None:
    """Joint, width and what the wall carries: beside the plates, toward the middle where there is room. What `came`
    there is marked, with how far it moved; the empty text where it was added."""
    size = paper.pens.small
    u = paper.view.at(support.at)[0]
    beside = _ground_half(paper, support) + size * 0.5
    # with magnitude to show, the row under the wood is left to the chord's own label
    first = ground_level(paper, shape, support) - 2 * plate_height(paper) + size * (0.85 if carried is None else 2.0)
    toward = 1 if support.at[0] <= shape.middle else -1
    places = [(beside, drop) for drop in (0.0, size, 2 * size, 3 * size, 4 * size)]
    # what stands beside it leaves no room: under the ground, along the extension line
    under = ground_level(paper, shape, support) + size * 1.2 - first
    places += [(size * 0.35, under), (size * 0.35, under + size * 0.6)]
    found = paper.room.first_free(
        Spot(
            box(u + side * (off + wide / 2), first + high / 2 - size * 0.6 + drop, wide, high), (side, off, drop, lines)
        )
        for lines in _wordings(paper, support, carried, came)
        for wide, high in [(max(width_of(line, size) for line in lines), size * _LEADING * len(lines))]
        for off, drop in places
        for side in (toward, -toward)
    )
    if found is None:
        return
    side, off, drop, lines = found
    name = paper.group(
        "bearing-name" if came is None else "bearing-name changed" if came else "bearing-name added", group
    )
    if came is not None:
        paper.explain("changed" if came else "added")
        wide, high = max(width_of(line, size) for line in lines), size * _LEADING * len(lines)
        middle = (u + side * (off + wide / 2), first + drop + (len(lines) - 1) * size * _LEADING / 2)
        paper.polygon(name, box(*middle, wide + 6, high + 2), class_="label-back marked", fill=P.MARKER, **paper.wide())
    for i, line in enumerate(lines):
        anchor = "start" if side > 0 else "end"
        at = (u + side * off, first + drop + i * size * _LEADING)
        paper.text(name, line, at, anchor=anchor, fill=P.INK, kind="bearing-label")
    paper.stands(name, lambda other: _label(other, other.group("bearings"), shape, support, carried, came))


def _wordings(paper: Paper, support: Support, carried: tuple[float, float] | None, came: str | None) -> list[list[str]]:
    """What the label says, in few long lines and in more short ones."""
    width, name = tape_inches(support.width), clean(support.joint, TAG_LETTERS)
    mark = "" if came is None else "△ " if came else "+ "
    bearing, name = f"{mark}bearing {name}", f"{mark}{name}"
    forces = [f"moved {came}"] if came else []
    if carried is not None:
        down, uplift = carried
        forces += [f"{magnitude(down)} down"] + ([f"{magnitude(uplift)} uplift"] if uplift >= _LEAST_LB else [])
    if not paper.pens.dimensions:
        return [[f"{name} {width}", *forces], [name, width, *forces], [name, *forces[:1]], [name]]
    return [
        [f"{bearing}, {width}", *forces],
        [bearing, width, *forces],
        [f"{name} {width}", *forces],
        [name, width, *forces],
        [name],
    ]
