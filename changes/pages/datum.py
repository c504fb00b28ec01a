"""Where a tape is hooked when an opening is asked for, as the drawing measures it: from a wall's face to the opening's
near edge, and up from the bottom chord's top edge to its lower edge; of a round one to its middle, both. Inches."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from trusses.designs import stored_design
from trusses.drawing.measures import SAME_IN, seat, wood_at
from trusses.drawing.outline import outlines
from trusses.drawing.shape import Shape, shape

Marks = tuple[float, float]
"""What the two fields say: along from the face, up from the level."""

PARTS = 16
"""Parts of an inch that a field shows: a place that is offered must be one that the fields can say."""


@dataclass(frozen=True)
class Face:
    """One face of a wall: `way` is 1 where the tape runs to the right from it, -1 where it runs to the left."""

    joint: str
    x: float
    way: int
    says: str

    @property
    def key(self) -> str:
        return f"{self.joint}:{self.way}"


@dataclass(frozen=True)
class Size:
    """An opening as it is measured: half its width and height where edges count, nothing where its middle does."""

    half_width: float = 0.0
    half_height: float = 0.0

    @classmethod
    def of(cls, opening: Mapping[str, Any]) -> Size:
        if opening["shape"] == "circle":
            return cls()
        return cls(opening["width_in"] / 2, opening["height_in"] / 2)


class Datum:
    """The faces of a truss's walls, and the level from which heights count at each place along it."""

    def __init__(self, document: Mapping[str, Any]) -> None:
        drawn = shape(document)
        self.faces = _faces(drawn)
        wood = outlines(drawn)
        chords = {piece.id: wood[piece.id] for piece in drawn.chords("bottom_chord")}
        xs = sorted({round(x, 6) for outline in chords.values() for x, _ in outline.corners})
        tops = [(x, found[1]) for x in xs if (found := wood_at(chords, x))]
        first = drawn.held_up[0]
        self.floor = tops or [(first.at[0], seat(drawn, first))]
        """(x, y) of the level, straight in between and level beyond."""
        inner = [y for x, y in self.floor if self.faces[0].x <= x <= self.faces[-1].x] or [self.floor[0][1]]
        flat = max(inner) - min(inner) < SAME_IN
        self.level = "the bottom chord's top edge" if tops else "the top of the wall"
        if tops and not flat:
            self.level += ", plumb below its middle"

    def face(self, key: str) -> Face:
        """The face of that key; the first one where there is none."""
        return next((face for face in self.faces if face.key == key), self.faces[0])

    def nearest_face(self, x: float) -> Face:
        """The face that a tape to a place along the truss would be hooked to."""
        facing = [face for face in self.faces if (x - face.x) * face.way >= 0]
        return min(facing or self.faces, key=lambda face: abs(x - face.x))

    def low(self, x: float) -> float:
        """The level at `x` that heights count from."""
        if x <= self.floor[0][0]:
            return self.floor[0][1]
        for (ax, ay), (bx, by) in zip(self.floor, self.floor[1:], strict=False):
            if ax <= x <= bx:
                return ay + (by - ay) * (x - ax) / (bx - ax)
        return self.floor[-1][1]

    def centre(self, face: Face, marks: Marks, size: Size) -> tuple[float, float]:
        """An opening's centre in the truss's own coordinates."""
        x = face.x + face.way * (marks[0] + size.half_width)
        return round(x, 4), round(self.low(x) + marks[1] + size.half_height, 4)

    def marks(self, face: Face, centre: tuple[float, float], size: Size) -> Marks:
        """What the fields say of an opening about that centre."""
        along = face.way * (centre[0] - face.x) - size.half_width
        return along, centre[1] - self.low(centre[0]) - size.half_height

    def taped(self, face: Face, centre: tuple[float, float], size: Size) -> Iterator[Marks]:
        """The marks of a tape around a centre, the closest first: what the fields can hold exactly."""
        along, up = self.marks(face, centre, size)
        steps = [(i / PARTS, j / PARTS) for i in range(-2, 3) for j in range(-2, 3)]
        near = [(on_tape(along) + i, on_tape(up) + j) for i, j in steps]
        yield from sorted(near, key=lambda mark: math.dist(mark, (along, up)))


@lru_cache(maxsize=256)
def datum_of(sha256: str) -> Datum:
    """Of a revision's document, kept while an opening is dragged over it."""
    return Datum(stored_design(sha256).document)


def on_tape(inches: float) -> float:
    return round(inches * PARTS) / PARTS


def _faces(drawn: Shape) -> tuple[Face, ...]:
    """The faces that look into the truss, from left to right; of a wall in between both."""
    held = drawn.held_up
    found = []
    for i, wall in enumerate(held):
        alone = len(held) == 1
        where = "left" if i == 0 else "right" if i == len(held) - 1 else ""
        for way in (-1, 1):
            if not alone and ((i == 0 and way < 0) or (i == len(held) - 1 and way > 0)):
                continue
            side = "right" if way > 0 else "left"
            says = f"the {where} wall's inside face, at {wall.joint}"
            if alone or not where:
                says = f"the {side} face of the wall at {wall.joint}"
            found.append(Face(wall.joint, wall.at[0] + way * wall.width / 2, way, says))
    return tuple(found)
