"""Member names, and in a view of forces the pounds with them, placed so that none covers another.

A label without its member's name stands on or along the member itself. What finds no room is left out on a small
drawing (the member's title still says it) and led out of the truss on a sheet.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from svgwrite.container import Group

from trusses.drawing import pens as P
from trusses.drawing.differences import Differences
from trusses.drawing.forces import Force
from trusses.drawing.paper import Paper, Point
from trusses.drawing.placing import Spot, box, thread
from trusses.drawing.shape import Piece
from trusses.drawing.text import NAME_LETTERS, TAG_LETTERS, clean, width_of

_MARK = {"added": "+", "changed": "△", "touched": "✕"}
_ALONG = (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74)
_LEADING = 1.16


@dataclass(frozen=True)
class Place:
    """Where a label's lines stand: centred on `at`, turned, on bare paper or not, led to a point of its member."""

    at: Point
    lines: tuple[str, ...]
    size: float
    turned: float = 0.0
    backed: bool = False
    led_to: Point | None = None

    @property
    def extent(self) -> tuple[float, float]:
        return _extent(self.lines, self.size)

    @property
    def leader(self) -> tuple[Point, Point] | None:
        """From the label's edge to its member."""
        if self.led_to is None:
            return None
        edge = math.copysign(self.extent[1] / 2, self.led_to[1] - self.at[1])
        return (self.at[0], self.at[1] + edge), self.led_to

    @property
    def spot(self) -> Spot[Place]:
        leader = self.leader
        return Spot(box(*self.at, *self.extent, self.turned), self, leader and thread(*leader))


class Tags:
    """Labels of members; `touched` are members in the way of an opening, marked where no forces are shown."""

    def __init__(
        self, paper: Paper, marks: Differences, forces: dict[str, Force] | None, touched: frozenset[str]
    ) -> None:
        self.paper, self.marks, self.forces, self.touched = paper, marks, forces, touched
        self.layer = paper.group("labels")

    def draw(self, pieces: list[Piece]) -> None:
        """The most telling first, since the first find room: what a change touches, then the largest forces."""
        forces = self.forces
        for piece in sorted(pieces, key=lambda p: (self._kind(p) == "", -forces[p.id].most if forces else 0.0)):
            kind = self._kind(piece)
            if self.paper.pens.dimensions or piece.is_web or kind or forces:
                _label(self.paper, self.layer, piece, kind, forces[piece.id].words if forces else ())

    def marks_out(self, piece: Piece) -> bool:
        """Whether the label carries a mark, and so must not be missing."""
        return bool(self._kind(piece))

    def _kind(self, piece: Piece) -> str:
        kind = self.marks.kind(piece.id).split(" ")[0]
        if kind in _MARK:
            return kind
        if piece.id in self.touched and not self.forces:
            self.paper.explain("touched")
            return "touched"
        return ""


def draw_ghost_tags(paper: Paper, pieces: list[Piece]) -> None:
    """Names of members that were taken out, struck through."""
    layer = paper.group("labels")
    for piece in pieces:
        name = (clean(piece.id, TAG_LETTERS),)
        candidates = [*_on(paper, piece, name, paper.pens.text), *_beside(paper, piece, name, paper.pens.text)]
        place = paper.room.first_free((place.spot for place in candidates), f"ghost {piece.id}")
        if place is not None:
            group = paper.group("label removed", layer)
            group["data-for"] = clean(piece.id, NAME_LETTERS)
            _write(paper, group, place, text_decoration="line-through")


def _label(paper: Paper, layer: Group, piece: Piece, kind: str, words: tuple[str, ...]) -> None:
    name = clean(piece.id, TAG_LETTERS)
    if kind in _MARK:
        name = f"{_MARK[kind]} {name}"
    whole = paper.pens.dimensions or kind in _MARK
    candidates = _with_forces(paper, piece, name, words) if words else _names(paper, piece, name, whole)
    if kind in _MARK:
        place: Place | None = paper.room.best([place.spot for place in candidates], piece.id)
    else:
        place = paper.room.first_free((place.spot for place in candidates), piece.id)
    if place is None:
        return
    group = paper.group(f"label {kind}".strip(), layer)
    group["data-for"] = clean(piece.id, NAME_LETTERS)
    if place.leader is not None:
        paper.line(group, *place.leader, class_="leader", **paper.narrow())
        paper.circle(group, place.leader[1], paper.pens.narrow * 2.4, fill=P.INK, class_="leader-end")
    if kind in _MARK:
        paper.polygon(group, place.spot.outline, class_="label-back marked", fill=P.MARKER, **paper.wide())
    elif place.backed:
        paper.polygon(group, place.spot.outline, class_="paper label-back", fill=P.PAPER, stroke="none")
    _write(paper, group, place, **({"font_weight": "600"} if kind in _MARK else {}))


def _names(paper: Paper, piece: Piece, name: str, whole: bool) -> Iterator[Place]:
    """Places for a name alone, best first; the `whole` list where it should not be missing."""
    size = paper.pens.text
    if piece.is_web:
        yield from _on(paper, piece, (name,), size)
    if not piece.is_web or whole:
        yield from _beside(paper, piece, (name,), size)
    if whole:
        yield from _led_out(paper, piece, name, size)


def _with_forces(paper: Paper, piece: Piece, name: str, words: tuple[str, ...]) -> Iterator[Place]:
    """Places for a name with its pounds, best first; at last for the pounds alone."""
    size = paper.pens.small
    joined = f"{name}  {'  '.join(words)}"
    yield from _parallel(paper, piece, (joined,), size)
    yield from _on(paper, piece, (name, *words), size)
    if not piece.is_web:
        yield from _beside(paper, piece, (name, *words), size)
    if paper.pens.dimensions:
        yield from _led_out(paper, piece, joined, size)
    yield from _parallel(paper, piece, words[:1], size)
    yield from _on(paper, piece, words[:1], size)


def _extent(lines: tuple[str, ...], size: float) -> tuple[float, float]:
    return max(width_of(line, size) for line in lines) + 5, size * _LEADING * len(lines) + 1


def _ends(paper: Paper, piece: Piece) -> tuple[Point, Point]:
    return paper.view.at(piece.a), paper.view.at(piece.b)


def _on(paper: Paper, piece: Piece, lines: tuple[str, ...], size: float) -> Iterator[Place]:
    """Upright, on the member."""
    (ax, ay), (bx, by) = _ends(paper, piece)
    for share in _ALONG:
        yield Place((ax + (bx - ax) * share, ay + (by - ay) * share), lines, size, backed=True)


def _beside(paper: Paper, piece: Piece, lines: tuple[str, ...], size: float) -> Iterator[Place]:
    """Upright, next to the member: outside the truss first."""
    (ax, ay), (bx, by) = _ends(paper, piece)
    wide, high = _extent(lines, size)
    nx, ny = _outside(piece)
    for side in (1, -1):
        for more in (2.0, 8.0):
            off = piece.half * paper.view.scale + abs(nx) * wide / 2 + abs(ny) * high / 2 + more
            for share in _ALONG:
                yield Place(
                    (ax + (bx - ax) * share + side * nx * off, ay + (by - ay) * share + side * ny * off), lines, size
                )


def _parallel(paper: Paper, piece: Piece, lines: tuple[str, ...], size: float) -> Iterator[Place]:
    """Along the member, beside it, readable from below or from the right."""
    (ax, ay), (bx, by) = _ends(paper, piece)
    wide, high = _extent(lines, size)
    if math.dist((ax, ay), (bx, by)) < wide:
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
            yield Place(at, lines, size, turned)


def _led_out(paper: Paper, piece: Piece, line: str, size: float) -> Iterator[Place]:
    """Above or below the truss, with a thin line to the member."""
    ends = sorted(_ends(paper, piece), key=lambda end: end[1])
    (ax, ay), (bx, by) = ends
    levels = [v for _, v in ends]
    for row in (2.4, 3.7):
        for v, share in ((min(levels) - row * size, 0.3), (max(levels) + row * size, 0.7)):
            for shift in (0.0, -1.5, 1.5, -3.0, 3.0, -4.5, 4.5):
                foot = (ax + (bx - ax) * share, ay + (by - ay) * share)
                yield Place((foot[0] + shift * size, v), (line,), size, led_to=foot)


def _outside(piece: Piece) -> Point:
    """On the paper, the side on which a member's label stands first: up, but down from a bottom chord."""
    dx, dy = piece.along
    # on the paper y runs down: (dy, dx) points down from a member that runs to the right
    nx, ny = (dy, dx) if dx > 0 or (dx == 0 and dy < 0) else (-dy, -dx)
    return (nx, ny) if piece.role == "bottom_chord" else (-nx, -ny)


def _write(paper: Paper, group: Group, place: Place, **extra: str) -> None:
    c, s = math.cos(place.turned), math.sin(place.turned)
    for i, line in enumerate(place.lines):
        down = (i - (len(place.lines) - 1) / 2) * place.size * _LEADING
        at = (place.at[0] - s * down, place.at[1] + c * down)
        weight = {"font_weight": "600"} if i == 0 and len(place.lines) > 1 else {}
        paper.text(
            group, line, at, size=place.size, turned=place.turned, fill=P.INK, kind="label-text", **(weight | extra)
        )
