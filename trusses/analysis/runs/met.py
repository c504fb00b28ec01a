"""A run's section as a truss meets it: an opening of the truss's plane, from angle, slope and thickness.

The truss is a slab of its plies' thickness t. What the run takes of it is the run's solid within the slab, seen square
to the truss. With the angle θ between run and truss in plan, and m the drop over the run of its slope:

- the width grows to w/sin θ, and by t/tan θ since the run shifts sideways through the thickness;
- a box's height grows to h·√(1 + m²) + m·(t/sin θ + w/tan θ): its top and bottom fall while it passes;
- a round one is an ellipse, d/sin θ by d·√(1 + m²/sin²θ), and shifts by t/tan θ sideways and t·m/sin θ down.

A truss document's openings are circles and level rectangles, so the answer is the smallest of these that holds the
solid: a rectangle, or for a round section the circle about the ellipse and its shift where that takes less. Clearance
is kept square to the run, so it grows with the angle as the width does; what it grows by is added to the opening and
its corners stay rounded by the clearance itself. Inches.
"""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

from trusses.analysis.format.model import Opening
from trusses.analysis.runs.run import Section


class Met(NamedTuple):
    """`width_in` by `height_in` or, of a circle, both its diameter, without `clearance_in`."""

    shape: Literal["circle", "rectangle"]
    width_in: float
    height_in: float
    clearance_in: float

    def opening(self, name: str, centre: tuple[float, float], note: str = "") -> Opening:
        if self.shape == "circle":
            return Opening(name, "circle", centre, diameter_in=self.width_in, clearance_in=self.clearance_in, note=note)
        return Opening(name, "rectangle", centre, self.width_in, self.height_in, None, self.clearance_in, note)


def met(section: Section, sine: float, slope: float, thickness_in: float) -> Met:
    """What a truss of this thickness must keep free where a run of this slope, in. per foot, meets it at the angle of
    this sine, over 0 to 1."""
    cosine, fall = math.sqrt(max(1 - sine * sine, 0.0)), abs(slope) / 12
    clearance = section.clearance_in
    width, height = (one + 2 * clearance for one in section.outer)
    across = width / sine + thickness_in * cosine / sine
    if section.shape == "rectangle":
        high = height * math.hypot(1, fall) + fall * (thickness_in / sine + width * cosine / sine)
        return _apart("rectangle", across, high, clearance)
    high = height * math.hypot(1, fall / sine) + thickness_in * fall / sine
    square = sine / math.hypot(1, fall)  # of the angle in space between the run and the truss
    around = width / square + thickness_in * math.sqrt(max(1 / square**2 - 1, 0.0))
    if math.pi / 4 * around**2 <= across * high:
        return _apart("circle", around, around, clearance)
    return _apart("rectangle", across, high, clearance)


def _apart(shape: Literal["circle", "rectangle"], width: float, height: float, clearance: float) -> Met:
    return Met(shape, width - 2 * clearance, height - 2 * clearance, clearance)
