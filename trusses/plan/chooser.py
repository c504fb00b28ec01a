"""A small plan of one mark's copies to choose some of them by: each a line with its number, wide enough for a thumb.

An SVG as a pure function. Where all copies run one way, distances along them are drawn shorter than across, so that it
stays small; the plan itself is the picture to measure by. A script makes the copies that can be chosen operable.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import svgwrite

from trusses.drawing.text import clean
from trusses.plan.overlays import Point

_THUMB = 44.0
"""Pixels from one copy to the next at least: what a thumb in a glove finds."""
_LONGEST, _MARGIN, _LETTER = 150.0, 22.0, 13.0
_MOST_PX = 4000.0


@dataclass(frozen=True)
class Pick:
    """A copy from its marked end to its other end, plan inches; `free` where it can be chosen."""

    number: int
    start: Point
    end: Point
    free: bool


@dataclass(frozen=True)
class _Paper:
    left: float
    low: float
    scale_x: float
    scale_y: float
    height: float

    def at(self, point: Point) -> Point:
        x, y = point
        return (
            round(_MARGIN + (x - self.left) * self.scale_x, 1),
            round(self.height - _MARGIN - (y - self.low) * self.scale_y, 1),
        )


def choose(level: str, mark: str, copies: Sequence[Pick], beside: Sequence[tuple[Point, Point]] = ()) -> str:
    """The copies of a mark on a level; `beside` are other trusses, drawn thin where they are in sight."""
    paper, size = _paper(copies)
    svg = svgwrite.Drawing(size=size, debug=False)
    svg.viewbox(0, 0, *size)
    svg["class"], svg["role"] = "choose-plan", "group"
    svg["aria-label"] = f"{clean(mark, 20)} in plan, {clean(level, 40)}"
    context = svg.g(class_="beside")
    for a, b in beside:
        context.add(svg.line(paper.at(a), paper.at(b), stroke="currentColor", stroke_width=0.6, opacity=0.35))
    svg.add(context)
    for one in copies:
        a, b = paper.at(one.start), paper.at(one.end)
        group = svg.g(class_="pick" if one.free else "pick over")
        group.attribs["data-copy"] = str(one.number)
        if one.free:
            group.attribs["data-free"] = "yes"
        upright = a[0] == b[0]
        x, y = min(a[0], b[0]), min(a[1], b[1])
        wide, high = abs(a[0] - b[0]), abs(a[1] - b[1])
        half = _THUMB / 2
        box = (x - half, y - _MARGIN + 2) if upright else (x - _MARGIN + 2, y - half)
        extent = (_THUMB, high + 2 * _MARGIN - 4) if upright else (wide + 2 * _MARGIN - 4, _THUMB)
        group.add(svg.rect(box, extent, fill="transparent", class_="target"))
        dash = {} if one.free else {"stroke_dasharray": "5 4"}
        group.add(svg.line(a, b, stroke="currentColor", stroke_width=2, class_="line", **dash))
        group.add(svg.circle(a, 3.2, fill="currentColor"))
        place = (x, y - 7) if upright else (x - 11, y + _LETTER * 0.36)
        look = {"font_size": _LETTER, "text_anchor": "middle", "fill": "currentColor"}
        group.add(svg.text(str(one.number), place, **look))
        svg.add(group)
    return str(svg.tostring())


def _paper(copies: Sequence[Pick]) -> tuple[_Paper, tuple[float, float]]:
    points = [point for one in copies for point in (one.start, one.end)]
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    low, high = min(y for _, y in points), max(y for _, y in points)
    upright = {one.start[0] == one.end[0] for one in copies}
    across = _closest(copies)
    scale = min(_THUMB / across, _MOST_PX / max(right - left, high - low, 1.0))
    # 1 px an inch of span at most, and no longer than a small plan may be
    short = min(scale, _LONGEST / max(_longest(copies), 1.0)) if len(upright) == 1 else scale
    sx, sy = (scale, short) if upright == {True} else (short, scale) if upright == {False} else (scale, scale)
    size = round((right - left) * sx + 2 * _MARGIN, 1), round((high - low) * sy + 2 * _MARGIN, 1)
    return _Paper(left, low, sx, sy, size[1]), size


def _longest(copies: Sequence[Pick]) -> float:
    return max(abs(one.start[0] - one.end[0]) + abs(one.start[1] - one.end[1]) for one in copies)


def _closest(copies: Sequence[Pick]) -> float:
    """The least distance between two copies side by side, at least 6 in.: nearer ones are one above the other."""
    apart = []
    for axis in (0, 1):
        places = sorted({one.start[axis] for one in copies if one.start[axis] == one.end[axis]})
        apart += [b - a for a, b in itertools.pairwise(places) if b - a >= 6]
    return min(apart, default=24.0)
