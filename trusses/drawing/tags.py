"""Names of pieces, and in a view of forces the pounds with them, placed so that none covers another or lies on wood.

A name stands beside its piece where there is room, else it is led to it from the nearest place that is free. A chord of
one board has one name; its panels have theirs where they must be told apart. What finds no room at all is left out (the
member's title still says it, and a page shows that on tap).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from typing import NamedTuple

from svgwrite.container import Group

from trusses.analysis.piece_names import SawnPiece
from trusses.drawing import pens as P
from trusses.drawing.differences import Differences
from trusses.drawing.forces import Force
from trusses.drawing.paper import Paper, Point
from trusses.drawing.placing import Spot, around, box
from trusses.drawing.shape import Piece, Shape
from trusses.drawing.text import NAME_LETTERS, TAG_LETTERS, clean, width_of

_MARK = {"added": "+", "changed": "△", "touched": "✕"}
_ALONG = (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74)
_LED_TO = (0.5, 0.3, 0.7)
_UP_FROM = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)
_RINGS = range(1, 23)
_ROWS = range(1, 11)
_ASIDE = (0.0, 0.25, -0.25, 0.45, -0.45)
_LEADING = 1.16
_CLEAR = 0.32  # of the letters' size, between a box and wood


class Place(NamedTuple):
    """Where a label's lines stand: centred on `at`, turned; `leader` from its edge to a point of its piece."""

    at: Point
    lines: tuple[str, ...]
    size: float
    turned: float = 0.0
    leader: tuple[Point, Point] | None = None
    pad: float = 0.0
    """What stays free around a label in a box."""

    @property
    def box(self) -> tuple[Point, ...]:
        """The box around the lines."""
        return box(*self.at, *_extent(self.lines, self.size), self.turned)

    @property
    def spot(self) -> Spot[Place]:
        wide, high = (extent + 2 * self.pad for extent in _extent(self.lines, self.size))
        outline = box(*self.at, wide, high, self.turned)
        if self.leader is not None:
            return Spot(outline, self, self.leader)
        # a label without a leader is about the wood next to it, so no other may be as near
        grown = box(*self.at, wide + self.size * 0.8, high + self.size * 0.5, self.turned)
        return Spot(outline, self, margin=grown)


@dataclass(frozen=True)
class Tag:
    """What one label is about: the wood it belongs to, what it says, and how a change or an opening marks it."""

    piece: Piece
    name: str
    panels: tuple[str, ...]
    kind: str = ""
    words: tuple[str, ...] = ()
    force: float = 0.0


class Tags:
    """Labels of members; `touched` are members in the way of an opening, or `touched_as` "damaged", marked where no
    forces are shown."""

    def __init__(
        self,
        paper: Paper,
        shape: Shape,
        marks: Differences,
        forces: dict[str, Force] | None,
        touched: frozenset[str],
        touched_as: str = "touched",
    ) -> None:
        self.paper, self.shape, self.marks, self.forces, self.touched = paper, shape, marks, forces, touched
        self.touched_as = touched_as
        self.layer = paper.group("labels")
        self.unnumbered: list[str] = []
        """Names of the pieces whose pounds had no room."""

    def draw(self, tags: Iterable[Tag]) -> None:
        """The most telling first, since the first find room: what a change touches, then the largest forces."""
        for tag in sorted(tags, key=lambda tag: (tag.kind == "", -tag.force, self._in_turn(tag))):
            if not _label(self.paper, self.layer, tag):
                self.unnumbered.append(clean(tag.name, TAG_LETTERS))

    def _in_turn(self, tag: Tag) -> tuple[bool, bool, float]:
        """Where names stand in rows: those of the ends, which have no other place, then from the left, so that the line
        of the next passes between two of them, chords last."""
        if not self.paper.shallow:
            return False, False, 0.0
        middle = (tag.piece.a[0] + tag.piece.b[0]) / 2
        xs = [x for x, _ in self.shape.joints.values()]
        return not tag.piece.is_web, middle not in (min(xs), max(xs)), middle

    def all(self) -> list[Tag]:
        """One for each web and for each board, or for its panels where these must be told apart."""
        return [tag for board in self.shape.boards for tag in self._of(board)]

    def _of(self, board: SawnPiece) -> Iterator[Tag]:
        panels = [self.shape.pieces[panel] for panel in board.panels]
        kinds = [self._kind(panel) for panel in panels]
        if self.forces is not None:
            for panel, kind in zip(panels, kinds, strict=True):
                force = self.forces[panel.id]
                yield Tag(panel, self.shape.called[panel.id], (panel.id,), kind, force.words, force.most)
            return
        if len(set(kinds)) == 1:
            yield Tag(_whole(panels), board.name, board.panels, kinds[0])
            return
        yield Tag(_whole(panels), board.name, board.panels)
        for panel, kind in zip(panels, kinds, strict=True):
            if kind:
                yield Tag(panel, self.shape.called[panel.id], (panel.id,), kind)

    def _kind(self, piece: Piece) -> str:
        kind = self.marks.kind(piece.id).split(" ")[0]
        if kind in _MARK:
            return kind
        if piece.id in self.touched and not self.forces:
            self.paper.explain(self.touched_as)
            return "touched"
        return ""


def _whole(panels: list[Piece]) -> Piece:
    """A board as one piece; its panels lie in a line, from the left."""
    ends = sorted(end for panel in panels for end in (panel.a, panel.b))
    return panels[0] if len(panels) == 1 else replace(panels[0], a=ends[0], b=ends[-1])


def draw_ghost_tags(paper: Paper, before: Shape, removed: Iterable[Piece]) -> None:
    """Names of members that were taken out, struck through."""
    layer = paper.group("labels")
    for piece in removed:
        name = (clean(before.called[piece.id], TAG_LETTERS),)
        place = paper.room.first_free(
            (place.spot for place in _places(paper, piece, name, paper.pens.text)), beside=(f"ghost {piece.id}",)
        )
        if place is not None:
            group = paper.group("label removed", layer)
            group["data-for"] = clean(piece.id, NAME_LETTERS)
            _write(paper, group, place, text_decoration="line-through")


def _label(paper: Paper, layer: Group, tag: Tag) -> bool:
    """Whether all of it had room."""
    name = clean(tag.name, TAG_LETTERS)
    if tag.kind in _MARK:
        name = f"{_MARK[tag.kind]} {name}"
    pad = _CLEAR * paper.pens.small if tag.kind in _MARK else 0.0
    size = paper.pens.text
    places = _with_forces(paper, tag, name) if tag.words else _places(paper, tag.piece, (name,), size, pad)
    place = paper.room.first_free((place.spot for place in places), beside=tag.panels)
    if place is None:
        return False
    group = paper.group(f"label {tag.kind}".strip(), layer)
    group["data-for"] = clean(tag.piece.id, NAME_LETTERS)
    if tag.kind in _MARK:
        paper.polygon(group, place.box, class_="label-back marked", fill=P.MARKER, **paper.wide())
    _write(paper, group, place, **({"font_weight": "600"} if tag.kind in _MARK else {}))
    paper.stands(group, partial(_again, tag), tag.panels)
    return not tag.words or place.lines != (name,)


def _again(tag: Tag, paper: Paper) -> None:
    _label(paper, paper.group("labels"), tag)


def _with_forces(paper: Paper, tag: Tag, name: str) -> Iterator[Place]:
    """Places for a name with its pounds, best first; at last for the name alone."""
    size = paper.pens.small
    yield from _parallel(paper, tag.piece, (f"{name}  {'  '.join(tag.words)}",), size)
    yield from _places(paper, tag.piece, (name, *tag.words), size)
    yield from _places(paper, tag.piece, (name,), size)


def _places(paper: Paper, piece: Piece, lines: tuple[str, ...], size: float, pad: float = 0.0) -> Iterator[Place]:
    """Where a label may stand: beside its piece, else led to it from the nearest place that is free."""
    yield from _beside(paper, piece, lines, size, pad)
    yield from _led(paper, piece, lines, size, pad)


@lru_cache(maxsize=256)
def _extent(lines: tuple[str, ...], size: float) -> tuple[float, float]:
    return max(width_of(line, size) for line in lines) + 5, size * _LEADING * len(lines) + 1


def _beside(paper: Paper, piece: Piece, lines: tuple[str, ...], size: float, pad: float) -> Iterator[Place]:
    """Upright, next to the member: outside the truss first."""
    ends = paper.seen(piece.a, piece.b)
    if ends is None:
        return
    (ax, ay), (bx, by) = ends
    wide, high = _extent(lines, size)
    nx, ny = _outside(piece)
    for more in (2.0, 7.0):
        for side in (1, -1):
            off = piece.half * paper.view.scale + abs(nx) * wide / 2 + abs(ny) * high / 2 + pad + more
            for share in _ALONG:
                yield Place(
                    (ax + (bx - ax) * share + side * nx * off, ay + (by - ay) * share + side * ny * off),
                    lines,
                    size,
                    pad=pad,
                )


def _parallel(paper: Paper, piece: Piece, lines: tuple[str, ...], size: float) -> Iterator[Place]:
    """Along the member, beside it, readable from below or from the right."""
    ends = paper.seen(piece.a, piece.b)
    if ends is None:
        return
    (ax, ay), (bx, by) = ends
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


def _led(paper: Paper, piece: Piece, lines: tuple[str, ...], size: float, pad: float) -> Iterator[Place]:
    """Farther out, nearest first, with a thin line to the member."""
    ends = paper.seen(piece.a, piece.b)
    if ends is None:
        return
    (ax, ay), (bx, by) = ends
    feet = [(ax + (bx - ax) * share, ay + (by - ay) * share) for share in _LED_TO]
    if paper.shallow:
        above = [(ax + (bx - ax) * share, ay + (by - ay) * share) for share in _UP_FROM]
        outside = (-1, 1) if piece.is_web else (1,) if piece.role == "bottom_chord" else (-1,)
        yield from _in_rows(above, lines, size, pad, outside)
        if not piece.is_web:  # led from elsewhere, the line would run over webs
            return
    rings = (around(foot, _extent(lines, size), _RINGS, size * 0.8) for foot in feet)
    for spots in zip(*rings, strict=True):
        for foot, (at, edge) in zip(feet, spots, strict=True):
            yield Place(at, lines, size, leader=(edge, foot), pad=pad)


def _in_rows(
    feet: list[Point], lines: tuple[str, ...], size: float, pad: float, ways: Sequence[int]
) -> Iterator[Place]:
    """Straight above (-1) or below these points of a piece, the nearest first; at last so that the line leads to an end
    of the name."""
    wide, high = _extent(lines, size)
    for aside in _ASIDE:
        for k in _ROWS:
            for way in ways:
                for u, v in feet:
                    edge = v + way * k * size * 0.8
                    at = (u + aside * wide, edge + way * high / 2)
                    yield Place(at, lines, size, leader=((u, edge), (u, v)), pad=pad)


def _outside(piece: Piece) -> Point:
    """On the paper, the side on which a member's label stands first: up, but down from a bottom chord."""
    dx, dy = piece.along
    # on the paper y runs down: (dy, dx) points down from a member that runs to the right
    nx, ny = (dy, dx) if dx > 0 or (dx == 0 and dy < 0) else (-dy, -dx)
    return (nx, ny) if piece.role == "bottom_chord" else (-nx, -ny)


def _write(paper: Paper, group: Group, place: Place, **extra: str) -> None:
    if place.leader is not None:
        paper.line(group, *place.leader, class_="leader", **paper.narrow())
        paper.circle(group, place.leader[1], paper.pens.narrow * 2.4, fill=P.INK, class_="leader-end")
    c, s = math.cos(place.turned), math.sin(place.turned)
    for i, line in enumerate(place.lines):
        down = (i - (len(place.lines) - 1) / 2) * place.size * _LEADING
        at = (place.at[0] - s * down, place.at[1] + c * down)
        weight = {"font_weight": "600"} if i == 0 and len(place.lines) > 1 else {}
        paper.text(
            group, line, at, size=place.size, turned=place.turned, fill=P.INK, kind="label-text", **(weight | extra)
        )
