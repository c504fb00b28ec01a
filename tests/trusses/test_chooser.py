"""The small plan that copies are chosen by: each can be hit by a thumb, and what can't be chosen isn't offered."""

from __future__ import annotations

import itertools
import xml.etree.ElementTree as ET

import pytest

from trusses.plan.chooser import Pick, choose

SVG = "{http://www.w3.org/2000/svg}"


def row(count: int, spacing: float, along: str = "y", span: float = 480) -> list[Pick]:
    ways = {"x": lambda at: ((0, at), (span, at)), "y": lambda at: ((at, 0), (at, span))}
    return [Pick(n + 1, *ways[along](n * spacing), n != 2) for n in range(count)]


def targets(svg: ET.Element) -> dict[int, tuple[float, float, float, float]]:
    """{copy: its box: left, top, width, height}."""
    return {
        int(group.get("data-copy")): tuple(
            float(group.find(f"{SVG}rect").get(name)) for name in ("x", "y", "width", "height")
        )
        for group in svg.iter(f"{SVG}g")
        if group.get("data-copy")
    }


@pytest.mark.parametrize("along", ["x", "y"])
@pytest.mark.parametrize("spacing", [12, 16, 24, 48])
def test_a_thumb_finds_each_copy_and_none_lies_over_another(along, spacing):
    svg = ET.fromstring(choose("Roof", "R1", row(12, spacing, along)))
    boxes = targets(svg)
    assert set(boxes) == set(range(1, 13))
    for _, _, wide, high in boxes.values():
        assert min(wide, high) >= 43.9
    k = 0 if along == "y" else 1
    for one, other in itertools.pairwise(sorted(box[k] for box in boxes.values())):
        assert other - one >= 43.9
    # as long as a small plan may be, although the trusses are 40 ft long
    tall = float(svg.get("height" if along == "y" else "width"))
    assert tall < 200


def test_what_is_cut_is_there_and_can_not_be_chosen():
    groups = {g.get("data-copy"): g for g in ET.fromstring(choose("Roof", "R1", row(4, 24))).iter(f"{SVG}g")}
    assert [groups[n].get("data-free") for n in "1234"] == ["yes", "yes", None, "yes"]
    dashed = [n for n in "1234" if groups[n].find(f"{SVG}line").get("stroke-dasharray")]
    assert dashed == ["3"]


def test_rows_that_cross_keep_their_proportions():
    crossing = [*row(3, 24, "y", 240), *(Pick(n.number + 3, n.start, n.end, True) for n in row(3, 24, "x", 240))]
    svg = ET.fromstring(choose("Roof", "R1", crossing))
    assert float(svg.get("width")) == float(svg.get("height"))


def test_hostile_names_are_letters():
    svg = choose("<script>", '"><script>' * 20, row(2, 24))
    assert "<script" not in svg
    assert ET.fromstring(svg).get("aria-label").startswith('"><script>')
