"""On which edge of its webs a row of restraint runs on through the trusses that it holds: one straight board lies on
the same side of all of them, so what takes its place in one truss is in its way in the others too."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from trusses.analysis.format.model import Opening
from trusses.analysis.requirements.restraint_rows import Place, Standing, runs, told
from trusses.analysis.requirements.row_edges import Edge, RowEdges, Rows, rows_of
from trusses.analysis.words import rows as words

#: What lies on an edge: openings by their ids, and members.
On = tuple[tuple[str, ...], tuple[str, ...]]
_MIRRORED = {"left": "right", "right": "left"}


@dataclass(frozen=True)
class Along:
    """A row that has another edge taken, or none, in one truss than in the next. `webs` is what each of the trusses
    calls the web, in the order in which they stand, and `edges` what each of them calls its first edge and its other
    one, by its own drawing; `taken` says of both which trusses have what there."""

    webs: Mapping[Standing, str]
    edges: Mapping[Standing, tuple[str, ...]]
    taken: Sequence[Mapping[On, tuple[Standing, ...]]]

    def says(self, mine: Collection[Standing] = ()) -> str:
        """Which edge is left all along, or that none is; by the names of web and edges in the first of `mine`. Of those
        that stand the other way round it says that their drawings call the edges otherwise."""
        by = next((one for one in self.webs if one in mine), next(iter(self.webs)))
        taken = {
            edge: [(*on, told(trusses), len(trusses) == 1) for on, trusses in those.items()]
            for edge, those in zip(self.edges[by], self.taken, strict=True)
        }
        others = [one for one in self.webs if one.turned != by.turned and self.edges[one] == self.edges[by][::-1]]
        alike = [one for one in self.webs if one.turned == by.turned]
        turned = words.edges_of(told(alike), told(others), len(others) == 1) if others else ""
        return f"{words.along(self.webs[by], told(list(self.webs)), taken)}{turned}"


_NONE: Mapping[Standing, Sequence[Opening]] = MappingProxyType({})


def along(line: Sequence[Standing], placed: Mapping[Standing, Sequence[Opening]] = _NONE) -> list[Along]:
    """Each row through trusses side by side that don't all leave it the same edges. Where they do, each by itself says
    so (`row_edges`). `placed`: the openings that some of them would have besides their own, by their drawings."""
    at: dict[int, Rows] = {}
    beside: dict[tuple[int, tuple[Opening, ...]], list[RowEdges]] = {}
    found = []
    for run in runs(line):
        if len(run) < 2:
            continue
        edges = []
        for standing, place in run:
            truss = standing.truss
            if id(truss) not in at:
                at[id(truss)] = rows_of(truss)
            more = tuple(_as_it_stands(standing, one) for one in placed.get(standing, ()))
            if (id(truss), more) not in beside:
                beside[id(truss), more] = at[id(truss)].beside([*truss.openings, *more])
            edges.append((standing, _at(standing, place, beside[id(truss), more])))
        first = edges[0][1]
        facing = {standing: _facing(first, row) for standing, row in edges}
        alike = [[_on(edge) for edge in its] for its in facing.values()]
        if all(one == alike[0] for one in alike):
            continue
        taken: list[dict[On, tuple[Standing, ...]]] = [{} for _ in first.edges]
        for standing, its in facing.items():
            for those, on in zip(taken, map(_on, its), strict=True):
                if any(on):
                    those[on] = (*those.get(on, ()), standing)
        called = {one: tuple(_as_drawn(one, edge) for edge in its) for one, its in facing.items()}
        found.append(Along({standing: place.web for standing, place in run}, called, taken))
    return found


def _as_it_stands(standing: Standing, opening: Opening) -> Opening:
    """An opening of a truss's drawing, in the truss as it stands."""
    if not standing.turned:
        return opening
    xs = [standing.truss.joint(bearing.joint).x for bearing in standing.truss.bearings]
    x, y = opening.centre
    return replace(opening, centre=(min(xs) + max(xs) - x, y))


def _at(standing: Standing, place: Place, rows: Sequence[RowEdges]) -> RowEdges:
    """What lies on the edges at a place of a row."""
    truss = standing.truss
    left = min(truss.joint(bearing.joint).x for bearing in truss.bearings)
    at = (place.x_in - standing.along_in + left, place.y_in)
    return min((row for row in rows if row.web == place.web), key=lambda row: math.dist(row.at, at))


def _facing(first: RowEdges, row: RowEdges) -> list[Edge]:
    """For each edge of the first truss's web that on the same side here."""
    return [max(row.edges, key=lambda one: one.out[0] * edge.out[0] + one.out[1] * edge.out[1]) for edge in first.edges]


def _on(edge: Edge) -> On:
    return edge.taken_by, edge.wood


def _as_drawn(standing: Standing, edge: Edge) -> str:
    """What the truss's own drawing calls an edge: of one that stands end for end, left is right there."""
    return _MIRRORED.get(edge.called, edge.called) if standing.turned else edge.called
