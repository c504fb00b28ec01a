"""A copy as it stands in plan, and what runs need of its design. Plan inches."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from trusses.analysis.clearance.free_space import TOUCH_IN, Space, free_centres, margin, rounded, space
from trusses.analysis.clearance.overlay import difference, union
from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.runs.met import Met
from trusses.analysis.runs.run import Datum, Leg, Run

#: A leg closer than this to the direction of trusses runs along them, and crosses none.
ALONG_SINE = math.sin(math.radians(5))
_PLY_IN = 1.5
#: So far about a truss it is told what passes by it, inches.
_FAR_IN = 2400.0


class Design:
    """One truss document as runs meet it: its clear space, its thickness, where heights are counted from.

    Where centres may stand is kept for each section as met, so keep the design as long as runs are asked about.
    """

    def __init__(self, truss: Truss) -> None:
        self.truss = truss
        self.thickness_in = _PLY_IN * truss.plies
        xs = [truss.joint(bearing.joint).x for bearing in truss.bearings]
        self.left, self.right = min(xs), max(xs)
        self.wood_x = float(truss.xy[0].min()), float(truss.xy[0].max())
        self._free: dict[tuple[Met, bool], BaseGeometry] = {}
        self._passing: dict[Met, BaseGeometry] = {}

    @cached_property
    def space(self) -> Space:
        return space(self.truss)

    @cached_property
    def chords(self) -> Space:
        """The truss without its webs: what a redesign keeps."""
        keep = np.array([member.is_chord for member in self.space.members])
        chords = tuple(member for member in self.space.members if member.is_chord)
        return Space(chords, self.space.lines[keep], self.space.depths[keep], self.space.outline, self.space.document)

    def free(self, met: Met, *, without_webs: bool = False) -> BaseGeometry:
        """Where the centre of the section as met may stand, with every web or, as a redesign may have it, with none."""
        key = (met, without_webs)
        if key not in self._free:
            if len(self._free) > 500:
                self._free.clear()
            opening: Opening = met.opening("", (0.0, 0.0))
            self._free[key] = free_centres(self.chords if without_webs else self.space, opening)
        return self._free[key]

    def passing(self, met: Met) -> BaseGeometry:
        """Where its centre passes the truss by: outside of it and clear of its wood, within a window about it."""
        if met not in self._passing:
            if len(self._passing) > 500:
                self._passing.clear()
            opening = met.opening("", (0.0, 0.0))
            keep = max(margin(opening) - TOUCH_IN / 2, 0.0)
            taken = [rounded(corners, keep) for corners in self.space.grown(opening).corners]
            (left, right), (low, high) = self.wood_x, self.heights
            around = shapely.box(left - _FAR_IN, low - _FAR_IN, right + _FAR_IN, high + _FAR_IN)
            inside = union([self.space.outline.region, *(one for one in taken if one.is_valid)])
            self._passing[met] = difference(around, inside)
        return self._passing[met]

    @cached_property
    def heights(self) -> tuple[float, float]:
        """The lowest and the highest joint."""
        return float(self.truss.xy[1].min()), float(self.truss.xy[1].max())

    def datum_y(self, datum: Datum) -> float:
        """Where heights above `datum` begin, in the document's y; see `run`."""
        return self._datums[datum]

    def begins_y(self, run: Run) -> float:
        """Where the heights of a run begin, likewise."""
        if run.datum == "storey":
            return self._datums["bearing"] - run.bearing_above_floor_in
        return self._datums[run.datum]

    @cached_property
    def _datums(self) -> dict[Datum, float]:
        truss, depths = self.truss, dict(zip((m.id for m in self.truss.members), self.space.depths, strict=True))
        bottom = [m for m in truss.members if m.role == "bottom_chord"] or list(truss.members)
        top = [m for m in truss.members if m.role == "top_chord"] or list(truss.members)
        under = []
        for bearing in truss.bearings:
            at = [m for m in truss.members_at[bearing.joint] if m.is_chord] or list(truss.members_at[bearing.joint])
            lower = [m for m in at if m.role == "bottom_chord"] or at
            under.append(truss.joint(bearing.joint).y - max(depths[m.id] for m in lower) / 2)
        lowest = min((min(a.y, b.y), depths[m.id]) for m in bottom for a, b in [truss.ends(m)])
        highest = max((max(a.y, b.y), depths[m.id]) for m in top for a, b in [truss.ends(m)])
        return {
            "bearing": float(min(under)),
            "ceiling": float(lowest[0] - lowest[1] / 2),
            "floor": float(highest[0] + highest[1] / 2 if truss.use == "floor" else lowest[0] + lowest[1] / 2),
        }


@dataclass(frozen=True, eq=False)
class Stood:
    """One copy: its span runs along x or y from its left bearing's joint at `start_in`, or where it is `turned` from
    the right one's; `across_in` is where the middle of its thickness stands the other way."""

    mark: str
    number: int
    level: str
    design: Design
    along: Literal["x", "y"] | str
    start_in: float
    across_in: float
    turned: bool = False

    @property
    def name(self) -> str:
        return f"{self.mark}-{self.number}"

    @property
    def turn(self) -> int:
        """1, or −1 where the document's x runs against the plan's."""
        return -1 if self.turned else 1

    def x_at(self, place: float) -> float:
        """The document's x at a place along the span in plan."""
        return (self.design.right if self.turned else self.design.left) + self.turn * (place - self.start_in)

    def place_at(self, x: float) -> float:
        """The place along the span in plan of the document's x."""
        return self.start_in + self.turn * (x - (self.design.right if self.turned else self.design.left))

    @property
    def reach(self) -> tuple[float, float]:
        """From where to where its wood runs in plan, along the span."""
        ends = sorted(map(self.place_at, self.design.wood_x))
        return ends[0], ends[1]


def perpendicular(leg: Leg, stood: Stood) -> tuple[float, float, float, float]:
    """Of a leg, against a copy: start along the span, start across it, direction along it, direction across it."""
    (x, y), ex, ey = leg.start, leg.ex, leg.ey
    return (x, y, ex, ey) if stood.along == "x" else (y, x, ey, ex)
