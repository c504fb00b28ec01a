"""Forces as lines over the members, drawn as what happens to each.

Pulled (tension): an unbroken line, taut as a rope, arrowheads that part toward the member's ends. Pushed
(compression): a line of short blocks, arrowheads that face each other. Either, by load: long and short dashes, heads
of both kinds. The heavier the line, the larger the force. Colour says the same once more.
"""

from __future__ import annotations

import math
from typing import Any

from svgwrite.container import Group

from trusses.drawing import pens as P
from trusses.drawing.forces import Force
from trusses.drawing.paper import Paper, Point, number
from trusses.drawing.shape import Piece

_HEAVIEST = {"sheet": 7.5, "phone": 4.5, "thumb": 3.0}
_LIGHTEST = 0.16  # of the heaviest: a line that can still be seen
_TONE = {"tension": P.TENSION, "compression": P.COMPRESSION}


def draw_force(paper: Paper, parent: Group, piece: Piece, force: Force, largest: float) -> None:
    """One member's force; `largest` pounds is drawn with the heaviest line."""
    kind = force.kind
    paper.explain(kind)
    tone = {"color": _TONE[kind]} if kind in _TONE else {}
    group = paper.group(f"force {kind}" + (f" tone-{kind}" if tone else ""), parent, **tone)
    start, end = paper.view.at(piece.a), paper.view.at(piece.b)
    length = math.dist(start, end)
    along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    inset = min(length * 0.14, paper.view.scale * piece.depth * 1.1 + 3)
    tips = (_toward(start, along, inset), _toward(end, along, -inset))
    if kind == "unloaded":
        paper.line(group, *tips, **paper.narrow(stroke_dasharray="1 4", stroke_linecap="round"))
        return
    weight = _HEAVIEST[paper.pens.detail] * (_LIGHTEST + (1 - _LIGHTEST) * force.most / largest)
    head = min(weight * 1.5 + 4.5, length * 0.2)
    inner = (_toward(tips[0], along, head * 0.9), _toward(tips[1], along, -head * 0.9))
    paper.line(group, *inner, stroke=P.INK, stroke_width=number(weight), **_pattern(kind, weight))
    for tip, sign in zip(tips, (1, -1), strict=True):
        inward = (along[0] * sign, along[1] * sign)
        _arrowhead(paper, group, tip, inward, head, outward=kind != "compression")
        if kind == "both":
            _arrowhead(paper, group, _toward(tip, inward, head * 1.1), inward, head, outward=False)


def _pattern(kind: str, weight: float) -> dict[str, Any]:
    """Dashes that grow with the line, so that a heavy line doesn't close its own gaps."""
    space = number(weight * 0.5 + 1.8)
    dashes = {
        "compression": f"{number(weight * 1.3 + 2)} {space}",
        "both": f"{number(weight * 3 + 5)} {space} {number(max(weight, 1.5))} {space}",
    }
    return {"stroke_dasharray": dashes[kind]} if kind in dashes else {}


def _toward(point: Point, along: Point, by: float) -> Point:
    return (point[0] + along[0] * by, point[1] + along[1] * by)


def _arrowhead(paper: Paper, group: Group, at: Point, inward: Point, size: float, *, outward: bool) -> None:
    """A filled head whose outer end is `at`; it points out of the member, or into it along `inward`."""
    (x, y), (dx, dy) = at, inward
    half = size * 0.42
    base, tip = (size, 0.0) if outward else (0.0, size)
    corners = (
        (x + dx * tip, y + dy * tip),
        (x + dx * base - dy * half, y + dy * base + dx * half),
        (x + dx * base + dy * half, y + dy * base - dx * half),
    )
    paper.polygon(group, corners, class_="arrow out" if outward else "arrow in", fill=P.INK, stroke="none")
