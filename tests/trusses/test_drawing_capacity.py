"""The curve of what a chord takes: every place in it, level lines that say pounds, well-formed whatever comes."""

from __future__ import annotations

import math
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest
from shapely import LineString, box

from tests.option_cases import w_truss
from trusses.drawing.capacity import capacity, levels
from trusses.drawing.elevation import elevation
from trusses.drawing.text import width_of

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


@pytest.mark.parametrize("detail", ["sheet", "phone"])
def test_what_is_said_below_begins_where_the_axis_does(detail):
    svg = drawn(at_in=200.0, detail=detail)
    axis = next(line for line in part(svg, "line") if line.get("y1") == line.get("y2"))
    said = [text for text in part(svg, "text") if text.text.startswith(("Down:", "Dot:", "Upright"))]
    assert {float(text.get("x")) for text in said} == {float(axis.get("x1"))}
    wide = float(svg.get("viewBox").split()[2])
    assert all(float(text.get("x")) + width_of(text.text, 11 if detail == "phone" else 14.2) < wide for text in said)


def test_levels_say_pounds_and_the_label_the_range():
    svg = drawn()
    assert {text.text for text in part(svg, "text")} >= {"0 lb", "200 lb", "400 lb", "600 lb", "800 lb"}
    assert "from 100 lb, 12 feet from the left bearing, to 900 lb" in svg.get("aria-label")


@pytest.mark.parametrize("detail", ["sheet", "phone"])
def test_the_scale_is_even_each_level_has_its_number_and_none_lies_on_the_curve(detail):
    xs = [12.0 * i for i in range(37)]
    pounds = [900 + 700 * math.sin(x / 20) for x in xs]
    svg = drawn(xs, pounds, at_in=200.0, detail=detail)
    marked = [text for text in part(svg, "text") if text.text.endswith(" lb")]
    level = {float(text.text.split()[0].replace(",", "")) for text in marked}
    assert level == {0, 500, 1000, 1500}
    vs = [float(line.get("y1")) for line in part(svg, "line") if line.get("y1") == line.get("y2")][:4]
    assert [b - a for a, b in pairwise(vs)] == pytest.approx([vs[1] - vs[0]] * 3, abs=0.02)
    (line,) = part(svg, "polyline")
    curve = LineString([tuple(map(float, pair.split(","))) for pair in line.get("points").split()])
    size = 11 if detail == "phone" else 14.2
    for text in marked:
        right, low = float(text.get("x")), float(text.get("y"))
        assert not curve.intersects(box(right - width_of(text.text, size), low - 0.72 * size, right, low)), text.text
    said = " ".join(text.text for text in part(svg, "text"))
    assert "Down: pounds (lb) at one point, even scale." in said
    assert "Dot: the least, 203 lb at 8'-0\"" in said
    assert "Upright line: asked at 16'-8\", about" in said


@pytest.mark.parametrize("top", [1.0, 7.3, 50.0, 99.0, 100.0, 612.0, 4_999.0, 20_000.0])
def test_levels_are_round_and_few(top):
    found = levels(top)
    assert found[0] == 0
    assert 2 <= len(found) <= 6
    assert found[-1] <= top < found[-1] + found[1] * 1.001


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
