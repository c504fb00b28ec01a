"""A section as a truss meets it: by hand, and against points of the run's solid within the truss's thickness."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trusses.analysis.runs.met import met
from trusses.analysis.runs.run import Section

DUCT, PIPE = Section("rectangle", 14, 10), Section("circle", 14, 14)
HALF_RIGHT = math.sin(math.radians(45))


def test_square_and_level_a_truss_meets_the_section_itself():
    assert met(DUCT, 1, 0, 1.5) == ("rectangle", 14, 10, 0)
    assert met(PIPE, 1, 0, 3.0) == ("circle", 14, 14, 0)


def test_at_45_degrees_14_inches_are_19_8_wide():
    """14/sin 45° = 19.799; a truss of 1.5 in. adds 1.5/tan 45° = 1.5."""
    assert met(DUCT, HALF_RIGHT, 0, 0)[1:3] == pytest.approx((19.799, 10), abs=5e-4)
    assert met(DUCT, HALF_RIGHT, 0, 1.5)[1:3] == pytest.approx((21.299, 10), abs=5e-4)
    # the circle about the pipe's ellipse, 21.3 in., would take 356 sq in., the rectangle 21.3 × 14 = 298
    assert met(PIPE, HALF_RIGHT, 0, 1.5) == pytest.approx(("rectangle", 21.299, 14, 0), abs=5e-4)


def test_a_slope_falls_over_the_thickness():
    """1/4 in. per foot is 1 in 48: over 1.5 in. it falls 0.03125, and a box's side is 1/cos of its angle higher."""
    assert met(DUCT, 1, 0.25, 1.5).height_in == pytest.approx(10 * math.sqrt(1 + 1 / 48**2) + 1.5 / 48)
    pipe = met(PIPE, 1, 0.25, 1.5)
    assert (pipe.shape, pipe.width_in) == ("circle", pytest.approx(14 * math.sqrt(1 + 1 / 48**2) + 1.5 / 48))


def test_insulation_is_on_both_sides_and_clearance_square_to_the_run():
    """(14 + 2·2 + 2·1)/sin 45° = 28.284, with the 1 in. that the opening keeps by itself taken off on both sides."""
    section = Section("rectangle", 14, 10, insulation_in=2, clearance_in=1)
    assert met(section, 1, 0, 1.5) == ("rectangle", 18, 14, 1)
    assert met(section, HALF_RIGHT, 0, 0) == pytest.approx(("rectangle", 26.284, 14, 1), abs=5e-4)


@given(
    st.sampled_from(["circle", "rectangle"]),
    st.floats(1, 30),
    st.floats(1, 20),
    st.one_of(st.just(90.0), st.floats(5, 90)),
    st.one_of(st.just(0.0), st.floats(-12, 12)),
    st.sampled_from([0.0, 1.5, 4.5]),
    st.one_of(st.just(0.0), st.floats(0, 3)),
)
def test_it_holds_all_of_the_run_within_the_truss(shape, width, height, degrees, slope, thick, clearance):
    """Points on the skin of the run, clearance included, that lie within the slab: none outside of the opening."""
    section = Section(shape, width, width if shape == "circle" else height, 0, clearance)
    theta, fall = math.radians(degrees), slope / 12
    opening = met(section, math.sin(theta), slope, thick)
    dice = random.Random(1)
    along = [math.cos(theta), math.sin(theta)]  # along the truss, square to it
    size = math.hypot(1, fall)
    axis = (along[0] / size, along[1] / size, -fall / size)
    side = (-along[1], along[0], 0.0)
    up = (fall * along[0] / size, fall * along[1] / size, 1 / size)
    farthest = [0.0, 0.0]
    for _ in range(200):
        a, b = _skin(section, dice)
        off = [a * s + b * u for s, u in zip(side, up, strict=True)]
        n = dice.choice([-thick / 2, thick / 2, dice.uniform(-thick / 2, thick / 2)])
        t = (n - off[1]) / axis[1]
        x, z = off[0] + t * axis[0], off[2] + t * axis[2]
        farthest = [max(farthest[0], abs(x)), max(farthest[1], abs(z))]
        if opening.shape == "circle":
            assert math.hypot(x, z) <= opening.width_in / 2 + opening.clearance_in + 1e-6
        else:
            beyond = max(abs(x) - opening.width_in / 2, 0), max(abs(z) - opening.height_in / 2, 0)
            assert max(beyond) <= opening.clearance_in + 1e-6
    if opening.shape == "rectangle" and section.shape == "rectangle":
        # and it is no larger than that: corners of the box reach its edges
        assert farthest[0] > 0.5 * (opening.width_in / 2 + opening.clearance_in)


def _skin(section, dice):
    half = [one / 2 + section.clearance_in for one in section.outer]
    if section.shape == "circle":
        turn = dice.uniform(0, 2 * math.pi)
        return half[0] * math.cos(turn), half[0] * math.sin(turn)
    return dice.choice([-1, 1, dice.uniform(-1, 1)]) * half[0], dice.choice([-1, 1, dice.uniform(-1, 1)]) * half[1]
