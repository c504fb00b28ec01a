"""When two designs are one: within half an inch, and turned end for end."""

from __future__ import annotations

import copy

import pytest

from trusses.analysis.alike import alike, alike_turned, mirrored

DUCT = {"id": "O1", "shape": "circle", "centre_in": [60, 14], "diameter_in": 8, "clearance_in": 1}


@pytest.fixture
def one(king_post):
    return {**king_post, "openings": [DUCT]}


def moved(document, joint, by):
    x, y = document["joints"][joint]
    return {**document, "joints": {**document["joints"], joint: [x + by, y]}}


def test_a_design_is_itself_whatever_its_names(one):
    other = copy.deepcopy(one)
    other["joints"] = {f"J{name}": place for name, place in one["joints"].items()}
    for member in other["members"]:
        member["id"], member["joints"] = f"M{member['id']}", [f"J{joint}" for joint in reversed(member["joints"])]
    other["hinges"] = [f"J{joint}" for joint in one["hinges"]]
    for bearing in other["bearings"]:
        bearing["joint"] = f"J{bearing['joint']}"
    assert alike(one, other)
    assert alike(other, one)


@pytest.mark.parametrize(("by", "same"), [(0.5, True), (0.51, False), (-0.5, True), (-0.51, False)])
def test_joints_agree_within_half_an_inch(one, by, same):
    """The panel point under the peak, and with it the feet of nothing else."""
    assert alike(one, moved(one, "D", by)) is same


@pytest.mark.parametrize(("by", "same"), [(0.5, True), (0.51, False)])
def test_openings_agree_within_half_an_inch(one, by, same):
    assert alike(one, {**one, "openings": [{**DUCT, "centre_in": [60 + by, 14]}]}) is same


def test_an_opening_serves_a_smaller_one_and_never_a_larger(one):
    larger = {**one, "openings": [{**DUCT, "diameter_in": 8.25}]}
    assert alike(larger, one)
    assert not alike(one, larger)
    assert not alike({**one, "openings": [{**DUCT, "diameter_in": 9}]}, one)


def test_an_opening_more_is_another_design(one, king_post):
    assert not alike(one, king_post)
    assert not alike(king_post, one)


@pytest.mark.parametrize(
    "other",
    [
        lambda d: d["members"][4].update(lumber="2x6 DF-L No.1"),
        lambda d: d.update(plies=2),
        lambda d: d["loads"]["area"][0].update(psf=11),
        lambda d: d["bearings"][0].update(width_in=3.5),
        lambda d: d["lateral_restraint"].update(bottom_chord_in=60),
        lambda d: d["lateral_restraint"].update(webs={"W1": 1}),
        lambda d: d.update(hinges=["A", "C"]),
        lambda d: d.update(spacing_in=16),
    ],
)
def test_wood_loads_bearings_and_restraint_count(one, other):
    changed = copy.deepcopy(one)
    other(changed)
    assert not alike(one, changed)
    assert not alike(changed, one)


def test_the_mirror_image_is_the_same_turned_end_for_end(one):
    """Of a 20 ft truss: what is 60 in. from one end is 180 in. from the other."""
    other = {**one, "openings": [{**DUCT, "centre_in": [180, 14]}]}
    assert not alike(one, other)
    assert alike_turned(one, other)
    assert alike_turned(other, one)
    assert not alike_turned(one, {**one, "openings": [{**DUCT, "centre_in": [180.6, 14]}]})


def test_a_mirror_image_twice_is_the_design(one):
    there = mirrored(one)
    assert there
    assert there["joints"]["A"] == [240, 0]
    assert there["openings"][0]["centre_in"] == [180, 14]
    assert {load.get("pattern") for load in there["loads"]["area"] if load.get("from_x_in") == 120} == {"right"}
    again = mirrored(there)
    assert again
    assert alike(one, again)


def test_a_load_on_one_side_turns_with_it(one):
    loaded, other = copy.deepcopy(one), copy.deepcopy(one)
    loaded["loads"]["point"] = [{"case": "dead", "member": "B1", "at_in": 30, "down_lb": 100}]
    other["loads"]["point"] = [{"case": "dead", "member": "B2", "at_in": 90, "down_lb": 100}]
    other["openings"] = [{**DUCT, "centre_in": [180, 14]}]
    assert alike_turned(loaded, other)
    other["loads"]["point"][0]["at_in"] = 80
    assert not alike_turned(loaded, other)
