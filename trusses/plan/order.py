"""In which order the trusses of a level are set: along the walls, whatever marks they are of. Pure; plan inches.

A plain rule, not an erection plan. What carries other trusses comes before what it carries. Rows whose trusses lie the
same way, over the same walls, are one line, which is set from its first truss on, so that no truss is dropped into a
gap between two that stand: copies that got another design keep their turn. Lines come in the order of their marks.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from trusses.analysis.words.phrases import as_counted


class Line(NamedTuple):
    """A row of places: its trusses lie along `along` from `low` to `high`, at `places` across. `family` is the mark of
    which all variants are, `depth` how many marks below carry it, one on the other."""

    depth: int
    family: str
    mark: str
    along: str
    low: float
    high: float
    places: tuple[float, ...]


def along_walls(rows: Sequence[Line]) -> list[tuple[int, int]]:
    """(row, its place) of every place, in order."""
    first = sorted(range(len(rows)), key=lambda i: (rows[i].depth, as_counted(rows[i].family), min(rows[i].places)))
    lines: list[list[int]] = []
    for i in first:
        joins = [line for line in lines if any(_one_line(rows[i], rows[j]) for j in line)]
        if not joins:
            lines.append([i])
            continue
        for other in joins[1:]:
            joins[0] += other
            lines.remove(other)
        joins[0].append(i)
    return [spot for line in lines for spot in sorted(_spots(rows, line), key=lambda spot: _across(rows, *spot))]


def _one_line(one: Line, other: Line) -> bool:
    """Whether they lie over the same walls: side by side for half of the shorter and more."""
    if (one.depth, one.along) != (other.depth, other.along):
        return False
    beside = min(one.high, other.high) - max(one.low, other.low)
    return beside >= 0.5 * min(one.high - one.low, other.high - other.low)


def _spots(rows: Sequence[Line], line: Sequence[int]) -> list[tuple[int, int]]:
    return [(i, k) for i in line for k in range(len(rows[i].places))]


def _across(rows: Sequence[Line], i: int, k: int) -> tuple[float, list[tuple[int, str]], int, int]:
    return rows[i].places[k], as_counted(rows[i].mark), i, k
