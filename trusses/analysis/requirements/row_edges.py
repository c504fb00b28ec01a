"""On which edge of its web a row of lateral restraint has room beside the truss's openings. Inches throughout.

A row is taken as a 2x4 nailed flat on the web's narrow edge, running through all trusses as a duct does: in the truss's
plane 1 1/2 in. out from the web's edge and 3 1/2 in. along the web, about the row's place. That is common practice, not
a rule of this project: other bracing needs other room. Whether an opening fits is a matter of members alone
(`clearance.openings`); this asks besides whether the row can still be nailed on. Wood other than the web isn't looked
at.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from trusses.analysis.clearance.free_space import TOUCH_IN, spares
from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.lumber import lookup, section
from trusses.analysis.words import rows as words

#: A 2x4 laid flat on the web's edge: along the web, and out from it.
ALONG_IN, OUT_IN = 3.5, 1.5
#: The edges of a web that lies flatter than 30° are called lower and upper.
_FLAT = 0.5

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Edge:
    """One edge of a web at a row's place, called as drawn: left, right, lower or upper. `out` is the unit vector from
    the web out over it, `taken_by` the ids of the openings that the row's wood would lie in there."""

    called: str
    out: Point
    taken_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RowEdges:
    """Both edges of a web at the place of a row, the one that it is drawn on by itself first. `row` of `rows` counts
    from the web's lower end, `at` is the row's place on the centreline, `along` the unit vector up the web."""

    web: str
    row: int
    rows: int
    at: Point
    along: Point
    edges: tuple[Edge, Edge]

    @property
    def drawn_on(self) -> Edge:
        """The first edge that is free; the first where none is."""
        return next((edge for edge in self.edges if not edge.taken_by), self.edges[0])

    @property
    def in_the_way(self) -> tuple[str, ...]:
        """The ids of the openings that take an edge."""
        return tuple(dict.fromkeys(name for edge in self.edges for name in edge.taken_by))

    @property
    def says(self) -> str:
        """Which edge is left, or that none is; empty where both are free."""
        if not self.in_the_way:
            return ""
        name = self.web if self.rows == 1 else f"{self.web}.{self.row}"
        return words.edges(name, self.web, {edge.called: edge.taken_by for edge in self.edges})


def row_edges(truss: Truss) -> list[RowEdges]:
    """Each row of each web of `truss` against the openings of its own document, in the document's order; none
    where it has no opening."""
    found = []
    for web, rows in truss.lateral_restraint.webs.items() if truss.openings else ():
        if web not in truss.member_index or truss.member(web).is_chord:
            continue
        member = truss.member(web)
        (ax, ay), (bx, by) = ((end.x, end.y) for end in truss.ends(member))
        depth = section(lookup(member.lumber), member.flat).depth_in
        found += edges_of(web, ((ax, ay), (bx, by)), depth, rows, truss.openings)
    return found


def edges_of(
    web: str, ends: tuple[Point, Point], depth_in: float, rows: int, openings: Sequence[Opening]
) -> list[RowEdges]:
    """The same of one web: centreline between `ends`, `depth_in` its depth in the truss's plane, `rows` on it at even
    parts. The ends must lie apart. An opening counts as grown by its clearance, corners rounded."""
    (ax, ay), (bx, by) = sorted(ends, key=lambda end: (end[1], end[0]))
    length = math.dist((ax, ay), (bx, by))
    ux, uy = (bx - ax) / length, (by - ay) / length
    names = ("right", "left") if uy >= _FLAT else ("lower", "upper") if ux > 0 else ("upper", "lower")
    found = []
    for row in range(1, rows + 1):
        share = row / (rows + 1)
        x, y = ax + (bx - ax) * share, ay + (by - ay) * share
        outs = ((uy, -ux), (-uy, ux))
        blocks = [_taken((x, y), (ux, uy), out, depth_in, openings) for out in outs]
        one, other = (Edge(*edge) for edge in zip(names, outs, blocks, strict=True))
        found.append(RowEdges(web, row, rows, (x, y), (ux, uy), (one, other)))
    return found


def _taken(at: Point, along: Point, out: Point, depth_in: float, openings: Iterable[Opening]) -> tuple[str, ...]:
    middle = np.array(at) + np.array(out) * (depth_in + OUT_IN) / 2
    half = np.array(along) * ALONG_IN / 2
    line, thick = np.array([[middle - half, middle + half]]), np.array([OUT_IN])
    return tuple(one.id for one in openings if spares(line, thick, one)[0] < -TOUCH_IN)
