"""Loads at their places: an arrow for each point, a row of arrows for a line, the way they act, with their pounds.

What hangs is drawn under its chord and what stands is drawn on it. What carries a weight across several trusses is cut
through where it meets this one (ISO 128-3), in no size of its own, since nobody said one.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

from svgwrite.container import Group

from trusses.analysis.words.lengths import feet_inches
from trusses.drawing import pens as P
from trusses.drawing.borne import Load, numbered
from trusses.drawing.paper import Paper, Point
from trusses.drawing.placing import Spot, around, box
from trusses.drawing.text import clean, width_of
from trusses.drawing.wood import draw_section

_LONG = 1.7  # of the letters' size: an arrow
_BEAM = 0.95
_LEADING = 1.16
_MISLEADS = 4.0  # as much as over a web
_MARK = {"added": "+ "}
Label = tuple[Point, tuple[Point, Point] | None]
Foot = tuple[Point, int]
"""Where an arrow meets the wood, user units, and its side: 1 on the chord, -1 under it."""


def draw_loads(paper: Paper, loads: Sequence[Load]) -> None:
    """All arrows, before anything is lettered."""
    if not loads:
        return
    layer = paper.group("loads", label="Loads at single places")
    for load in loads:
        if paper.shows([paper.view.at(foot) for foot in load.feet], beyond=paper.pens.small * 3):
            _draw_load(paper, layer, load)


def drop(paper: Paper, loads: Sequence[Load]) -> float:
    """How far below the wood arrows, and what is written beside them, reach; user units."""
    size, named = paper.pens.small, numbered(loads)
    hung = [load for load in loads if load.side < 0]
    return max((size * _reach(load, lettered=load in named) for load in hung), default=0.0)


def tip(paper: Paper, loads: Sequence[Load], x: float) -> float | None:
    """How far down an arrow reaches that hangs at `x` inches, user units; None where none does."""
    size = paper.pens.small
    low = [
        paper.view.at(foot)[1] + size * _reach(load, lettered=False)
        for load in loads
        for foot in load.feet
        if load.side_at(foot[0]) < 0 and not load.band and abs(paper.view.scale * (foot[0] - x)) < size * 0.5
    ]
    return max(low, default=None)


def _reach(load: Load, *, lettered: bool) -> float:
    arrow = _LONG + (_BEAM if load.across else 0.0) + 0.4
    return arrow + _LEADING * len(load.words) if lettered else arrow


def _draw_load(paper: Paper, layer: Group, load: Load) -> None:
    asked = load.state == "asked"
    paper.explain("weight" if asked else "load")
    group = paper.group(f"load {load.state}".strip(), layer)
    where = " and ".join(feet_inches(x) for x in load.xs) if len(load.xs) < 4 else f"{len(load.xs)} places"
    paper.title(group, f"{', '.join(load.words)} at {clean(where)}")
    size = paper.pens.small
    off = size * _BEAM if load.across else 0.0
    if load.across:
        paper.explain("across")
        _draw_across(paper, group, load)
    dashed = {"stroke_dasharray": "3 2"} if asked else {}
    feet = _along(paper, load) if load.band else _feet(paper, load)
    for foot, side in feet:
        near = _from(foot, side, off)
        far = draw_arrow(paper, group, near, side=side, up=load.up, both=load.both_ways, asked=asked)
        paper.room.take(box(near[0], (near[1] + far[1]) / 2, size * 0.52 + 2, abs(far[1] - near[1])), wood=_MISLEADS)
    if load.band and len(feet) > 1:
        ends = [paper.view.at(foot) for foot in load.feet]
        rail = [_from(foot, load.side, off + size * _LONG) for foot in ends]
        tone = {"class_": "band tone-opening", "color": P.OPENING} if asked else {"class_": "band"}
        paper.polyline(group, rail, **tone, **paper.wide(0.8, **dashed))
        for (a, b), (c, d) in itertools.pairwise(zip(ends, rail, strict=True)):
            paper.room.take((a, c, d, b), wood=_MISLEADS)


def _from(foot: Point, side: int, off: float) -> Point:
    """`off` user units from the wood, outward."""
    return foot[0], foot[1] - side * off


def _feet(paper: Paper, load: Load) -> list[Foot]:
    return [(paper.view.at(foot), load.side_at(foot[0])) for foot in load.feet]


def _along(paper: Paper, load: Load) -> list[Foot]:
    """Feet of the arrows of a row, at even distances that leave each its room; of a band too short for two, its one."""
    corners = [paper.view.at(foot) for foot in load.feet]
    if len(corners) < 2:
        return _feet(paper, load)
    start, end = corners[0][0], corners[-1][0]
    count = max(1, math.floor((end - start) / (paper.pens.small * 1.2)))
    spans = list(itertools.pairwise(corners))
    feet = []
    for i in range(count + 1):
        u = start + (end - start) * i / count
        (a, b), (c, d) = next((span for span in spans if u <= span[1][0]), spans[-1])
        feet.append(((u, b + (d - b) * (u - a) / max(c - a, 1e-9)), load.side))
    return feet


def draw_arrow(
    paper: Paper,
    group: Group,
    near: Point,
    *,
    side: int = -1,
    up: bool = False,
    both: bool = False,
    asked: bool = False,
    tall: float = _LONG,
) -> Point:
    """Between the wood at `near` and its other end, which comes back; the way the load acts, or `both` ways."""
    size = paper.pens.small
    far = near[0], near[1] - side * size * tall
    start, end = (near, far) if (side < 0) is not up else (far, near)
    way = math.copysign(1.0, end[1] - start[1])
    long, half = size * 0.62, size * 0.26
    tone = {"color": P.OPENING} if asked else {}
    neck = (end[0], end[1] - way * long * 0.9)
    tail = (start[0], start[1] + way * long * 0.9) if both else start
    shaft = paper.group("arrow-line" + (" tone-opening" if asked else ""), group, **tone)
    paper.line(shaft, tail, neck, **paper.wide(1.2, **({"stroke_dasharray": "3 2"} if asked else {})))
    for (u, v), to in ((end, way), (start, -way)) if both else ((end, way),):
        head = ((u, v), (u - half, v - to * long), (u + half, v - to * long))
        paper.polygon(shaft, head, class_="arrow", fill=P.INK, stroke="none")
    return far


def _draw_across(paper: Paper, group: Group, load: Load) -> None:
    """What carries the weight across: a block at each point, a board along a band."""
    size = paper.pens.small
    if load.band and len(load.feet) > 1:
        ends = [paper.view.at(foot) for foot in (load.feet[0], load.feet[-1])]
        far = [_from(foot, load.side, size * _BEAM * 0.8) for foot in ends]
        corners: tuple[Point, ...] = (ends[0], ends[1], far[1], far[0])
        draw_section(paper, group, corners)
        paper.room.take(corners)
        return
    for foot, side in _feet(paper, load):
        middle = _from(foot, side, size * _BEAM * 0.5)
        corners = box(*middle, size * 0.8, size * _BEAM)
        draw_section(paper, group, corners)
        paper.room.take(corners)


def label_loads(paper: Paper, loads: Sequence[Load]) -> None:
    if not loads:
        return
    layer = paper.group("load-labels")
    for load in numbered(loads):
        if paper.shows([paper.view.at(foot) for foot in load.feet], beyond=paper.pens.small * 3):
            _label(paper, layer, load)


def _label(paper: Paper, layer: Group, load: Load) -> None:
    """Name and pounds beside the arrow, else led to it."""
    size, words = paper.pens.small, load.words
    lines = (_MARK.get(load.state, "") + words[0], *words[1:])
    extent = (max(width_of(line, size) for line in lines) + 6, size * _LEADING * len(lines) + 2)
    clear = size * 0.5 if load.state == "added" else 0.0  # a box keeps off the wood
    found = paper.room.first_free(_spots(paper, load, (extent[0] + clear, extent[1] + clear)))
    if found is None:
        return
    at, leader = found
    tone = {"color": P.OPENING} if load.state == "asked" else {}
    group = paper.group(f"load-label {load.state}".strip() + (" tone-opening" if tone else ""), layer, **tone)
    if leader is not None:
        paper.line(group, *leader, class_="leader", **paper.narrow())
    if load.state == "added":
        paper.explain("added")
        paper.polygon(group, box(*at, *extent), class_="label-back marked", fill=P.MARKER, **paper.wide())
    for i, line in enumerate(lines):
        row = at[1] + (i - (len(lines) - 1) / 2) * size * _LEADING
        weight = "600" if i == 0 and load.state else "400"
        paper.text(group, line, (at[0], row), fill=P.INK, font_weight=weight, kind="load-text")
    paper.stands(group, lambda other: label_loads(other, [load]))


def _spots(paper: Paper, load: Load, extent: tuple[float, float]) -> Iterator[Spot[Label]]:
    size, (wide, high) = paper.pens.small, extent
    off = size * (_BEAM if load.across else 0.0)
    # led to the middle of the shaft, where a head and the wood are not
    feet = [(_from(foot, side, off + size * _LONG * 0.5), side) for foot, side in _feet(paper, load)]
    if load.band:
        (first, _), (last, _) = feet[0], feet[-1]
        middle = ((first[0] + last[0]) / 2, (first[1] + last[1]) / 2)
        feet = [(_from(middle, load.side, size * _LONG * 0.5), load.side), *feet]
    feet = [foot for foot in feet if paper.room.holds(foot[0])]
    for (u, v), out in dict.fromkeys((*feet[-1:], *feet[:1])):
        for down in (0.0, 0.4, 0.8, -0.4):
            for side in (1, -1):
                at = (u + side * (wide / 2 + size * 0.5), v - out * down * size + (high - 2 * size) / 2)
                yield Spot(box(*at, wide, high), (at, None))
    for (u, v), out in feet:
        beyond = v - out * (size * (_LONG * 0.5 + 0.3) + high / 2)
        for aside in (0.0, 0.2, -0.2, 0.35, -0.35, 0.54, -0.54):
            yield Spot(box(u + aside * wide, beyond, wide, high), ((u + aside * wide, beyond), None))
    marks = [mark for mark, _ in feet]
    rings = [around(mark, extent, range(1, 40), size * 0.7) for mark in marks]
    for spots in zip(*rings, strict=True):
        for mark, (at, edge) in zip(marks, spots, strict=True):
            yield Spot(box(at[0], at[1], wide, high), (at, (edge, mark)), (edge, mark))
