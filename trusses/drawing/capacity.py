"""What a chord takes at each place, as a curve under the truss that it is of: a pure function to SVG.

Pounds go down from the chord's line on a scale of their square roots, since a panel point takes many times what the
middle of a panel does; level lines say how many they are.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import svgwrite

from trusses.analysis.words.phrases import pounds
from trusses.drawing.pens import INK, OPENING, WOOD

_WIDTH, _MARGIN, _DEEP = 420.0, 52.0, 110.0
_LEVELS = (50, 100, 250, 500, 1000, 2500, 5000, 10_000)
_LETTERS = 12.5


def capacity(
    document: Mapping[str, Any], xs_in: Sequence[float], most_lb: Sequence[float], at_in: float | None = None
) -> str:
    """The centerlines of a truss document, and under them what it takes; `at_in` is where somebody asks."""
    joints = document["joints"]
    ends = [[joints[name] for name in member["joints"]] for member in document["members"]]
    x_low, x_high = min(x for x, _ in joints.values()), max(x for x, _ in joints.values())
    y_low, y_high = min(y for _, y in joints.values()), max(y for _, y in joints.values())
    scale = (_WIDTH - 2 * _MARGIN) / max(x_high - x_low, 1.0)
    chord = _LETTERS + (y_high - y_low) * scale
    top = max(max(most_lb, default=0.0), 1.0)
    height = chord + _DEEP + 2 * _LETTERS

    def u(x: float) -> float:
        return round(_MARGIN + (x - x_low) * scale, 2)

    def down(lb: float) -> float:
        return round(chord + 10 + (_DEEP - 10) * math.sqrt(max(lb, 0.0) / top), 2)

    svg = svgwrite.Drawing(size=None, profile="full", debug=False)
    svg.attribs.pop("width", None), svg.attribs.pop("height", None)
    svg["viewBox"], svg["class"] = f"0 0 {_WIDTH:g} {height:g}", "most-curve"
    svg["role"], svg["aria-label"] = "img", f"The largest weight along the chord: {_spoken(xs_in, most_lb, x_low)}"
    wood = svg.g(stroke=INK, stroke_width=1.2, fill="none", opacity=0.75)
    for (ax, ay), (bx, by) in ends:
        wood.add(svg.line((u(ax), chord - (ay - y_low) * scale), (u(bx), chord - (by - y_low) * scale)))
    svg.add(wood)
    outline = [(u(x), down(lb)) for x, lb in zip(xs_in, most_lb, strict=True)]
    if outline:
        svg.add(
            svg.polygon(
                [(outline[0][0], down(0)), *outline, (outline[-1][0], down(0))], fill=WOOD, stroke="none", class_="wood"
            )
        )
        svg.add(svg.polyline(outline, fill="none", stroke=INK, stroke_width=2, stroke_linejoin="round"))
    letters = svg.g(font_family="sans-serif", font_size=_LETTERS, fill=INK)
    last = -math.inf
    for level in (each for each in _LEVELS if each <= top):
        v = down(level)
        svg.add(svg.line((_MARGIN, v), (_WIDTH - _MARGIN, v), stroke=INK, stroke_width=0.6, stroke_dasharray="2 3"))
        if v - last > _LETTERS:
            letters.add(svg.text(pounds(level), insert=(_WIDTH - _MARGIN + 3, v + 4)))
            last = v
    if at_in is not None:
        mark = svg.g(class_="tone-opening", color=OPENING)
        mark.add(svg.line((u(at_in), chord), (u(at_in), height - _LETTERS), stroke=INK, stroke_width=2))
        svg.add(mark)
    svg.add(letters)
    return str(svg.tostring())


def _spoken(xs_in: Sequence[float], most_lb: Sequence[float], start: float) -> str:
    if not most_lb:
        return "none"
    least = min(range(len(most_lb)), key=lambda i: most_lb[i])
    where = f"{(xs_in[least] - start) / 12:.0f} feet from the left end"
    return f"from {pounds(min(most_lb))}, {where}, to {pounds(max(most_lb))}"
