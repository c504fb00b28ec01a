"""Where trusses stand as a tape tells it: from walls that the plan names; from its zero only where none is in sight.

Plan inches, x to the right and y up. A wall is measured from by its line, as the plan has it.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

_REACHES = 24.0
"""So far beyond a wall's end its line is still measured from."""
_ON = 1 / 16
_WAYS = {"x": ("to the right of", "to the left of"), "y": ("up from", "down from")}

Line = tuple[str, Sequence[Sequence[float]]]
"""A wall's label and its corners."""


@dataclass(frozen=True)
class From:
    """A length, square from a wall or, without one, from the plan's zero; `way`: to which side of it."""

    inches: float
    wall: str
    way: str

    @property
    def on(self) -> bool:
        return self.inches < _ON


@dataclass(frozen=True)
class Measure:
    """From what the trusses of a row are measured, and to which side: the same for all of them."""

    axis: str
    wall: str
    at: float

    def of(self, place: float) -> From:
        return From(abs(place - self.at), self.wall, _WAYS[self.axis][place < self.at])

    def way(self, place: float) -> str:
        return self.of(place).way


def beside(walls: Iterable[Line], along: str, places: Sequence[float], reach: Sequence[float]) -> Measure:
    """What a row of trusses is measured from that run `along` an axis, from and to `reach` on it: the nearest wall
    alongside that none of them lies beyond; a wall that ends a little short of them only where there is no other."""
    axis = "x" if along == "y" else "y"
    low, high = min(places), max(places)
    every = list(walls)
    for short in (0.0, _REACHES):
        held = list(_lines(every, axis, reach, short))
        if before := [one for one in held if one[0] <= low + _ON]:
            at, _, wall = max(before)
            return Measure(axis, wall, at)
        if after := [one for one in held if one[0] >= high - _ON]:
            at, _, wall = min(after, key=lambda one: (one[0], -one[1]))
            return Measure(axis, wall, at)
    return Measure(axis, "", 0.0)


def across(walls: Iterable[Line], along: str, place: float, end: float) -> From:
    """Where the end of a truss is, along it: from the nearest wall that it comes to."""
    held = list(_lines(walls, along, (place, place), _REACHES))
    at, _, wall = min(held, key=lambda one: (abs(one[0] - end), -one[1]), default=(0.0, 0.0, ""))
    return Measure(along, wall, at).of(end)


def _lines(
    walls: Iterable[Line], axis: str, reach: Sequence[float], short: float
) -> Iterator[tuple[float, float, str]]:
    """Walls that stand square to an axis: where on it, how long they are, what they are called; those that come beside
    `reach` on the other axis, or so much `short` of it."""
    k = 0 if axis == "x" else 1
    for label, points in walls:
        for a, b in itertools.pairwise(points):
            low, high = sorted((a[1 - k], b[1 - k]))
            if a[k] == b[k] and max(low, min(reach)) - min(high, max(reach)) < (short or -_ON):
                yield a[k], high - low, label
