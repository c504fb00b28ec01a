"""The curve of what a chord takes: every place in it, level lines that say pounds, well-formed whatever comes."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest

from tests.option_cases import w_truss
from trusses.drawing.capacity import capacity

XS, LBS = [0.0, 144.0, 288.0, 432.0], [900.0, 100.0, 400.0, 900.0]


def drawn(xs=XS, pounds=LBS, **more):
    return ET.fromstring(capacity(w_truss().document, xs, pounds, **more))  # our own text


def part(svg, name):
    return svg.findall(f".//{{http://www.w3.org/2000/svg}}{name}")


def test_each_place_is_a_point_and_more_pounds_are_lower():
    (curve,) = part(drawn(), "polyline")
    points = [tuple(map(float, pair.split(","))) for pair in curve.get("points").split()]
    assert len(points) == 4
    assert [x for x, _ in points] == sorted(x for x, _ in points)
    assert points[1][1] < points[2][1] < points[0][1] == points[3][1]


def test_levels_say_pounds_and_the_label_the_range():
    svg = drawn()
    assert {text.text for text in part(svg, "text")} >= {"50 lb", "250 lb", "500 lb"}
    assert "from 100 lb, 12 feet from the left end, to 900 lb" in svg.get("aria-label")


def test_where_it_is_asked_is_marked():
    assert len(part(drawn(at_in=216.0), "line")) == len(part(drawn(), "line")) + 1


@pytest.mark.parametrize(("xs", "pounds"), [([], []), ([0.0, 432.0], [0.0, 0.0]), ([10.0], [10_000.0])])
def test_nothing_and_too_much_are_drawn_too(xs, pounds):
    assert drawn(xs, pounds).tag.endswith("svg")
