"""Names of joints beside them, for whoever edits a truss by its joints."""

from __future__ import annotations

import math
from collections.abc import Iterator

from trusses.drawing import pens as P
from trusses.drawing.paper import Paper, Point
from trusses.drawing.placing import Spot, box
from trusses.drawing.shape import Shape
from trusses.drawing.text import NAME_LETTERS, TAG_LETTERS, clean, width_of

_WAYS = (90, 270, 45, 135, 315, 225, 0, 180)
_REACHES = (1.2, 1.8, 2.6, 3.6)


def draw_joint_names(paper: Paper, shape: Shape) -> None:
    """Every joint's name, led to it by a line; one that finds no room stands over what is there, since it is needed."""
    layer = paper.group("joint-names", label="Names of joints")
    size = paper.pens.small
    for name, place in shape.joints.items():
        at = paper.view.at(place)
        words = clean(name, TAG_LETTERS)
        spots = list(_spots(at, width_of(words, size), size))
        stands = paper.room.first_free(spots) or spots[0].stands
        group = paper.group("joint-name", layer)
        group["data-for"] = clean(name, NAME_LETTERS)
        paper.line(group, at, stands, class_="leader", **paper.extension())
        paper.backing(group, stands, width_of(words, size) + 2, size)
        paper.text(group, words, stands, fill=P.INK, font_style="italic", kind="joint-name-text")


def _spots(at: Point, wide: float, size: float) -> Iterator[Spot[Point]]:
    """Around a joint, the nearest first."""
    for reach in _REACHES:
        for way in _WAYS:
            c, s = math.cos(math.radians(way)), math.sin(math.radians(way))
            centre = (at[0] + c * (reach * size + wide / 2), at[1] - s * reach * size)
            yield Spot(box(*centre, wide + 4, size + 2), centre, (at, centre))
