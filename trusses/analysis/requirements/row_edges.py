"""On which edge of its web a row of lateral restraint has room beside the truss's openings and its other members.
Inches throughout.

A row is taken as a 2x4 nailed flat on the web's narrow edge, running through all trusses as a duct does: in the truss's
plane 1 1/2 in. out from the web's edge and 3 1/2 in. along the web, about the row's place. That is common practice, not
a rule of this project: other bracing needs other room. Whether an opening fits is a matter of members alone
(`clearance.openings`); this asks besides whether the row can still be nailed on.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from trusses.analysis.clearance.free_space import TOUCH_IN, Floats, depths, spares
from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.piece_names import panel_names
from trusses.analysis.words import rows as words

#: A 2x4 laid flat on the web's edge: along the web, and out from it.
ALONG_IN, OUT_IN = 3.5, 1.5
#: The edges of a web that lies flatter than 30° are called lower and upper.
_FLAT = 0.5

Point = tuple[float, float]


class Wood(NamedTuple):
    """A member: its centreline from `a` to `b`, `depth` in the truss's plane."""

    a: Point
    b: Point
    depth: float


@dataclass(frozen=True, slots=True)
class Edge:
    """One edge of a web at a row's place, called as drawn: left, right, lower or upper. `out` is the unit vector from
    the web out over it; the row's wood would lie there in the openings of the ids `taken_by`, and in other members'
    `wood`."""

    called: str
    out: Point
    taken_by: tuple[str, ...]
    wood: tuple[str, ...] = ()

    @property
    def free(self) -> bool:
        return not self.taken_by and not self.wood


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
        return next((edge for edge in self.edges if edge.free), self.edges[0])

    @property
    def has_room(self) -> bool:
        """Whether it can be nailed to either edge."""
        return any(edge.free for edge in self.edges)

    @property
    def in_the_way(self) -> tuple[str, ...]:
        """The ids of the openings that take an edge."""
        return tuple(dict.fromkeys(name for edge in self.edges for name in edge.taken_by))

    @property
    def name(self) -> str:
        """W4, or W4.2 of several."""
        return self.web if self.rows == 1 else f"{self.web}.{self.row}"

    @property
    def says(self) -> str:
        """Which edge openings leave, or that none is left; empty where they take none."""
        return self.told()

    def told(self, asked: str | None = None) -> str:
        """The same, of which `asked` is the opening that somebody is placing."""
        if not self.in_the_way and self.has_room:
            return ""
        return words.edges(self.name, self.web, {edge.called: (edge.taken_by, edge.wood) for edge in self.edges}, asked)


class Rows:
    """Every row of some webs, with what of other members lies on their edges; made once where openings are asked about
    again and again."""

    def __init__(
        self, webs: Mapping[str, int], wood: Mapping[str, Wood], called: Mapping[str, str] | None = None
    ) -> None:
        """`webs` has the number of rows of each, at even parts of it; `wood` every member by its id, whose ends must
        lie apart; `called` what people call them."""
        bare = [row for web, count in webs.items() for row in _bare(web, count, wood[web])]
        self._blocks = np.array([_block(row, edge, wood[row.web].depth) for row in bare for edge in row.edges])
        self._blocks = self._blocks.reshape(-1, 2, 2)
        others = self._others([row.web for row in bare], wood, called or {})
        self._rows = [_each(row, lambda edge: replace(edge, wood=next(others))) for row in bare]

    def beside(self, openings: Sequence[Opening]) -> list[RowEdges]:
        """Each row against openings, which count as grown by their clearance, corners rounded."""
        takes = [self._taken_by(one) for one in openings]
        by = (tuple(one.id for one, on in zip(openings, takes, strict=True) if on[i]) for i in range(len(self._blocks)))
        return [_each(row, lambda edge: replace(edge, taken_by=next(by))) for row in self._rows]

    def meet(self, opening: Opening) -> bool:
        """Whether an opening takes an edge of any row."""
        return bool(self._taken_by(opening).any())

    def _taken_by(self, opening: Opening) -> np.ndarray:
        """(2 rows,): whether an opening lies where the row's wood would, on either edge."""
        if not len(self._blocks):
            return np.zeros(0, dtype=bool)
        return spares(self._blocks, np.full(len(self._blocks), OUT_IN), opening) < -TOUCH_IN

    def _others(
        self, webs: Sequence[str], wood: Mapping[str, Wood], called: Mapping[str, str]
    ) -> Iterator[tuple[str, ...]]:
        """The members other than its own web in which the row's wood would lie, for each block."""
        if not webs:
            return
        names = list(wood)
        lines, depth = np.array([(each.a, each.b) for each in wood.values()]), [each.depth for each in wood.values()]
        for i, on in enumerate(_overlap(self._blocks, lines, np.array(depth))):
            there = [name for name, lies in zip(names, on, strict=True) if lies and name != webs[i // 2]]
            yield tuple(dict.fromkeys(called.get(name, name) for name in there))


def rows_of(truss: Truss) -> Rows:
    """Those of a truss."""
    ends = [((a.x, a.y), (b.x, b.y)) for a, b in map(truss.ends, truss.members)]
    wood = {
        member.id: Wood(*pair, float(depth))
        for member, pair, depth in zip(truss.members, ends, depths(truss), strict=True)
    }
    webs = {
        web: rows
        for web, rows in truss.lateral_restraint.webs.items()
        if web in truss.member_index and not truss.member(web).is_chord
    }
    return Rows(webs, wood, panel_names(truss.document) if webs else None)


def row_edges(truss: Truss) -> list[RowEdges]:
    """Each row of each web of `truss` against the openings of its own document, in the document's order."""
    return rows_of(truss).beside(truss.openings)


def _bare(web: str, rows: int, wood: Wood) -> Iterator[RowEdges]:
    """The rows of one web, with nothing looked at yet."""
    (ax, ay), (bx, by) = sorted((wood.a, wood.b), key=lambda end: (end[1], end[0]))
    length = math.dist((ax, ay), (bx, by))
    ux, uy = (bx - ax) / length, (by - ay) / length
    names = ("right", "left") if uy >= _FLAT else ("lower", "upper") if ux > 0 else ("upper", "lower")
    edges = (Edge(names[0], (uy, -ux), ()), Edge(names[1], (-uy, ux), ()))
    for row in range(1, rows + 1):
        share = row / (rows + 1)
        yield RowEdges(web, row, rows, (ax + (bx - ax) * share, ay + (by - ay) * share), (ux, uy), edges)


def _each(row: RowEdges, said: Callable[[Edge], Edge]) -> RowEdges:
    """The row with something said of its first edge, then of its other one."""
    one, other = map(said, row.edges)
    return replace(row, edges=(one, other))


def _block(row: RowEdges, edge: Edge, depth_in: float) -> Floats:
    """(2, 2): the centreline of the row's 2x4, which is OUT_IN thick, along the web."""
    middle = np.array(row.at) + np.array(edge.out) * (depth_in + OUT_IN) / 2
    half = np.array(row.along) * ALONG_IN / 2
    return np.array([middle - half, middle + half])


def _overlap(blocks: Floats, lines: Floats, depth: Floats) -> np.ndarray:
    """(blocks, members): whether the wood of each pair would be in the same place, by more than it may touch: two
    rectangles are apart where they are along a side of either."""
    (one, along, length), (other, runs, reach) = (_as_boxes(each) for each in (blocks[:, None], lines[None]))
    sides = [along, _across(along), runs, _across(runs)]
    sides = [np.broadcast_to(side, (len(blocks), len(lines), 2)) for side in sides]
    halves = [(along, length / 2), (_across(along), OUT_IN / 2), (runs, reach / 2), (_across(runs), depth / 2)]
    apart = [
        np.abs(((other - one) * side).sum(axis=-1))
        - sum(np.abs((side * way).sum(axis=-1)) * half for way, half in halves)
        for side in sides
    ]
    return np.asarray(np.max(apart, axis=0) < -TOUCH_IN)


def _as_boxes(lines: Floats) -> tuple[Floats, Floats, Floats]:
    """The middles, the unit vectors along and the lengths of centrelines (…, 2, 2)."""
    along = lines[..., 1, :] - lines[..., 0, :]
    length = np.hypot(along[..., 0], along[..., 1])
    return lines.mean(axis=-2), along / length[..., None], length


def _across(along: Floats) -> Floats:
    return np.stack([-along[..., 1], along[..., 0]], axis=-1)
