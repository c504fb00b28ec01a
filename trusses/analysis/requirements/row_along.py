"""On which edge of its webs a row of restraint runs on through the trusses that it holds: one straight board lies on
the same side of all of them, so what takes its place in one truss is in its way in the others too."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from trusses.analysis.requirements.restraint_rows import Place, Standing, runs, told
from trusses.analysis.requirements.row_edges import RowEdges, rows_of
from trusses.analysis.words import rows as words

#: What lies on an edge: openings by their ids, and members.
On = tuple[tuple[str, ...], tuple[str, ...]]


@dataclass(frozen=True)
class Along:
    """A row that has another edge taken, or none, in one truss than in the next. `webs` is what each of the trusses
    calls the web, in the order in which they stand; `taken` says by each edge, as it is called in the first of them,
    which trusses have what there."""

    webs: Mapping[Standing, str]
    taken: Mapping[str, Mapping[On, tuple[Standing, ...]]]

    def says(self, mine: Collection[Standing] = ()) -> str:
        """Which edge is left all along, or that none is; by the web's name in the first of `mine`."""
        web = next((name for one, name in self.webs.items() if one in mine), next(iter(self.webs.values())))
        taken = {
            edge: [(*on, told(trusses), len(trusses) == 1) for on, trusses in those.items()]
            for edge, those in self.taken.items()
        }
        return words.along(web, told(list(self.webs)), taken)


def along(line: Sequence[Standing]) -> list[Along]:
    """Each row through trusses side by side that don't all leave it the same edges. Where they do, each by itself says
    so (`row_edges`)."""
    at: dict[int, list[RowEdges]] = {}
    found = []
    for run in runs(line):
        if len(run) < 2:
            continue
        edges = []
        for standing, place in run:
            truss = standing.truss
            if id(truss) not in at:
                at[id(truss)] = rows_of(truss).beside(truss.openings)
            edges.append((standing, _at(standing, place, at[id(truss)])))
        first = edges[0][1]
        alike = [dict(_facing(first, row)) for _, row in edges]
        if all(one == alike[0] for one in alike):
            continue
        taken: dict[str, dict[On, tuple[Standing, ...]]] = {edge.called: {} for edge in first.edges}
        for (standing, _), its in zip(edges, alike, strict=True):
            for edge, on in its.items():
                if any(on):
                    taken[edge][on] = (*taken[edge].get(on, ()), standing)
        found.append(Along({standing: place.web for standing, place in run}, taken))
    return found


def _at(standing: Standing, place: Place, rows: Sequence[RowEdges]) -> RowEdges:
    """What lies on the edges at a place of a row."""
    truss = standing.truss
    left = min(truss.joint(bearing.joint).x for bearing in truss.bearings)
    at = (place.x_in - standing.along_in + left, place.y_in)
    return min((row for row in rows if row.web == place.web), key=lambda row: math.dist(row.at, at))


def _facing(first: RowEdges, row: RowEdges) -> Iterator[tuple[str, On]]:
    """For each edge of the first truss's web what lies on that side here."""
    for edge in first.edges:
        same = max(row.edges, key=lambda one: one.out[0] * edge.out[0] + one.out[1] * edge.out[1])
        yield edge.called, (same.taken_by, same.wood)
