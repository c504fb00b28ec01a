"""Members that would need the same wood are refused, with the place; what is cut to each other at joints is not.

What is held against the rule is the plain geometry of rectangles, by a library of polygons (shapely): nowhere outside
of the reach of a joint may two pieces of an accepted truss overlap.
"""

import copy
import itertools
import json
import math
from pathlib import Path

import pytest
import shapely

from tests.beams import gable
from tests.frames import SPF, document
from tests.random_trusses import random_truss
from trusses.analysis.findings.shape import shape_findings
from trusses.analysis.format.document import DocumentError, read, read_stored
from trusses.analysis.format.shared_wood import TOUCH_IN, clashes
from trusses.analysis.lumber import lookup, section
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.layouts import draft_clashes
from trusses.analysis.shapes.shapes import build
from trusses.demo_set import marks

TOUCHING = {"k": [112 - 4.2066, 0], "h": [1.5 * (112 - 4.2066), 0.75 * (112 - 4.2066)]}
EXAMPLES = sorted(Path(__file__).parents[1].joinpath("examples").glob("*.truss.json"))


def w_truss(members=(), joints=None, **given):
    """28 ft, 6 in 12: t0 0,0; t1 84,42; t2 168,84; t3 252,42; t4 336,0; b1 112,0; b2 224,0."""
    made = build("w", span=336, pitch=6, arranged=False, **given)
    made["joints"] |= joints or {}
    made["members"] += [
        {"id": name, "role": role, "joints": [a, b], "lumber": lumber[0] if lumber else SPF}
        for name, role, a, b, *lumber in members
    ]
    return made


def shared_wood(source):
    with pytest.raises(DocumentError) as refusal:
        read(source)
    return refusal.value


@pytest.mark.parametrize(
    ("source", "code", "place", "values"),
    [
        # straight through: the line t1-b2 crosses b1-t2 at x 130.67; from b1 that is 18.67 √(1 + 1.5²) in.
        (
            w_truss([("X1", "web", "t1", "b2")]),
            "through-wood",
            "members[8] (W2)",
            {"member": "X1", "joint": "b1", "away_in": 33.65},
        ),
        # along a chord over its neighbouring panel
        (
            w_truss([("X1", "web", "t0", "b2")]),
            "along-wood",
            "members[11] (X1)",
            {"member": "B1", "joint": "t0"},
        ),
        # rises 3 in. over 112: out of the chord's wood after 3.5 / sin 1.5 degrees, 131 in., if it were that long
        (
            w_truss([("X1", "web", "b1", "k"), ("X2", "web", "k", "t1")], {"k": [210, 3.0]}),
            "along-wood",
            "members[11] (X1)",
            {"member": "B2", "joint": "b1"},
        ),
        # two webs meet in the wood of the bottom chord, 1/2 in. above its middle
        (
            w_truss([("X1", "web", "k", "t1"), ("X2", "web", "k", "t0")], {"k": [60, 0.5]}),
            "along-wood",
            "members[12] (X2)",
            {"member": "B1", "joint": "t0"},
        ),
        # two webs meet 10 in. below the bottom chord: 10/52 of 57.27 in.
        (
            w_truss([("X1", "web", "k", "t1"), ("X2", "web", "k", "t2")], {"k": [60, -10]}),
            "through-wood",
            "members[11] (X1)",
            {"member": "B1", "joint": "k", "away_in": 11.01},
        ),
        # a second web beside the first, into the chord y = x / 2 at x 162: 54 √(1 + 1.5²) from its foot
        (
            w_truss(
                [("X1", "web", "k", "h")],
                {"k": [108, 0], "h": [164.0, 84]},
            ),
            "through-wood",
            "members[11] (X1)",
            {"member": "T2", "joint": "k", "away_in": 97.35},
        ),
        # chords that cross where neither has a joint
        (
            document(
                {"a": (0, 0), "b": (100, 0), "c": (0, 40), "d": (100, -40)},
                [("T", "top_chord", "a", "b"), ("B", "bottom_chord", "c", "d")],
                {"a": "xy", "b": "y", "c": "xy", "d": "y"},
            ),
            "through-wood",
            "members[0] (T)",
            {"member": "B", "joint": "a", "away_in": 50},
        ),
        # a chord turned back on the other one
        (
            document(
                {"a": (0, 0), "b": (100, 0), "c": (60, 0)},
                [("T", "top_chord", "a", "b"), ("B", "bottom_chord", "b", "c")],
                {"a": "xy", "b": "y"},
            ),
            "along-wood",
            "members[1] (B)",
            {"member": "T", "joint": "b"},
        ),
    ],
)
def test_wood_that_would_be_in_one_place_is_refused_with_the_place(source, code, place, values):
    refusal = shared_wood(source)
    assert (refusal.code, refusal.place) == (code, place)
    assert refusal.values == pytest.approx(values, abs=0.01)
    # a stored document is still read, and its findings tell of it
    stored = read_stored(source)
    assert "shared-wood" in {finding.code for finding in shape_findings(stored)}


@pytest.mark.parametrize(
    "source",
    [
        w_truss(),
        build("howe", span=432, pitch=5, arranged=False),
        # beside W2, touching: its line is moved by 3.5 / sin 56.31 degrees = 4.2066 in. along the bottom chord
        w_truss([("X1", "web", "k", "h")], TOUCHING, stock=600),
        # heavy chords at a low heel overlap over 3 ft, and one panel point stands there
        build(
            "king-post", span=240, pitch=3, top_lumber="2x8 DF-L No.2", bottom_lumber="2x8 DF-L No.2", arranged=False
        ),
    ],
)
def test_pieces_cut_to_each_other_at_joints_and_pieces_that_touch_are_not(source):
    if "X1" in {member["id"] for member in source["members"]}:
        # webs end on chords' centrelines only where these have joints
        source = copy.deepcopy(source)
        source = with_joint(with_joint(source, "B1", "k"), "T2", "h")
    read(source)


def with_joint(source, member, joint):
    """The document with a chord member cut in two at a joint."""
    cut = next(one for one in source["members"] if one["id"] == member)
    source["members"].append(cut | {"id": f"{member}b", "joints": [joint, cut["joints"][1]]})
    cut["joints"] = [cut["joints"][0], joint]
    return source


def test_a_bearing_a_little_inside_the_crossing_of_the_chords_is_a_heel():
    heel = gable()
    heel["joints"]["S"] = [5, 0]
    heel["members"][2]["joints"] = ["S", "B"]
    heel["members"].append(heel["members"][2] | {"id": "B0", "joints": ["A", "S"]})
    heel["bearings"][0] = {"joint": "S", "restrains": "xy", "width_in": 3.5}
    read(heel)


def accepted():
    yield from (json.loads(path.read_text()) for path in EXAMPLES)
    yield from (mark.document for mark in marks())
    yield from (random_truss(seed) for seed in range(120))


def test_no_accepted_truss_has_wood_in_wood_beyond_its_joints():
    """By polygons: what two members share, without what lies within the reach of a joint of either, is a sliver.

    The reach, from the rule's own words: as far as the pieces at the joint overlap along the member, and its depth.
    """
    pairs = 0
    for source in accepted():
        truss = read(source)
        wood = [rectangle(truss, member) for member in truss.members]
        for i, j in itertools.combinations(range(len(wood)), 2):
            one, other = truss.members[i], truss.members[j]
            if set(one.joints) & set(other.joints) or (one.is_chord and other.is_chord):
                continue
            pairs += 1
            if not wood[i].intersects(wood[j]):
                continue
            shared = wood[i] & wood[j]
            for k in (i, j):
                if not truss.members[k].is_chord:
                    for joint in truss.members[k].joints:
                        shared -= reach(truss, wood, k, joint)
            assert shared.buffer(-TOUCH_IN / 2).is_empty, (truss.mark, one.id, other.id)
    assert pairs > 5000


def rectangle(truss, member):
    depth = section(lookup(member.lumber), member.flat).depth_in
    line = shapely.LineString([(end.x, end.y) for end in truss.ends(member)])
    return line.buffer(depth / 2, cap_style="flat")


def reach(truss, wood, k, joint):
    """A disc about a joint as far as the pieces there overlap member k, and its depth more."""
    member, at = truss.members[k], truss.joint(joint)
    here = shapely.Point(at.x, at.y)
    depth = section(lookup(member.lumber), member.flat).depth_in
    far = 0.0
    for i, other in enumerate(truss.members):
        if i != k and joint in other.joints:
            far = max(far, shapely.hausdorff_distance(wood[i] & wood[k], here))
    return here.buffer(far + depth)


def test_a_search_proposes_nothing_that_reading_would_refuse():
    draft = Draft(w_truss())
    assert not draft_clashes(draft)
    draft.add_web("t1", "b2", "W1")
    (clash,) = draft_clashes(draft)
    assert clash.how == "through"


def test_where_two_pieces_meet_is_where_their_lines_cross():
    truss = read_stored(w_truss([("X1", "web", "t1", "b2")]))
    (clash,) = clashes(truss.members, truss.names, truss.xy)
    # y = 42 - 42 (x - 84) / 140 and y = 84 (x - 112) / 56: 1.8 x = 235.2
    x = (42 + 0.3 * 84 + 1.5 * 112) / 1.8
    assert clash.at == pytest.approx((x, 1.5 * (x - 112)))
    assert math.isclose(x, 130.666667, rel_tol=1e-6)
