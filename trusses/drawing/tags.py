"""Member names, and in a view of forces the pounds with them, placed so that none covers another."""

from __future__ import annotations

import math
from collections.abc import Iterator

from svgwrite.container import Group

from trusses.drawing import pens as P
from trusses.drawing.differences import Differences
from trusses.drawing.forces import Force
from trusses.drawing.paper import Paper, Point
from trusses.drawing.placing import Outline, box
from trusses.drawing.shape import Piece, Shape
from trusses.drawing.text import NAME_LETTERS, TAG_LETTERS, clean, width_of

_MARK = {"added": "+", "changed": "△", "touched": "✕"}
_ALONG = (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74)
Candidate = tuple[Outline, tuple[Point, float, tuple[str, ...], bool]]


def draw_tags(
    paper: Paper, shape: Shape, marks: Differences, forces: dict[str, Force] | None, touched: frozenset[str]
) -> None:
    """`touched` are members in the way of an opening."""
    layer = paper.group("tags")
    pieces = list(shape.pieces.values())
    if forces:
        pieces.sort(key=lambda piece: (not piece.is_web, -forces[piece.id].most))
    else:
        pieces.sort(key=lambda piece: (not marks.kind(piece.id), not piece.is_web))
    for piece in pieces:
        kind = marks.kind(piece.id).split(" ")[0]
        if kind not in _MARK and piece.id in touched:
            kind = "touched"
            paper.explain(kind)
        if paper.pens.detail == "phone" and not piece.is_web and kind not in _MARK and not forces:
            continue
        _place(paper, layer, piece, kind, forces[piece.id].words if forces else ())


def _place(paper: Paper, layer: Group, piece: Piece, kind: str, words: tuple[str, ...]) -> None:
    name = clean(piece.id, TAG_LETTERS)
    if kind in _MARK:
        name = f"{_MARK[kind]} {name}"
    place = paper.room.first_free(_candidates(paper, piece, name, words), piece.id)
    if place is None:
        return
    at, turned, lines, backed = place  # type: ignore[misc]
    group = paper.group(f"tag {kind}".strip(), layer)
    group["data-for"] = clean(piece.id, NAME_LETTERS)
    _draw(paper, group, at, turned, lines, backed=backed, marked=kind in _MARK, named=name)


def _candidates(paper: Paper, piece: Piece, name: str, words: tuple[str, ...]) -> Iterator[Candidate]:
    """Places to try, best first, each with the lines that stand there."""
    size = paper.pens.text if not words else paper.pens.small
    if not words:
        yield from (_on(paper, piece, (name,), size) if piece.is_web else _beside(paper, piece, (name,), size))
        yield from (_beside(paper, piece, (name,), size) if piece.is_web else ())
        return
    joined = (f"{name}  {'  '.join(words)}",)
    yield from _parallel(paper, piece, joined, size)
    yield from _on(paper, piece, (name, *words), size)
    yield from _beside(paper, piece, (name, *words), size)
    yield from _parallel(paper, piece, words[:1], size)
    yield from _on(paper, piece, words[:1], size)
    yield from _beside(paper, piece, words[:1], size, far=True)


def _extent(lines: tuple[str, ...], size: float) -> tuple[float, float]:
    return max(width_of(line, size) for line in lines) + 5, size * 1.16 * len(lines) + 1


def _ends(paper: Paper, piece: Piece) -> tuple[Point, Point]:
    return paper.view.at(piece.a), paper.view.at(piece.b)


def _on(paper: Paper, piece: Piece, lines: tuple[str, ...], size: float) -> Iterator[Candidate]:
    """Upright, on the member."""
    (ax, ay), (bx, by) = _ends(paper, piece)
    wide, high = _extent(lines, size)
    for share in _ALONG:
        at = (ax + (bx - ax) * share, ay + (by - ay) * share)
        yield box(*at, wide, high), (at, 0.0, lines, True)


def _beside(paper: Paper, piece: Piece, lines: tuple[str, ...], size: float, far: bool = False) -> Iterator[Candidate]:
    """Upright, clear of the member: outside the truss first."""
    (ax, ay), (bx, by) = _ends(paper, piece)
    wide, high = _extent(lines, size)
    nx, ny = _outside(piece)
    for side in (1, -1):
        for more in (2.0, 8.0, 16.0, 26.0, 38.0)[: 5 if far else 2]:
            off = piece.half * paper.view.scale + abs(nx) * wide / 2 + abs(ny) * high / 2 + more
            for share in _ALONG:
                at = (ax + (bx - ax) * share + side * nx * off, ay + (by - ay) * share + side * ny * off)
                yield box(*at, wide, high), (at, 0.0, lines, False)


def _parallel(paper: Paper, piece: Piece, lines: tuple[str, ...], size: float) -> Iterator[Candidate]:
    """Along the member, beside it, readable from below or from the right."""
    (ax, ay), (bx, by) = _ends(paper, piece)
    wide, high = _extent(lines, size)
    if math.dist((ax, ay), (bx, by)) < wide * 1.05:
        return
    turned = math.atan2(by - ay, bx - ax)
    if turned > math.pi / 2 - 1e-9:
        turned -= math.pi
    elif turned <= -math.pi / 2 - 1e-9:
        turned += math.pi
    nx, ny = _outside(piece)
    for side in (1, -1):
        off = side * (piece.half * paper.view.scale + high / 2 + 1.5)
        for share in _ALONG:
            at = (ax + (bx - ax) * share + nx * off, ay + (by - ay) * share + ny * off)
            yield box(*at, wide, high, turned), (at, turned, lines, False)


def _outside(piece: Piece) -> Point:
    """On the paper, the side on which a member's label stands first: up, but down from a bottom chord."""
    dx, dy = piece.along
    nx, ny = (dy, dx) if dx > 0 or (dx == 0 and dy < 0) else (-dy, -dx)
    # on the paper y runs down: (dy, dx) is below a member that runs right
    return (nx, ny) if piece.role == "bottom_chord" else (-nx, -ny)


def _draw(
    paper: Paper, group: Group, at: Point, turned: float, lines: tuple[str, ...], *, backed: bool, marked: bool,
    named: str,
) -> None:  # fmt: skip
    size = paper.pens.text if lines == (named,) else paper.pens.small
    wide, high = _extent(lines, size)
    if backed or marked:
        _tag(paper, group, at, wide, high, turned, marked)
    c, s = math.cos(turned), math.sin(turned)
    for i, line in enumerate(lines):
        down = (i - (len(lines) - 1) / 2) * size * 1.16
        weight = {"font_weight": "600"} if marked or (len(lines) > 1 and i == 0) else {}
        place = (at[0] - s * down, at[1] + c * down)
        paper.text(group, line, place, size=size, turned=turned, fill=P.INK, kind="tag-text", **weight)


def _tag(paper: Paper, group: Group, at: Point, wide: float, high: float, turned: float, marked: bool) -> None:
    line = {"stroke": P.INK, "stroke_width": paper.pens.wide} if marked else {"stroke": "none"}
    fill = {"class_": "tag-back marked", "fill": P.MARKER} if marked else {}
    corners = box(*at, wide, high, turned)
    paper.polygon(group, corners, **({"class_": "paper tag-back", "fill": P.PAPER} | fill | line))
