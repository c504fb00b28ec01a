"""Pitch marks: the little right triangle with 12 along its run and the rise beside it."""

from __future__ import annotations

import math

from svgwrite.container import Group

from trusses.drawing import pens as P
from trusses.drawing.paper import Paper
from trusses.drawing.placing import box
from trusses.drawing.shape import Piece, Shape
from trusses.drawing.text import twelfths, width_of

_FLAT = 0.25  # in 12: less is drainage, not a pitch
_STEEPEST = 60.0  # in 12: more is a wall


def pitches(shape: Shape, role: str) -> list[Piece]:
    """The longest sloping piece of each pitch of a chord, from left to right."""
    longest: dict[str, Piece] = {}
    for piece in shape.chords(role):
        rise = rise_in_12(piece)
        if not _FLAT < abs(rise) < _STEEPEST:
            continue
        key = twelfths(rise)
        if key not in longest or piece.length > longest[key].length + 1e-6:
            longest[key] = piece
    return sorted(longest.values(), key=lambda p: min(p.a[0], p.b[0]))


def rise_in_12(piece: Piece) -> float:
    dx, dy = piece.along
    return 12 * dy / dx if abs(dx) > 1e-9 else math.inf


def draw_pitches(paper: Paper, shape: Shape) -> None:
    layer = paper.group("pitches", label="Pitch")
    for role, above in (("top_chord", True), ("bottom_chord", False)):
        for piece in pitches(shape, role):
            _draw_mark(paper, layer, piece, above)


def _draw_mark(paper: Paper, layer: Group, piece: Piece, above: bool) -> None:
    """Above a top chord, or below a bottom chord, its slope parallel to the wood."""
    slope = rise_in_12(piece) / 12
    size = paper.pens.small
    run = size * (2.7 if paper.pens.dimensions else 1.9)
    rise = run * abs(slope)
    words = twelfths(slope * 12)
    for lift in (0.6, 1.4, 2.4):
        for share in (0.5, 0.3, 0.7, 0.38, 0.62, 0.22, 0.78):
            corner, mark = _corners(paper, piece, share, above, run, rise, lift * size)
            side = 1 if corner[0] == max(p[0] for p in mark) else -1
            up = -1 if above else 1
            rows = [
                ("12", (sum(p[0] for p in mark[:2]) / 2, corner[1] + up * size * 0.68)),
                (words, (corner[0] + side * (width_of(words, size) / 2 + 4), corner[1] - up * rise / 2)),
            ]
            labels = [box(*at, width_of(text, size) + size, size * 1.3) for text, at in rows]
            if all(paper.room.free(outline) for outline in (mark, *labels)):
                taken = tuple(paper.room.take(outline) for outline in (mark, *labels))
                group = paper.group("pitch", layer)
                paper.polygon(group, mark, fill="none", stroke=P.INK, stroke_width=paper.pens.narrow)
                for text, at in rows:
                    paper.text(group, text, at, fill=P.INK)
                paper.stands(group, lambda other: _draw_mark(other, other.group("pitches"), piece, above), taken=taken)
                return


def _corners(
    paper: Paper, piece: Piece, share: float, above: bool, run: float, rise: float, lift: float
) -> tuple[tuple[float, float], list[tuple[float, float]]]:
    """The right-angled corner, and all three corners (the right angle, the end of the run, the end of the rise)."""
    dx, dy = piece.along
    x, y = piece.a[0] + (piece.b[0] - piece.a[0]) * share, piece.a[1] + (piece.b[1] - piece.a[1]) * share
    up = 1.0 if above else -1.0
    u, v = paper.view.at((x, y + up * piece.half / abs(dx)))
    v -= up * lift
    uphill = math.copysign(1.0, dy * dx)  # on the paper, the side to which the chord rises
    # above a chord the right angle stands over its low end; below, under its high end
    low, high = (u - uphill * run / 2, v + rise / 2), (u + uphill * run / 2, v - rise / 2)
    corner = (low[0], high[1]) if above else (high[0], low[1])
    along_run, along_rise = (high, low) if above else (low, high)
    return corner, [corner, along_run, along_rise]
