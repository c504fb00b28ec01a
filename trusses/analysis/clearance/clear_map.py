"""The map of clear openings: what each pocket of a truss holds, in the shapes that ducts come in. Inches.

Sizes are of the clear space itself, all that goes through it and around it included: insulation, flanges, clearance.
Openings that the truss was drawn for already are told with the pocket that they are in; what it holds counts from wood.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from trusses.analysis.clearance import convex
from trusses.analysis.clearance.free_space import Space, space
from trusses.analysis.clearance.inscribed import circle, rectangle, widest
from trusses.analysis.clearance.pockets import LEAST_IN, Circle, Pocket, Rectangle, pockets
from trusses.analysis.format.document import sha256
from trusses.analysis.format.model import Truss
from trusses.analysis.piece_names import panel_names

WIDTHS_TO_HEIGHT = (1.0, 1.5, 2.0, 3.0)
"""The shapes of rectangular duct that are usual in floors and attics; common practice."""

HEIGHTS_IN = (6.0, 8.0, 10.0, 12.0, 14.0)
"""The heights of duct that are usual there, inches; common practice."""

_FEW_WALLS = 16  # of more, each three are too many


@dataclass(frozen=True)
class Clear:
    """One pocket, counted from the left from 1, its largest circle, its largest rectangle of each usual shape, and the
    widest of each usual height that it holds."""

    number: int
    pocket: Pocket
    circle: Circle
    by_shape: Mapping[float, Rectangle]
    by_height: Mapping[float, Rectangle]


def clear_map(truss: Truss) -> tuple[Clear, ...]:
    """What each pocket of `truss` holds, from left to right; those with no room for a circle of an inch left out."""
    return clear_pockets(space(truss), truss)


def clear_pockets(room: Space, truss: Truss) -> tuple[Clear, ...]:
    found = [(one, *_inscribed(one)) for one in pockets(room, truss.openings)]
    real = [one for one in found if one[1].diameter_in >= LEAST_IN]
    return tuple(
        Clear(number, pocket, round_one, by_shape, {h: one for h, one in by_height.items() if one.width_in >= LEAST_IN})
        for number, (pocket, round_one, by_shape, by_height) in enumerate(real, 1)
    )


def _inscribed(pocket: Pocket) -> tuple[Circle, Mapping[float, Rectangle], Mapping[float, Rectangle]]:
    if len(pocket.walls.lines) <= _FEW_WALLS and not pocket.walls.juts.any():
        return convex.inscribed(pocket.walls, WIDTHS_TO_HEIGHT, HEIGHTS_IN)
    by_shape = {shape: rectangle(pocket.region, shape) for shape in WIDTHS_TO_HEIGHT}
    by_height = {height: level for height in HEIGHTS_IN if (level := widest(pocket.region, height))}
    return circle(pocket.region), by_shape, by_height


def written(truss: Truss, found: tuple[Clear, ...]) -> dict[str, Any]:
    """The map as plain JSON values; lengths to a billionth of an inch."""
    called = panel_names(truss.document)
    return {
        "mark": truss.mark,
        "truss_sha256": sha256(truss.document),
        "pockets": [
            {
                "number": one.number,
                "between": [called[name] for name in one.pocket.members],
                "members": list(one.pocket.members),
                "openings": list(one.pocket.openings),
                "circle": {"centre_in": _place(one.circle), "diameter_in": round(one.circle.diameter_in, 9)},
                "rectangles": [
                    {"width_to_height": shape, **_rectangle(found)} for shape, found in one.by_shape.items()
                ],
                "widest": [_rectangle(found) for found in one.by_height.values()],
            }
            for one in found
        ],
    }


def _rectangle(found: Rectangle) -> dict[str, Any]:
    return {
        "centre_in": _place(found),
        "width_in": round(found.width_in, 9),
        "height_in": round(found.height_in, 9),
    }


def _place(found: Circle | Rectangle) -> list[float]:
    return [round(value, 9) + 0.0 for value in found.centre_in]
