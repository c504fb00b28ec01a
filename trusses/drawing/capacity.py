"""What a chord takes at each place, as a curve under the truss that it is of: a pure function to SVG.

Wood and curve have one x, that of the truss's elevation at the same size, so that the curve lies under the drawing of
the truss place by place. Pounds go down from under the truss on a scale of their square roots, since a panel point
takes many times what the middle of a panel does; level lines say how many they are.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import svgwrite

from trusses.analysis.words.phrases import pounds
from trusses.drawing.elevation import Detail, paper_for
from trusses.drawing.pens import INK, OPENING, WOOD
from trusses.drawing.scene import Scene
from trusses.drawing.text import width_of

_LEVELS = (50, 100, 250, 500, 1000, 2500, 5000, 10_000)
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
    chord = max(v for piece in corners for _, v in piece) + pens.small
    top = max(max(most_lb, default=0.0), 1.0)
    deep = paper.width * (0.16 if detail == "sheet" else 0.3)
    foot = chord + deep + pens.small * 1.6

    def u(x: float) -> float:
        return round(view.x0 + view.scale * x, 2)

    def down(lb: float) -> float:
        return round(chord + deep * math.sqrt(max(lb, 0.0) / top), 2)

    svg = svgwrite.Drawing(size=None, profile="full", debug=False)
    svg.attribs.pop("width", None), svg.attribs.pop("height", None)
    svg["viewBox"] = f"0 {above:.2f} {paper.width:g} {foot + pens.small * 1.8 - above:.2f}"
    svg["class"], svg["role"] = "most-curve", "img"
    svg["aria-label"] = f"The largest weight along the chord: {_spoken(xs_in, most_lb, zero)}"
    svg.attribs["data-scale"], svg.attribs["data-x0"] = f"{view.scale:.6g}", f"{view.x0:.6g}"
    wood = svg.g(stroke=INK, stroke_width=pens.narrow, fill=WOOD, class_="wood")
    for piece in corners:
        wood.add(svg.polygon([(round(x, 2), round(v, 2)) for x, v in piece]))
    svg.add(wood)
    letters = svg.g(font_family="sans-serif", font_size=pens.small, fill=INK)
    outline = [(u(x), down(lb)) for x, lb in zip(xs_in, most_lb, strict=True)]
    if outline:
        under = [(outline[0][0], down(0)), *outline, (outline[-1][0], down(0))]
        svg.add(svg.polygon(under, fill=WOOD, stroke="none", class_="wood"))
    _levels(svg, letters, down, (u(x_low), u(x_high)), top, pens.small, paper.width)
    if outline:
        svg.add(svg.polyline(outline, fill="none", stroke=INK, stroke_width=pens.wide, stroke_linejoin="round"))
    _feet(svg, letters, u, (zero, x_high), foot, pens.small)
    if at_in is not None:
        mark = svg.g(class_="tone-opening", color=OPENING)
        mark.add(svg.line((u(at_in), above), (u(at_in), foot - pens.small), stroke=INK, stroke_width=pens.wide * 1.4))
        svg.add(mark)
    svg.add(letters)
    return str(svg.tostring())


def _levels(
    svg: Any, letters: Any, down: Any, ends: tuple[float, float], top: float, size: float, width: float
) -> None:
    """Level lines, each with its pounds where there is room below the one before: beyond its right end, or on it where
    the picture ends there."""
    last = -math.inf
    beyond = ends[1] + 6 + width_of(pounds(max(_LEVELS)), size) <= width
    for level in (each for each in _LEVELS if each <= top):
        v = down(level)
        svg.add(svg.line((ends[0], v), (ends[1], v), stroke=INK, stroke_width=0.6, stroke_dasharray="2 3"))
        if v - last > size * 1.1:
            words = pounds(level)
            last = v
            if beyond:
                letters.add(svg.text(words, insert=(ends[1] + 6, round(v + size * 0.36, 2))))
                continue
            back = svg.rect((ends[1] - width_of(words, size) - 4, v - size), (width_of(words, size) + 4, size))
            back.update({"fill": "#fff", "fill-opacity": 0.8, "class": "under-letters"})
            letters.add(back)
            letters.add(svg.text(words, insert=(ends[1] - 2, v - 2), text_anchor="end"))


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
