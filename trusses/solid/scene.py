"""What stands where in a job: bodies, the copies that they are placed as, walls, runs. Plan inches and heights."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from trusses.solid.bodies import Body

Point3 = tuple[float, float, float]
UNTOUCHED, TOUCHED = "", "touched"
BEFORE, AFTER = "before", "after"


@dataclass(frozen=True)
class Placed:
    """One copy. Its span starts at its left bearing at (x, y) in plan, z high, and runs along x or y, or against it
    where the copy stands `turned` end for end; its plies stand about that line. `shown` tells what a request does:
    nothing, touches it, or is its truss before or after."""

    body: str
    truss: int
    mark: str
    number: int
    level: str
    along: str
    x: float
    y: float
    z: float
    stage: str = ""
    shown: str = UNTOUCHED
    href: str = ""
    turned: bool = False

    @property
    def quarters(self) -> int:
        """How many quarter turns about the vertical, to the left, its span stands from the plan's x."""
        return (1 if self.along == "y" else 0) + (2 if self.turned else 0)

    @property
    def name(self) -> str:
        """mark/copy, and which of two trusses at one place."""
        return f"{self.mark}/{self.number}" + (f" {self.shown}" if self.shown in (BEFORE, AFTER) else "")

    def at(self, s: float, w: float, z: float) -> Point3:
        """A point of its body in plan and height: across is to the left of the span, seen from above."""
        if self.turned:
            s, w = -s, -w
        if self.along == "x":
            return self.x + s, self.y + w, self.z + z
        return self.x - w, self.y + s, self.z + z


@dataclass(frozen=True)
class Wall:
    """One straight piece of a wall, header or beam, about its line in plan."""

    label: str
    level: str
    a: tuple[float, float]
    b: tuple[float, float]
    bottom: float
    top: float
    thick: float


@dataclass(frozen=True)
class Run:
    """A duct or a drain along a path: corners in plan and height, the middle of its section, round or rectangular."""

    name: str
    points: Sequence[Point3]
    width: float
    height: float
    round: bool = True
    href: str = ""
    level: str = ""


@dataclass(frozen=True)
class Scene:
    bodies: Mapping[str, Body]
    placed: Sequence[Placed]
    walls: Sequence[Wall] = ()
    runs: Sequence[Run] = ()
    ground: float = 0.0
    levels: Sequence[str] = field(default_factory=tuple)
    weights: Sequence[Wall] = ()
    """Blocks that stand for weights."""

    @property
    def key(self) -> set[str]:
        """What of it is drawn in a color of its own, so that a key can name each."""
        shown = {one.shown for one in self.placed}
        there = {
            "wood": UNTOUCHED in shown,
            "touched": bool(shown & {TOUCHED, AFTER}),
            "before": BEFORE in shown,
            "opening": any(self.bodies[one.body].openings for one in self.placed),
            "wall": bool(self.walls),
            "run": bool(self.runs),
            "weight": bool(self.weights),
        }
        return {name for name, is_there in there.items() if is_there}
