"""What stands around a plan's level: dimensions below and to the left, north above."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Any

from trusses.analysis.words.lengths import feet_inches
from trusses.drawing.text import width_of

MARGIN, DIMENSION, LABEL = 30.0, 26.0, 12.0


def frame(d: Any) -> None:
    """Dimensions over all and from wall to wall below and to the left, north above."""
    corners = [point for wall in d.level.walls for point in wall.points]
    corners = corners or [point for one in d.level.copies for point in (one.start, one.end)]
    if corners:
        _chain(d, sorted({round(x, 3) for x, _ in corners}), along_x=True)
        _chain(d, sorted({round(y, 3) for _, y in corners}), along_x=False)
    if d.level.north_deg is not None:
        _north(d, d.level.north_deg)


def _north(d: Any, degrees: float) -> None:
    x, y = d.paper.width - MARGIN, MARGIN
    group, turn = d.svg.g(class_="north"), f"rotate({degrees:g} {x:g} {y:g})"
    group.add(d.svg.path(f"M{x} {y + 16}V{y - 14}l-6 12l6-4l6 4z", fill="none", stroke="currentColor", transform=turn))
    radius, angle = 22, math.radians(degrees)
    at = x + radius * math.sin(angle), y - radius * math.cos(angle)
    d.draw_text("N", at, LABEL, font_weight="700", into=group)
    d.add(group)
    d.north, d.north_box = group, (x - radius - 8, y - radius - 8, x + radius + 8, y + radius + 8)
    d.taken.add(d.north_box)


def _chain(d: Any, marks: Sequence[float], *, along_x: bool) -> None:
    sheet = d.paper
    rows = [marks] if len(marks) <= 2 else [marks, [marks[0], marks[-1]]]
    for k, row in enumerate(rows):
        off = DIMENSION * (k + 0.8)
        at = [sheet.at((m, sheet.low) if along_x else (sheet.left, m)) for m in row]
        at = [(x, y + off) if along_x else (x - off, y) for x, y in at]
        d.add(d.svg.line(at[0], at[-1], stroke="currentColor", stroke_width=0.7))
        for x, y in at:
            d.add(d.svg.line((x - 3, y + 3), (x + 3, y - 3), stroke="currentColor", stroke_width=1.2))
        for (a, b), (m, n) in zip(itertools.pairwise(at), itertools.pairwise(row), strict=True):
            words = feet_inches(n - m)
            middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
            if width_of(words, LABEL) + 4 < math.dist(a, b):
                where = (middle[0], middle[1] - 9) if along_x else (middle[0] - 9, middle[1])
                d.text(words, where, LABEL, turned=not along_x)
        d.taken.line(at[0], at[-1], 4)
