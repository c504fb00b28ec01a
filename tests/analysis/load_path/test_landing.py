"""Where carried copies land on their carrier, from the plan or as somebody named it; and what doesn't meet."""

from __future__ import annotations

import pytest

from tests.carried import beam, row
from tests.refused import refused
from trusses.analysis.format.document import read
from trusses.analysis.load_path.landing import CarryingError, Hung, Placed, landings

# a 30 ft girder along x at y = 144, and 12 ft trusses along y from the wall at y = 0 up to it
GIRDER = Placed(read(beam("G1", 360)), 1, (row(0, 144, "x"),))


def carried(*stands, copies=2):
    return Placed(read(beam("R5", 144)), copies, stands)


def test_two_copies_land_where_their_ends_lie_on_the_girder():
    found = landings(GIRDER, carried(row(120, 0, "y", 120, 2)), "B")
    assert [(one.member, one.at_in, one.along_in) for one in found] == [("B1", 120, 120), ("B1", 240, 240)]


def test_both_ends_of_a_mark_can_stand_on_two_copies_of_one_girder():
    pair = Placed(GIRDER.truss, 2, (row(0, 0, "x"), row(0, 144, "x")))
    between = carried(row(120, 0, "y", 120, 2))
    for joint in "AB":
        with refused(CarryingError, "lands-differently", carriers=2, carrier="G1"):
            landings(pair, between, joint)


def test_copies_of_a_girder_that_carry_alike_have_one_answer():
    pair = Placed(GIRDER.truss, 2, (row(0, 144, "x"), row(500, 144, "x")))
    found = landings(pair, carried(row(120, 0, "y", count=1), row(620, 0, "y", count=1)), "B")
    assert [one.along_in for one in found] == [120]


def test_a_members_first_joint_may_be_its_right_one():
    document = beam("G1", 360)
    document["members"][0]["joints"] = ["B", "A"]
    turned = Placed(read(document), 1, (row(0, 144, "x"),))
    (one,) = landings(turned, carried(row(100, 0, "y"), copies=1), "B")
    assert (one.along_in, one.at_in) == (100, 260)


@pytest.mark.parametrize(
    ("stands", "code", "values"),
    [
        (
            (row(120, -24, "y"),),
            "beside-carrier",
            {"joint": "B", "mark": "R5", "copy": 1, "off_in": 24, "carrier": "G1"},
        ),
        ((row(400, 0, "y"),), "beyond-carrier-end", {"by_in": 40, "end": "right", "carrier": "G1"}),
        ((row(-30, 0, "y"),), "beyond-carrier-end", {"by_in": 30, "end": "left"}),
        ((row(0, 144, "x"),), "runs-alongside", {"mark": "R5", "carrier": "G1"}),
        (
            (row(120, 0, "y", level="Roof"),),
            "other-level",
            {"mark": "R5", "level": "Roof", "carrier": "G1", "levels": ["Floor"]},
        ),
        ((row(120, 0, "y"), row(120, 500, "y")), "beside-carrier", {"copy": 2, "off_in": 500}),
        ((), "not-in-plan", {"unplaced": "R5", "mark": "R5", "carrier": "G1"}),
    ],
)
def test_what_does_not_meet_is_refused(stands, code, values):
    with refused(CarryingError, code, **values):
        landings(GIRDER, carried(*stands), "B")


def test_a_bearing_that_is_not_there_is_named():
    with refused(CarryingError, "no-bearing-at-joint", mark="R5", joint="Q"):
        landings(GIRDER, carried(row(120, 0, "y")), "Q")


def test_a_named_place_needs_no_plan():
    nowhere = Placed(GIRDER.truss, 1)
    found = landings(nowhere, carried(), "B", (Hung("B1", 200), Hung("B1", 100)))
    assert [(one.at_in, one.along_in) for one in found] == [(100, 100), (200, 200)]


@pytest.mark.parametrize(
    ("places", "code", "values"),
    [
        ((Hung("B1", 100),), "places-and-copies", {"copies": 2, "places": 1, "carriers": 1}),
        ((Hung("B1", 100), Hung("B9", 5)), "carrier-without-member", {"carrier": "G1", "member": "B9"}),
        ((Hung("B1", 100), Hung("B1", 361)), "beyond-carrier-member", {"at_in": 361, "length_in": 360}),
    ],
)
def test_a_named_place_must_be_there(places, code, values):
    with refused(CarryingError, code, **values):
        landings(GIRDER, carried(), "B", places)


def test_nothing_hangs_to_a_top_chord(king_post):
    roof = Placed(read(king_post), 1)
    with refused(CarryingError, "no-bottom-chord-member", member="T1", carrier="K1"):
        landings(roof, carried(copies=1), "B", (Hung("T1", 10),))
