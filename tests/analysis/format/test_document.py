"""Truss documents: what is refused and in which words, what is read, and how it is written canonically."""

import copy
import json
import math
import time

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
    (["format"], "other.truss", ['format must be chordchange.truss, not "other.truss"']),
    (["version"], 2, ["version must be 1, not 2"]),
    (["version"], True, ["version must be a whole number, not true"]),
    (["mark"], REMOVE, ['"mark" is missing']),
    (["mark"], "", ["mark must not be empty"]),
    (["mark"], " R1", ["mark", "begin or end with a space"]),
    (["mark"], "R" * 41, ["mark is longer than 40 characters"]),
    (["mark"], "R\u0000", ["mark", "can't be printed"]),
    (["mark"], "R\n1", ["mark", "can't be printed"]),
    (["mark"], "R\ud800", ["mark", "can't be printed"]),
    (["title"], "abc\u202edef", ["title", "can't be printed"]),
    (["mark"], "R1\u200b", ['mark "R1\\u200b" holds a character that can\'t be seen']),
    (["mark"], "R\u00a01", ["mark", "can't be seen"]),
    (["title"], 7, ["title must be text, not 7"]),
    (["title"], "t" * 501, ["title is longer than 500 characters"]),
    (["use"], "barn", ['use must be roof or floor, not "barn"']),
    (["ceiling"], None, ["ceiling must be none, gypsum or plaster, not null"]),
    (["plies"], 0, ["plies must be from 1 to 12, not 0"]),
    (["plies"], 1.5, ["plies must be a whole number, not 1.5"]),
    (["plies"], 13, ["plies must be from 1 to 12"]),
    (["ply_fastening"], [], ["ply_fastening must be text, not a list"]),
    (["spacing_in"], 0, ["spacing_in must be more than 0 inches, not 0"]),
    (["spacing_in"], -24, ["spacing_in must be more than 0 inches, not -24"]),
    (["spacing_in"], "24", ['spacing_in must be a number of inches, not the text "24"']),
    (["spacing_in"], True, ["spacing_in must be a number of inches, not true"]),
    (["spacing_in"], math.nan, ["spacing_in: must be a number, not NaN"]),
    (["spacing_in"], math.inf, ["spacing_in: Infinity is far too large a number"]),
    (["spacing_in"], 1e300, ["spacing_in: 1e+300 is far too large a number"]),
    (["spacing_in"], 10**400, ["spacing_in: Infinity is far too large a number"]),
    (["spacing_in"], 1e7, ["spacing_in is 10000000 inches"]),
    (["colour"], "red", ['unknown key "colour"']),
    (["hinge"], [], ['unknown key "hinge"']),
    (["members", 0, "notch_in"], 1, ["members[0]", '"notch_in": lumber is not drilled or notched here']),
    (["members", 1, "holes"], [], ["members[1]", '"holes": lumber is not drilled or notched here']),
    (["bored"], [{"member": "B1"}], ['"bored": lumber is not drilled or notched here']),
    (["loads", "point", 0, "Drilled"], True, ['"Drilled": lumber is not drilled or notched here']),
    (["openings", 0, "bore"], 2, ["openings[0]", '"bore": lumber is not drilled or notched here']),
    (["border"], 1, ['unknown key "border"']),
    (["uplift_dead_share"], 1.01, ["uplift_dead_share must be from 0 to 1, not 1.01"]),
    (["uplift_dead_share"], -0.1, ["uplift_dead_share must be from 0 to 1"]),
    (["title"], nested(40), ["title", "nested deeper than 16 levels"]),
    # joints
    (["joints"], [], ["joints must be an object of names and [x, y] in inches, not a list"]),
    (["joints"], ANY_JOINTS, ["joints: 401 joints are more than the limit of 400"]),
    (["joints", "A"], [0], ["joints.A: must be two numbers [x, y] in inches"]),
    (["joints", "A"], [0, 0, 0], ["joints.A: must be two numbers [x, y] in inches"]),
    (["joints", "A"], [0, True], ["joints.A", "holds true"]),
    (["joints", "A"], ["0", 0], ["joints.A", 'holds the text "0"']),
    (["joints", "A", 1], math.nan, ["joints.A[1]: must be a number, not NaN"]),
    (["joints", "A", 0], -math.inf, ["joints.A[0]: Infinity is far too large"]),
    (["joints", "A", 0], 1e300, ["joints.A[0]: 1e+300 is far too large"]),
    (["joints", "A", 0], 2e6, ["joints.A: 2000000 inches is outside of any building"]),
    (["joints", "X"], [5, 5], ['joints.X: no member ends at joint "X"']),
    (["joints", ""], [5, 5], ["joints: a joint's name must not be empty"]),
    (["joints", "J" * 41], [5, 5], ["joints: a joint's name", "longer than 40 characters"]),
    (["joints", "a\u0007"], [5, 5], ["joints: the key", "can't be printed"]),
    (["joints", "D"], [60, 29.995], ['members[4] (W1): has no length: joints "B" and "D" are at the same place']),
    # members
    (["members"], {}, ["members must be a list of members, not an object"]),
    (["members"], [], ["members: the truss has no members"]),
    (["members", "+"], 5, ["members[5]: must be an object in braces, not 5"]),
    (["members", 4, "id"], REMOVE, ['members[4]: "id" is missing']),
    (["members", 4, "id"], 4, ["members[4]: id must be text, not 4"]),
    (["members", 4, "id"], "T1", ["members[4] (T1): members[0] has the same id"]),
    (["members", 4, "id"], "W" * 41, ["members[4] (WWW", "id is longer than 40 characters"]),
    (["members", 4, "id"], "T1\u00ad", ["members[4] (T1\\xad): id", "can't be seen"]),
    (["members", 4, "rolle"], "web", ['members[4] (W1): unknown key "rolle"']),
    (["members", 4, "role"], "post", ['members[4] (W1): role must be top_chord, bottom_chord or web, not "post"']),
    (["members", 4, "joints"], ["B", "K"], ['members[4] (W1): joint "K" does not exist']),
    (["members", 4, "joints"], ["B", "B"], ['members[4] (W1): has no length: both ends are at joint "B"']),
    (["members", 4, "joints"], ["B"], ["members[4] (W1): joints must be two joint names"]),
    (["members", 4, "joints"], ["B", 4], ["members[4] (W1): joints must be two joint names"]),
    (["members", 4, "joints"], "BD", ['members[4] (W1): joints must be a list of two joint names, not the text "BD"']),
    (["members", 4, "joints"], ["B", "A"], ["members[4] (W1): joins the same two joints as T1"]),
    (["members", 4, "joints"], ["A", "B"], ["members[4] (W1): joins the same two joints as T1"]),
    (["members", 4, "lumber"], "2x4 SPF No.12", ["members[4] (W1): ", "2x4 SPF No.12", "nearest", "2x4 SPF"]),
    (["members", 4, "lumber"], None, ["members[4] (W1): lumber must be text, not null"]),
    (["members", 4, "flat"], 1, ["members[4] (W1): flat must be true or false, not 1"]),
    # hinges and bearings
    (["hinges"], "A", ['hinges must be a list of joint names, not the text "A"']),
    (["hinges", "+"], "K", ['hinges[3]: joint "K" does not exist']),
    (["hinges", "+"], "A", ['hinges[3]: joint "A" is already a hinge']),
    (["hinges", "+"], 3, ["hinges[3]: must be a joint's name, not 3"]),
    (["bearings"], [], ["bearings: the truss has no bearings"]),
    (["bearings", 1, "joint"], "K", ['bearings[1]: joint "K" does not exist']),
    (["bearings", 1, "joint"], "A", ['bearings[1]: joint "A" already has a bearing']),
    (["bearings", 1, "restrains"], "z", ['bearings[1]: restrains must be x, y or xy, not "z"']),
    (["bearings", 1, "width_in"], 0, ["bearings[1]: width_in must be more than 0 inches"]),
    (["bearings", 1, "width_in"], REMOVE, ['bearings[1]: "width_in" is missing']),
    # loads
    (["loads"], [], ["loads: must be an object in braces, not a list"]),
    (["loads", "lines"], [], ['loads: unknown key "lines"']),
    (["loads", "area", 0, "case"], "sand", ["loads.area[0]: case must be dead, live,", 'not "sand"']),
    (["loads", "area", 0, "case"], REMOVE, ['loads.area[0]: "case" is missing']),
    (["loads", "area", 0, "chord"], "web", ['loads.area[0]: chord must be top_chord or bottom_chord, not "web"']),
    (["loads", "area", 0, "along"], "roof", ['loads.area[0]: along must be plan, slope or normal, not "roof"']),
    (["loads", "area", 0, "psf"], "10", ['loads.area[0]: psf must be a number of psf, not the text "10"']),
    (["loads", "area", 0, "psf"], 1e10, ["loads.area[0]: psf is 10000000000 psf"]),
    (["loads", "area", 1, "from_x_in"], 90, ["loads.area[1]: the window is reversed", "90 is not left of to_x_in 60"]),
    (["loads", "area", 1, "from_x_in"], 60, ["loads.area[1]: the window is reversed or empty"]),
    (["loads", "area", 1, "pattern"], "alone", ['loads.area[1]: pattern must not be named "alone"']),
    (["loads", "area", 1, "pattern"], "", ["loads.area[1]: pattern must not be empty"]),
    (["loads", "area", 0, "pattern"], "left", ["loads.area[0]: dead load is always there as a whole", '"pattern"']),
    (["loads", "area", 0, "acts"], "alone", ["loads.area[0]: dead load is always there as a whole", '"acts"']),
    (["loads", "area", 1, "acts"], "together", ['loads.area[1]: acts must be alone, not "together"']),
    (["loads", "area", 1, "acts"], True, ["loads.area[1]: acts must be alone, not true"]),
    (["loads", "area", 1, "note"], "x", ['loads.area[1]: unknown key "note"']),
    (["loads", "line", "+"], LINE | {"member": "B9"}, ['loads.line[1]: member "B9" does not exist']),
    (["loads", "line", "+"], LINE | {"to_in": 60.1}, ["loads.line[1]: to_in 60.1 is beyond the end", '"B1"', "60 in."]),
    (["loads", "line", "+"], LINE | {"from_in": -1}, ["loads.line[1]: from_in must be 0 or more inches, not -1"]),
    (["loads", "line", "+"], LINE | {"from_in": 9, "to_in": 3}, ["from_in 9 is not before to_in 3"]),
    (["loads", "line", "+"], LINE | {"from_in": 60}, ["from_in 60 is not before the member's end"]),
    (["loads", "line", "+"], LINE | {"joint": "A"}, ['loads.line[1]: unknown key "joint"']),
    (["loads", "point", "+"], POINT, ["loads.point[2]: a point load", "neither a member nor a joint"]),
    (["loads", "point", "+"], POINT | {"member": "B1", "at_in": 1, "joint": "A"}, ["both a member and a joint"]),
    (["loads", "point", "+"], POINT | {"member": "B1"}, ['loads.point[2]: "at_in" is missing']),
    (["loads", "point", "+"], POINT | {"member": "B1", "at_in": 61}, ["loads.point[2]: at_in 61 is beyond the end"]),
    (["loads", "point", "+"], POINT | {"joint": "A", "at_in": 1}, ["loads.point[2]: at_in is for a load on a member"]),
    (["loads", "point", "+"], POINT | {"joint": "K"}, ['loads.point[2]: joint "K" does not exist']),
    (["loads", "point", 0, "down_lb"], None, ["loads.point[0]: down_lb must be a number of pounds, not null"]),
    (["loads", "point", 0, "down_lb"], REMOVE, ['loads.point[0]: "down_lb" is missing']),
    (["loads", "point", 0, "note"], "a\u2028b", ["loads.point[0].note", "can't be printed"]),
    (["loads", "point"], [POINT] * 2001, ["point holds 2,001 point loads; the limit is 2,000"]),
    # openings
    (["openings", 0, "id"], "O2", ["openings[1] (O2): another opening has the same id"]),
    (["openings", 0, "shape"], "oval", ['openings[0] (O1): shape must be rectangle or circle, not "oval"']),
    (["openings", 0, "shape"], ["circle"], ["openings[0] (O1): shape must be rectangle or circle, not a list"]),
    (["openings", 0, "shape"], REMOVE, ["openings[0] (O1): "]),
    (["openings", 0, "width_in"], 5, ['openings[0] (O1): unknown key "width_in"']),
    (["openings", 0, "diameter_in"], REMOVE, ['openings[0] (O1): "diameter_in" is missing']),
    (["openings", 0, "diameter_in"], -3, ["openings[0] (O1): diameter_in must be more than 0 inches, not -3"]),
    (["openings", 0, "clearance_in"], -1, ["openings[0] (O1): clearance_in must be 0 or more inches, not -1"]),
    (["openings", 0, "centre_in"], [1, None], ["openings[0] (O1).centre_in: must be two numbers", "null"]),
    (["openings", "+"], TALL | {"diameter_in": 3}, ['openings[2] (O3): unknown key "diameter_in"']),
    (["openings", "+"], TALL | {"height_in": 0}, ["openings[2] (O3): height_in must be more than 0 inches"]),
    # restraint
    (["lateral_restraint"], None, ["lateral_restraint: must be an object in braces, not null"]),
    (["lateral_restraint", "top_chord_in"], -1, ["lateral_restraint: top_chord_in must be 0 or more inches"]),
    (["lateral_restraint", "top_chord_in"], None, ["lateral_restraint: top_chord_in must be a number of inches"]),
    (["lateral_restraint", "webs"], ["W1"], ["lateral_restraint: webs must be an object", "a list"]),
    (["lateral_restraint", "webs", "W9"], 1, ['lateral_restraint.webs: web "W9" does not exist']),
    (["lateral_restraint", "webs", "T1"], 1, ['lateral_restraint.webs: "T1" is a top chord, not a web']),
    (["lateral_restraint", "webs", "W1"], -1, ["lateral_restraint.webs: W1 must be from 0 to 20, not -1"]),
    (["lateral_restraint", "webs", "W1"], True, ["lateral_restraint.webs: W1 must be a whole number, not true"]),
    (["lateral_restraint", "rows"], 1, ['lateral_restraint: unknown key "rows"']),
]


@pytest.mark.parametrize(
    ("path", "value", "says"), BAD, ids=[f"{'.'.join(map(str, p))}-{i}" for i, (p, *_) in enumerate(BAD)]
)
def test_a_wrong_document_is_refused_with_its_place(path, value, says):
    document = changed(path, value)
    with pytest.raises(DocumentError) as refusal:
        read(document)
    sentence = str(refusal.value)
    assert all(part in sentence for part in says), sentence
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
        with pytest.raises(DocumentError, match=f'"{key}" is missing'):
            read({k: v for k, v in document.items() if k != key})


@pytest.mark.parametrize("place", [[60.0, 30.004], [60.004, 30], [59.996, 29.996], [59.993, 30.007]])
def test_two_joints_at_one_place_are_refused_though_no_member_joins_them(place):
    document = small_truss()
    document["joints"] |= {"E": place, "F": [90, 40]}
    document["members"].append({"id": "W2", "role": "web", "joints": ["E", "F"], "lumber": SPF})
    with pytest.raises(DocumentError, match=r'joints\.E: joint "E" is at the same place as joint "B"'):
        read(document)


def test_a_bearing_needs_a_chord():
    document = small_truss()
    document["joints"]["E"] = [60, -20]
    document["members"].append({"id": "W2", "role": "web", "joints": ["D", "E"], "lumber": SPF})
    document["bearings"].append({"joint": "E", "restrains": "y", "width_in": 3.5})
    with pytest.raises(DocumentError, match=r'bearings\[2\]: joint "E" has webs only'):
        read(document)


@pytest.mark.parametrize("source", [None, 3, [], ()])
def test_what_is_not_an_object_is_refused(source):
    with pytest.raises(DocumentError, match="must be an object in braces"):
        read(source)


def test_values_that_no_json_holds_are_refused():
    with pytest.raises(DocumentError, match=r"title: must be JSON, not set"):
        read(small_truss() | {"title": {"a"}})
    with pytest.raises(DocumentError, match="every key must be text, not 3"):
        read(small_truss() | {3: 4})


def test_a_million_joints_are_refused_at_once():
    document = small_truss()
    document["joints"] = {f"J{i}": [i, 0] for i in range(1_000_000)}
    began = time.perf_counter()
    with pytest.raises(DocumentError, match="1,000,000 joints are more than the limit of 400"):
        read(document)
    assert time.perf_counter() - began < 0.5


def test_limits_can_be_set_by_the_caller():
    with pytest.raises(DocumentError, match="4 joints are more than the limit of 3"):
        read(small_truss(), Limits(joints=3))
    with pytest.raises(DocumentError, match="larger than 100 bytes"):
        read(json.dumps(small_truss()), Limits(bytes=100))
    assert read(small_truss() | {"title": "t" * 900}, Limits(text=1000)).title == "t" * 900


def test_numbers_of_other_libraries_become_plain():
    document = small_truss()
    document["joints"]["B"] = [np.float64(60.0), np.float64(30.5)]
    x, y = read(document).document["joints"]["B"]
    assert (type(x), type(y), x, y) == (int, float, 60, 30.5)


def test_an_opening_can_be_read_by_itself():
    opening = read_opening({"id": "O1", "shape": "circle", "centre_in": [1, 2], "diameter_in": 14})
    assert (opening.centre, opening.size) == ((1, 2), (14, 14))
    with pytest.raises(DocumentError, match=r"asks\[0\]\.opening: must be an object in braces, not null"):
        read_opening(None, "asks[0].opening")


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
