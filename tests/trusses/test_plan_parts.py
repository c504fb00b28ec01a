"""The plan on paper: in parts at a size at which letters can be read, and in them all of what is to be seen."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from tests.trusses.test_lettering import level, row, run, text_box
from tests.trusses.test_level import SVG, demo
from trusses.demo_set import FLOOR, ROOF
from trusses.plan.level import draw
from trusses.plan.parts import HIGH_MM, WIDE_MM, on_paper, windows


def parts_of(picture):
    """Each part's window, pixels, and how many of them a millimetre has."""
    paper = ET.fromstring(on_paper(picture, "Roof"))
    for svg in [figure.find("svg") for figure in paper.iter("figure")]:
        x, y, wide, high = map(float, svg.get("viewBox").split())
        wide_mm, high_mm = (float(svg.get(name).removesuffix("mm")) for name in ("width", "height"))
        assert wide_mm <= WIDE_MM + 0.1
        assert high_mm <= HIGH_MM + 0.1
        assert wide / wide_mm == pytest.approx(high / high_mm, rel=0.02)
        yield (x, y, x + wide, y + high), wide / wide_mm


def within(window, box):
    return window[0] <= box[0] and window[1] <= box[1] and window[2] >= box[2] and window[3] >= box[3]


@pytest.mark.parametrize(
    "there",
    [demo(ROOF), demo(FLOOR), level(row(130, 24)), level(row(7, 24, along="x")), level(row(80, 16, span=600))],
    ids=["roof", "floor", "130", "7", "80"],
)
def test_all_letters_are_on_a_part_and_high_enough(there):
    picture = draw(there)
    parts = list(parts_of(picture))
    sheet = ET.fromstring(picture)
    for text in sheet.iter(f"{SVG}text"):
        if text.text == "N":
            continue  # beside each part
        assert float(text.get("font-size")) * 0.71 / parts[0][1] > 1.79, text.text
        if text.text.isdecimal():
            assert any(within(window, text_box(text)) for window, _ in parts), text.text


def test_a_run_is_printed_with_what_is_about_it_alone():
    roof = demo(ROOF)
    whole = list(parts_of(draw(roof)))
    trunk = run(roof, (12, 126), (706, 126), wide=16)
    with_run = draw(replace(roof, paths=[trunk]))
    ((window, _),) = parts_of(with_run)
    letters = [one for one in ET.fromstring(with_run).iter(f"{SVG}text") if one.get("class") == "letter"]
    assert len(letters) == 29
    assert all(within(window, text_box(one)) for one in letters)
    assert len(whole) == 3
    far = run(roof, (12, 126), (708, 126), (708, 12), (960, 12), (960, 276), wide=16)
    assert len(list(parts_of(draw(replace(roof, paths=[far]))))) == 2


def test_parts_are_named_and_point_to_their_own_picture():
    picture = draw(demo(ROOF))
    told = on_paper(picture, "<b>Roof</b>")
    assert "&lt;b&gt;Roof&lt;/b&gt;, part 1 of 3" in told
    names = set(re.findall(r'<use href="#([^"]+)"', told))
    assert len(names) == 2
    assert all(f'id="{name}"' in picture for name in names)
    assert on_paper("<svg></svg>", "Roof") == ""


@pytest.mark.parametrize("there", [demo(ROOF), demo(FLOOR)], ids=["roof", "floor"])
def test_no_part_ends_in_a_name_that_another_part_could_show_whole(there):
    """And none is a strip: what two parts share is more of what stands about it, not less paper."""
    picture = draw(there)
    parts = [window for window, _ in parts_of(picture)]
    heights = [low - top for _, top, _, low in parts]
    assert min(heights) > 0.7 * max(heights)
    texts = [text for text in ET.fromstring(picture).iter(f"{SVG}text") if (text.text or "").isdecimal()]
    for left, top, right, low in parts:
        met = [
            box for box in map(text_box, texts) if box[0] < right and left < box[2] and box[1] < low and top < box[3]
        ]
        assert not [box for box in met if box[1] < top < box[3] or box[1] < low < box[3]]


def test_a_part_is_drawn_in_from_a_name_only_as_far_as_its_neighbor_shows_the_rest():
    there, scale = [(0, 0, 1500, 100)], 5.0
    plain = windows(there, (), scale)
    (_, _, edge, _), (start, *_) = plain[:2]
    assert [one[2] for one in windows(there, (), scale, [(edge - 8, 10, edge + 8, 20)])][:1] == [edge - 8]
    assert [one[2] for one in windows(there, (), scale, [(edge - 200, 10, edge + 8, 20)])][:1] == [edge]
    assert [one[0] for one in windows(there, (), scale, [(start - 8, 10, start + 8, 20)])][1:2] == [start + 8]
