"""Before and after side by side: by hand on two small analyses, and on a real pair."""

import copy
import json
from pathlib import Path

import pytest

from trusses.analysis.analysis import analyse
from trusses.analysis.compare import board_feet, compare, pieces
from trusses.analysis.format.document import read

EXAMPLES = Path(__file__).parent / "examples"
SPF, BIG = "2x4 SPF No.1/No.2", "2x6 SPF No.1/No.2"


def truss(**members):
    """Two top chords over a bottom chord; `members` replace, add (dict) or remove (None) by id."""
    every = {
        "T1": {"id": "T1", "role": "top_chord", "joints": ["A", "B"], "lumber": SPF},
        "T2": {"id": "T2", "role": "top_chord", "joints": ["B", "C"], "lumber": SPF},
        "B1": {"id": "B1", "role": "bottom_chord", "joints": ["A", "D"], "lumber": SPF},
        "B2": {"id": "B2", "role": "bottom_chord", "joints": ["D", "C"], "lumber": SPF},
        "W1": {"id": "W1", "role": "web", "joints": ["B", "D"], "lumber": SPF},
    } | members
    return {
        "joints": {"A": [0, 0], "B": [60, 30], "C": [120, 0], "D": [60, 0]},
        "members": [member for member in every.values() if member],
        "hinges": ["A", "B", "C"],
    }


def check(of, name, rule, combination, ratio, demand=0.0, capacity=1.0):
    return {
        "of": of,
        "id": name,
        "rule": rule,
        "combination": combination,
        "ratio": ratio,
        "demand": demand,
        "capacity": capacity,
    }


def analysis(axial, checks, down=1000.0):
    """An analysis document of two combinations; `axial` is member -> force in D and in D + S."""
    combinations = {
        name: {"members": {member: {"axial_lb": [forces[i], forces[i] / 2]} for member, forces in axial.items()}}
        for i, name in enumerate(("D", "D + S"))
    }
    return {
        "combinations": combinations,
        "envelope": {
            "members": {
                member: {"tension_lb": max(0.0, *forces), "compression_lb": max(0.0, *(-f for f in forces))}
                for member, forces in axial.items()
            },
            "reactions_lb": {"A": {"down_lb": down, "down_by": "D + S", "uplift_lb": 0.0, "uplift_by": None}},
        },
        "checks": checks,
        "worst_ratio": max(c["ratio"] for c in checks),
    }


BEFORE = analysis(
    {"T1": (-500, -1500), "T2": (-500, -1500), "B1": (450, 1300), "B2": (450, 1300), "W1": (20, 60)},
    [
        check("member", "T1", "compression", "D", 0.4),
        check("member", "T1", "compression and bending", "D + S", 0.8),
        check("member", "W1", "tension", "D + S", 0.2),
        check("truss", "K1", "live deflection", "D + S", 0.5, 0.25, 0.5),
    ],
)
AFTER = analysis(
    {"T1": (-500, -1600), "T2": (-500, -1500), "B1": (450, 1300), "B2": (450, 1300), "W1": (20, -80), "W2": (5, 5)},
    [
        check("member", "T1", "compression and bending", "D + S", 1.2),
        check("member", "W1", "slenderness", "D", 0.3),
        check("member", "W2", "tension", "D", 1.1),
        check("truss", "K1", "live deflection", "D + S", 0.6, 0.3, 0.5),
    ],
    down=1100.0,
)
W2 = {"id": "W2", "role": "web", "joints": ["A", "B"], "lumber": SPF}


@pytest.fixture
def compared():
    after = truss(W2=W2, T2={"id": "T2", "role": "top_chord", "joints": ["C", "B"], "lumber": BIG}, B2=None)
    after["joints"]["D"] = [72, 0]
    return compare(BEFORE, AFTER, truss(), after)


def test_the_same_size_of_other_wood_is_no_other_size():
    for lumber, flat, change in (
        ("2x4 DF-L No.2", False, "regraded"),
        ("2x4 SPF Select Structural", False, "regraded"),
        (BIG, False, "resized"),
        (SPF, True, "resized"),
    ):
        after = truss(T2={"id": "T2", "role": "top_chord", "joints": ["B", "C"], "lumber": lumber, "flat": flat})
        rows = {row["id"]: row["change"] for row in compare(BEFORE, BEFORE, truss(), after)["members"]}
        assert {name: one for name, one in rows.items() if one != "kept"} == {"T2": change}, lumber


def test_each_member_tells_what_became_of_it(compared):
    rows = {row["id"]: row for row in compared["members"]}
    assert list(rows) == ["T1", "T2", "B1", "B2", "W1", "W2"]
    changes = {name: row["change"] for name, row in rows.items()}
    assert changes == {
        "T1": "kept",
        "T2": "resized",
        "B1": "moved",
        "B2": "removed",
        "W1": "moved",
        "W2": "added",
    }
    assert rows["T2"]["lumber"] == [SPF, BIG]
    assert rows["B2"]["lumber"] == [SPF, None]
    assert rows["B1"]["length_in"] == [60, 72]
    assert rows["W2"]["length_in"] == [None, pytest.approx(67.0820393)]
    assert rows["W2"]["role"] == "web"


def test_forces_are_signed_by_the_larger_one(compared):
    rows = {row["id"]: row for row in compared["members"]}
    assert rows["T1"]["force_lb"] == [-1500, -1600]
    assert rows["W1"]["force_lb"] == [60, -80]
    assert rows["W1"]["tension_lb"] == [60, 20]
    assert rows["W1"]["compression_lb"] == [0, 80]
    assert rows["W2"]["force_lb"] == [None, 5]


def test_reversals_and_crossed_limits_are_marked(compared):
    rows = {row["id"]: row for row in compared["members"]}
    assert [name for name, row in rows.items() if row["reverses"]] == ["W1"]
    assert rows["W1"]["reverses_in"] == ["D + S"]
    assert [name for name, row in rows.items() if row["crosses_limit"]] == ["T1", "W2"]
    assert rows["T1"]["governs"] == [
        {"rule": "compression and bending", "combination": "D + S", "ratio": 0.8},
        {"rule": "compression and bending", "combination": "D + S", "ratio": 1.2},
    ]
    assert rows["W2"]["ratio"] == [None, 1.1]
    assert rows["B1"]["ratio"] == [None, None]


def test_a_reversal_of_next_to_nothing_is_none():
    faint = copy.deepcopy(AFTER)
    faint["combinations"]["D + S"]["members"]["W1"]["axial_lb"] = [-1.5, -1.0]
    rows = {row["id"]: row for row in compare(BEFORE, faint, truss(), truss())["members"]}
    assert not rows["W1"]["reverses"]


def test_back_under_its_limit_is_a_crossing_too():
    rows = {row["id"]: row for row in compare(AFTER, BEFORE, truss(W2=W2), truss())["members"]}
    assert rows["T1"]["crosses_limit"]
    assert not rows["W2"]["crosses_limit"]


def test_what_the_walls_carry(compared):
    assert compared["reactions"] == [
        {
            "joint": "A",
            "down_lb": [1000, 1100],
            "down_by": ["D + S", "D + S"],
            "uplift_lb": [0, 0],
            "uplift_by": [None, None],
        }
    ]
    deflection = compared["deflection"][0]
    assert (deflection["rule"], deflection["demand_in"], deflection["limit_in"]) == (
        "live deflection",
        [0.25, 0.3],
        [0.5, 0.5],
    )
    assert compared["worst_ratio"] == [0.8, 1.2]


def test_each_combination_has_each_member(compared):
    assert list(compared["combinations"]) == ["D", "D + S"]
    assert compared["combinations"]["D + S"]["W1"] == [60, -80]
    assert compared["combinations"]["D"]["W2"] == [None, 5]


def test_board_feet_by_hand():
    # nominal 2 in. × 4 in. / 12 = 2/3 board foot a foot, over 2 × 67.082 + 120 + 30 in.
    inches = 2 * 67.08203932 + 150
    assert board_feet(truss()) == pytest.approx(inches / 12 * 2 / 3)
    assert board_feet(truss() | {"plies": 2}) == pytest.approx(inches / 12 * 4 / 3)


def test_a_chord_is_one_piece_through_a_joint_that_is_no_hinge():
    assert pieces(truss()) == 4
    assert pieces(truss() | {"plies": 3}) == 12
    assert pieces(truss() | {"hinges": ["A", "B", "C", "D"]}) == 5
    # a change of lumber, and a bend, each need a cut though nothing is hinged there
    assert pieces(truss(B2={"id": "B2", "role": "bottom_chord", "joints": ["D", "C"], "lumber": BIG})) == 5
    assert pieces(truss() | {"hinges": ["A", "C"]}) == 4


def test_a_real_change():
    before = json.loads((EXAMPLES / "E1.truss.json").read_text())
    after = copy.deepcopy(before)
    after["joints"]["g"][0] += 18
    given = copy.deepcopy((before, after))
    analyses = [analyse(read(document)).document() for document in (before, after)]
    result = compare(*analyses, before, after)
    assert (before, after) == given
    rows = {row["id"]: row for row in result["members"]}
    moved = {name for name, row in rows.items() if row["change"] == "moved"}
    assert moved == {"B1", "B2", "W1", "W2"}
    for name, row in rows.items():
        for side, document in enumerate(analyses):
            envelope = document["envelope"]["members"][name]
            assert abs(row["force_lb"][side]) == max(envelope["tension_lb"], envelope["compression_lb"])
            ratios = [c["ratio"] for c in document["checks"] if c["of"] == "member" and c["id"] == name]
            assert row["ratio"][side] == max(ratios)
    # a panel point that moves along the chord takes load from one wall to the other and adds none
    total = [sum(up for _, up in document["combinations"]["D"]["reactions_lb"].values()) for document in analyses]
    assert total[0] == pytest.approx(total[1], rel=1e-9)
    assert result["reactions"][0]["down_lb"][0] != result["reactions"][0]["down_lb"][1]
    assert {row["rule"] for row in result["deflection"]} == {"live deflection", "total deflection"}
    json.dumps(result, allow_nan=False)


def test_nothing_changed():
    document = json.loads((EXAMPLES / "E1.truss.json").read_text())
    analysed = analyse(read(document)).document()
    result = compare(analysed, analysed, document, document)
    assert {row["change"] for row in result["members"]} == {"kept"}
    assert not any(row["reverses"] or row["crosses_limit"] for row in result["members"])
    assert all(pair[0] == pair[1] for members in result["combinations"].values() for pair in members.values())


def test_the_span_is_told_beside_an_overhang_that_governs():
    """Before, the span governs; after, the overhang does: the row between the bearings has both sides' span."""
    span = {"of": "truss", "id": "K", "rule": "live deflection", "combination": "D + S", "passes": True}
    overhang = {
        "overhang": "its span is taken twice",
        "between bearings": 0.22,
        "between bearings, allowed": 0.4,
        "between bearings, under": "D + S/left",
    }
    sides = [
        span | {"demand": 0.2, "capacity": 0.4, "ratio": 0.5, "terms": {}},
        span | {"demand": 0.25, "capacity": 0.3, "ratio": 0.833, "terms": overhang},
    ]
    before, after = ({**one, "checks": [check]} for one, check in zip((BEFORE, AFTER), sides, strict=True))
    governing, inside = compare(before, after, truss(), truss())["deflection"]
    assert governing["demand_in"] == [0.2, 0.25]
    assert inside["rule"] == "live deflection between bearings"
    assert (inside["demand_in"], inside["limit_in"]) == ([0.2, 0.22], [0.4, 0.4])
    assert inside["ratio"] == pytest.approx([0.5, 0.55])
    assert inside["combination"] == ["D + S", "D + S/left"]
    assert len(compare(before, before, truss(), truss())["deflection"]) == 1
