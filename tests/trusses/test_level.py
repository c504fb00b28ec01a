"""The picture of a level: what is on it stands where the plan has it, and no letter lies on anything."""

from __future__ import annotations

import itertools
import math
import re
import xml.etree.ElementTree as ET

import pytest

from trusses.demo_set import FLOOR, ROOF, WALLS, marks
from trusses.plan.level import CopyLine, Level, Opening, Wall, draw, draw_over, paper, taken
from trusses.plan.overlays import Met, Path

SVG = "{http://www.w3.org/2000/svg}"


def demo(level: str, paths=()) -> Level:
    walls = [Wall(name, one.points) for name, one in WALLS.items() if one.level == level]
    copies, order = [], itertools.count(1)
    for mark in marks():
        joints = mark.document["joints"]
        xs = [joints[bearing["joint"]][0] for bearing in mark.document["bearings"]]
        number = itertools.count(1)
        for stand in mark.stands:
            for i in range(stand.count if stand.level == level else 0):
                x, y = stand.x_in, stand.y_in
                x, y = (x, y + i * stand.spacing_in) if stand.direction == "x" else (x + i * stand.spacing_in, y)
                span = max(xs) - min(xs)
                end = (x + span, y) if stand.direction == "x" else (x, y + span)
                copies.append(CopyLine(mark.mark, next(number), next(order), (x, y), end, i % 3 > 0, "said", "/t/"))
    return Level(level, walls, copies, paths, 30)


RUN = Path("Trunk", ((0, 126), (740, 126)), 14, [Met("A", (24, 126), "fits"), Met("B", (48, 126), "never")], "/r/")


@pytest.mark.parametrize("level", [demo(ROOF), demo(FLOOR), demo(ROOF, [RUN])], ids=["roof", "floor", "with a run"])
def test_no_letter_lies_on_wood_walls_runs_or_letters(level):
    svg = ET.fromstring(draw(level))
    boxes = [text_box(text) for text in svg.iter(f"{SVG}text")]
    for one, other in itertools.combinations(boxes, 2):
        assert not cross(one, other), (one, other)
    lines = [tuple(float(line.get(k)) for k in ("x1", "y1", "x2", "y2")) for line in svg.iter(f"{SVG}line")]
    for poly in svg.iter(f"{SVG}polyline"):
        if "run-band" not in (poly.get("class") or ""):  # a run's own width is a tint
            points = [tuple(map(float, one.split(","))) for one in poly.get("points").split()]
            lines += [(*a, *b) for a, b in itertools.pairwise(points)]
    assert len(lines) > 50
    for box in boxes:
        assert not any(on(box, line) for line in lines), box


def test_letters_of_a_run_that_is_drawn_lie_on_none_of_the_plan_s():
    """The run's sheet lies over the plan's, which isn't drawn anew."""
    level = demo(ROOF)
    under, there = ([text_box(text) for text in ET.fromstring(draw(level)).iter(f"{SVG}text")], taken(level))
    found = 0
    for y in range(150, 330, 15):
        met = [Met(chr(65 + i), (312 + 24 * i, y), "fits") for i in range(8)]
        over = ET.fromstring(draw_over(level, [Path("", ((300, y), (500, y)), 8, met)], there))
        for one in map(text_box, over.iter(f"{SVG}text")):
            found += 1
            assert not any(cross(one, other) for other in under)
    assert found > 80


def test_names_and_numbers_stand_beside_a_run_as_wide_as_it_is():
    plenum, trunk = Path("", ((144, 452), (144, 640)), 62), Path("", ((12, 126), (706, 126)), 16)
    level = demo(ROOF, [plenum, trunk])
    sheet, svg = paper(level), ET.fromstring(draw(level))
    bands = []
    for path in (plenum, trunk):
        (x, y), (u, v) = map(sheet.at, path.points)
        half = path.width_in * sheet.scale / 2
        a, b = (half, 0) if x == u else (0, half)
        bands.append((min(x, u) - a, min(y, v) - b, max(x, u) + a, max(y, v) + b))
    told = {text.text: text_box(text) for text in svg.iter(f"{SVG}text")}
    assert {"R5", "R6", "R7", "R8", "R1", "west end wall of the main block"} <= set(told)
    assert [name for name, box in told.items() if any(cross(box, band) for band in bands)] == []
    assert next(iter(svg.iter(f"{SVG}polyline"))).get("class") == "run-band", "below all else"


def text_box(text):
    """The middle two thirds of the letters: the rest is their width on the safe side."""
    size, letters = float(text.get("font-size")), len(text.text)
    x, y = float(text.get("x")), float(text.get("y"))
    wide, high = size * 0.46 * letters, size * 0.7
    middle = y - size * 0.36
    if turned := re.match(r"rotate\(-90 ([\d.-]+) ([\d.-]+)\)", text.get("transform") or ""):
        x, middle = map(float, turned.groups())
        wide, high = high, wide
    return x - wide / 2, middle - high / 2, x + wide / 2, middle + high / 2


def cross(one, other):
    return one[0] < other[2] and one[2] > other[0] and one[1] < other[3] and one[3] > other[1]


def on(box, line):
    a, b, c, d = line
    steps = max(int(math.hypot(c - a, d - b)), 1)
    return any(
        box[0] < a + (c - a) * t / steps < box[2] and box[1] < b + (d - b) * t / steps < box[3]
        for t in range(steps + 1)
    )


def test_each_copy_leads_to_its_mark_and_stands_where_the_plan_has_it():
    level = demo(ROOF)
    svg, sheet = ET.fromstring(draw(level)), paper(level)
    groups = [one for one in svg.iter(f"{SVG}a") if one.get("class") == "copy"]
    assert len(groups) == len(level.copies)
    for group, one in zip(groups, level.copies, strict=True):
        line = group.findall(f"{SVG}line")[1]
        assert (float(line.get("x1")), float(line.get("y1"))) == sheet.at(one.start)
        dot = group.find(f"{SVG}circle")
        assert (float(dot.get("cx")), float(dot.get("cy"))) == sheet.at(one.start)
        assert ("stroke-dasharray" in line.attrib) != one.solid


def test_nearly_every_copy_has_its_number_and_its_place_in_the_order():
    """24 in. on center there is room for all; a few at the edges of crowded corners may be left to the list."""
    level = demo(ROOF)
    told = [text.text for text in ET.fromstring(draw(level)).iter(f"{SVG}text")]
    assert sum(text.isdecimal() for text in told) > 1.7 * len(level.copies)
    assert {mark.mark for mark in marks() if mark.stands[0].level == ROOF} <= set(told)


@pytest.mark.parametrize("level", [demo(ROOF), demo(FLOOR)], ids=["roof", "floor"])
def test_a_number_and_a_ring_stand_nearer_to_their_copy_than_to_any_other(level):
    """Else the number of a row's last copy is read as that of the first one of the next row."""
    svg, sheet = ET.fromstring(draw(level)), paper(level)
    lines = [(sheet.at(one.start), sheet.at(one.end)) for one in level.copies]
    groups = [one for one in svg.iter(f"{SVG}a") if one.get("class") == "copy"]
    told = 0
    for group, line in zip(groups, lines, strict=True):
        for text in group.iter(f"{SVG}text"):
            box = text_box(text)
            if not text.text.isdecimal():
                continue
            at = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
            others = [
                away(at, other)
                for other in lines
                if other != line and (other[0][0] == other[1][0]) == (line[0][0] == line[1][0])
            ]
            assert away(at, line) < min(others) - 1, (text.text, at)
            told += 1
    assert told > 50


def away(at, line):
    (a, b), (c, d) = line
    x, y = min(max(at[0], min(a, c)), max(a, c)), min(max(at[1], min(b, d)), max(b, d))
    return math.dist(at, (x, y))


def test_dimensions_over_all_and_north():
    told = [text.text for text in ET.fromstring(draw(demo(FLOOR))).iter(f"{SVG}text")]
    assert {"60'-0\"", "36'-0\"", "N"} <= set(told)


def test_verdicts_differ_by_form_and_openings_are_drawn():
    met = [
        Met(word, (24 * i, 60), verdict)
        for i, (word, verdict) in enumerate(zip("ABCD", ("fits", "moves", "redesign", "never"), strict=True), 1)
    ]
    copies = [
        CopyLine("R1", i, i, (24 * i, 0), (24 * i, 120), True, "said", "", [Opening(20, 40)]) for i in range(1, 5)
    ]
    svg = ET.fromstring(draw(Level("Roof", [], copies, [Path("x", ((0, 60), (120, 60)), 8, met)])))
    signs = {
        one.get("class").split("-")[-1]: one.tag.removeprefix(SVG)
        for one in svg.iter()
        if "sign" in (one.get("class") or "")
    }
    assert signs == {"fits": "circle", "moves": "circle", "redesign": "polygon", "never": "path"}
    dashed = [one for one in svg.iter(f"{SVG}circle") if one.get("class") == "sign sign-moves"]
    assert all("stroke-dasharray" in one.attrib for one in dashed)
    assert sum(one.get("class") == "opening-on-plan" for one in svg.iter(f"{SVG}line")) == 4


def test_an_empty_level_and_hostile_names_are_drawn():
    assert ET.fromstring(draw(Level("", [], [])))
    hostile = draw(
        Level(
            "<script>",
            [Wall("<script>", ((0, 0), (900, 0)))],
            [CopyLine("<script>", 1, 1, (0, 50), (900, 50), True, "<script>", "/x/")],
        )
    )
    assert "<script" not in hostile
    assert "<script>" in [text.text for text in ET.fromstring(hostile).iter(f"{SVG}text")]
