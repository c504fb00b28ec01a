"""An opening that is dragged over a truss: what moves is drawn anew over a truss that was drawn once."""

from __future__ import annotations

import pytest
from shapely import LineString

from tests.trusses.drawn import NAMES, RECTANGLE, ROUND, SVG, Drawn, example, king_post
from tests.trusses.test_drawing_labels import ALL, on_wood, truss, written
from trusses import kept_drawings
from trusses.analysis.clearance.openings import fit, space
from trusses.analysis.format.document import read, read_opening
from trusses.drawing import detail, elevation
from trusses.drawing.backdrop import Backdrop
from trusses.drawing.placing import overlap


def places(document):
    """Openings here and there, near both ends among them."""
    xs, ys = zip(*document["joints"].values(), strict=True)
    for share, kind in ((0.02, ROUND), (0.35, ROUND), (0.5, RECTANGLE), (0.8, ROUND), (0.9, RECTANGLE)):
        at = [min(xs) + share * (max(xs) - min(xs)), min(ys) + 0.4 * (max(ys) - min(ys))]
        yield kind | {"id": "O9", "centre_in": at}


def touched(document, ask):
    return fit(space(read(document)), read_opening(ask)).touches


@pytest.mark.parametrize("size", ["sheet", "phone"])
@pytest.mark.parametrize("name", ALL)
def test_no_label_lies_on_wood_or_on_another(name, size):
    document = truss(name)
    backdrop = Backdrop(document, detail=size)
    for ask in places(document):
        svg = backdrop.elevation(ask, touched=touched(document, ask))
        assert on_wood(svg) == []
        letters = [(words, list(outline.exterior.coords)[:-1]) for words, outline in written(Drawn(svg))]
        assert not [
            (one, other)
            for i, (one, mine) in enumerate(letters)
            for other, theirs in letters[i + 1 :]
            if overlap(mine, theirs)
        ]


@pytest.mark.parametrize("size", ["sheet", "phone"])
def test_it_shows_what_the_elevation_shows(size):
    """Wood, openings and dimensions are those of the elevation that is drawn in one; labels may stand elsewhere."""
    document = king_post(openings=[RECTANGLE])
    ask = ROUND | {"id": "O9", "centre_in": [126, 20]}
    held, face = touched(document, ask), ("A", 1)
    whole = Drawn(elevation(document, ask=ask, ask_from=face, touched=held, detail=size))
    moved = Drawn(Backdrop(document, detail=size).elevation(ask, face, held))
    assert held
    for name in ("data-scale", "data-x0", "data-y0", "data-mark", "class"):
        assert moved.root.get(name) == whole.root.get(name)
    assert moved.desc() == whole.desc()
    ids = [piece["id"] for piece in document["members"]]
    assert [moved.classes(name) for name in ids] == [whole.classes(name) for name in ids]
    assert [moved.wood(name) for name in ids] == [whole.wood(name) for name in ids]
    for kind in ("opening", "dim-opening", "frame", "touched", "joint", "bearing"):
        assert len(moved.of_class(kind)) == len(whole.of_class(kind)), kind
    assert {"+", "△"}.isdisjoint(moved.texts("label"))
    assert [t for t in moved.texts("label") if t.startswith("✕")] == [
        t for t in whole.texts("label") if t.startswith("✕")
    ]
    assert sorted(moved.texts("dims")) == sorted(whole.texts("dims"))
    # no room is kept for dimensions that aren't there
    below = [[line.get("d") for line in one.of_class("dims")[0].iter(f"{SVG}path")] for one in (moved, whole)]
    assert below[0] == below[1]
    key = whole.texts("drawing-key")
    if size == "phone":  # the form below it says so
        measured = "Openings are measured from a bearing's face, and up from the bottom chord's top edge."
        key = [words for words in key if words not in measured]
        assert 0 < len(key) < len(whole.texts("drawing-key"))
    assert sorted(moved.texts("drawing-key")) == sorted(key)
    assert [o.get("data-opening") for o in moved.of_class("ask")] == ["O9"]


@pytest.mark.parametrize("name", NAMES)
def test_labels_that_are_in_nobodys_way_stay_where_they_are(name):
    document = example(name)
    backdrop = Backdrop(document)
    drawn = [Drawn(backdrop.elevation(ask)) for ask in (None, *list(places(document))[1:3])]
    for one in drawn:  # those stand below each other, as many as there are
        for dims in one.of_class("dims"):
            dims.clear()
    still, *moved = (dict(written(one)) for one in drawn)
    for now in moved:
        same = [words for words in still.keys() & now.keys() if still[words].equals_exact(now[words], 0.01)]
        assert len(same) >= 0.45 * len(still)


def test_the_opening_has_its_name_even_where_others_stand_in_the_way():
    for name in ALL:
        document = truss(name)
        for size in ("sheet", "phone"):
            backdrop = Backdrop(document, detail=size)
            for ask in list(places(document))[1:4]:
                labels = Drawn(backdrop.elevation(ask)).of_class("opening-label")
                assert "O9" in [label.get("data-for") for label in labels], (name, size, ask["centre_in"])


@pytest.mark.parametrize("name", ["R4", "F1", "G1"])
def test_the_opening_has_both_dimensions_where_a_phone_is_crowded(name):
    """A tape needs both: labels of the truss make way for them, and over shallow wood a number is led from outside."""
    document = truss(name)
    xs = [x for x, _ in document["joints"].values()]
    backdrop = Backdrop(document, detail="phone")
    for share in (0.2, 0.5, 0.9):
        ask = ROUND | {"id": "O9", "centre_in": [min(xs) + share * (max(xs) - min(xs)), 20]}
        for svg in (backdrop.elevation(ask), elevation(document, ask=ask, detail="phone")):
            dimensions = Drawn(svg).of_class("dim-opening")
            assert ["dim-rise" in one.get("class") for one in dimensions].count(True) == 1, share
            assert len(dimensions) == 2
            assert on_wood(svg) == []


@pytest.mark.parametrize("size", ["sheet", "phone"])
@pytest.mark.parametrize("name", ["R3", "R4"])
def test_no_height_is_written_over_its_own_line(name, size):
    """Where a number is led from aside, its line and the strokes at the line's ends stay free of it."""
    document = truss(name)
    xs = [x for x, _ in document["joints"].values()]
    for share in (0.15, 0.2, 0.28, 0.35, 0.42):
        ask = ROUND | {"id": "O9", "centre_in": [min(xs) + share * (max(xs) - min(xs)), 20], "diameter_in": 14}
        drawn = Drawn(elevation(document, ask=ask, detail=size))
        (height,) = drawn.of_class("dim-rise")
        (words,) = height.iter(f"{SVG}text")
        (letters,) = (at for says, at in written(drawn) if says == words.text)
        strokes = [one.get("d") for one in height.iter(f"{SVG}path") if one.get("class") in (None, "tick")]
        assert len(strokes) == 3
        for stroke in strokes:
            (u, v), (w, z) = ([float(n) for n in at.split(",")] for at in stroke[1:].split("L"))
            assert not letters.intersects(LineString([(u, v), (w, z)])), share


def test_the_enlarged_detail_has_the_wood_over_which_it_is_moved():
    document, ask = truss("F1"), ROUND | {"id": "O9", "centre_in": [120, 8]}
    moved = Drawn(Backdrop(document).detail(ask))
    still = Drawn(detail(document, ask=ask))
    assert still.root.get("viewBox") == moved.root.get("viewBox")
    assert len(moved.of_class("m")) > 1.5 * len(still.of_class("m"))
    assert moved.texts("label") == still.texts("label")


def test_without_an_opening_it_is_the_truss_alone():
    drawn = Drawn(Backdrop(king_post()).elevation(None))
    assert drawn.of_class("opening") == []
    assert sorted(drawn.texts("label")) == sorted(Drawn(elevation(king_post())).texts("label"))


def test_a_truss_is_drawn_once_however_often_an_opening_moves(monkeypatch):
    made = []
    monkeypatch.setattr(kept_drawings, "Backdrop", lambda *_, **how: made.append(how) or object())
    monkeypatch.setattr(kept_drawings, "_BACKDROPS", {})
    first = kept_drawings.backdrop(king_post(), prefix="one")
    assert kept_drawings.backdrop(king_post(), prefix="one") is first
    assert kept_drawings.backdrop(king_post(), prefix="two") is not first
    assert kept_drawings.backdrop(king_post(openings=[ROUND]), prefix="one") is not first
    assert len(made) == 3
    # no more are kept than are stated, and the one that was used last is
    for n in range(kept_drawings._MOST_BACKDROPS):
        kept_drawings.backdrop(king_post(), prefix="one")
        kept_drawings.backdrop(king_post(), prefix=f"p{n}")
    assert len(kept_drawings._BACKDROPS) == kept_drawings._MOST_BACKDROPS
    assert kept_drawings.backdrop(king_post(), prefix="one") is first
