"""What plates must carry: equilibrium at every joint, and trusses whose joints can be solved by hand."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from tests.frames import document
from tests.random_trusses import random_truss
from trusses.analysis.analysis import analyse
from trusses.analysis.analysis_document import read_back
from trusses.analysis.format.document import read
from trusses.analysis.frame.results import Results
from trusses.analysis.requirements.joints import Governing, JointDemand, joint_demand, splices


def record(truss: dict[str, Any]) -> Results:
    design = read(truss)
    return read_back(design, analyse(design).document())


def governing(truss: dict[str, Any]) -> dict[tuple[str, tuple[str, ...]], Governing]:
    return {(one.piece.joint, one.piece.members): one for one in joint_demand(record(truss)).governing()}


def king_post(**more: Any) -> dict[str, Any]:
    """20 ft, 6 in 12: the top chord rises 1 in 2, so its force is sqrt(5) times the vertical part. 1,000 lb at the
    peak, dead; each bearing carries 500 lb, the top chord 500 sqrt(5), the bottom chord 1,000 lb. Hinged everywhere,
    so that statics alone give every force."""
    loads = {"point": [{"case": "dead", "joint": "B", "down_lb": 1000}]}
    return document(
        {"A": (0, 0), "B": (120, 60), "C": (240, 0), "D": (120, 0)},
        [
            ("T1", "top_chord", "A", "B"),
            ("T2", "top_chord", "B", "C"),
            ("B1", "bottom_chord", "A", "D"),
            ("B2", "bottom_chord", "D", "C"),
            ("W1", "web", "B", "D"),
        ],
        {"A": "xy", "C": "y"},
        **({"loads": loads, "hinges": ["A", "B", "C", "D"]} | more),
    )


SLOPE = math.degrees(math.atan(0.5))
CHORD = 500 * math.sqrt(5)


class TestByHand:
    """King post under one load at its peak."""

    def test_a_heel_carries_the_top_chords_force_and_not_the_reaction(self):
        found = governing(king_post())
        top, bottom = found["A", ("T1",)], found["A", ("B1",)]
        assert (top.force_lb, bottom.force_lb) == pytest.approx((CHORD, CHORD), rel=1e-6)
        assert (top.angle_deg, bottom.angle_deg) == pytest.approx((0, SLOPE), abs=1e-3)
        assert (top.sense, bottom.sense) == ("compression", "tension")

    def test_teeth_take_the_force_over_its_load_duration_and_steel_takes_it_whole(self):
        top = governing(king_post())["A", ("T1",)]
        assert top.load_duration == 0.9
        assert top.holding_lb == pytest.approx(CHORD / 0.9, rel=1e-6)
        assert top.steel_lb == pytest.approx(CHORD, rel=1e-6)

    def test_a_load_on_the_peak_rests_on_both_top_chords_alike(self):
        """Each holds up 500 lb itself; through the plates they only press on each other, level, with 1,000 lb."""
        found = governing(king_post())
        for name in ("T1", "T2"):
            assert found["B", (name,)].force_lb == pytest.approx(1000, rel=1e-6)
            assert found["B", (name,)].angle_deg == pytest.approx(SLOPE, abs=1e-3)
            assert found["B", (name,)].sense == "compression"

    def test_a_web_without_force_asks_for_nothing(self):
        web = governing(king_post())["D", ("W1",)]
        assert (web.holding_lb, web.holding_by, web.steel_lb, web.steel_by, web.sense) == (0, None, 0, None, "")

    def test_a_chord_that_runs_on_hands_over_only_what_its_web_carries(self):
        """600 lb hung from the bottom chord: the post pulls straight across its grain, though 1,600 lb run by.

        The chord, 20 ft long, carries less than 1 % of the 600 lb as a beam; so much is the post spared.
        """
        hung = {"point": [{"case": "dead", "joint": name, "down_lb": lb} for name, lb in (("B", 1000), ("D", 600))]}
        truss = king_post(loads=hung, hinges=["A", "B", "C"])
        found = governing(truss)
        through = found["D", ("B1", "B2")]
        assert through.piece.runs_through
        assert 594 < through.force_lb < 600
        assert through.angle_deg == pytest.approx(90, abs=0.01)
        assert through.sense == "across"
        assert found["D", ("W1",)].sense == "tension"
        assert splices(record(truss)) == ()

    def test_a_splice_carries_the_chords_whole_force(self):
        truss = king_post()
        (splice,) = splices(record(truss))
        assert (splice.joint, splice.members) == ("D", ("B1", "B2"))
        assert splice.tension_lb == pytest.approx(1000, rel=1e-6)
        assert (splice.tension_by, splice.compression_lb, splice.compression_by) == ("D", 0, None)
        assert governing(truss)["D", ("B1",)].force_lb == pytest.approx(1000, rel=1e-6)

    def test_other_lumber_beyond_a_joint_is_a_splice_too(self):
        truss = king_post(hinges=["A", "B", "C"])
        truss["members"][3]["lumber"] = "2x4 DF-L No.2"
        assert [splice.joint for splice in splices(record(truss))] == ["D"]

    def test_each_of_two_plies_has_plates_of_its_own(self):
        one, two = (governing(king_post(plies=plies))["A", ("T1",)] for plies in (1, 2))
        assert two.holding_lb == pytest.approx(one.holding_lb / 2, rel=1e-6)
        assert two.steel_lb == pytest.approx(CHORD / 2, rel=1e-6)

    def test_dead_load_alone_may_govern_the_teeth_and_not_the_steel(self):
        """1,000 lb dead and 200 lb snow: 1,000 / 0.9 = 1,111 is more than 1,200 / 1.15 = 1,043."""
        both = [{"case": case, "joint": "B", "down_lb": lb} for case, lb in (("dead", 1000), ("snow", 200))]
        top = governing(king_post(loads={"point": both}))["A", ("T1",)]
        assert (top.holding_by, top.steel_by) == ("D", "D + S")
        assert top.holding_lb == pytest.approx(CHORD / 0.9, rel=1e-6)
        assert top.steel_lb == pytest.approx(1.2 * CHORD, rel=1e-6)

    def test_a_load_along_a_chord_gives_its_end_a_shear(self):
        """240 lb spread on a 10 ft top chord, square to it: 120 lb across the grain at each of its pinned ends."""
        square = {"area": [{"case": "dead", "chord": "top_chord", "psf": 12, "along": "normal"}]}
        truss = king_post(loads=square)
        demand = joint_demand(record(truss))
        i = [(p.joint, p.members) for p in demand.pieces].index(("A", ("T1",)))
        length = math.hypot(120, 60)
        across = demand.size[0, i] * math.sin(math.radians(demand.angle[0, i]))
        assert across == pytest.approx(12 * 2 / 12 * length / 2, rel=1e-6)

    def test_a_truss_without_loads_asks_for_nothing(self):
        assert {one.holding_lb for one in joint_demand(record(king_post(loads={}))).governing()} == {0}


def at_joint(demand: JointDemand, joint: str) -> np.ndarray:
    return demand.force[:, [i for i, piece in enumerate(demand.pieces) if piece.joint == joint]]


@pytest.mark.parametrize("seed", range(40))
def test_plates_hold_every_joint_in_equilibrium(seed):
    """What a joint's plates do to its pieces adds up to nothing: reactions and loads on joints stand on the chords.

    The analysis document has ten digits; 1e-8 of the largest force leaves room for a few of them to add up.
    """
    demand = joint_demand(record(random_truss(seed)))
    joints = {piece.joint for piece in demand.pieces}
    assert len(joints) > 3
    largest = np.abs(demand.force).max()
    for joint in joints:
        left = np.abs(at_joint(demand, joint).sum(axis=1)).max()
        assert left < 1e-8 * largest, f"joint {joint}: {left} lb of {largest}"


@pytest.mark.parametrize("seed", [0, 1, 2, 3, 7, 12])
def test_a_mirrored_truss_asks_the_same_of_its_plates(seed):
    truss = random_truss(seed)
    # a load along a slope or across the span would have to be mirrored too; those on joints can be
    truss["loads"] = {
        "area": [{"case": "dead", "chord": "top_chord", "psf": 15, "along": "plan"}],
        "point": [{"case": "snow", "joint": next(iter(truss["joints"])), "down_lb": 300, "right_lb": 40}],
    }
    truss["bearings"] = [
        {**bearing, "restrains": "xy" if i == 0 else "y"} for i, bearing in enumerate(truss["bearings"])
    ]
    other = {**truss, "joints": {name: [-x, y] for name, (x, y) in truss["joints"].items()}}
    other["loads"] = {**truss["loads"], "point": [{**truss["loads"]["point"][0], "right_lb": -40}]}
    one, two = governing(truss), governing(other)
    assert one.keys() == two.keys()
    for key, mine in one.items():
        assert two[key].holding_lb == pytest.approx(mine.holding_lb, rel=1e-6, abs=1e-3)
        assert two[key].steel_lb == pytest.approx(mine.steel_lb, rel=1e-6, abs=1e-3)
        assert (two[key].holding_by, two[key].sense) == (mine.holding_by, mine.sense)
        if mine.force_lb > 1:
            assert two[key].angle_deg == pytest.approx(mine.angle_deg, abs=1e-3)


def test_members_listed_the_other_way_round_ask_the_same():
    turned = king_post()
    for member in turned["members"]:
        member["joints"] = member["joints"][::-1]
    one, two = governing(king_post()), governing(turned)
    assert one.keys() == two.keys()
    for key, mine in one.items():
        assert two[key].force_lb == pytest.approx(mine.force_lb, rel=1e-6, abs=1e-3)
        assert two[key].sense == mine.sense
