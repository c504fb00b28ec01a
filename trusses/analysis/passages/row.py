"""A row of trusses in plan, and the clear space that something takes between them.

Places are inches across the row, the centerlines of the trusses; x along the span as in the truss document.
"""

from __future__ import annotations

import copy
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from trusses.analysis.format.model import Role, Truss
from trusses.analysis.words.refusal import Refusal

Document = dict[str, Any]
#: One ply's thickness as a truss stands, inches.
PLY_IN = 1.5
#: What is as wide as its bay to this goes through, inches.
_TOUCH_IN = 1e-6


class PassageError(Refusal):
    """Something that can't go between these trusses at all."""


@dataclass(frozen=True, slots=True)
class Passage:
    """Its middle stands `across_in` along the row and `along_in` along the span; `width_in` and `length_in` are its
    sizes in these directions. Clear of wood it needs `clearance_in` besides, all around. `chords` are those it goes
    through."""

    across_in: float
    along_in: float
    width_in: float
    length_in: float
    clearance_in: float = 0.0
    chords: tuple[Role, ...] = ("bottom_chord",)

    @property
    def across(self) -> tuple[float, float]:
        """What must be free of wood across the row."""
        half = self.width_in / 2 + self.clearance_in
        return self.across_in - half, self.across_in + half

    @property
    def along(self) -> tuple[float, float]:
        """The same along the span."""
        half = self.length_in / 2 + self.clearance_in
        return self.along_in - half, self.along_in + half


@dataclass(frozen=True, slots=True)
class Row:
    """Where the copies of a row stand, `numbers` beside `places_in`, from the first; each `thick_in` thick."""

    numbers: tuple[int, ...]
    places_in: tuple[float, ...]
    thick_in: float = PLY_IN

    @property
    def gaps_in(self) -> tuple[float, ...]:
        return tuple(b - a for a, b in pairwise(self.places_in))

    def tributary_in(self, i: int, before: Row | None = None) -> float:
        """The width that the truss at index i carries: half of each gap beside it. At an end of the row what lies
        beyond it is taken to be as wide as the gap inside was in the row `before`."""
        gaps, was = self.gaps_in, (before or self).gaps_in
        left = gaps[i - 1] if i else was[0]
        right = gaps[i] if i < len(gaps) else was[-1]
        return (left + right) / 2

    def widest_in(self, i: int) -> float:
        """The wider gap beside the truss at index i."""
        return max(self.gaps_in[max(i - 1, 0) : i + 1])

    def in_the_way(self, passage: Passage) -> tuple[int, ...]:
        """The indices of the trusses whose wood is in the way."""
        low, high = passage.across
        half = self.thick_in / 2
        return tuple(
            i
            for i, place in enumerate(self.places_in)
            if place - half < high - _TOUCH_IN and place + half > low + _TOUCH_IN
        )

    def without(self, i: int) -> Row:
        return Row(
            self.numbers[:i] + self.numbers[i + 1 :], self.places_in[:i] + self.places_in[i + 1 :], self.thick_in
        )

    def with_places(self, places: Sequence[float]) -> Row:
        return Row(self.numbers, tuple(places), self.thick_in)


def check_between(truss: Truss, row: Row, passage: Passage) -> None:
    """Raises PassageError where it lies beside the row or the truss: nothing there is between trusses."""
    low, high = passage.across
    if not (row.places_in[0] <= low and high <= row.places_in[-1]):
        raise PassageError(
            "passage-beside-row",
            "across_in",
            low_in=low,
            high_in=high,
            first_in=row.places_in[0],
            last_in=row.places_in[-1],
        )
    xs = [joint.x for joint in truss.joints]
    start, end = passage.along
    if not (min(xs) <= start and end <= max(xs)):
        raise PassageError("passage-beside-truss", "along_in", mark=truss.mark, from_in=start, to_in=end)


def for_width(document: Document, tributary_in: float, widest_in: float) -> Document:
    """The truss document of a copy that carries a width of `tributary_in` and whose wider gap is `widest_in`.

    Its spacing becomes the wider gap, by which the repetitive member factor is decided, and its area loads are scaled
    so that they act over the width that it carries. Line and point loads are of what hangs there, and stay.
    """
    wide = copy.deepcopy(document)
    wide["spacing_in"] = widest_in
    for load in wide.get("loads", {}).get("area", ()):
        load["psf"] = load["psf"] * tributary_in / widest_in
    return wide
