"""A run: a polyline in plan at a height, level or sloped, with a cross-section. Plan inches, x right and y up.

`height_in` is that of the section's centre at the first point. `datum` says above what, in each truss that is crossed:

- `bearing`: the underside of the wood at the truss's lowest bearing, which is the top of the wall's plate;
- `ceiling`: the underside of the bottom chord where it is lowest;
- `floor`: this level's own floor: a floor truss's top face where it is highest, a roof truss's bottom chord's top face
  where that is lowest, which is an attic's;
- `storey`: the floor of the storey below these trusses, `bearing_above_floor_in` below the bearing. No truss knows it:
  whoever asks says it, and whether it is only assumed, so that a run that was asked for keeps what it was told from.

Where trusses stand on plates of different heights their bearings are not one level: nothing here knows heights of
walls, so a run is taken to keep its height above the datum of each truss that it crosses.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

from trusses.analysis.format.fields import Fields, point
from trusses.analysis.format.strict import LIMITS
from trusses.analysis.words.refusal import Refusal

Point = tuple[float, float]
Datum = Literal["bearing", "ceiling", "floor", "storey"]
DATUMS: tuple[Datum, ...] = ("bearing", "ceiling", "floor", "storey")
#: Bounds of what is read: more points than any duct has bends, and a slope of 45 degrees.
MOST_POINTS, STEEPEST_IN = 40, 12.0
#: Two points closer than this are one, inches.
SAME_IN = 1e-6
#: Marks of a tape in an inch: what fields write of a run is rounded to these.
TAPE = 16


class RunError(Refusal):
    """A run that is no run; `place` says which part of it."""


@dataclass(frozen=True, slots=True)
class Section:
    """A duct's or pipe's cross-section, bare sizes in inches: a circle's width and height are its diameter.

    Insulation lies on all sides of it, and the clearance around that stays free.
    """

    shape: Literal["circle", "rectangle"]
    width_in: float
    height_in: float
    insulation_in: float = 0.0
    clearance_in: float = 0.0

    @property
    def outer(self) -> tuple[float, float]:
        """Width and height over the insulation."""
        return self.width_in + 2 * self.insulation_in, self.height_in + 2 * self.insulation_in

    @property
    def room_in(self) -> float:
        """What it takes sideways, clearance on both sides included."""
        return self.outer[0] + 2 * self.clearance_in


@dataclass(frozen=True, slots=True)
class Leg:
    """A straight piece of a run: from `start` in the direction of the unit vector (`ex`, `ey`), `length` long; it
    begins `before` inches of path after the run's first point."""

    start: Point
    ex: float
    ey: float
    length: float
    before: float


@dataclass(frozen=True)
class Run:
    """`slope` is how far it drops for each foot of its path in plan, inches; negative where it rises. `rises` is how
    far it goes straight up at each of its corners, inches; empty where it does at none."""

    level: str
    points: tuple[Point, ...]
    height_in: float
    datum: Datum
    slope: float
    section: Section
    note: str = ""
    rises: tuple[float, ...] = ()
    bearing_above_floor_in: float = 0.0
    bearing_assumed: bool = False

    def legs(self) -> Iterator[Leg]:
        before = 0.0
        for (ax, ay), (bx, by) in itertools.pairwise(self.points):
            length = math.hypot(bx - ax, by - ay)
            yield Leg((ax, ay), (bx - ax) / length, (by - ay) / length, length, before)
            before += length

    @property
    def length_in(self) -> float:
        """Its path in plan."""
        return sum(leg.length for leg in self.legs())

    def height_at(self, path_in: float) -> float:
        """Of the centre above the datum, so far along the path; at a corner after it went up there."""
        corners = [leg.before for leg in self.legs()][1:] if self.rises else []
        risen = sum(rise for before, rise in zip(corners, self.rises, strict=bool(corners)) if before <= path_in)
        return self.height_in - self.slope * path_in / 12 + risen

    def place_at(self, path_in: float) -> Point:
        """In plan, so far along the path."""
        leg = max((one for one in self.legs() if one.before <= path_in + SAME_IN), key=lambda one: one.before)
        s = min(path_in - leg.before, leg.length)
        return leg.start[0] + s * leg.ex, leg.start[1] + s * leg.ey

    def reversed(self) -> Run:
        """The same run, told from its other end."""
        return replace(
            self,
            points=self.points[::-1],
            height_in=self.height_at(self.length_in),
            slope=-self.slope or 0.0,
            rises=tuple(-rise for rise in reversed(self.rises)),
        )

    def on_tape(self) -> Run:
        """Its points on the nearest marks of a tape, as fields write them. One whose points would come together there
        stays as it is."""
        points = tuple((tape_mark(x), tape_mark(y)) for x, y in self.points)
        together = any(one == other for one, other in itertools.pairwise(points))
        return self if together else replace(self, points=points)

    def document(self) -> dict[str, Any]:
        """As `read_run` reads it."""
        section: dict[str, Any] = {"shape": self.section.shape}
        if self.section.shape == "circle":
            section["diameter_in"] = self.section.width_in
        else:
            section |= {"width_in": self.section.width_in, "height_in": self.section.height_in}
        section |= {"insulation_in": self.section.insulation_in, "clearance_in": self.section.clearance_in}
        return {
            "level": self.level,
            "points_in": [list(one) for one in self.points],
            "height_in": self.height_in,
            "datum": self.datum,
            "slope_in_per_ft": self.slope,
            "section": section,
            "note": self.note,
            **({"rises_in": list(self.rises)} if self.rises else {}),
            **({key: getattr(self, key) for key in _STOREY} if self.datum == "storey" else {}),
        }


def tape_mark(inches: float) -> float:
    """The nearest sixteenth, halves away from zero, as `words.lengths` writes it."""
    return math.copysign(math.floor(abs(inches) * TAPE + 0.5) / TAPE, inches) + 0.0


_STOREY = ("bearing_above_floor_in", "bearing_assumed")
_RUN = ("level", "points_in", "height_in", "section"), ("datum", "slope_in_per_ft", "note", "rises_in")


def read_run(value: Any, at: str = "run") -> Run:
    """A run as JSON has it. Raises DocumentError for what has the wrong type, RunError for a path that is none."""
    storey = isinstance(value, dict) and value.get("datum") == "storey"
    fields = Fields(value, at, _RUN[0], (*_RUN[1], *(_STOREY if storey else ())))
    given = fields.items("points_in", MOST_POINTS)
    points = tuple(point(one, f"{at}.points_in[{i}]", LIMITS) for i, one in enumerate(given))
    if len(points) < 2:
        raise RunError("run-few-points", f"{at}.points_in", points=len(points))
    for i, (one, other) in enumerate(itertools.pairwise(points)):
        if math.dist(one, other) < SAME_IN:
            raise RunError("run-point-twice", f"{at}.points_in[{i + 1}]")
    rises = tuple(float(one) for one in _rises(fields, at, len(points) - 2))
    return Run(
        level=fields.name("level"),
        points=points,
        height_in=fields.number("height_in", "in", most=LIMITS.length_in),
        datum=fields.choice("datum", DATUMS, "bearing"),
        slope=fields.number("slope_in_per_ft", "in", most=STEEPEST_IN, default=0.0),
        section=_section(fields.take("section"), f"{at}.section"),
        note=fields.text("note", ""),
        rises=rises if any(rises) else (),
        bearing_above_floor_in=fields.length("bearing_above_floor_in", zero=False) if storey else 0.0,
        bearing_assumed=fields.flag("bearing_assumed", False) if storey else False,
    )


def _rises(fields: Fields, at: str, corners: int) -> list[float]:
    """How far it goes up at each corner; none where that isn't said."""
    given = fields.items("rises_in", MOST_POINTS, [])
    if given and len(given) != corners:
        raise RunError("run-rises", f"{at}.rises_in", corners=corners, given=len(given))
    each = [Fields({"rise": one}, f"{at}.rises_in[{i}]", ("rise",)) for i, one in enumerate(given)]
    return [one.number("rise", "in", most=LIMITS.length_in) for one in each]


def _section(value: Any, at: str) -> Section:
    sizes = {"circle": ("diameter_in",), "rectangle": ("width_in", "height_in")}
    shape = value.get("shape") if isinstance(value, dict) else None
    if isinstance(value, dict) and "shape" in value and (not isinstance(shape, str) or shape not in sizes):
        Fields({"shape": shape}, at, ("shape",)).choice("shape", sizes)
    wanted = sizes.get(shape or "", ())
    fields = Fields(value, at, ("shape", *wanted), ("insulation_in", "clearance_in"))
    given = [fields.length(key, zero=False) for key in wanted]
    around = [fields.length(key, zero=True, default=0.0) for key in ("insulation_in", "clearance_in")]
    return Section(fields.choice("shape", sizes), given[0], given[-1], *around)
