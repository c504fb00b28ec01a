"""Weights at their places on a drawing: an arrow on the wood, its pounds, what carries it across. No database."""

from __future__ import annotations

import copy
import re
from dataclasses import replace

import pytest
from shapely import LineString, Polygon

from tests.trusses.drawn import LUMBER, SVG, Drawn, example, king_post
from tests.trusses.test_drawing_labels import ALL, DEMO, HAIR, on_wood, truss, written
from trusses.analysis.capacity.placing import Placement
from trusses.analysis.capacity.placing import written as with_weight
from trusses.analysis.format.document import read
from trusses.drawing import Weight, elevation
from trusses.drawing.arrows import draw_loads
from trusses.drawing.elevation import paper_for
from trusses.drawing.scene import Scene
from trusses.drawing.shape import shape as shape_of

BEAM = "stiff cross-beam over 3 trusses"
HUNG = Weight("air handler", 300, "bottom_chord", "point", 60.0)


def carrying(document, weight, share=1.0):
    place = Placement(weight.chord, "line" if weight.is_band else weight.shape, weight.at_in, weight.length_in)
    return with_weight(read(document), place, weight.pounds * share, weight.case, weight.name)


def strokes(drawn, kind):
    return [
        [(float(u), float(v)) for u, v in re.findall(r"(-?[\d.]+),(-?[\d.]+)", path.get("d"))]
        for load in drawn.of_class("load")
        for path in load.iter(f"{SVG}path")
        if kind in (path.get("class") or "").split()
    ]


def heads(drawn):
    """(tip, whether it points down) for each arrow, inches."""
    found = [drawn.inches(path.get("d")) for load in drawn.of_class("load") for path in load.iter(f"{SVG}path")
             if path.get("class") == "arrow"]  # fmt: skip
    return [(tip, tip[1] < base[1]) for tip, base, _ in found]


def test_what_hangs_is_an_arrow_under_the_chord_at_its_place_with_its_pounds():
    before = king_post()
    drawn = Drawn(elevation(carrying(before, HUNG), before=before, weights=[HUNG]))
    ((tip, down),) = heads(drawn)
    assert tip[0] == pytest.approx(60, abs=0.1)
    assert tip[1] < -1.75  # below a 2x4 about the level of zero
    assert down
    assert drawn.texts("load-label") == ["+ air handler", "300 lb", "dead load"]
    assert "load, the way it acts" in drawn.texts("drawing-key")
    assert "New: air handler, 300 lb, dead load, at 5 feet on the bottom chord." in drawn.desc()


def test_a_note_takes_two_lines_and_tells_where_some_of_it_is_gone():
    def label(note):
        bears = [{"case": "dead", "member": "B1", "at_in": 60, "down_lb": 300, "note": note}]
        return Drawn(elevation(king_post(loads={"point": bears}))).texts("load-label")[:2]

    assert label("from right lower header at 20'-3\"") == ["from right lower", "header at 20'-3\""]
    assert label("compressor platform refrigerators")[1].endswith("…")


def test_what_stands_is_an_arrow_whose_head_meets_the_chord():
    before, stands = king_post(), replace(HUNG, how="set")
    drawn = Drawn(elevation(carrying(before, stands), before=before, weights=[stands]))
    ((tip, down),) = heads(drawn)
    assert tip == pytest.approx((60, 1.75), abs=0.1)
    assert down


def test_the_sheet_of_a_revision_draws_what_its_document_bears_and_uplift_points_up():
    bears = [
        {"case": "dead", "member": "B1", "at_in": 60, "down_lb": 300, "note": "air handler"},
        {"case": "wind", "joint": "B", "down_lb": -90},
    ]
    drawn = Drawn(elevation(king_post(loads={"point": bears})))
    assert sorted(drawn.texts("load-label")) == ["300 lb", "90 lb", "air handler", "dead load", "wind load"]
    assert sorted(down for _, down in heads(drawn)) == [False, True]


def test_a_weight_that_is_asked_for_is_drawn_as_asked_before_anything_carries_it():
    drawn = Drawn(elevation(king_post(), weights=[replace(HUNG, shape="pair", length_in=40, asked=True)]))
    assert sorted(round(tip[0]) for tip, _ in heads(drawn)) == [40, 80]
    assert drawn.texts("load-label") == ["air handler", "300 lb in all"]
    assert {"weight as asked"} == set(drawn.texts("drawing-key")) & {"weight as asked", "load, the way it acts"}


def test_a_line_is_a_band_over_its_length_across_the_panels():
    before = king_post()
    stone = Weight("stone", 400, "bottom_chord", "line", 120, 100, "set")
    after = carrying(before, stone)
    assert len(after["loads"]["line"]) == 2  # on both panels of the chord
    drawn = Drawn(elevation(after, before=before, weights=[stone]))
    xs = sorted(tip[0] for tip, _ in heads(drawn))
    assert (xs[0], xs[-1]) == pytest.approx((70, 170), abs=0.1)
    assert len(xs) > 5
    assert drawn.texts("load-label") == ["+ stone", "400 lb in all", "dead load"]


def test_a_cross_beam_is_cut_through_where_it_meets_the_truss_and_named():
    before, shared = king_post(), replace(HUNG, across=BEAM)
    drawn = Drawn(elevation(carrying(before, shared, 0.4), before=before, weights=[shared]))
    (load,) = drawn.of_class("load")
    (block,) = [drawn.inches(e.get("d")) for e in load if "restraint-block" in (e.get("class") or "")]
    assert min(x for x, _ in block) < 60 < max(x for x, _ in block)
    assert max(y for _, y in block) == pytest.approx(-1.75, abs=0.1)
    assert {"stiff cross-beam", "over 3 trusses", "120 lb", "dead load"} < set(drawn.texts("load-label"))
    assert any("seen in section" in words for words in drawn.texts("drawing-key"))


def test_a_panel_point_that_an_option_puts_over_the_weight_is_named():
    before, after = king_post(), carrying(king_post(), HUNG)
    after["joints"] |= {"E": [60, 0], "F": [60, 45]}
    after["members"] = [m for m in after["members"] if m["id"] not in ("B1", "T1")] + [
        {"id": name, "role": role, "joints": ends, "lumber": LUMBER}
        for name, role, ends in (
            ("B1", "bottom_chord", ["A", "E"]), ("B3", "bottom_chord", ["E", "D"]),
            ("T1", "top_chord", ["A", "F"]), ("T3", "top_chord", ["F", "B"]), ("W2", "web", ["E", "F"]),
        )
    ]  # fmt: skip
    drawn = Drawn(elevation(after, before=before, weights=[HUNG]))
    assert "new panel point E" in drawn.texts("load-label")
    assert "+ W2" in drawn.texts("label")


def test_what_was_there_before_is_not_called_new():
    before = carrying(king_post(), replace(HUNG, name="tank", at_in=180.0))
    drawn = Drawn(elevation(carrying(before, HUNG), before=before, weights=[HUNG]))
    assert sorted(drawn.texts("load-label")) == ["+ air handler", "300 lb", "300 lb", "dead load", "dead load", "tank"]


def test_many_loads_are_arrows_without_numbers_and_it_is_said():
    drawn = Drawn(elevation(DEMO["G1"]))
    assert len(heads(drawn)) > 6
    assert not drawn.of_class("load-label")
    assert "Arrows without a number are loads at points, drawn the way they act." in drawn.texts("drawing-key")


def drawn_feet(document, **loads):
    """(load, xs of its feet) of all that a truss bears, once its arrows are drawn."""
    scene = Scene(document | {"loads": loads})
    draw_loads(paper_for(scene, "phone", 390, "t", {}), scene.loads)
    return [(load, [x for x, _ in load.feet]) for load in scene.loads]


def chord_pieces(document):
    """Chord pieces that lie flat enough to bear anything."""
    return [p for p in shape_of(document).pieces.values() if not p.is_web and abs(p.along[0]) >= 0.3]


@pytest.mark.parametrize("name", ALL)
def test_a_load_is_drawn_along_all_of_its_stretch_and_at_each_of_its_places(name):
    document, lines, points = truss(name), [], []
    for i, piece in enumerate(chord_pieces(document)):
        lines.append({"case": "dead", "member": piece.id, "plf": 20 + 10 * i})  # each its own, so that none run on
        for at in (0.0, 0.01, piece.length / 2, piece.length - 0.01, piece.length):
            points.append({"case": "dead", "member": piece.id, "at_in": at, "down_lb": 50, "note": piece.id})
    drawn = drawn_feet(document, line=lines, point=points)
    bands = sorted((load.role, xs[0], xs[-1]) for load, xs in drawn if load.band)
    ends = sorted((p.role, *(round(x, 3) for x in sorted((p.a[0], p.b[0])))) for p in chord_pieces(document))
    assert bands == ends
    groups = {load.note: (xs, load.xs) for load, xs in drawn if not load.band}
    assert len(groups) == len(lines)
    assert all(len(xs) == 5 and sorted(xs) == sorted(places) for xs, places in groups.values())


@pytest.mark.parametrize("name", ["R1", "R2", "R10", "F1", "E1"])
def test_a_line_along_a_whole_chord_is_one_band_from_end_to_end(name):
    document = truss(name)
    for role in ("top_chord", "bottom_chord"):
        pieces = [piece for piece in chord_pieces(document) if piece.role == role]
        ends = [x for piece in pieces for x in (piece.a[0], piece.b[0])]
        lines = [{"case": "dead", "member": piece.id, "plf": 10} for piece in pieces]
        found = [(xs[0], xs[-1]) for _, xs in drawn_feet(document, line=lines)]
        assert (min(low for low, _ in found), max(high for _, high in found)) == pytest.approx((min(ends), max(ends)))


def test_a_line_too_short_to_draw_as_a_band_is_an_arrow_and_one_of_no_length_is_nothing():
    heavy = {"case": "dead", "member": "B1", "plf": 1e5}
    ((_, xs),) = drawn_feet(king_post(), line=[heavy | {"from_in": 0, "to_in": 0.0004}])
    assert xs == [0]
    assert len(heads(Drawn(elevation(king_post(loads={"line": [heavy | {"from_in": 60, "to_in": 60.0004}]}))))) == 1
    assert drawn_feet(king_post(), line=[heavy | {"from_in": 60, "to_in": 60}]) == []
    across = Weight("tank", 200, "bottom_chord", "line", 0.5, 3000, "hung", across=BEAM, asked=True)
    assert heads(Drawn(elevation(king_post(), weights=[across])))


def test_of_a_hung_pair_only_the_point_over_a_wall_stands_on_the_chord():
    drawn = Drawn(elevation(king_post(), weights=[replace(HUNG, shape="pair", at_in=30, length_in=60, asked=True)]))
    over, hung = sorted(tip for tip, _ in heads(drawn))
    assert over[0] == pytest.approx(0, abs=0.1)
    assert over[1] > 0  # on the heel
    assert hung[0] == pytest.approx(60, abs=0.1)
    assert hung[1] < -1.75
    assert drawn.texts("load-label") == ["air handler", "300 lb in all"]


def at_60(*loads):
    return king_post(loads={"point": [{"member": "B1", "at_in": 60} | load for load in loads]})


def test_a_place_that_one_case_presses_and_another_lifts_says_both_and_points_both_ways():
    up, down = {"case": "wind", "down_lb": -300, "pattern": "up"}, {"case": "wind", "down_lb": 150, "pattern": "down"}
    drawn = Drawn(elevation(at_60({"case": "dead", "down_lb": 100}, {"case": "snow", "down_lb": 20}, up, down)))
    assert drawn.texts("load-label") == ["100 lb down, dead", "300 lb up, wind", "and 1 more"]
    assert sorted(down for _, down in heads(drawn)) == [False, True]
    drawn = Drawn(elevation(at_60(up, down)))
    assert drawn.texts("load-label") == ["300 lb up, wind", "150 lb down, wind"]
    drawn = Drawn(elevation(at_60({"case": "dead", "down_lb": 100}, {"case": "snow", "down_lb": 20})))
    assert drawn.texts("load-label") == ["100 lb", "dead and 1 more"]
    assert [down for _, down in heads(drawn)] == [True]


def test_what_acts_alone_is_not_summed_with_the_rest_of_its_case():
    live = {"case": "live", "down_lb": 100}
    drawn = Drawn(elevation(at_60(live, live | {"acts": "alone", "down_lb": 250})))
    assert drawn.texts("load-label") == ["100 lb", "live and 1 more"]
    drawn = Drawn(elevation(at_60(live | {"acts": "alone"})))
    assert drawn.texts("load-label") == ["100 lb", "live load alone"]
    line = {"case": "live", "member": "B1", "plf": 12}
    found = drawn_feet(king_post(), line=[line | {"to_in": 60}, line | {"from_in": 60, "acts": "alone"}])
    assert sorted((load.pounds, xs) for load, xs in found) == [
        (("60 lb in all", "live load"), [0, 60]),
        (("60 lb in all", "live load alone"), [60, 120]),
    ]


def test_loads_are_summed_before_what_is_too_little_to_draw_is_left_out():
    little = {"case": "dead", "down_lb": 0.3}
    assert Drawn(elevation(at_60(little, little, little))).texts("load-label") == ["1 lb", "dead load"]
    assert not heads(Drawn(elevation(at_60(little))))
    assert not heads(Drawn(elevation(at_60({"case": "dead", "down_lb": 50}, {"case": "dead", "down_lb": -50}))))
    parts = [{"case": "dead", "member": "B1", "plf": 1, "from_in": at, "to_in": at + 4} for at in range(0, 24, 4)]
    ((load, xs),) = drawn_feet(king_post(), line=parts)
    assert (load.pounds, xs) == (("2 lb in all", "dead load"), [0, 24])


WEIGHTS = (
    (0.3, "bottom_chord", "point", "hung", ""),
    (0.5, "bottom_chord", "pair", "hung", BEAM),
    (0.62, "bottom_chord", "pair", "set", BEAM),
    (0.4, "top_chord", "line", "set", "platform over 4 trusses"),
    (0.7, "bottom_chord", "line", "hung", ""),
)


@pytest.mark.parametrize("size", ["sheet", "phone"])
@pytest.mark.parametrize("name", [*DEMO, "E1"])
def test_nothing_is_written_over_a_weight_and_no_number_on_wood(name, size):
    document = example(name) if name in ("E1",) else DEMO[name]
    xs = [x for x, _ in document["joints"].values()]
    first = [*DEMO].index(name) if name in DEMO else 0  # each truss has two of them on a sheet and two on a phone
    for share, chord, shape, how, across in [WEIGHTS[(first + i + 2 * (size == "phone")) % 5] for i in range(2)]:
        at = min(xs) + share * (max(xs) - min(xs))
        weight = Weight("water heater, full", 600, chord, shape, at, 30 * (shape != "point"), how, "dead", across)
        before = copy.deepcopy(document)
        for svg in (
            elevation(before, weights=[replace(weight, asked=True)], detail=size),
            elevation(carrying(document, weight), before=before, weights=[weight], detail=size),
        ):
            drawn = Drawn(svg)
            assert "water heater, full" in " ".join(drawn.texts("load-label"))
            assert on_wood(svg) == []
            blocks = [Polygon(points) for points in strokes(drawn, "arrow") + strokes(drawn, "restraint-block")]
            lines = [*blocks, *map(LineString, strokes(drawn, "band"))]
            covered = [
                words for words, letters in written(drawn) for line in lines
                if letters.buffer(-HAIR).intersects(line)
            ]  # fmt: skip
            assert covered == []
