"""Dimensions of openings: whose they are, in which order they stand, and that nothing runs through a name or a number.
No database."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from shapely import LineString, unary_union

from tests.trusses.drawn import RECTANGLE, ROUND, SVG, Drawn, example, king_post
from tests.trusses.test_drawing_labels import DEMO, HAIR, written
from trusses.drawing import detail, elevation
from trusses.drawing.backdrop import Backdrop

SIZES = ["sheet", "phone"]


def openings(document, *shares, **more):
    """One opening for each share of the span, round and rectangular by turns, a third of the way up."""
    xs, ys = zip(*document["joints"].values(), strict=True)
    at = [(min(xs) + share * (max(xs) - min(xs)), min(ys) + min(0.35 * (max(ys) - min(ys)), 16)) for share in shares]
    kinds = [(ROUND if i % 2 else RECTANGLE | {"width_in": 10, "height_in": 6}) for i in range(len(at))]
    return [kinds[i] | {"id": f"O{i}", "centre_in": list(here)} | more for i, here in enumerate(at)]


def lines(part, *kinds):
    """The straight lines of some classes in a part of a drawing ("" is of no class)."""
    for path in part.iter(f"{SVG}path"):
        if (path.get("class") or "") in kinds:
            for line in (path.get("d") or "").rstrip("Z").split("M")[1:]:
                points = [tuple(map(float, pair)) for pair in re.findall(r"(-?[\d.]+),(-?[\d.]+)", line)]
                yield from (LineString(ends) for ends in pairwise(points))


def chains(drawn):
    """(whose, its line) for each opening's chain, from the wood down."""
    return [
        (part.get("data-for"), unary_union(list(lines(part, ""))))
        for part in drawn.of_class("dim-opening")
        if "dim-rise" not in part.get("class")
    ]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", DEMO)
def test_each_chain_names_its_opening_and_the_shortest_is_nearest_to_the_truss(name, size):
    document = DEMO[name] | {"openings": openings(DEMO[name], 0.44, 0.2, 0.31, 0.8)}
    drawn = Drawn(elevation(document, detail=size))
    found = chains(drawn)
    assert sorted(drawn.texts("dim-names")) == sorted(whose for whose, _ in found) == ["O0", "O1", "O2", "O3"]
    assert sorted(found, key=lambda one: one[1].centroid.y) == found
    long = [line.length for _, line in found]
    assert all(one <= other + 12 for one, other in pairwise(long))  # drawn a little past a number beside them
    names = {words: at for words, at in written(drawn) if words in dict(found)}
    for whose, line in found:
        assert abs(names[whose].centroid.y - line.centroid.y) < 20
    # from one face the farther opening is told farther down: its extension line passes beside the shorter dimensions
    for i, (_, upper) in enumerate(found):
        for _, lower in found[i + 1 :]:
            if abs(upper.bounds[0] - lower.bounds[0]) < 1:
                assert upper.bounds[2] < lower.bounds[2]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", [*DEMO, "E2", "E5"])
def test_no_extension_line_runs_through_a_number(name, size):
    """A number beside or between its strokes stands on bare paper; under its line no extension line comes."""
    document = example(name) if name not in DEMO else DEMO[name]
    drawn = Drawn(elevation(document, detail=size))
    (layer,) = drawn.of_class("dims")
    extensions = list(lines(layer, "extension", "extension of-opening"))
    for part in drawn.of_class("dim"):
        if not {"dim-bearings", "dim-overall"} & set(part.get("class").split()):
            continue
        for text in part.iter(f"{SVG}text"):
            (letters,) = [at for says, at in written(drawn) if says == text.text][:1]
            assert not [line for line in extensions if line.intersects(letters.buffer(-HAIR))], text.text


def test_extension_lines_of_openings_alone_are_told_apart_since_they_go_while_one_is_dragged():
    for openings_, apart in (([], 0), ([RECTANGLE], 1)):
        drawn = Drawn(elevation(king_post(openings=openings_)))
        assert len(drawn.of_class("extension", "of-opening")) == apart
    xs = [x for part in drawn.of_class("extension", "of-opening") for x, _ in drawn.inches(part.get("d"))]
    assert {round(x) for x in xs} == {2, 48, 72}  # the face it is measured from and its edges
    (rest,) = [e for e in drawn.of_class("dims")[0].iter(f"{SVG}path") if e.get("class") == "extension"]
    assert {0, 120, 240} <= {round(x) for x, _ in drawn.inches(rest.get("d"))}


@pytest.mark.parametrize("size", SIZES)
def test_an_opening_that_is_dragged_past_another_changes_places_with_its_dimension(size):
    document = DEMO["R1"] | {"openings": openings(DEMO["R1"], 0.3)}
    backdrop = Backdrop(document, detail=size)
    for share, order in ((0.2, ["new", "O0"]), (0.45, ["O0", "new"])):
        (ask,) = openings(document, share)
        drawn = Drawn(backdrop.elevation(ask | {"id": "new"}))
        assert [whose for whose, _ in chains(drawn)] == order
        (upper, lower) = (line for _, line in chains(drawn))
        assert upper.centroid.y < lower.centroid.y
    assert [whose for whose, _ in chains(Drawn(backdrop.elevation(None)))] == ["O0"]


def test_an_overhang_that_is_narrower_than_its_number_is_led_to_it_from_outside():
    drawn = Drawn(elevation(DEMO["R1"], detail="phone"))
    (chain,) = drawn.of_class("dim-bearings")
    assert drawn.texts("dim-bearings") == ["1'-6\"", "36'-0\" span", "1'-6\""]
    assert len(list(lines(chain, "leader"))) == 2


def through(drawn):
    """(words, line) for each name and number that a plumb dimension line runs through."""
    plumb = [
        line for part in drawn.of_class("dim") for line in lines(part, "")
        if {"dim-rise", "dim-height", "dim-heel"} & set(part.get("class").split())
    ]  # fmt: skip
    return [(words, line.wkt) for words, at in written(drawn) for line in plumb if line.intersects(at.buffer(-HAIR))]


@pytest.mark.parametrize("name", DEMO)
def test_no_dimension_line_runs_through_a_name(name):
    document = DEMO[name]
    for first, ask in (openings(document, 0.3, 0.37), openings(document, 0.62, 0.55)):
        there = document | {"openings": [first]}
        ask = ask | {"id": "O9"}
        for size in SIZES:
            assert through(Drawn(elevation(there, ask=ask, detail=size))) == []
        assert through(Drawn(Backdrop(there, detail="phone").elevation(ask))) == []
        assert through(Drawn(detail(there, ask=ask))) == []


@pytest.mark.parametrize("name", DEMO)
def test_every_opening_in_a_detail_is_named_and_what_lies_beside_it_leaves_no_dimension(name):
    document = DEMO[name]
    near, ask, far = openings(document, 0.32, 0.38, 0.75)
    drawn = Drawn(detail(document | {"openings": [near, far]}, ask=ask | {"id": "new"}))
    _, _, wide, high = map(float, drawn.root.get("viewBox").split())
    shown = {"new"}
    for one in (near, far):
        scale, x0, y0 = (float(drawn.root.get(f"data-{key}")) for key in ("scale", "x0", "y0"))
        u, v = x0 + scale * one["centre_in"][0], y0 - scale * one["centre_in"][1]
        shown |= {one["id"]} if 3 < u < wide - 3 and 3 < v < high - 3 else set()
    labels = drawn.of_class("opening-label")
    assert {label.get("data-for") for label in labels} == shown
    assert labels[0].get("data-for") == "new"
    assert {part.get("data-for") for part in drawn.of_class("dim-rise")} <= shown


def test_the_opening_that_is_asked_for_has_its_dimensions_however_many_stand_there():
    many = [ROUND | {"id": f"O{i}", "centre_in": [30 + 30 * i, 10]} for i in range(1, 7)]
    drawn = Drawn(elevation(king_post(openings=many), ask=ROUND | {"id": "new", "centre_in": [100, 20]}))
    assert "new" in [whose for whose, _ in chains(drawn)]
    assert "new" in [part.get("data-for") for part in drawn.of_class("dim-rise")]


def test_what_reaches_into_the_chord_is_said_in_words():
    low = ROUND | {"centre_in": [60, 0.25]}
    drawn = [elevation(king_post(), ask=low, detail=size) for size in SIZES]
    for svg in (*drawn, detail(king_post(), ask=low)):
        assert Drawn(svg).texts("dim-rise") == ['1 1/2" into the chord']
