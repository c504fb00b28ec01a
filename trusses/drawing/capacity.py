"""What a chord takes at each place, as a curve under the truss that it is of: a pure function to SVG.

Wood and curve have one x, that of the truss's elevation at the same size, so that the curve lies under the drawing of
the truss place by place. Pounds-force go down from under the truss on an even scale from nought; level lines say how
many they are beside the curve, and what it is at its least and where it was asked for is said below.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import svgwrite

from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import pounds
from trusses.drawing.elevation import Detail, paper_for
from trusses.drawing.pens import FACE, INK, OPENING, WOOD
from trusses.drawing.placing import through
from trusses.drawing.scene import Scene
from trusses.drawing.text import width_of

_STEPS = (1, 2, 2.5, 5)
_MOST_LEVELS = 5
_SLOT = 6.0  # user units, from one place that a number tries to the next
_FOOT = 12.0
_FEET = (1, 2, 4, 8, 10, 20)
"""How many feet apart the marks along the span may be."""


def capacity(
    document: Mapping[str, Any],
    xs_in: Sequence[float],
    most_lb: Sequence[float],
    at_in: float | None = None,
    *,
    detail: Detail = "sheet",
) -> str:
    """The wood of a truss document, and under it what it takes; `at_in` is where somebody asks. A point at x inches is
    drawn at u = data-x0 + data-scale·x, as in the elevation of that `detail`."""
    scene = Scene(document, None, None)
    paper = paper_for(scene, detail, None, "most", {})
    view, pens = paper.view, paper.pens
    joints = document["joints"]
    x_low, x_high = min(x for x, _ in joints.values()), max(x for x, _ in joints.values())
    zero = min(joints[bearing["joint"]][0] for bearing in document["bearings"])
    corners = [[view.at(corner) for corner in outline.corners] for outline in scene.wood.values()]
    above = min(v for piece in corners for _, v in piece) - pens.margin
    chord = max(v for piece in corners for _, v in piece) + pens.small * 1.6
    top = max(max(most_lb, default=0.0), 1.0)
    deep = paper.width * (0.16 if detail == "sheet" else 0.3)
    foot = chord + deep + pens.small * 1.6
    said = _said(xs_in, most_lb, zero, at_in)

    def u(x: float) -> float:
        return round(view.x0 + view.scale * x, 2)

    def down(lb: float) -> float:
        return round(chord + deep * max(lb, 0.0) / top, 2)

    svg = svgwrite.Drawing(size=None, profile="full", debug=False)
    svg.attribs.pop("width", None), svg.attribs.pop("height", None)
    svg["viewBox"] = f"0 {above:.2f} {paper.width:g} {foot + pens.small * (2.4 + 1.5 * len(said)) - above:.2f}"
    svg["class"], svg["role"] = "most-curve", "img"
    svg["aria-label"] = f"The largest weight along the chord: {_spoken(xs_in, most_lb, zero)}"
    svg.attribs["data-scale"], svg.attribs["data-x0"] = f"{view.scale:.6g}", f"{view.x0:.6g}"
    wood = svg.g(stroke=INK, stroke_width=pens.narrow, fill=WOOD, class_="wood")
    for piece in corners:
        wood.add(svg.polygon([(round(x, 2), round(v, 2)) for x, v in piece]))
    svg.add(wood)
    letters = svg.g(font_family=FACE, font_size=pens.small, fill=INK)
    outline = [(u(x), down(lb)) for x, lb in zip(xs_in, most_lb, strict=True)]
    upright = [(u(at_in), chord), (u(at_in), foot)] if at_in is not None else []
    _levels(svg, letters, down, (u(x_low), u(x_high)), top, pens.small, (outline, upright))
    if outline:
        least = min(outline, key=lambda point: point[1])
        svg.add(svg.circle(least, pens.wide * 2.2, fill=INK))
        svg.add(svg.polyline(outline, fill="none", stroke=INK, stroke_width=pens.wide, stroke_linejoin="round"))
    _feet(svg, letters, u, (zero, x_high), foot, pens.small)
    if at_in is not None:
        mark = svg.g(class_="tone-opening", color=OPENING)
        mark.add(svg.line((u(at_in), above), (u(at_in), foot - pens.small), stroke=INK, stroke_width=pens.wide * 1.4))
        svg.add(mark)
    for i, line in enumerate(said):
        row = foot + pens.small * (1.9 + 1.5 * i)
        letters.add(svg.text(line, insert=(u(x_low), round(row, 2))))
    svg.add(letters)
    return str(svg.tostring())


def levels(top: float) -> list[float]:
    """Round numbers at even distances from nought to `top`."""
    power = 10.0 ** math.floor(math.log10(top / _MOST_LEVELS))
    step = next(s * p for p in (power, power * 10) for s in _STEPS if s * p * _MOST_LEVELS >= top)
    return [step * i for i in range(int(top / step + 1e-9) + 1)]


def _levels(
    svg: Any,
    letters: Any,
    down: Any,
    ends: tuple[float, float],
    top: float,
    size: float,
    crossed: Sequence[Sequence[tuple[float, float]]],
) -> None:
    """Level lines, each with its pounds-force on it from the right, where neither of the lines that are `crossed` is
    in the way."""
    for level in levels(top):
        v, words = down(level), f"{level:,g} lb" if level < 1e6 else f"{level:,.0f} lb"
        dashes = {"stroke_dasharray": "2 3"} if level else {}
        svg.add(svg.line((ends[0], v), (ends[1], v), stroke=INK, stroke_width=0.6, **dashes))
        wide = width_of(words, size)
        slots = range(int((ends[1] - ends[0] - wide) / _SLOT) + 1)
        for right, under in ((ends[1] - 2 - i * _SLOT, under) for under in (0.0, size * 1.1) for i in slots):
            room = (right - wide - 2, v - size - 1 + under, right + 2, v + under)
            if not any(through(a, b, room) for line in crossed for a, b in pairwise(line)):
                place = (round(right, 2), round(v - 2 + under, 2))
                letters.add(svg.text(words, insert=place, text_anchor="end"))
                break


def _said(xs_in: Sequence[float], most_lb: Sequence[float], start: float, at_in: float | None) -> list[str]:
    """What the picture is a picture of, and its two numbers, a line each."""
    told = ["Down: pounds (lb) at one point, even scale."]
    if most_lb:
        least = min(range(len(most_lb)), key=lambda i: most_lb[i])
        told.append(f"Dot: the least, {most_lb[least]:,.0f} lb at {feet_inches(xs_in[least] - start)}.")
        if at_in is not None:
            here = f"{math.floor(float(np.interp(at_in, xs_in, most_lb))):,} lb"
            told.append(f"Upright line: asked at {feet_inches(at_in - start)}, about {here} at one point there.")
    return told


def _feet(svg: Any, letters: Any, u: Any, ends: tuple[float, float], foot: float, size: float) -> None:
    """Marks along the span, in feet from the middle of the left bearing."""
    start, end = ends
    room = width_of("00 ft ", size)
    step = next((feet for feet in _FEET if (u(start + feet * _FOOT) - u(start)) > room), _FEET[-1])
    svg.add(svg.line((u(start), foot - size), (u(end), foot - size), stroke=INK, stroke_width=0.8))
    for feet in range(0, int((end - start) / _FOOT) + 1, step):
        x = u(start + feet * _FOOT)
        svg.add(svg.line((x, foot - size), (x, foot - size * 0.6), stroke=INK, stroke_width=0.8))
        letters.add(svg.text(f"{feet} ft", insert=(x, foot + size * 0.5), text_anchor="middle"))


def _spoken(xs_in: Sequence[float], most_lb: Sequence[float], start: float) -> str:
    if not most_lb:
        return "none"
    least = min(range(len(most_lb)), key=lambda i: most_lb[i])
    where = f"{(xs_in[least] - start) / 12:.0f} feet from the left bearing"
    return f"from {pounds(min(most_lb))}, {where}, to {pounds(max(most_lb))}"
