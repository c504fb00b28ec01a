"""How far and which way on the plan, as the plan says it: by the compass where north was said, and by its sides."""

from __future__ import annotations

from typing import NamedTuple

from trusses.analysis.words.lengths import feet_inches
from trusses.plan.copies import sides

_WAYS = {
    ("x", True): ("right", "to the right on the plan"),
    ("x", False): ("left", "to the left on the plan"),
    ("y", True): ("top", "up the plan"),
    ("y", False): ("bottom", "down the plan"),
}
HAIR_IN = 1 / 32


def way(axis: str, by: float, north_deg: float | None) -> str:
    """By so many inches along x or y of the plan: 5" south (down the plan)."""
    side, says = _WAYS[axis, by > 0]
    far = feet_inches(abs(by))
    return f"{far} {says}" if north_deg is None else f"{far} {sides(north_deg)[side]} ({says})"


def ways(right: float, up: float, north_deg: float | None) -> str:
    """Along both; empty for less than a hair."""
    steps = [way(axis, by, north_deg) for axis, by in (("x", right), ("y", up)) if abs(by) >= HAIR_IN]
    return " and ".join(steps)


def side_of_plan(side: str, north_deg: float | None) -> str:
    """bottom → the south (the bottom of the plan), where it was said how north lies; else the bottom of the plan."""
    there = f"the {side} of the plan"
    return there if north_deg is None else f"the {sides(north_deg)[side]} ({there})"


class Goes(NamedTuple):
    """By how far something goes, inches, and along which axis of the plan; without an axis, toward the right end of the
    drawing of a truss that has no place in plan. Nowhere yet where it is no length."""

    axis: str
    inches: float

    def says(self, north_deg: float | None) -> str:
        if self.axis:
            return way(self.axis, self.inches, north_deg)
        end = "right" if self.inches > 0 else "left"
        return f"{feet_inches(abs(self.inches))} toward the {end} end of the drawing" if self.inches else ""


def higher(by: float) -> str:
    """1" higher, 1" lower."""
    return f"{feet_inches(abs(by))} {'higher' if by > 0 else 'lower'}"
