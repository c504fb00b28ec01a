"""What a tape would read: heights of the wood, and where an opening lies from a bearing and from the bottom chord."""

from __future__ import annotations

import math
from dataclasses import dataclass

from trusses.drawing.outline import Outline, partner
from trusses.drawing.shape import Gap, Piece, Shape, Support

_ON_EDGE_IN = 1e-9
SAME_IN = 1 / 32
_LEAST_COS = 0.3  # a steeper chord has no underside to sit on


@dataclass(frozen=True)
class Reach:
    """Along the span, inches: from the face of a bearing to an opening's near edge, or to a round one's centre."""

    support: Support
    face: float
    target: float
    to_centre: bool

    @property
    def distance(self) -> float:
        return abs(self.target - self.face)


@dataclass(frozen=True)
class Rise:
    """From the bottom chord's top edge up to an opening's lower edge, or to a round one's centre; inches."""

    x: float
    chord: float
    target: float
    level: bool
    slope: float = 0.0
    """The rise of the chord's edge along the span, under the opening."""

    @property
    def distance(self) -> float:
        return self.target - self.chord


def reach(shape: Shape, gap: Gap) -> Reach | None:
    """An opening from the face of the nearest bearing that looks at it, or from the one that was said."""
    found = []
    for support in shape.held_up:
        if gap.face and gap.face[0] != support.joint:
            continue
        right = gap.face[1] > 0 if gap.face else gap.centre[0] >= support.at[0]
        face = support.at[0] + (support.width / 2 if right else -support.width / 2)
        near = gap.left if right else gap.right
        clear = (near - face) if right else (face - near)
        found.append((clear < 0, abs(clear), Reach(support, face, gap.centre[0] if gap.round else near, gap.round)))
    return min(found, key=lambda item: item[:2])[2] if found else None


def rise(shape: Shape, outlines: dict[str, Outline], gap: Gap) -> Rise | None:
    """An opening above the bottom chord, on the plumb line through its centre; None where no chord is under it.

    `level` tells that the chord is level there, so that the distance is the same all along the opening.
    """
    chords = {piece.id: outlines[piece.id] for piece in shape.chords("bottom_chord")}
    faces = [wood_at(chords, x) for x in (gap.left, gap.centre[0], gap.right)]
    if faces[1] is None:
        return None
    level = all(face is not None and abs(face[1] - faces[1][1]) < SAME_IN for face in faces)
    target = gap.centre[1] if gap.round else gap.bottom
    ends = (faces[0], faces[2])
    slope = (ends[1][1] - ends[0][1]) / gap.width if ends[0] is not None and ends[1] is not None else 0.0
    return Rise(gap.centre[0], faces[1][1], target, level, slope)


def wood_at(outlines: dict[str, Outline], x: float) -> tuple[float, float] | None:
    """The lowest and the highest wood on the plumb line at `x`; inches."""
    ys: list[float] = []
    for outline in outlines.values():
        corners = outline.corners
        for (ax, ay), (bx, by) in zip(corners, (*corners[1:], corners[0]), strict=True):
            if min(ax, bx) - _ON_EDGE_IN <= x <= max(ax, bx) + _ON_EDGE_IN:
                ys += [ay, by] if abs(bx - ax) < _ON_EDGE_IN else [ay + (by - ay) * (x - ax) / (bx - ax)]
    return (min(ys), max(ys)) if ys else None


def seat(shape: Shape, support: Support) -> float:
    """The level, in inches, at which the wood sits on a bearing: the highest underside over its width."""
    borne = [p for p in shape.at[support.joint] if p.role == "bottom_chord"]
    borne = borne or [p for p in shape.at[support.joint] if p.role == "top_chord"]
    levels = [level for piece in borne for level in _undersides(shape, piece, support)]
    return max(levels, default=support.at[1])


def _undersides(shape: Shape, piece: Piece, support: Support) -> list[float]:
    dx, dy = piece.away_from(support.joint)
    if abs(dx) < _LEAST_COS:
        return [support.at[1]]
    inner = math.copysign(support.width / 2, dx)
    steps = (0.0, inner) if partner(shape, piece, support.joint) else (-inner, 0.0, inner)
    return [support.at[1] + step * dy / dx - piece.half / abs(dx) for step in steps]


def height(shape: Shape, outlines: dict[str, Outline]) -> tuple[float, float]:
    """Base and top of the chords, inches. The base is the lowest bearing where the bottom chord sits on it."""
    chords = {name: outlines[name] for name, piece in shape.pieces.items() if not piece.is_web} or outlines
    every = [y for outline in chords.values() for _, y in outline.corners]
    low = [y for piece in shape.chords("bottom_chord") for _, y in outlines[piece.id].corners]
    base = min(low or every)
    seats = [seat(shape, support) for support in shape.held_up]
    if seats and abs(min(seats) - base) < max(piece.depth for piece in shape.pieces.values()):
        base = min(seats)
    return base, max(every)


def heels(shape: Shape, outlines: dict[str, Outline]) -> list[tuple[Support, int, float, float]]:
    """The outer bearings, each with its side (-1 left, 1 right), its seat and the wood's top over its outer face."""
    found = []
    held = shape.held_up
    for support, side in ((held[0], -1), (held[-1], 1)) if len(held) > 1 else ():
        wood = wood_at(outlines, support.at[0] + side * (support.width / 2 - 1e-6))
        if wood is not None:
            found.append((support, side, seat(shape, support), wood[1]))
    return found
