"""Rows of copies in plan, parted and joined by the copies' numbers. Pure; inches.

A copy keeps its place whatever mark it is of. In a row copies stand in the order of their numbers; a place without a
copy has None and stays with the row.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from trusses.analysis.alike import begins_off
from trusses.analysis.load_path.landing import Stand

_SAME_IN = 1e-6


@dataclass(frozen=True)
class Row:
    """Copies side by side: where the first begins, the step to the next, and which number stands where."""

    level: str
    x: float
    y: float
    direction: str
    spacing: float
    turned: bool
    note: str
    numbers: tuple[int | None, ...]

    def at(self, i: int) -> tuple[float, float]:
        step = self.spacing * i
        return (self.x, self.y + step) if self.direction == "x" else (self.x + step, self.y)

    def part(self, first: int, last: int) -> Row:
        """Its places from `first` to before `last`."""
        x, y = self.at(first)
        return replace(self, x=x, y=y, numbers=self.numbers[first:last])

    @property
    def stand(self) -> Stand:
        return Stand(self.level, self.x, self.y, self.direction, self.spacing, len(self.numbers), self.turned)


def parted(rows: Iterable[Row], gone: Collection[int]) -> tuple[list[Row], list[Row]]:
    """The rows of those that stay and of those that go, in the order in which they stand."""
    stay: list[Row] = []
    go: list[Row] = []
    for row in rows:
        first = 0
        for i in range(1, len(row.numbers) + 1):
            if i < len(row.numbers) and (row.numbers[i] in gone) == (row.numbers[first] in gone):
                continue
            (go if row.numbers[first] in gone else stay).append(row.part(first, i))
            first = i
    return stay, go


def joined(rows: Sequence[Row]) -> list[Row]:
    """The same places in as few rows as they make: a row that goes on where another ends is one with it."""
    left = sorted(rows, key=lambda row: (row.level, row.direction, row.turned, row.note, row.x, row.y))
    found: list[Row] = []
    for row in left:
        before = next((i for i, one in enumerate(found) if _goes_on(one, row)), None)
        if before is None:
            found.append(row)
        else:
            found[before] = replace(found[before], numbers=(*found[before].numbers, *row.numbers))
    return found


def _goes_on(one: Row, other: Row) -> bool:
    """Whether `other` begins where `one` would have its next copy, and numbers go on rising."""
    alike = [(row.level, row.direction, row.spacing, row.turned, row.note) for row in (one, other)]
    if alike[0] != alike[1] or math.dist(one.at(len(one.numbers)), (other.x, other.y)) > _SAME_IN:
        return False
    last, first = one.numbers[-1], other.numbers[0]
    return last is not None and first is not None and last < first


def turned_over(rows: Iterable[Row], by_in: float = 0.0) -> list[Row]:
    """The same places with every copy turned end for end; `by_in`: how far beyond the middle between its outer bearings
    that of the two ends lies about which it is turned, twice."""
    return [_begun(replace(row, turned=not row.turned), -by_in if row.turned else by_in) for row in rows]


def stood_anew(rows: Iterable[Row], before: Mapping[str, Any], after: Mapping[str, Any]) -> list[Row]:
    """Rows that began at the outer bearings of one document as they begin at those of another that has its wood where
    that had it."""
    return [_begun(row, begins_off(before, after, turned=row.turned)) for row in rows]


def _begun(row: Row, by_in: float) -> Row:
    if abs(by_in) <= _SAME_IN:
        return row
    return replace(row, x=row.x + by_in) if row.direction == "x" else replace(row, y=row.y + by_in)
