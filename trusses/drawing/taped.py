"""Dimensions that a tape checks on the truss: between edges of wood and faces of walls, each with its letter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from svgwrite.container import Group

from trusses.drawing import pens as P
from trusses.drawing.paper import Paper


@dataclass(frozen=True)
class Taped:
    """A dimension that is drawn where the tape lies: `inches` between two points of the truss, inches, along a chord or
    plumb over the whole height. `letter` is what the list beside the drawing calls it."""

    letter: str
    kind: Literal["along", "height"]
    start: tuple[float, float]
    end: tuple[float, float]
    inches: float


def draw_taped_points(paper: Paper, taped: tuple[Taped, ...], layer: Group) -> None:
    """A dot at each edge of wood from which a tape is laid along a chord."""
    for one in taped:
        if one.kind == "along":
            for at in (one.start, one.end):
                paper.circle(layer, paper.view.at(at), paper.pens.wide * 1.6, fill=P.INK, class_="taped-point")
