"""The drawing as a document: well formed, named, readable aloud, safe with whatever people typed."""

from __future__ import annotations

import copy
import re

import pytest

from tests.refused import refused
from tests.trusses.drawn import EXAMPLES, NAMES, RECTANGLE, ROUND, SVG, Drawn, example, king_post
from trusses.analysis import analysis
from trusses.analysis.format import document
from trusses.analysis.shapes import shapes
from trusses.drawing import DrawingError, elevation, thumbnail

DETAILS = ["sheet", "phone", "thumb"]


@pytest.mark.parametrize("detail", DETAILS)
@pytest.mark.parametrize("name", NAMES)
def test_every_member_is_drawn_once(name, detail):
    truss = example(name)
    drawn = Drawn(elevation(truss, detail=detail))
    assert sorted(e.get("data-member") for e in drawn.of_class("m")) == sorted(m["id"] for m in truss["members"])
    assert all(len(drawn.wood(m["id"])) >= 3 for m in truss["members"])


@pytest.mark.parametrize("kind", sorted(shapes.KINDS))
def test_every_shape_of_the_trade_is_drawn_with_and_without_its_forces(kind):
    truss = shapes.build(kind, span="30'", stock=480)
    computed = analysis.analyse(document.read(truss)).document()
    for view in ("plain", "forces"):
        drawn = Drawn(elevation(truss, analysis=computed, view=view))
        assert len(drawn.of_class("m")) == len(truss["members"])
        assert len(drawn.of_class("bearing")) == 2


def test_ids_begin_with_the_prefix_and_references_point_to_them():
    drawn = Drawn(elevation(king_post(openings=[ROUND]), prefix="left-1"))
    ids = [e.get("id") for e in drawn.root.iter() if e.get("id")]
    assert len(ids) == len(set(ids)) >= 4
    assert all(name == "left-1" or name.startswith("left-1-") for name in ids)
    assert set(re.findall(r"url\(#([^)]+)\)", drawn.text)) == {"left-1-hatch"}
    assert (drawn.root.get("aria-labelledby") or "").split() == ["left-1-title", "left-1-desc"]
    assert {"left-1-title", "left-1-desc", "left-1-hatch"} <= set(ids)


@pytest.mark.parametrize("prefix", ["", "1a", "a b", 'a"onload="x', "é", "a" * 41])
def test_a_prefix_that_is_no_plain_name_is_refused(prefix):
    with refused(DrawingError, "drawing-prefix"):
        elevation(king_post(), prefix=prefix)


@pytest.mark.parametrize("detail", DETAILS)
def test_nothing_needs_an_inline_style_a_script_or_a_link(detail):
    text = elevation(king_post(openings=[RECTANGLE, ROUND]), before=example("E1"), detail=detail)
    parts = {e.tag.removeprefix(SVG) for e in Drawn(text).root.iter()}
    assert parts <= {"svg", "defs", "pattern", "g", "path", "circle", "rect", "line", "text", "title", "desc"}
    attributes = {name for e in Drawn(text).root.iter() for name in e.attrib}
    assert "style" not in attributes
    assert not {name for name in attributes if name.startswith("on") or name.endswith("href")}


def test_the_same_truss_is_drawn_to_the_byte():
    one, other = copy.deepcopy(example("E5")), example("E5")
    assert elevation(one) == elevation(other)
    assert one == example("E5")  # and the document is as it was


def test_the_drawing_states_its_mapping_to_inches():
    for width in (390, 1400, 900):
        drawn = Drawn(elevation(king_post(), width_px=width))
        assert drawn.root.get("viewBox", "").split()[2] == str(width)
        # the wood runs from the outer face of the left bearing to that of the right one
        xs = [x for name in ("T1", "T2", "B1", "B2") for x, _ in drawn.wood(name)]
        assert (min(xs), max(xs)) == pytest.approx((-1.75, 241.75), abs=0.02)


def test_two_pictures_of_a_change_have_one_scale():
    before = king_post()
    after = king_post(joints={"A": [0, 0], "B": [120, 90], "C": [240, 0], "D": [120, 0], "E": [264, -18]})
    after["members"].append({"id": "T3", "role": "top_chord", "joints": ["C", "E"], "lumber": "2x4 SPF No.1/No.2"})
    one, other = Drawn(elevation(before, beside=after)), Drawn(elevation(after, before=before))
    for name in ("data-scale", "data-x0"):
        assert one.root.get(name) == other.root.get(name)
    assert Drawn(elevation(before)).root.get("data-scale") != one.root.get("data-scale")


def test_it_is_read_aloud():
    drawn = Drawn(elevation(king_post(openings=[RECTANGLE | {"clearance_in": 0.5}])))
    assert drawn.root.get("role") == "img"
    assert drawn.root.findtext(f"{SVG}title") == "Elevation of roof truss K1: king post worked by hand"
    # 90 in. at the peak, half a 2x4 cut plumb at 4 in 5 above it, the bearing half a 2x4 below: 93.9375 in.
    assert drawn.desc() == (
        "Roof truss K1 spans 20 feet between bearings and stands 7 feet 9 15/16 inches high; "
        "the top chord rises 9 in 12. It has 2 top chord members, 2 bottom chord members and 1 web. "
        "It bears at A (3 1/2 inches wide) and C (3 1/2 inches wide). "
        "Opening O1, 24 inches wide × 12 inches high: its near edge is 3 feet 10 1/4 inches from the face of the "
        "bearing at A, its bottom edge 4 1/4 inches above the top of the bottom chord, with 1/2 inches clear all round."
    )


def test_every_member_says_what_it_is():
    says = Drawn(elevation(king_post())).member("W1").findtext(f"{SVG}title")
    assert says == "W1, web, 2x4 SPF No.1/No.2, 7'-6\" between joints"


def test_a_thumbnail_has_no_words_on_it():
    drawn = Drawn(thumbnail(king_post(openings=[ROUND]), width_px=120))
    assert not list(drawn.root.iter(f"{SVG}text"))
    assert len(drawn.of_class("opening")) == 1
    assert drawn.root.get("width") == "120"


HOSTILE = [
    "</svg><script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "&lt;b&gt; &amp; \"quoted\" 'too'",
    "javascript:alert(1)",
    "]]><!-- <![CDATA[",
    "\x00\x01\x08\x0b\x1b[31m\x7f\x85",
    "\ud800 lone \udfff",
    "\u202edesrever\u2066 isolated\u2069\u200f",
    "a" + "\u0301" * 400,
    "ﷺ" * 40 + "שלום عليكم",
    "x" * 10_000,
    "\ufffe\uffff\U000f0000",
]


@pytest.mark.parametrize("detail", DETAILS)
@pytest.mark.parametrize("typed", HOSTILE, ids=range(len(HOSTILE)))
def test_what_people_type_stays_text(typed, detail):
    truss = king_post(mark=typed, title=typed, openings=[RECTANGLE | {"id": typed, "note": typed}])
    truss["joints"] = {typed if name == "A" else name: at for name, at in truss["joints"].items()}
    truss["bearings"][0]["joint"] = typed
    for member in truss["members"]:
        member["joints"] = [typed if name == "A" else name for name in member["joints"]]
    truss["members"][4]["id"] = typed
    text = elevation(truss, detail=detail, before=king_post())
    drawn = Drawn(text)  # parsed: no markup came through, no character that XML forbids
    assert len(drawn.of_class("m")) == 5
    text.encode("utf-8")
    assert len(text) < 80_000
    for written in drawn.root.itertext():
        assert len(written) < 2_500
        assert not re.search(r"[\x00-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]", written)
        assert "\u0301" * 3 not in written


def test_a_long_name_is_cut_where_it_is_written_and_kept_where_scripts_read_it():
    truss = king_post()
    truss["members"][4]["id"] = "a very long web name indeed"
    drawn = Drawn(elevation(truss))
    assert drawn.member("a very long web name indeed") is not None
    assert "a very long w…" in drawn.texts("label")


@pytest.mark.parametrize(
    ("how", "code"),
    [
        ({"view": "forces"}, "drawing-without-analysis"),
        ({"view": "sideways"}, "drawing-view"),
        ({"detail": "poster"}, "drawing-detail"),
        ({"width_px": 10}, "drawing-width"),
    ],
)
def test_what_can_not_be_drawn_is_refused(how, code):
    with refused(DrawingError, code):
        elevation(king_post(), **how)


def test_the_examples_are_all_here():
    assert sorted(p.name for p in EXAMPLES.glob("*.truss.json")) == sorted(f"{n}.truss.json" for n in NAMES)
