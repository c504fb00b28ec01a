"""A truss document as the drawing sees it: pieces of lumber between points. Inches, x right, y up."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from trusses.analysis.lumber import lookup
from trusses.analysis.piece_names import SawnPiece, sawn_pieces

Point = tuple[float, float]
Document = Mapping[str, Any]


@dataclass(frozen=True)
class Piece:
    """One member: centreline from `a` to `b`, `depth` in the truss's plane."""

    id: str
    role: str
    joints: tuple[str, str]
    a: Point
    b: Point
    depth: float
    lumber: str
    flat: bool

    @property
    def is_web(self) -> bool:
        return self.role == "web"

    @property
    def half(self) -> float:
        return self.depth / 2

    @cached_property
    def length(self) -> float:
        return math.dist(self.a, self.b)

    @cached_property
    def along(self) -> Point:
        """Unit vector from `a` to `b`."""
        return ((self.b[0] - self.a[0]) / self.length, (self.b[1] - self.a[1]) / self.length)

    def away_from(self, joint: str) -> Point:
        """Unit vector from that end into the member."""
        x, y = self.along
        return (x, y) if self.joints[0] == joint else (-x, -y)

    def other_end(self, joint: str) -> str:
        return self.joints[1] if self.joints[0] == joint else self.joints[0]


@dataclass(frozen=True)
class Support:
    """A bearing; `width` is its length along the span."""

    joint: str
    at: Point
    restrains: str
    width: float

    @property
    def holds_up(self) -> bool:
        return "y" in self.restrains


@dataclass(frozen=True)
class Gap:
    """A clear opening without its clearance, about its centre; `asked` marks one that is only wished for."""

    id: str
    round: bool
    centre: Point
    width: float
    height: float
    clearance: float
    note: str = ""
    asked: bool = False
    face: tuple[str, int] | None = None
    """Where it is measured from, if that was said: a bearing's joint; 1 for its right-hand face, -1 for the other."""
    theirs: bool = False
    """Another request asks for it: it is neither designed nor what the drawing is about."""

    @property
    def left(self) -> float:
        return self.centre[0] - self.width / 2

    @property
    def right(self) -> float:
        return self.centre[0] + self.width / 2

    @property
    def bottom(self) -> float:
        return self.centre[1] - self.height / 2

    @property
    def top(self) -> float:
        return self.centre[1] + self.height / 2


@dataclass(frozen=True)
class Shape:
    """A truss document's geometry."""

    document: Document = field(repr=False)
    joints: dict[str, Point]
    pieces: dict[str, Piece]
    hinges: frozenset[str]
    supports: tuple[Support, ...]
    gaps: tuple[Gap, ...]

    @cached_property
    def at(self) -> dict[str, list[Piece]]:
        """The members that end at each joint."""
        found: dict[str, list[Piece]] = {name: [] for name in self.joints}
        for piece in self.pieces.values():
            for name in piece.joints:
                found[name].append(piece)
        return found

    def chords(self, role: str) -> list[Piece]:
        return [piece for piece in self.pieces.values() if piece.role == role]

    @cached_property
    def boards(self) -> tuple[SawnPiece, ...]:
        """The pieces as they are sawn, which people call by name."""
        return sawn_pieces(self.document)

    @cached_property
    def called(self) -> dict[str, str]:
        """What each member is called on a drawing."""
        return {
            member: name for board in self.boards for member, name in zip(board.panels, board.panel_names, strict=True)
        }

    @cached_property
    def held_up(self) -> tuple[Support, ...]:
        """Bearings that hold up and down, from left to right."""
        return tuple(sorted((s for s in self.supports if s.holds_up), key=lambda s: s.at))

    @cached_property
    def middle(self) -> float:
        xs = [x for x, _ in self.joints.values()]
        return (min(xs) + max(xs)) / 2

    @property
    def use(self) -> str:
        return "floor" if self.document.get("use") == "floor" else "roof"


def gap(opening: Document, *, asked: bool = False, face: tuple[str, int] | None = None) -> Gap:
    """An opening of a truss document, or one that is asked for."""
    is_round = opening["shape"] == "circle"
    width = float(opening["diameter_in"] if is_round else opening["width_in"])
    height = width if is_round else float(opening["height_in"])
    x, y = opening["centre_in"]
    clearance = float(opening.get("clearance_in", 0))
    name = str(opening.get("id", "")) or "new"
    note = str(opening.get("note", ""))
    return Gap(name, is_round, (float(x), float(y)), width, height, clearance, note, asked, face)


def shape(document: Document) -> Shape:
    """Geometry of a truss document that has been read (`document.read`) before; it isn't checked again here."""
    joints = {str(name): (float(x), float(y)) for name, (x, y) in document["joints"].items()}
    pieces = {}
    for member in document["members"]:
        flat = bool(member.get("flat", False))
        lumber = lookup(member["lumber"])
        first, second = member["joints"]
        depth = lumber.thickness_in if flat else lumber.width_in
        piece = Piece(
            member["id"],
            member["role"],
            (first, second),
            joints[first],
            joints[second],
            depth,
            member["lumber"],
            flat,
        )
        pieces[piece.id] = piece
    supports = tuple(
        Support(b["joint"], joints[b["joint"]], b["restrains"], float(b["width_in"])) for b in document["bearings"]
    )
    gaps = tuple(gap(opening) for opening in document.get("openings", ()))
    return Shape(document, joints, pieces, frozenset(document.get("hinges", ())), supports, gaps)
