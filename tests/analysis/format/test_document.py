"""Truss documents: what is refused, at which place, what is read, and how it is written canonically."""

import copy
import json
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trusses.analysis.format.document import LIMITS, DocumentError, Limits, canonical, read, read_opening, sha256

SPF = "2x4 SPF No.1/No.2"
REMOVE = object()


def small_truss():
    """A king-post truss with one of everything that a document can hold."""
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": "K1",
        "title": "king post",
        "use": "roof",
        "ceiling": "gypsum",
        "plies": 2,
        "ply_fastening": "two rows of nails",
        "spacing_in": 24,
        "joints": {"A": [0, 0], "B": [60, 30], "C": [120, 0], "D": [60, 0]},
        "members": [
            {"id": "T1", "role": "top_chord", "joints": ["A", "B"], "lumber": SPF},
            {"id": "T2", "role": "top_chord", "joints": ["B", "C"], "lumber": SPF},
            {"id": "B1", "role": "bottom_chord", "joints": ["A", "D"], "lumber": SPF, "flat": False},
            {"id": "B2", "role": "bottom_chord", "joints": ["D", "C"], "lumber": SPF},
            {"id": "W1", "role": "web", "joints": ["B", "D"], "lumber": SPF},
        ],
        "hinges": ["A", "B", "C"],
        "bearings": [
            {"joint": "A", "restrains": "xy", "width_in": 3.5},
            {"joint": "C", "restrains": "y", "width_in": 3.5},
        ],
        "loads": {
            "area": [
                {"case": "dead", "chord": "top_chord", "psf": 10, "along": "slope"},
                {"case": "snow", "chord": "top_chord", "psf": 30, "along": "plan", "pattern": "left", "to_x_in": 60},
            ],
            "line": [{"case": "live", "member": "B1", "plf": 40, "from_in": 12, "to_in": 60, "acts": "alone"}],
            "point": [
                {"case": "dead", "member": "B2", "at_in": 36, "down_lb": 250, "right_lb": 5, "note": "air handler"},
                {"case": "dead", "joint": "D", "down_lb": 120},
            ],
        },
        "uplift_dead_share": 0.9,
        "openings": [
            {"id": "O1", "shape": "circle", "centre_in": [40, 8], "diameter_in": 6, "clearance_in": 1, "note": "pipe"},
            {"id": "O2", "shape": "rectangle", "centre_in": [80, 8], "width_in": 6, "height_in": 4},
        ],
        "lateral_restraint": {"top_chord_in": 24, "bottom_chord_in": 0, "webs": {"W1": 1}},
    }


def changed(path, value):
    """The small truss with the value at `path` replaced, appended (last step "+") or removed."""
    document = small_truss()
    *way, last = path
    at = document
    for step in way:
        at = at[step]
    if last == "+":
        at.append(value)
    elif value is REMOVE:
        del at[last]
    else:
        at[last] = value
    return document


def nested(depth):
    value = []
    for _ in range(depth):
        value = [value]
    return value


ANY_JOINTS = {f"J{i}": [i, 0] for i in range(LIMITS.joints + 1)}
LINE = {"case": "live", "member": "B1", "plf": 40}
POINT = {"case": "dead", "down_lb": 10}
TALL = {"id": "O3", "shape": "rectangle", "centre_in": [80, 8], "width_in": 6, "height_in": 4}

BAD = [
    # what a whole document must be
    (["format"], "other.truss", "", "no-choice", {"key": "format", "given": "other.truss"}),
    (["version"], 2, "", "whole-number-bounds", {"key": "version", "given": 2}),
    (["version"], True, "", "no-whole-number", {"key": "version", "given": True}),
    (["mark"], REMOVE, "", "key-missing", {"key": "mark"}),
    (["mark"], "", "", "name-empty", {"key": "mark"}),
    (["mark"], " R1", "", "name-padded", {"key": "mark", "name": " R1"}),
    (["mark"], "R" * 41, "", "text-too-long", {"key": "mark"}),
    (["mark"], "R\u0000", "mark", "text-unprintable", {"text": "R\x00"}),
    (["mark"], "R\n1", "mark", "text-unprintable", {"text": "R\n1"}),
    (["mark"], "R\ud800", "mark", "text-unprintable", {"text": "R\ud800"}),
    (["title"], "abc\u202edef", "title", "text-unprintable", {"text": "abc\u202edef"}),
    (["mark"], "R1\u200b", "", "name-unseen", {"key": "mark", "name": "R1\u200b"}),
    (["mark"], "R\u00a01", "", "name-unseen", {"key": "mark", "name": "R\xa01"}),
    (["title"], 7, "", "no-text", {"key": "title", "given": 7}),
    (["title"], "t" * 501, "", "text-too-long", {"key": "title"}),
    (["use"], "barn", "", "no-choice", {"key": "use", "given": "barn"}),
    (["ceiling"], None, "", "no-choice", {"key": "ceiling", "choices": ["none", "gypsum", "plaster"], "given": None}),
    (["plies"], 0, "", "whole-number-bounds", {"key": "plies", "least": 1, "most": 12, "given": 0}),
    (["plies"], 1.5, "", "no-whole-number", {"key": "plies", "given": 1.5}),
    (["plies"], 13, "", "whole-number-bounds", {"key": "plies", "least": 1, "most": 12, "given": 13}),
    (["ply_fastening"], [], "", "no-text", {"key": "ply_fastening", "given": []}),
    (["spacing_in"], 0, "", "inches-not-over-0", {"key": "spacing_in", "given": 0.0}),
    (["spacing_in"], -24, "", "inches-not-over-0", {"key": "spacing_in", "given": -24.0}),
    (["spacing_in"], "24", "", "no-number", {"key": "spacing_in", "given": "24"}),
    (["spacing_in"], True, "", "no-number", {"key": "spacing_in", "given": True}),
    (["spacing_in"], math.nan, "spacing_in", "number-nan", {}),
    (["spacing_in"], math.inf, "spacing_in", "number-too-large", {"number": "Infinity"}),
    (["spacing_in"], 1e300, "spacing_in", "number-too-large", {"number": "1e+300"}),
    (["spacing_in"], 10**400, "spacing_in", "number-too-large", {"number": "Infinity"}),
    (["spacing_in"], 1e7, "", "number-too-much", {"key": "spacing_in", "given": 10000000}),
    (["colour"], "red", "", "key-unknown", {"key": "colour", "meant": None}),
    (["hinge"], [], "", "key-unknown", {"key": "hinge", "meant": None}),
    (["members", 0, "notch_in"], 1, "members[0] (T1)", "key-of-a-cut", {"key": "notch_in"}),
    (["members", 1, "holes"], [], "members[1] (T2)", "key-of-a-cut", {"key": "holes"}),
    (["bored"], [{"member": "B1"}], "", "key-of-a-cut", {"key": "bored"}),
    (["loads", "point", 0, "Drilled"], True, "loads.point[0]", "key-of-a-cut", {"key": "Drilled"}),
    (["openings", 0, "bore"], 2, "openings[0] (O1)", "key-of-a-cut", {"key": "bore"}),
    (["border"], 1, "", "key-unknown", {"key": "border", "meant": None}),
    (["uplift_dead_share"], 1.01, "", "share-bounds", {"given": 1.01}),
    (["uplift_dead_share"], -0.1, "", "share-bounds", {"given": -0.1}),
    (["title"], nested(40), "title[0][0][0]…", "document-too-deep", {"levels": 16}),
    # joints
    (["joints"], [], "", "no-joints", {"given": []}),
    (["joints"], ANY_JOINTS, "joints", "too-many", {"key": "joints", "count": 401}),
    (["joints", "A"], [0], "joints.A", "no-point", {"given": []}),
    (["joints", "A"], [0, 0, 0], "joints.A", "no-point", {"given": []}),
    (["joints", "A"], [0, True], "joints.A", "no-coordinate", {"given": True}),
    (["joints", "A"], ["0", 0], "joints.A", "no-coordinate", {"given": "0"}),
    (["joints", "A", 1], math.nan, "joints.A[1]", "number-nan", {}),
    (["joints", "A", 0], -math.inf, "joints.A[0]", "number-too-large", {"number": "Infinity"}),
    (["joints", "A", 0], 1e300, "joints.A[0]", "number-too-large", {"number": "1e+300"}),
    (["joints", "A", 0], 2e6, "joints.A", "coordinate-too-large", {"given": 2000000}),
    (["joints", "X"], [5, 5], "joints.X", "joint-unused", {"joint": "X"}),
    (["joints", ""], [5, 5], "joints", "name-empty", {"key": None}),
    (["joints", "J" * 41], [5, 5], "joints", "name-too-long", {"key": None, "name": "J" * 41}),
    (["joints", "a\u0007"], [5, 5], "joints", "key-unprintable", {"key": "a\x07"}),
    (["joints", "D"], [60, 29.995], "members[4] (W1)", "member-without-length", {"joints": ["B", "D"]}),
    # members
    (["members"], {}, "", "no-list", {"key": "members", "given": {}}),
    (["members"], [], "members", "no-members", {}),
    (["members", "+"], 5, "members[5]", "no-object", {"given": 5}),
    (["members", 4, "id"], REMOVE, "members[4]", "key-missing", {"key": "id"}),
    (["members", 4, "id"], 4, "members[4]", "no-text", {"key": "id", "given": 4}),
    (["members", 4, "id"], "T1", "members[4] (T1)", "member-id-twice", {"other": "members[0]"}),
    (
        ["members", 4, "id"],
        "W" * 41,
        "members[4] (WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW…)",
        "text-too-long",
        {"key": "id"},
    ),
    (["members", 4, "id"], "T1\u00ad", "members[4] (T1\\xad)", "name-unseen", {"key": "id", "name": "T1\xad"}),
    (["members", 4, "rolle"], "web", "members[4] (W1)", "key-unknown", {"key": "rolle", "meant": None}),
    (["members", 4, "role"], "post", "members[4] (W1)", "no-choice", {"key": "role", "given": "post"}),
    (["members", 4, "joints"], ["B", "K"], "members[4] (W1)", "joint-unknown", {"joint": "K"}),
    (["members", 4, "joints"], ["B", "B"], "members[4] (W1)", "member-at-one-joint", {"joint": "B"}),
    (["members", 4, "joints"], ["B"], "members[4] (W1)", "no-two-joints", {}),
    (["members", 4, "joints"], ["B", 4], "members[4] (W1)", "no-two-joints", {}),
    (["members", 4, "joints"], "BD", "members[4] (W1)", "no-list", {"key": "joints", "given": "BD"}),
    (["members", 4, "joints"], ["B", "A"], "members[4] (W1)", "member-beside-member", {"other": "T1"}),
    (["members", 4, "joints"], ["A", "B"], "members[4] (W1)", "member-beside-member", {"other": "T1"}),
    (
        ["members", 4, "lumber"],
        "2x4 SPF No.12",
        "members[4] (W1)",
        "lumber-unknown",
        {"shown": "2x4 SPF No.12", "near": ["2x4 SP No.2", "2x4 SP No.1", "2x4 SPF No.3"]},
    ),
    (["members", 4, "lumber"], None, "members[4] (W1)", "no-text", {"key": "lumber", "given": None}),
    (["members", 4, "flat"], 1, "members[4] (W1)", "no-flag", {"key": "flat", "given": 1}),
    # hinges and bearings
    (["hinges"], "A", "", "no-list", {"key": "hinges", "given": "A"}),
    (["hinges", "+"], "K", "hinges[3]", "joint-unknown", {"joint": "K"}),
    (["hinges", "+"], "A", "hinges[3]", "hinge-twice", {"joint": "A"}),
    (["hinges", "+"], 3, "hinges[3]", "no-joint-name", {"given": 3}),
    (["bearings"], [], "bearings", "no-bearings", {}),
    (["bearings", 1, "joint"], "K", "bearings[1]", "joint-unknown", {"joint": "K"}),
    (["bearings", 1, "joint"], "A", "bearings[1]", "bearing-twice", {"joint": "A"}),
    (["bearings", 1, "restrains"], "z", "bearings[1]", "no-choice", {"key": "restrains", "given": "z"}),
    (["bearings", 1, "width_in"], 0, "bearings[1]", "inches-not-over-0", {"key": "width_in", "given": 0.0}),
    (["bearings", 1, "width_in"], REMOVE, "bearings[1]", "key-missing", {"key": "width_in"}),
    # loads
    (["loads"], [], "loads", "no-object", {"given": []}),
    (["loads", "lines"], [], "loads", "key-unknown", {"key": "lines", "meant": None}),
    (["loads", "area", 0, "case"], "sand", "loads.area[0]", "no-choice", {"key": "case", "given": "sand"}),
    (["loads", "area", 0, "case"], REMOVE, "loads.area[0]", "key-missing", {"key": "case"}),
    (["loads", "area", 0, "chord"], "web", "loads.area[0]", "no-choice", {"key": "chord", "given": "web"}),
    (["loads", "area", 0, "along"], "roof", "loads.area[0]", "no-choice", {"key": "along", "given": "roof"}),
    (["loads", "area", 0, "psf"], "10", "loads.area[0]", "no-number", {"key": "psf", "given": "10"}),
    (["loads", "area", 0, "psf"], 1e10, "loads.area[0]", "number-too-much", {"key": "psf", "given": 10000000000}),
    (["loads", "area", 1, "from_x_in"], 90, "loads.area[1]", "window-empty-in-plan", {"from_in": 90.0, "to_in": 60.0}),
    (["loads", "area", 1, "from_x_in"], 60, "loads.area[1]", "window-empty-in-plan", {"from_in": 60.0, "to_in": 60.0}),
    (["loads", "area", 1, "pattern"], "alone", "loads.area[1]", "pattern-alone", {}),
    (["loads", "area", 1, "pattern"], "", "loads.area[1]", "name-empty", {"key": "pattern"}),
    (["loads", "area", 0, "pattern"], "left", "loads.area[0]", "dead-load-in-part", {"key": "pattern"}),
    (["loads", "area", 0, "acts"], "alone", "loads.area[0]", "dead-load-in-part", {"key": "acts"}),
    (["loads", "area", 1, "acts"], "together", "loads.area[1]", "no-choice", {"key": "acts", "given": "together"}),
    (["loads", "area", 1, "acts"], True, "loads.area[1]", "no-choice", {"key": "acts", "given": True}),
    (["loads", "area", 1, "note"], "x", "loads.area[1]", "key-unknown", {"key": "note", "meant": None}),
    (["loads", "line", "+"], LINE | {"member": "B9"}, "loads.line[1]", "member-unknown", {"member": "B9"}),
    (
        ["loads", "line", "+"],
        LINE | {"to_in": 60.1},
        "loads.line[1]",
        "beyond-member",
        {"key": "to_in", "given": 60.1, "member": "B1", "length_in": 60.0},
    ),
    (
        ["loads", "line", "+"],
        LINE | {"from_in": -1},
        "loads.line[1]",
        "inches-below-0",
        {"key": "from_in", "given": -1.0},
    ),
    (
        ["loads", "line", "+"],
        LINE | {"from_in": 9, "to_in": 3},
        "loads.line[1]",
        "window-empty",
        {"from_in": 9.0, "to_in": 3.0},
    ),
    (["loads", "line", "+"], LINE | {"from_in": 60}, "loads.line[1]", "window-empty", {"from_in": 60.0, "to_in": None}),
    (["loads", "line", "+"], LINE | {"joint": "A"}, "loads.line[1]", "key-unknown", {"key": "joint", "meant": "to_in"}),
    (["loads", "point", "+"], POINT, "loads.point[2]", "point-load-nowhere", {}),
    (
        ["loads", "point", "+"],
        POINT | {"member": "B1", "at_in": 1, "joint": "A"},
        "loads.point[2]",
        "point-load-at-both",
        {},
    ),
    (["loads", "point", "+"], POINT | {"member": "B1"}, "loads.point[2]", "key-missing", {"key": "at_in"}),
    (
        ["loads", "point", "+"],
        POINT | {"member": "B1", "at_in": 61},
        "loads.point[2]",
        "beyond-member",
        {"key": "at_in", "given": 61.0, "member": "B1", "length_in": 60.0},
    ),
    (["loads", "point", "+"], POINT | {"joint": "A", "at_in": 1}, "loads.point[2]", "at-in-without-member", {}),
    (["loads", "point", "+"], POINT | {"joint": "K"}, "loads.point[2]", "joint-unknown", {"joint": "K"}),
    (["loads", "point", 0, "down_lb"], None, "loads.point[0]", "no-number", {"key": "down_lb", "given": None}),
    (["loads", "point", 0, "down_lb"], REMOVE, "loads.point[0]", "key-missing", {"key": "down_lb"}),
    (["loads", "point", 0, "note"], "a\u2028b", "loads.point[0].note", "text-unprintable", {"text": "a\u2028b"}),
    (["loads", "point"], [POINT] * 2001, "loads", "list-too-long", {"key": "point", "count": 2001}),
    # openings
    (["openings", 0, "id"], "O2", "openings[1] (O2)", "opening-id-twice", {}),
    (["openings", 0, "shape"], "oval", "openings[0] (O1)", "no-choice", {"key": "shape", "given": "oval"}),
    (["openings", 0, "shape"], ["circle"], "openings[0] (O1)", "no-choice", {"key": "shape", "given": []}),
    (["openings", 0, "shape"], REMOVE, "openings[0] (O1)", "key-unknown", {"key": "diameter_in", "meant": None}),
    (["openings", 0, "width_in"], 5, "openings[0] (O1)", "key-unknown", {"key": "width_in", "meant": None}),
    (["openings", 0, "diameter_in"], REMOVE, "openings[0] (O1)", "key-missing", {"key": "diameter_in"}),
    (
        ["openings", 0, "diameter_in"],
        -3,
        "openings[0] (O1)",
        "inches-not-over-0",
        {"key": "diameter_in", "given": -3.0},
    ),
    (["openings", 0, "clearance_in"], -1, "openings[0] (O1)", "inches-below-0", {"key": "clearance_in", "given": -1.0}),
    (["openings", 0, "centre_in"], [1, None], "openings[0] (O1).centre_in", "no-coordinate", {"given": None}),
    (
        ["openings", "+"],
        TALL | {"diameter_in": 3},
        "openings[2] (O3)",
        "key-unknown",
        {"key": "diameter_in", "meant": None},
    ),
    (
        ["openings", "+"],
        TALL | {"height_in": 0},
        "openings[2] (O3)",
        "inches-not-over-0",
        {"key": "height_in", "given": 0.0},
    ),
    # restraint
    (["lateral_restraint"], None, "lateral_restraint", "no-object", {"given": None}),
    (
        ["lateral_restraint", "top_chord_in"],
        -1,
        "lateral_restraint",
        "inches-below-0",
        {"key": "top_chord_in", "given": -1.0},
    ),
    (
        ["lateral_restraint", "top_chord_in"],
        None,
        "lateral_restraint",
        "no-number",
        {"key": "top_chord_in", "given": None},
    ),
    (["lateral_restraint", "webs"], ["W1"], "lateral_restraint", "no-rows", {"given": []}),
    (["lateral_restraint", "webs", "W9"], 1, "lateral_restraint.webs", "web-unknown", {"web": "W9"}),
    (["lateral_restraint", "webs", "T1"], 1, "lateral_restraint.webs", "no-web", {"member": "T1", "role": "top_chord"}),
    (
        ["lateral_restraint", "webs", "W1"],
        -1,
        "lateral_restraint.webs",
        "whole-number-bounds",
        {"key": "W1", "given": -1},
    ),
    (
        ["lateral_restraint", "webs", "W1"],
        True,
        "lateral_restraint.webs",
        "no-whole-number",
        {"key": "W1", "given": True},
    ),
    (["lateral_restraint", "rows"], 1, "lateral_restraint", "key-unknown", {"key": "rows", "meant": None}),
]


@pytest.mark.parametrize(
    ("path", "value", "place", "code", "values"),
    BAD,
    ids=[f"{'.'.join(map(str, p))}-{i}" for i, (p, *_) in enumerate(BAD)],
)
def test_a_wrong_document_is_refused_with_its_place(path, value, place, code, values):
    document = changed(path, value)
    with pytest.raises(DocumentError) as refusal:
        read(document)
    assert (refusal.value.place, refusal.value.code) == (place, code)
    assert values.items() <= refusal.value.values.items()
    sentence = str(refusal.value)
    assert sentence.isprintable()
    assert len(sentence) < 400


def test_the_small_truss_itself_is_read_whole():
    document = small_truss()
    before = copy.deepcopy(document)
    truss = read(document)
    assert document == before
    assert (truss.mark, truss.plies, truss.use, truss.spacing_in) == ("K1", 2, "roof", 24.0)
    assert [joint.name for joint in truss.joints] == ["A", "B", "C", "D"]
    assert truss.area_loads[1].to_x_in == 60
    assert truss.area_loads[1].from_x_in == -math.inf
    assert (truss.line_loads[0].alone, truss.line_loads[0].pattern) == (True, None)
    assert truss.point_loads[0].right_lb == 5
    assert truss.openings[0].size == (6, 6)
    assert truss.openings[1].clearance_in == 0
    assert truss.lateral_restraint.spacing("bottom_chord") == 0
    assert truss.lateral_restraint.webs == {"W1": 1}
    assert truss.uplift_dead_share == 0.9


def test_what_is_left_out_has_its_meaning_and_is_not_written_in():
    full = small_truss()
    keys = ("format", "version", "mark", "joints", "members", "bearings", "spacing_in")
    document = {key: full[key] for key in keys}
    truss = read(document)
    assert (truss.title, truss.plies, truss.use, truss.ceiling) == ("", 1, "roof", "gypsum")
    assert (truss.hinges, truss.loads, truss.openings) == (frozenset(), (), ())
    assert (truss.uplift_dead_share, truss.ply_fastening, truss.lateral_restraint.top_chord_in) == (None, None, None)
    assert set(truss.document) == set(keys)
    for key in keys:
        with pytest.raises(DocumentError) as refusal:
            read({k: v for k, v in document.items() if k != key})
        assert (refusal.value.code, refusal.value.values) == ("key-missing", {"key": key})


@pytest.mark.parametrize("place", [[60.0, 30.004], [60.004, 30], [59.996, 29.996], [59.993, 30.007]])
def test_two_joints_at_one_place_are_refused_though_no_member_joins_them(place):
    document = small_truss()
    document["joints"] |= {"E": place, "F": [90, 40]}
    document["members"].append({"id": "W2", "role": "web", "joints": ["E", "F"], "lumber": SPF})
    with pytest.raises(DocumentError) as refusal:
        read(document)
    assert (refusal.value.code, refusal.value.place) == ("joints-at-one-place", "joints.E")
    assert refusal.value.values == {"joint": "E", "other": "B"}


def test_a_bearing_needs_a_chord():
    document = small_truss()
    document["joints"]["E"] = [60, -20]
    document["members"].append({"id": "W2", "role": "web", "joints": ["D", "E"], "lumber": SPF})
    document["bearings"].append({"joint": "E", "restrains": "y", "width_in": 3.5})
    with pytest.raises(DocumentError) as refusal:
        read(document)
    assert (refusal.value.code, refusal.value.place) == ("bearing-without-chord", "bearings[2]")
    assert refusal.value.values == {"joint": "E"}


@pytest.mark.parametrize("source", [None, 3, [], ()])
def test_what_is_not_an_object_is_refused(source):
    with pytest.raises(DocumentError) as refusal:
        read(source)
    assert (refusal.value.code, refusal.value.place) == ("document-no-object", "")


def test_values_that_no_json_holds_are_refused():
    with pytest.raises(DocumentError) as refusal:
        read(small_truss() | {"title": {"a"}})
    assert refusal.value.coded == {"code": "not-json", "place": "title", "values": {"kind": "set"}}
    with pytest.raises(DocumentError) as refusal:
        read(small_truss() | {3: 4})
    assert refusal.value.coded == {"code": "key-no-text", "place": "the document", "values": {"given": 3}}
    with pytest.raises(DocumentError) as refusal:
        read({"a"})
    assert str(refusal.value) == "the document must be an object in braces, not set"


def test_one_joint_more_than_the_limit_is_refused_by_number():
    with pytest.raises(DocumentError) as refusal:
        read(small_truss() | {"joints": {f"J{i}": [i, 0] for i in range(401)}})
    assert refusal.value.code == "too-many"
    assert refusal.value.values == {"key": "joints", "count": 401, "most": 400}


def test_limits_can_be_set_by_the_caller():
    with pytest.raises(DocumentError) as refusal:
        read(small_truss(), Limits(joints=3))
    assert (refusal.value.code, refusal.value.values["most"]) == ("too-many", 3)
    with pytest.raises(DocumentError) as refusal:
        read(json.dumps(small_truss()), Limits(bytes=100))
    assert (refusal.value.code, refusal.value.values["most"]) == ("document-too-large", 100)
    assert read(small_truss() | {"title": "t" * 900}, Limits(text=1000)).title == "t" * 900


def test_numbers_of_other_libraries_become_plain():
    document = small_truss()
    document["joints"]["B"] = [np.float64(60.0), np.float64(30.5)]
    x, y = read(document).document["joints"]["B"]
    assert (type(x), type(y), x, y) == (int, float, 60, 30.5)


def test_an_opening_can_be_read_by_itself():
    opening = read_opening({"id": "O1", "shape": "circle", "centre_in": [1, 2], "diameter_in": 14})
    assert (opening.centre, opening.size) == ((1, 2), (14, 14))
    with pytest.raises(DocumentError) as refusal:
        read_opening(None, "asks[0].opening")
    assert refusal.value.coded == {"code": "no-object", "place": "asks[0].opening", "values": {"given": None}}


numbers = st.integers(-(10**9), 10**9) | st.floats(-1e9, 1e9, allow_nan=False)
texts = st.text(st.characters(categories=["L", "N", "P", "S", "Zs"]), max_size=12)
values = st.recursive(
    st.none() | st.booleans() | numbers | texts,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(texts, inner, max_size=4),
    max_leaves=20,
)


@settings(max_examples=100, deadline=None)
@given(
    x=st.floats(20, 100),
    y=st.floats(20, 1000),
    psf=st.floats(-500, 500),
    title=texts,
    share=st.floats(0, 1),
)
def test_a_document_survives_its_records(x, y, psf, title, share):
    document = small_truss() | {"title": title, "uplift_dead_share": share}
    document["joints"]["B"] = [x, y]
    document["loads"]["area"][0]["psf"] = psf
    truss = read(document)
    assert sha256(truss.document) == sha256(document)
    assert read(canonical(truss.document)) == truss
    assert (truss.joint("B").x, truss.joint("B").y) == (x, y)


@settings(max_examples=300, deadline=None)
@given(path=st.sampled_from([path for path, *_ in BAD if "+" not in path]), value=values)
def test_any_value_anywhere_is_read_or_refused_in_words(path, value):
    document = changed(path, value)
    refusal = None
    try:
        truss = read(document)
    except DocumentError as error:
        refusal = str(error)
    if refusal is None:
        assert sha256(truss.document) == sha256(document)
    else:
        assert refusal.isprintable()
