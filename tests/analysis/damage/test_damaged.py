"""What a damaged truss is taken to be, whether it stands, where shores go."""

import copy

import pytest

from tests.beams import beam, gable
from tests.option_cases import floor_truss, w_truss
from tests.refused import refused
from trusses.analysis.analysis import analyse
from trusses.analysis.damage.damaged import HOW, Damage, DamageError, damaged, most_bow_in, taken_as
from trusses.analysis.damage.standing import shore_at, standing
from trusses.analysis.format.document import read, read_stored


def king(**more):
    return read(gable(**more))


def test_what_each_kind_of_damage_takes():
    truss = king()
    took = {how: (taken_as(truss, Damage("W", how, 16, 9)), taken_as(truss, Damage("B1", how, 48, 9))) for how in HOW}
    assert took == {
        "cut": ("gone", "parted"),
        "notched": ("gone", "hinged"),
        "split": ("gone", "hinged"),
        "plate torn": ("gone", "parted"),
        "end short": ("gone", "parted"),
        "bow": ("gone", "hinged"),
    }


def test_a_bow_that_setting_allows_takes_nothing():
    """The greater of 3/4 in. and L/200, never over 2 in.: 96 in. gives 0.48, so 3/4; 240 in. 1.2; 480 in. 2.4, so 2."""
    assert [most_bow_in(length) for length in (96, 240, 480)] == [0.75, 1.2, 2.0]
    truss = king()
    assert taken_as(truss, Damage("B1", "bow", 48, 0.75)) == "whole"
    assert taken_as(truss, Damage("B1", "bow", 48, 0.76)) == "hinged"
    assert damaged(truss, Damage("B1", "bow", 48, 0.75)) == truss.document


@pytest.mark.parametrize(
    ("damage", "code"),
    [
        (Damage("W9", "cut", 0), "damage-no-member"),
        (Damage("W", "cut", 32.01), "damage-beyond-member"),
        (Damage("W", "cut", -0.01), "damage-beyond-member"),
    ],
)
def test_damage_that_cannot_be_there(damage, code):
    with refused(DamageError, code):
        damaged(king(), damage)


@pytest.mark.parametrize("at_in", [0, 32])
def test_a_web_s_ends_are_on_it(at_in):
    assert taken_as(king(), Damage("W", "cut", at_in)) == "gone"


def test_without_its_post_a_king_post_truss_s_bottom_chord_spans_all_of_it():
    """7 psf over 24 in. is 14 plf, 1.1667 lb/in., which the chord carries over 192 in.: wL²/8 = 5,376 in-lb."""
    document = damaged(king(), Damage("W", "cut", 16))
    assert "W" not in [member["id"] for member in document["members"]]
    alone = analyse(read(document))
    combination = [each.name for each in alone.combinations].index("D")
    middle = alone.truss.member_index["B1"]
    assert alone.results.combined.end_moment[combination, middle, 1] == pytest.approx(14 / 12 * 192**2 / 8, rel=1e-6)
    now, ever = standing(king(), Damage("W", "cut", 16))
    assert now.cases == ("dead",)
    assert ever.cases == ("dead", "snow")
    assert now.exceeds
    assert (now.worst.id, now.worst.rule) == ("B1", "bending")


def test_what_is_up_there_now_counts_and_nothing_else():
    document = gable()
    document["loads"]["area"].append({"case": "snow", "chord": "bottom_chord", "psf": 5, "along": "plan"})
    document["loads"]["area"].append({"case": "rain", "chord": "bottom_chord", "psf": 9, "along": "plan"})
    truss = read(document)
    bare, _ = standing(truss, Damage("W", "cut", 5))
    snowed, ever = standing(truss, Damage("W", "cut", 5), acting=["snow"])
    assert bare.cases == ("dead",)
    assert snowed.cases == ("dead", "snow")
    assert ever.cases == ("dead", "snow", "rain")
    assert bare.worst.ratio < snowed.worst.ratio < ever.worst.ratio


def test_a_diagonal_gone_weighs_on_the_others_or_lets_the_truss_move():
    moving = 0
    for truss in (floor_truss(), w_truss()):
        for web in [member.id for member in truss.members if member.role == "web"]:
            _, ever = standing(truss, Damage(web, "end short", 0))
            moving += ever.moves is not None
            if ever.moves is None:
                strength = max(c.ratio for c in analyse(truss).checks if "deflection" not in c.rule)
                assert ever.worst.ratio > strength * 0.999
    assert moving


def test_a_chord_cut_through_carries_no_tension_across():
    """Of a king post truss the bottom chord is its only tie: cut, the rafters spread and it is a mechanism."""
    now, _ = standing(king(), Damage("B1", "cut", 48))
    assert now.moves is not None
    assert now.exceeds


def test_a_chord_that_runs_on_holds_its_panel_up_from_one_side():
    """Hinged in the middle of its first panel it hangs on the post as a bracket: 48 in. beyond B."""
    now, _ = standing(king(), Damage("B1", "split", 48))
    assert now.moves is None
    assert not now.exceeds


def test_a_hinge_in_the_middle_of_a_panel_lets_it_fold():
    now, _ = standing(king(hinges=["A", "B", "P", "C"]), Damage("B1", "split", 48))
    assert (now.moves.code, now.moves.direction) == ("hinge", "up and down")


def test_a_notch_at_a_panel_point_takes_the_moment_and_the_area():
    """At joint B a hinge of the bottom chord; a notch of 1.75 in. leaves half of 3.5 in., so tension weighs double."""
    truss = read(gable())
    shallow, deep = (standing(truss, Damage("B1", "notched", 96, by))[0] for by in (0.0, 1.75))
    document = damaged(truss, Damage("B1", "notched", 96, 1.75))
    assert "B" in document["hinges"]
    hinged = {check.id + check.rule: check.ratio for check in analyse(read(document)).checks}
    assert shallow.moves is None
    assert shallow.worst.ratio <= deep.worst.ratio
    assert deep.worst.ratio >= hinged["B1bending and tension"]


def test_a_cut_parts_the_chord_and_leaves_its_stubs_and_their_loads():
    """A beam of 120 in. on three bearings, cut at 90 in.: 1 in. of it is gone; of its 10 lb/in. 1,190 lb are left."""
    document = beam(120, "2x8 DF-L No.2", loads={"line": [{"case": "dead", "member": "M", "plf": 120}]})
    document["joints"] |= {"C": [60, 0]}
    document["members"] = [
        {"id": "M", "role": "top_chord", "joints": ["A", "C"], "lumber": "2x8 DF-L No.2"},
        {"id": "N", "role": "top_chord", "joints": ["C", "B"], "lumber": "2x8 DF-L No.2"},
    ]
    document["bearings"].append({"joint": "C", "restrains": "y", "width_in": 3.5})
    document["loads"]["line"].append({"case": "dead", "member": "N", "plf": 120})
    parted = damaged(read(document), Damage("N", "cut", 30))
    assert len(parted["members"]) == 3
    assert sum(
        load["plf"] * (load.get("to_in", 60) - load.get("from_in", 0)) / 12 for load in parted["loads"]["line"]
    ) == (pytest.approx(1190 - 10 + 10))
    assert sum(load["down_lb"] for load in parted["loads"].get("point", ())) == pytest.approx(10)
    assert standing(read(document), Damage("N", "cut", 30))[0].moves is not None


def test_loads_on_a_web_that_is_gone_stand_on_its_ends():
    """100 lb at a quarter of 32 in. put 75 and 25 lb on its ends; 12 plf over 16 in. put 8 lb on each."""
    document = gable()
    document["loads"]["point"] = [{"case": "dead", "member": "W", "at_in": 8, "down_lb": 100, "note": "lamp"}]
    document["loads"]["line"] = [{"case": "live", "member": "W", "plf": 12, "from_in": 8, "to_in": 24}]
    document["lateral_restraint"]["webs"] = {"W": 1}
    truss = read(document)
    gone = damaged(truss, Damage("W", "cut", 5))
    assert gone["loads"]["line"] == []
    assert [(load["joint"], load["down_lb"]) for load in gone["loads"]["point"]] == [
        ("B", 8),
        ("P", 8),
        ("B", 75),
        ("P", 25),
    ]
    assert gone["loads"]["point"][2]["note"] == "lamp"
    assert gone["lateral_restraint"]["webs"] == {}
    assert read_stored(gone)
    assert truss.document == read(document).document  # untouched


def test_shores_stand_beside_the_damage_and_never_on_a_wall():
    truss = w_truss()
    inner = sorted(
        joint.x for joint in truss.joints if any(m.role == "bottom_chord" for m in truss.members_at[joint.name])
    )
    bearings = {bearing.joint for bearing in truss.bearings}
    for member in truss.members:
        shores = [truss.joint(name).x for name in shore_at(truss, member.id)]
        assert not set(shore_at(truss, member.id)) & bearings
        assert shores == sorted(shores)
        assert set(shores) <= set(inner)
    assert shore_at(king(), "W") == ("B",)


def test_a_member_of_a_single_beam_has_no_panel_point_to_shore():
    assert shore_at(read(beam(96, "2x4 SPF No.1/No.2")), "M") == ()


def test_the_document_is_left_as_it_was():
    truss = king()
    before = copy.deepcopy(truss.document)
    for how in HOW:
        for member in ("W", "B1"):
            damaged(truss, Damage(member, how, 30, 2))
    assert truss.document == before
