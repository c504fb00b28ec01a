"""What one drawing shows: the truss, what it is compared with, its openings and what an enlarged detail looks at."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import Any

from trusses.drawing.bearings import AskedBearing
from trusses.drawing.borne import Load, Weight, borne
from trusses.drawing.clear import ClearMap
from trusses.drawing.differences import Differences, differences
from trusses.drawing.forces import Force
from trusses.drawing.measures import rise
from trusses.drawing.outline import Outline, outlines
from trusses.drawing.shape import Document, Gap, Shape, gap, shape
from trusses.drawing.taped import Taped
from trusses.drawing.window import Window, window
from trusses.drawing.wood import Row


class Scene:
    """What one drawing shows."""

    def __init__(
        self,
        document: Document,
        before: Document | None = None,
        analysis: Mapping[str, Any] | None = None,
        weights: Sequence[Weight] = (),
    ) -> None:
        self.after = shape(document)
        self.wood: dict[str, Outline] = outlines(self.after)
        self.before: Shape | None = shape(before) if before is not None else None
        self.old_wood: dict[str, Outline] = outlines(self.before) if self.before is not None else {}
        self.analysis = analysis
        self.combination: str | None = None
        self.marks = differences(self.before, self.after) if self.before is not None else Differences()
        self.forces: dict[str, Force] | None = None
        self.gaps: list[Gap] = list(self.after.gaps)
        self.frame: Window | None = None
        self.rows: list[Row] = []
        self.unflagged: list[str] = []
        """Webs of rows of restraint whose flag had no room."""
        self.named: frozenset[str] = frozenset()
        self.names_joints = False
        self.clear: ClearMap | None = None
        self.taped: tuple[Taped, ...] = ()
        self.unnumbered: list[str] = []
        """Pieces whose force had no room for its number."""
        self.weights = tuple(weights)
        self.bearings_asked: tuple[AskedBearing, ...] = ()
        self.asked: tuple[float, float] | None = None
        self.touched_as = "touched"
        """What the key says of members that are `touched`: "damaged" where no opening is asked for."""
        self.touched = frozenset(
            name for row in (analysis or {}).get("openings", ()) for name in row["touches"] if name in self.after.pieces
        )

    @cached_property
    def loads(self) -> list[Load]:
        """What it bears at single places; where forces are told, those are of all loads together."""
        if self.forces is not None or self.clear is not None:
            return []
        return borne(self.after, self.wood, self.before, self.weights)

    @property
    def height_letter(self) -> str:
        """The letter of the overall height, where a tape checks that."""
        return next((one.letter for one in self.taped if one.kind == "height"), "")

    def ask(self, opening: Document | None, face: tuple[str, int] | None) -> None:
        """An opening that is asked for is shown too."""
        if opening is not None:
            self.gaps.append(gap(opening, asked=True, face=face))

    def of_others(self, names: Collection[str]) -> None:
        """Openings of the document that other requests ask for, told apart from those that are designed."""
        self.gaps = [replace(one, theirs=True) if one.id in names else one for one in self.gaps]

    def enlarged(self, beside: Shape | None, around: Document | None) -> Window | None:
        """What an enlarged detail shows, inches: nothing that other requests ask for; None where nothing is asked for
        here or new, or none of it is in the truss."""
        other = beside or self.before
        own, theirs = set(self.after.gaps), set(other.gaps if other is not None else ())
        mine = [one for one in self.gaps if not one.theirs]
        gaps = [one for one in mine if one.asked or one not in theirs] if other is not None else mine
        gaps = gaps + [one for one in theirs - own if beside is not None]
        gaps += [gap(around)] if around is not None else []
        corners = [c for outline in (*self.wood.values(), *self.old_wood.values()) for c in outline.corners]
        rises = [rise(self.after, self.wood, one) for one in gaps]
        return window(gaps, corners, [found.chord for found in rises if found is not None])
