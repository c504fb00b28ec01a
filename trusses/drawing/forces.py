"""Axial forces of an analysis document, and how they are drawn. Pounds, tension positive.

A member is drawn as what happens to it: pulled (tension), arrowheads that point out toward its ends on a broken
line; pushed (compression), arrowheads that point in toward its middle on an unbroken line; the heavier the line, the
larger the force. Colour says the same once more.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from svgwrite.base import BaseElement

from trusses.drawing import pens as P
from trusses.drawing.paper import DrawingError, Paper
from trusses.drawing.shape import Piece, Shape
from trusses.drawing.text import pounds

Analysis = Mapping[str, Any]
_LEAST_LB = 0.5  # less than this rounds to no pounds
_LEAST_REVERSAL = 0.02  # of the truss's largest force: smaller ones of the other sign aren't worth a second pattern
_HEAVIEST = {"sheet": 7.5, "phone": 4.5, "thumb": 3.0}
_PATTERN = {"tension": (3.2, 1.5), "both": (6.0, 1.4)}


@dataclass(frozen=True)
class Force:
    """Largest pull and largest push of one member, both as magnitudes."""

    tension: float
    compression: float
    reverses: bool = False

    @property
    def most(self) -> float:
        return max(self.tension, self.compression)

    @property
    def kind(self) -> str:
        if self.most < _LEAST_LB:
            return "unloaded"
        if self.reverses:
            return "both"
        return "tension" if self.tension >= self.compression else "compression"

    @property
    def words(self) -> tuple[str, ...]:
        """What the label says: T for tension, C for compression, the larger first."""
        if self.kind == "unloaded":
            return ("0 lb",)
        parts = sorted(((self.tension, "T"), (self.compression, "C")), reverse=True)
        return tuple(f"{pounds(force)} {sign}" for force, sign in parts[: 2 if self.reverses else 1])


def member_forces(shape: Shape, analysis: Analysis, combination: str | None) -> dict[str, Force]:
    """Each member's force in one combination or case, or over all combinations (the envelope) for None."""
    if combination is None:
        found = {
            name: (row["tension_lb"], row["compression_lb"]) for name, row in analysis["envelope"]["members"].items()
        }
    else:
        rows = _row(analysis, combination)["members"]
        found = {name: _both_signs(row["axial_lb"]) for name, row in rows.items()}
    for name in shape.pieces:
        if name not in found:
            raise DrawingError(f"the analysis has no member {name}: it belongs to another truss document")
    largest = max((max(found[name]) for name in shape.pieces), default=0.0)
    least = max(_LEAST_LB, _LEAST_REVERSAL * largest)
    return {name: Force(*map(float, found[name]), reverses=min(found[name]) >= least) for name in shape.pieces}


def reactions(analysis: Analysis, combination: str | None) -> dict[str, tuple[float, float]]:
    """Down on the wall and uplift at each bearing, pounds, both as magnitudes."""
    if combination is None:
        rows = analysis["envelope"]["reactions_lb"]
        return {joint: (float(row["down_lb"]), float(row["uplift_lb"])) for joint, row in rows.items()}
    rows = _row(analysis, combination)["reactions_lb"]
    return {joint: (max(0.0, float(up)), max(0.0, -float(up))) for joint, (_, up) in rows.items()}


def _row(analysis: Analysis, combination: str) -> Mapping[str, Any]:
    for kind in ("combinations", "cases"):
        if combination in analysis.get(kind, {}):
            row: Mapping[str, Any] = analysis[kind][combination]
            return row
    raise DrawingError(f"the analysis has no combination called {combination}")


def _both_signs(axial: tuple[float, float]) -> tuple[float, float]:
    return (max(0.0, *axial), max(0.0, *(-value for value in axial)))


def draw_force(paper: Paper, parent: BaseElement, piece: Piece, force: Force, largest: float) -> None:
    """The member's line of force over its wood."""
    kind = force.kind
    paper.explain(kind)
    start, end = paper.view.at(piece.a), paper.view.at(piece.b)
    length = math.dist(start, end)
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    inset = min(length * 0.14, paper.view.scale * piece.depth * 1.1 + 3)
    tips = ((start[0] + ux * inset, start[1] + uy * inset), (end[0] - ux * inset, end[1] - uy * inset))
    if kind == "unloaded":
        paper.line(
            parent,
            *tips,
            class_="force unloaded",
            stroke=P.INK,
            stroke_width=paper.pens.narrow,
            stroke_dasharray="1 4",
            stroke_linecap="round",
        )
        return
    weight = weigh(force.most, largest, paper.pens.detail)
    colour = P.TENSION if kind == "tension" else P.COMPRESSION
    head = min(weight * 1.5 + 4.5, length * 0.2)
    stroke = {"class_": f"force {kind}", "stroke": colour, "stroke_width": round(weight, 2)}
    inner = [(x + s * ux * head * 0.9, y + s * uy * head * 0.9) for (x, y), s in zip(tips, (1, -1), strict=True)]
    if kind in _PATTERN:
        dash, space = _PATTERN[kind]
        stroke["stroke_dasharray"] = f"{weight * dash + 3:.1f} {weight * space * 0.6 + 2:.1f}"
    if kind == "both":
        stroke["stroke_dasharray"] += f" {max(weight, 1.5):.1f} {weight * 0.84 + 2:.1f}"
    paper.line(parent, *inner, **stroke)
    outward = kind != "compression"
    for tip, sign in zip(tips, (1, -1), strict=True):
        arrowhead(paper, parent, tip, (ux * sign, uy * sign), head, outward=outward, kind=kind, colour=colour)
        if kind == "both":
            back = (tip[0] + ux * sign * head * 1.1, tip[1] + uy * sign * head * 1.1)
            arrowhead(paper, parent, back, (ux * sign, uy * sign), head, outward=False, kind=kind, colour=colour)


def arrowhead(
    paper: Paper,
    parent: BaseElement,
    at: tuple[float, float],
    inward: tuple[float, float],
    size: float,
    *,
    outward: bool,
    kind: str,
    colour: str,
) -> None:
    """A filled head whose outer end is `at`; it points out of the member, or into it along `inward`."""
    (x, y), (dx, dy) = at, inward
    half = size * 0.42
    base, tip = (size, 0.0) if outward else (0.0, size)
    corners = (
        (x + dx * tip, y + dy * tip),
        (x + dx * base - dy * half, y + dy * base + dx * half),
        (x + dx * base + dy * half, y + dy * base - dx * half),
    )
    way = "out" if outward else "in"
    paper.polygon(parent, corners, class_=f"arrow {kind} {way}", fill=colour, stroke="none")


def weigh(force: float, largest: float, detail: str) -> float:
    """Line weight in user units: in proportion to the force, never thinner than a line that can be seen."""
    heaviest = _HEAVIEST[detail]
    return heaviest * (0.16 + 0.84 * force / largest) if largest else heaviest * 0.16
