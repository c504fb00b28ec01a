"""The plan of a level: copies where the placement puts them, marked end first."""

from __future__ import annotations

import xml.etree.ElementTree as ET

from trusses.models import Placement
from trusses.plan.plan import Row, plan
from trusses.plan.where import where

SVG = "{http://www.w3.org/2000/svg}"
ACROSS = Row("R1", x=0, y=24, along="x", span=240, spacing=24, count=3)
UP = Row("R2", x=240, y=0, along="y", span=120, spacing=48, count=2)


def test_copies_step_the_other_way_than_the_span_runs():
    assert ACROSS.lines() == [(0, 24, 240, 24), (0, 48, 240, 48), (0, 72, 240, 72)]
    assert UP.lines() == [(240, 0, 240, 120), (288, 0, 288, 120)]


def test_the_chosen_mark_is_heavy_and_dotted_at_its_marked_ends():
    svg = ET.fromstring(plan([ACROSS, UP], "R1"))
    light, heavy = svg.findall(f"{SVG}g")
    assert (len(light.findall(f"{SVG}line")), len(light.findall(f"{SVG}circle"))) == (2, 0)
    lines, dots = heavy.findall(f"{SVG}line"), heavy.findall(f"{SVG}circle")
    assert float(heavy.get("stroke-width")) > 3 * float(light.get("stroke-width"))
    assert [(dot.get("cx"), dot.get("cy")) for dot in dots] == [(line.get("x1"), line.get("y1")) for line in lines]
    assert all(float(line.get("x1")) < float(line.get("x2")) for line in lines)


def test_one_scale_both_ways_and_y_up():
    svg = ET.fromstring(plan([ACROSS, UP], "R1"))
    light, heavy = svg.findall(f"{SVG}g")
    first, second, _ = ([float(line.get(k)) for k in ("x1", "y1", "x2", "y2")] for line in heavy.findall(f"{SVG}line"))
    scale = (first[2] - first[0]) / 240
    assert second[1] < first[1]
    assert abs((first[1] - second[1]) - 24 * scale) < 0.2
    x1, y1, x2, y2 = (float(light.find(f"{SVG}line").get(k)) for k in ("x1", "y1", "x2", "y2"))
    assert x1 == x2
    assert abs((y1 - y2) - 120 * scale) < 0.2


def test_a_lone_copy_and_hostile_marks_are_drawn():
    told = plan([Row("<script>", 5, 5, "x", 10, 0, 1)], "<script>")
    assert "<script>" not in told
    assert ET.fromstring(told).findall(f"{SVG}text")[0].text == "<script>"


def test_a_level_shows_all_that_stands_there_and_no_other_level(truss, other_job):
    for level, mark, count in (("Roof", truss, 3), ("Roof", truss, 1), ("Floor", truss, 2), ("Roof", other_job, 5)):
        Placement.objects.create(truss=mark, level=level, origin_x_in=0, origin_y_in=0, spacing_in=24, count=count)
    found = {name: [(row.mark, row.span, row.count) for row in rows] for name, rows in where(truss)["levels"]}
    assert found == {"Roof": [("K1", 240, 3), ("K1", 240, 1)], "Floor": [("K1", 240, 2)]}


def test_marks_that_would_cover_each_other_are_not_all_written():
    """Three lone copies an inch apart: the chosen one's name stands, on none of the others."""
    crowded = [Row(mark, 0, y, "x", 400, 0, 1) for mark, y in (("A1", 0), ("A2", 1), ("A3", 2), ("A4", 200))]
    words = [text.text for text in ET.fromstring(plan(crowded, "A2")).findall(f"{SVG}text")]
    assert words == ["A2", "A4"]
