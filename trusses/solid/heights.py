"""How high the trusses of each level bear: as a designer said it, else as it is drawn until somebody does. Inches.

Heights count from the bearing of the lowest level. What isn't said is stacked: levels of floor trusses come first, and
the next one bears a common wall above the one below, 97 1/8 in.: 8 ft studs of 92 5/8 in. with three plates (common
practice).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

WALL_IN = 97.125


@dataclass(frozen=True)
class Height:
    """`top` is the highest that floor trusses of the level reach, where a wall of the next may stand."""

    bearing: float
    top: float
    said: bool


@dataclass(frozen=True)
class LevelDepth:
    """A level, whether its trusses are a floor's, and how far the deepest reaches above its bearing."""

    level: str
    floor: bool
    depth: float


def heights(levels: Sequence[LevelDepth], said: Mapping[str, float]) -> dict[str, Height]:
    """{level: its height}, the lowest first."""
    found: dict[str, Height] = {}
    below: float | None = None
    for one in sorted(levels, key=lambda one: (said.get(one.level, 0.0), not one.floor, one.level)):
        bearing = said.get(one.level, 0.0 if below is None else below + WALL_IN)
        top = bearing + (one.depth if one.floor else 0.0)
        found[one.level] = Height(bearing, top, one.level in said)
        below = top
    return dict(sorted(found.items(), key=lambda pair: pair[1].bearing))


def in_common(high: Mapping[str, Height]) -> dict[str, float]:
    """{level: how high it bears} of the levels that a designer said, and of the lowest, which heights count from, where
    no other is only assumed. What is stacked because nobody said it may stand anywhere."""
    unsaid = [level for level, one in high.items() if not one.said]
    lowest = next(iter(high), None)
    return {level: one.bearing for level, one in high.items() if one.said or unsaid == [level] == [lowest]}


@dataclass(frozen=True)
class OverFloor:
    """How far the trusses of a level bear above the floor of the storey below them, and whether that is assumed."""

    inches: float
    assumed: bool


def over_floor(high: Mapping[str, Height], level: str) -> OverFloor | None:
    """Above the top of the nearest floor trusses below; where there are none, a roof's lowest walls are taken to be
    common ones on a slab. None where nothing tells: of the lowest floor and
    what is said to lie below it, and of a level that isn't there."""
    if level not in high:
        return None
    here, lowest = high[level], next(iter(high.values()))
    floors = [one for one in high.values() if one.bearing < one.top]
    if under := [one for one in floors if one.top < here.bearing]:
        below = max(under, key=lambda one: one.top)
        return OverFloor(here.bearing - below.top, not (here.said and (below.said or below is lowest)))
    if floors:
        return None
    return OverFloor(WALL_IN + here.bearing - lowest.bearing, True)
