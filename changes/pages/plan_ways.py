"""How far and which way on the plan, as the plan says it: by the compass where north was said, and by its sides."""

from __future__ import annotations

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


def higher(by: float) -> str:
    """1" higher, 1" lower."""
    return f"{feet_inches(abs(by))} {'higher' if by > 0 else 'lower'}"
