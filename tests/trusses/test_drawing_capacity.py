"""The curve of what a chord takes: every place in it, level lines that say pounds, well-formed whatever comes."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest

from tests.option_cases import w_truss
from trusses.drawing.capacity import capacity
from trusses.drawing.elevation import elevation

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
    assert "from 100 lb, 12 feet from the left bearing, to 900 lb" in svg.get("aria-label")


@pytest.mark.parametrize("detail", ["sheet", "phone"])
def test_it_has_the_elevation_s_own_x(detail):
    """The middle of the span stands where the elevation of the same size has it, in a picture of the same width."""
    document = w_truss().document
    one = ET.fromstring(capacity(document, XS, LBS, detail=detail))
    other = ET.fromstring(elevation(document, detail=detail))
    assert one.get("viewBox").split()[2] == other.get("viewBox").split()[2]
    for name in ("data-scale", "data-x0"):
        assert float(one.get(name)) == pytest.approx(float(other.get(name)), abs=0.01)
    (curve,) = part(one, "polyline")
    first, *_, last = (float(pair.split(",")[0]) for pair in curve.get("points").split())
    middle = float(other.get("data-x0")) + float(other.get("data-scale")) * 216
    assert (first + last) / 2 == pytest.approx(middle, abs=0.1)
    assert {"0 ft", "8 ft"} <= {text.text for text in part(one, "text")}


@pytest.mark.parametrize("name", ["<script>alert(1)</script>", "]]>&amp;\x00\x07", "\u202e" + "W" * 400, "'\""])
def test_no_name_gets_into_it(name):
    document = w_truss().document
    hostile = {**document, "mark": name, "title": name, "note": name}
    assert capacity(hostile, XS, LBS) == capacity(document, XS, LBS)


def test_where_it_is_asked_is_marked():
    assert len(part(drawn(at_in=216.0), "line")) == len(part(drawn(), "line")) + 1


@pytest.mark.parametrize(("xs", "pounds"), [([], []), ([0.0, 432.0], [0.0, 0.0]), ([10.0], [10_000.0])])
def test_nothing_and_too_much_are_drawn_too(xs, pounds):
    assert drawn(xs, pounds).tag.endswith("svg")
