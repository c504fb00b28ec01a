"""Members at true depth, cut as they meet. Inches.

A chord is a rectangle about its centreline, mitred where the chord bends, cut plumb at its free ends, and at a heel
the bottom chord tucked beneath the top chord. A web is its rectangle less the chords that it runs into and the half
of each neighbouring web. The cuts are the drawing's: clearances are measured to the uncut rectangles (`openings`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from shapely import Polygon, difference, union_all

from trusses.drawing.shape import Piece, Point, Shape

Corners = tuple[Point, ...]
#: A half-plane: what lies on the side of `direction` from `through` is kept.
Cut = tuple[Point, Point]

_STRAIGHT = 1e-3
_FOLDED_BACK = 0.94  # two chords of one role within 20° of each other don't run on
_STEEP = 0.5  # a chord steeper than 60° is cut square, not plumb
_BESIDE = -0.5  # webs more than 120° apart don't meet each other
_GRID_IN = 1e-6
_ON_LINE_IN = 1e-5


@dataclass(frozen=True)
class Outline:
    """Corners of a piece and the lines of them that are drawn: a chord that runs on isn't cut there."""

    corners: Corners
    lines: tuple[Corners, ...]


def outlines(shape: Shape) -> dict[str, Outline]:
    """The outline of each member."""
    reaches = _reaches(shape)
    cut = {piece.id: _chord(shape, piece, reaches) for piece in shape.pieces.values() if not piece.is_web}
    polygons = {name: Polygon(corners) for name, corners in cut.items()}
    found: dict[str, Outline] = {}
    for piece in shape.pieces.values():
        neighbours = _chords_in_the_way(shape, piece)
        corners = _web(shape, piece) if piece.is_web else cut[piece.id]
        if neighbours:
            corners = _less(corners, [polygons[other.id] for other in neighbours])
        found[piece.id] = Outline(corners, _lines(corners, _running_on(shape, piece)))
    return found


def rectangle(piece: Piece, before: float = 0.0, beyond: float = 0.0) -> Corners:
    """The piece's true depth about its centreline, longer by `before` at its first end and `beyond` at its second."""
    ux, uy = piece.along
    nx, ny = -uy * piece.half, ux * piece.half
    ax, ay = piece.a[0] - ux * before, piece.a[1] - uy * before
    bx, by = piece.b[0] + ux * beyond, piece.b[1] + uy * beyond
    return ((ax + nx, ay + ny), (ax - nx, ay - ny), (bx - nx, by - ny), (bx + nx, by + ny))


def clip(corners: Corners, cut: Cut) -> Corners:
    """The part of a convex outline on the kept side of a cut (nothing where all of it lies on the other side)."""
    (px, py), (dx, dy) = cut
    sides = [(x - px) * dx + (y - py) * dy for x, y in corners]
    kept: list[Point] = []
    for i, corner in enumerate(corners):
        here, there, following = sides[i], sides[(i + 1) % len(corners)], corners[(i + 1) % len(corners)]
        if here >= 0:
            kept.append(corner)
        if (here > 0 > there) or (here < 0 < there):
            share = here / (here - there)
            kept.append(
                (corner[0] + (following[0] - corner[0]) * share, corner[1] + (following[1] - corner[1]) * share)
            )
    return tuple(kept)


def partner(shape: Shape, piece: Piece, joint: str) -> Piece | None:
    """The chord of the same role that carries on beyond `joint`, if any: the straightest one."""
    d = piece.away_from(joint)
    others = [other for other in shape.at[joint] if other.role == piece.role and other.id != piece.id]
    if piece.is_web or not others:
        return None
    best = min(others, key=lambda other: (_dot(d, other.away_from(joint)), other.id))
    return best if _dot(d, best.away_from(joint)) < _FOLDED_BACK else None


def runs_on(shape: Shape, piece: Piece, joint: str) -> bool:
    """Whether the piece and its partner are drawn as one stick through `joint`: straight, alike and not hinged."""
    other = partner(shape, piece, joint)
    if other is None or joint in shape.hinges or other.depth != piece.depth or other.lumber != piece.lumber:
        return False
    d, e = piece.away_from(joint), other.away_from(joint)
    return abs(_cross(d, e)) < _STRAIGHT and partner(shape, other, joint) is piece


def _reaches(shape: Shape) -> dict[str, float]:
    """How far beyond each joint a chord that ends there reaches: over its bearing, and over the web at its end."""
    reaches = {name: _own_reach(shape, name) for name in shape.joints}
    flush = dict(reaches)
    for piece in shape.pieces.values():
        if piece.is_web and abs(piece.along[0]) < _STRAIGHT:
            first, second = piece.joints
            flush[first] = flush[second] = max(reaches[first], reaches[second])
    return flush


def _own_reach(shape: Shape, joint: str) -> float:
    bearings = [s.width / 2 for s in shape.supports if s.joint == joint and s.holds_up]
    webs = [piece.half * abs(piece.along[1]) for piece in shape.at[joint] if piece.is_web]
    return max([*bearings, *webs], default=0.0)


def _chord(shape: Shape, piece: Piece, reaches: dict[str, float]) -> Corners:
    reach = 6 * piece.depth + 2 * max(reaches.values())
    corners = rectangle(piece, reach, reach)
    for joint in piece.joints:
        for cut in _cuts(shape, piece, joint, reaches[joint]):
            corners = clip(corners, cut)
    return corners if len(corners) > 2 else rectangle(piece)


def _cuts(shape: Shape, piece: Piece, joint: str, reach: float) -> Iterable[Cut]:
    """Where a chord's end is cut."""
    at, inward = shape.joints[joint], piece.away_from(joint)
    limit = (at[0] - inward[0] * 4 * piece.depth, at[1] - inward[1] * 4 * piece.depth)
    yield limit, inward  # a mitre at a very sharp bend stops somewhere
    other = partner(shape, piece, joint)
    if other is not None:
        d = other.away_from(joint)
        yield at, (inward[0] - d[0], inward[1] - d[1])
        return
    crossing = _crossing(shape, piece, joint)
    if abs(inward[0]) <= _STEEP and not crossing:
        yield (at[0] - inward[0] * reach, at[1] - inward[1] * reach), inward
        return
    outward = math.copysign(1.0, -inward[0])
    if abs(inward[0]) > _STEEP or not reach:
        end = reach or (max(c.half for c in crossing) if crossing else 0.0)
        yield (at[0] + outward * end, at[1]), (-outward, 0.0)
    if piece.role == "top_chord":
        for chord in crossing:
            yield _far_edge(chord, joint, at, inward)


def _far_edge(chord: Piece, joint: str, at: Point, towards: Point) -> Cut:
    """The edge of `chord` away from the member that comes in from `towards`."""
    d = chord.away_from(joint)
    side = math.copysign(1.0, _cross(d, towards))
    normal = (-d[1] * side, d[0] * side)
    return (at[0] - normal[0] * chord.half, at[1] - normal[1] * chord.half), normal


def _crossing(shape: Shape, piece: Piece, joint: str) -> list[Piece]:
    """Chords of the other role at that end, unless they lie in one line with it."""
    d = piece.away_from(joint)
    return [
        other
        for other in shape.at[joint]
        if not other.is_web and other.role != piece.role and abs(_cross(d, other.away_from(joint))) > _STRAIGHT
    ]


def _chords_in_the_way(shape: Shape, piece: Piece) -> list[Piece]:
    """The chords that cut this piece: for a web those at its ends; at a heel the one that runs over the other."""
    if piece.is_web:
        return [other for joint in piece.joints for other in shape.at[joint] if not other.is_web]
    found = []
    for joint in piece.joints:
        if partner(shape, piece, joint) is not None:
            continue
        for other in _crossing(shape, piece, joint):
            if piece.role == "bottom_chord" or partner(shape, other, joint) is not None:
                found.append(other)
                beyond = partner(shape, other, joint)
                if beyond is not None:
                    found.append(beyond)
    return found


def _web(shape: Shape, piece: Piece) -> Corners:
    """A web's rectangle, shared with each neighbouring web along the line that halves the angle between them."""
    corners = rectangle(piece)
    for joint in piece.joints:
        at, d = shape.joints[joint], piece.away_from(joint)
        for other in shape.at[joint]:
            if other.is_web and other.id != piece.id:
                e = other.away_from(joint)
                if _dot(d, e) > _BESIDE and abs(_cross(d, e)) > _STRAIGHT:
                    corners = clip(corners, (at, (d[0] - e[0], d[1] - e[1])))
    return corners if len(corners) > 2 else rectangle(piece)


def _less(corners: Corners, others: list[Polygon]) -> Corners:
    """The largest part of an outline that the other pieces leave of it."""
    # a grid closes the hair's breadth that rounding leaves between two chord pieces that butt
    left = difference(Polygon(corners), union_all(others, grid_size=_GRID_IN), grid_size=_GRID_IN)
    parts = [part for part in getattr(left, "geoms", [left]) if isinstance(part, Polygon) and not part.is_empty]
    if not parts:
        return corners
    largest = max(parts, key=lambda part: part.area)
    return _turning(tuple((float(x), float(y)) for x, y in largest.exterior.coords[:-1]))


def _turning(corners: Corners) -> Corners:
    """Without the corners at which the outline runs straight on, left where two other pieces met."""
    count = len(corners)
    return tuple(
        corner
        for i, corner in enumerate(corners)
        if abs(_cross(_between(corners[i - 1], corner), _between(corner, corners[(i + 1) % count]))) > _ON_LINE_IN
    )


def _between(a: Point, b: Point) -> Point:
    return (b[0] - a[0], b[1] - a[1])


def _running_on(shape: Shape, piece: Piece) -> list[Cut]:
    return [
        (shape.joints[joint], piece.along)
        for joint in piece.joints
        if not piece.is_web and runs_on(shape, piece, joint)
    ]


def _lines(corners: Corners, seams: list[Cut]) -> tuple[Corners, ...]:
    """The outline as open lines, without the edges that lie on a seam."""
    count = len(corners)
    hidden = [i for i in range(count) if any(_on(corners[i], s) and _on(corners[(i + 1) % count], s) for s in seams)]
    if not hidden:
        return ((*corners, corners[0]),)
    lines = []
    for start, stop in zip(hidden, [*hidden[1:], hidden[0] + count], strict=True):
        line = tuple(corners[i % count] for i in range(start + 1, stop + 1))
        if len(line) > 1:
            lines.append(line)
    return tuple(lines)


def _on(point: Point, seam: Cut) -> bool:
    (px, py), (dx, dy) = seam
    return abs((point[0] - px) * dx + (point[1] - py) * dy) < _ON_LINE_IN


def _dot(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1]


def _cross(a: Point, b: Point) -> float:
    return a[0] * b[1] - a[1] * b[0]
