"""The plan of one level: where the copies of each mark stand and which way round. An SVG as a pure function.

Plan inches, x to the right and y up. A copy is a line along its span that starts at its marked end; copies step to
the right or up. Presentation attributes alone, so that it needs no style; every word is escaped by svgwrite.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import svgwrite

from trusses.drawing.text import clean

WIDTH = 640.0
_MARGIN = 34.0
_TALLEST = 520.0
_LETTER = 19.0

_Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Row:
    """`count` copies of a mark side by side, `spacing` apart; the first starts at (x, y). Inches."""

    mark: str
    x: float
    y: float
    along: str
    span: float
    spacing: float
    count: int
    turned: bool = False

    def lines(self) -> list[tuple[float, float, float, float]]:
        """Each copy from its marked end to its other end."""
        steps = [self.spacing * i for i in range(self.count)]
        start, end = (self.span, 0.0) if self.turned else (0.0, self.span)
        if self.along == "x":
            return [(self.x + start, self.y + step, self.x + end, self.y + step) for step in steps]
        return [(self.x + step, self.y + start, self.x + step, self.y + end) for step in steps]


@dataclass(frozen=True)
class _Paper:
    """From plan inches to the picture's units, y turned over."""

    left: float
    low: float
    scale: float
    height: float

    def at(self, x: float, y: float) -> tuple[float, float]:
        return (
            round(_MARGIN + (x - self.left) * self.scale, 1),
            round(self.height - _MARGIN - (y - self.low) * self.scale, 1),
        )


def _paper(rows: Sequence[Row]) -> _Paper:
    lines = [line for row in rows for line in row.lines()]
    xs = [x for x1, _, x2, _ in lines for x in (x1, x2)]
    ys = [y for _, y1, _, y2 in lines for y in (y1, y2)]
    wide, high = max(max(xs) - min(xs), 1.0), max(max(ys) - min(ys), 1.0)
    scale = min((WIDTH - 2 * _MARGIN) / wide, (_TALLEST - 2 * _MARGIN) / high)
    return _Paper(min(xs), min(ys), scale, round(high * scale + 2 * _MARGIN, 1))


def plan(rows: Sequence[Row], chosen: str) -> str:
    """The level with the copies of the mark `chosen` heavy and a dot at their marked ends, the others thin."""
    paper = _paper(rows)
    svg = svgwrite.Drawing(size=("100%", "100%"), debug=False)
    svg.viewbox(0, 0, WIDTH, paper.height)
    svg["role"], svg["class"] = "img", "plan"
    svg["aria-label"] = f"Plan of the level: {clean(chosen, 40)} drawn heavy, a dot at its marked end"
    for row in sorted(rows, key=lambda row: row.mark == chosen):
        _draw(svg, row, paper, heavy=row.mark == chosen)
    taken: list[_Box] = []
    for row in sorted(rows, key=lambda row: row.mark != chosen):
        box = _label_box(row, paper)
        if not any(_overlap(box, other) for other in taken):
            taken.append(box)
            _label(svg, row, box, heavy=row.mark == chosen)
    return str(svg.tostring())


def _draw(svg: svgwrite.Drawing, row: Row, paper: _Paper, heavy: bool) -> None:
    group = svg.g(stroke="currentColor", stroke_width=2.2 if heavy else 0.7, opacity=1 if heavy else 0.85)
    for x1, y1, x2, y2 in row.lines():
        start = paper.at(x1, y1)
        group.add(svg.line(start, paper.at(x2, y2)))
        if heavy:
            group.add(svg.circle(start, 4, fill="currentColor"))
    svg.add(group)


def _label_box(row: Row, paper: _Paper) -> _Box:
    """Room for the mark on the middle copy: left, top, width, height."""
    x1, y1, x2, y2 = row.lines()[row.count // 2]
    x, y = paper.at((x1 + x2) / 2, (y1 + y2) / 2)
    wide, high = _LETTER * 0.68 * len(clean(row.mark, 12)) + 6, _LETTER * 1.4
    return round(x - wide / 2, 1), round(y - high / 2, 1), round(wide, 1), round(high, 1)


def _overlap(one: _Box, other: _Box) -> bool:
    return all(abs(2 * (one[i] - other[i]) + one[i + 2] - other[i + 2]) < one[i + 2] + other[i + 2] for i in (0, 1))


def _label(svg: svgwrite.Drawing, row: Row, box: _Box, heavy: bool) -> None:
    """The mark on a ground that keeps the lines off it."""
    left, top, wide, high = box
    svg.add(svg.rect((left, top), (wide, high), fill="#fff", class_="plan-ground"))
    weight = "700" if heavy else "400"
    look = {"font_size": _LETTER, "font_weight": weight, "text_anchor": "middle", "fill": "currentColor"}
    svg.add(svg.text(clean(row.mark, 12), (round(left + wide / 2, 1), round(top + high * 0.75, 1)), **look))
