"""Lines of parallel-chord floor trusses, all members of lumber laid flat.

y = 0 is the underside of the bottom chord, so that heights read as a tape held to it; x = 0 is the left bearing joint,
the centreline of the end web. Webs go up and down between the chords from the bottom chord at the bearing. A chase
panel is framed as a rectangle by two upright webs: no web crosses it, and both chords run through it and through the
panels beside it unspliced, because they bend to carry the shear across.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from typing import Any

from trusses.analysis.shapes.skeleton import ShapeError, Skeleton, spread, symmetric

Values = Mapping[str, Any]


def floor(values: Values) -> Skeleton:
    """Warren-type floor truss with upright end webs, and a chase panel where `chase_width` is given."""
    span, panel = values["span"], values["panel"]
    low = values["bottom_thickness"] / 2
    high = values["depth"] - values["top_thickness"] / 2
    if high - low < 6:
        raise ShapeError("shape-depth", "depth", depth_in=values["depth"])
    edges = _chase_edges(values)
    if edges:
        # the right-hand section starts at its bearing too, so that both ends of the truss are built alike
        *from_right, (chord, _) = _zigzag(span - edges[1], panel)
        mirror = [(letter, span - x) for letter, x in from_right]
        paths = [_zigzag(edges[0], panel), [*mirror, (chord, edges[1])]]
    else:
        paths = [_zigzag(span, panel, even=True)]
    uprights = (0.0, *edges, span)
    lines = Skeleton(flat=True)
    names: dict[tuple[str, float], str] = {}
    for chord, y in (("t", high), ("b", low)):
        xs = sorted({*uprights, *(x for path in paths for letter, x in path if letter == chord)})
        names |= {(chord, x): lines.add(f"{chord}{i}", x, y) for i, x in enumerate(xs)}
    lines.top, lines.bottom = ([[name for (letter, _), name in names.items() if letter == chord]] for chord in "tb")
    lines.bearings = (names["b", 0.0], names["b", span])
    lines.webs = [(names["b", x], names["t", x]) for x in uprights]
    for path in paths:
        lines.webs += itertools.pairwise(names[point] for point in path)
    lines.webs.sort(key=lambda pair: sum(lines.joints[name][0] for name in pair))
    lines.whole = _beside(lines, edges)
    return lines


def _zigzag(length: float, panel: float, even: bool = False) -> list[tuple[str, float]]:
    """The web path from the bottom chord at a bearing to the upright `length` away, as chords and distances, inches.

    Panel points of one chord stand no farther apart than `panel`; `even` brings the path back to the bottom chord.
    """
    halves = max(2, math.ceil(length / (panel / 2) - 1e-9))
    halves += even and halves % 2
    points = spread(0.0, length, halves)
    return [("t" if i % 2 else "b", x) for i, x in enumerate(symmetric(points, length) if even else points)]


def _chase_edges(values: Values) -> tuple[float, ...]:
    """Centrelines of the upright webs beside the chase, whose clear width is `chase_width`; empty without one."""
    width = values.get("chase_width")
    if not width:
        return ()
    span = values["span"]
    center = span / 2 if values.get("chase_center") is None else values["chase_center"]
    half = (width + values["web_thickness"]) / 2
    if center - half < 12 or center + half > span - 12:
        raise ShapeError("shape-chase", "chase_center", width_in=width, center_in=center, span_in=span)
    # to the figure that joints are kept to, so that the uprights stand in the chords' own joints
    return (round(center - half, 4), round(center + half, 4))


def _beside(lines: Skeleton, edges: tuple[float, ...]) -> set[str]:
    """Chord joints of the chase panel and of the panels beside it."""
    whole: set[str] = set()
    if not edges:
        return whole
    for run in (*lines.top, *lines.bottom):
        inside = [i for i, name in enumerate(run) if edges[0] <= lines.joints[name][0] <= edges[1]]
        whole.update(run[max(0, inside[0] - 1) : inside[-1] + 2])
    return whole
