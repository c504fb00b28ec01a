"""The checks of whole documents against cases worked by hand; formulas written out here, not taken from the code.

NDS 2015/2018; the clause numbers stand beside the lines. Simple-span statics: wL²/8, wL/2, PL/4.
"""

import json
import math
from pathlib import Path

import pytest

from tests.beams import beam, check, gable, line
from tests.nds_by_hand import cl
from trusses.analysis.checks.member_properties import is_repetitive
from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.analysis.format.document import read

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("E*.truss.json"))


class TestBending:
    """2x6 DF-L No.2, 8 ft, 60 plf: M = 5760 in-lb, S = 1.5·5.5²/6 = 7.5625 in³, CF 1.3."""

    FB = 60 / 12 * 96**2 / 8 / (1.5 * 5.5**2 / 6)

    def beam(self, plf=60, case="snow", **more):
        return beam(96, "2x6 DF-L No.2", loads={"line": [line(plf, case)]}, **more)

    def test_sagging_top_chord_is_restrained_at_its_spacing(self):
        found = check(self.beam(restraint=24))["M", "bending"]
        star = 900 * 1.3 * 1.15 * 1.15
        assert found.demand == pytest.approx(self.FB)
        assert found.capacity == pytest.approx(star * cl(star, 580_000, 24, 5.5, 1.5))
        assert found.ratio == pytest.approx(found.demand / found.capacity)
        assert (found.combination, found.at_in, found.source) == ("D + S", pytest.approx(48), "NDS 3.3.1")
        assert found.terms["CD"] == 1.15
        assert (found.terms["Cr"], found.terms["CF"], found.terms["lu"]) == (1.15, 1.3, 24)
        assert found.terms["CL"] == pytest.approx(cl(star, 580_000, 24, 5.5, 1.5))

    def test_lifted_top_chord_is_restrained_at_its_joints(self):
        loads = {"area": [{"case": "wind", "chord": "top_chord", "psf": -30, "along": "normal"}]}
        found = check(beam(96, "2x6 DF-L No.2", restraint=24, loads=loads))["M", "bending"]
        star = 900 * 1.3 * 1.15 * 1.6
        assert found.demand == pytest.approx(0.6 * self.FB)
        assert found.capacity == pytest.approx(star * cl(star, 580_000, 96, 5.5, 1.5))
        assert found.terms["lu"] == 96

    def test_sagging_bottom_chord_is_restrained_at_its_joints(self):
        found = check(self.beam(role="bottom_chord", restraint=24))["M", "bending"]
        star = 900 * 1.3 * 1.15 * 1.15
        assert found.capacity == pytest.approx(star * cl(star, 580_000, 96, 5.5, 1.5))

    def test_continuous_restraint_leaves_the_whole_value(self):
        found = check(self.beam(restraint=0))["M", "bending"]
        assert found.capacity == pytest.approx(900 * 1.3 * 1.15 * 1.15)
        assert found.terms["CL"] == 1

    def test_moment_peaks_where_shear_is_zero_within_a_partial_load(self):
        """w over a = 36 in. from the left end: M peaks at R/w, R = wa(2L - a)/2L, with M = R²/2w."""
        loads = {"line": [line(240, from_in=0, to_in=36)]}
        found = check(beam(96, "2x6 DF-L No.2", loads=loads))["M", "bending"]
        w = 20
        left = w * 36 * (2 * 96 - 36) / (2 * 96)
        assert found.at_in == pytest.approx(left / w)
        assert found.demand == pytest.approx(left**2 / (2 * w) / (1.5 * 5.5**2 / 6))

    def test_moment_peaks_under_a_point_load(self):
        loads = {"point": [{"case": "snow", "member": "M", "at_in": 30, "down_lb": 400}]}
        found = check(beam(96, "2x6 DF-L No.2", loads=loads))["M", "bending"]
        assert found.at_in == pytest.approx(30)
        assert found.demand == pytest.approx(400 * 30 * 66 / 96 / (1.5 * 5.5**2 / 6))

    def test_flat_lumber_takes_its_flat_section_and_flat_use_and_no_stability_factor(self):
        found = check(
            beam(
                24,
                "2x4 DF-L No.2",
                restraint=24,
                loads={"line": [line(60)]},
                members=[
                    {"id": "M", "role": "top_chord", "joints": ["A", "B"], "lumber": "2x4 DF-L No.2", "flat": True}
                ],
            )
        )["M", "bending"]
        assert found.demand == pytest.approx(60 / 12 * 24**2 / 8 / (3.5 * 1.5**2 / 6))
        assert found.capacity == pytest.approx(900 * 1.5 * 1.15 * 1.15 * 1.1)
        assert (found.terms["CL"], found.terms["Cfu"]) == (1, 1.1)

    @pytest.mark.parametrize(
        ("lumber", "fb"),
        [
            ("2x4 DF-L No.2", 900 * 1.5),
            ("2x8 DF-L No.2", 900 * 1.2),
            ("2x4 SPF Stud", 675 * 1.1),
            ("2x4 SP No.2", 1100),
            ("2x6 SPF 2100f-1.8E", 2100),
        ],
    )
    def test_size_factor_goes_with_the_rule_of_the_lumber(self, lumber, fb):
        found = check(beam(48, lumber, restraint=0, loads={"line": [line(60)]}))["M", "bending"]
        assert found.capacity == pytest.approx(fb * 1.15 * 1.15)

    @pytest.mark.parametrize(
        ("more", "cr"),
        [
            ({}, 1.15),
            ({"spacing": 24.5}, 1.0),
            ({"restraint": 24.5}, 1.0),
            ({"restraint": None}, 1.0),
            ({"plies": 2}, 1.0),
        ],
    )
    def test_repetitive_factor_wants_close_trusses_close_restraint_and_one_ply(self, more, cr):
        document = self.beam(**{"restraint": 24} | more)
        found = check(document)["M", "bending"]
        assert found.terms["Cr"] == cr
        truss = read(document)
        assert is_repetitive(truss, truss.members[0]) == (cr == 1.15)
        shallow = 900 * 1.3 * 1.15 * cr * found.terms["CL"]
        assert found.capacity == pytest.approx(shallow)

    def test_a_beam_too_slender_to_stand_fails_however_little_it_carries(self):
        """2x12, 24 ft, held at its ends: le = 1.84·288 = 529.92, RB = sqrt(le·11.25/1.5²) = 51.47."""
        found = check(beam(288, "2x12 DF-L No.2", restraint=None, loads={"line": [line(1)]}))["M", "bending"]
        r_b = math.sqrt(1.84 * 288 * 11.25 / 1.5**2)
        assert found.ratio == pytest.approx(r_b / 50)
        assert not found.passes


class TestDuration:
    """NDS 2.3.2: the CD of the shortest load in the combination."""

    @pytest.mark.parametrize(
        ("case", "cd"), [("live", 1.0), ("snow", 1.15), ("rain", 1.15), ("roof_live", 1.25), ("wind", 1.6)]
    )
    def test_each_combination_has_its_own(self, case, cd):
        found = check(beam(96, "2x6 DF-L No.2", loads={"line": [line(100, case)]}))["M", "shear"]
        assert found.terms["CD"] == cd
        assert found.capacity == pytest.approx(180 * cd)

    def test_dead_load_governs_where_it_is_nearly_all(self):
        """100 plf dead against 0.9, 101 plf with the snow against 1.15."""
        loads = {"line": [line(100, "dead"), line(1, "snow")]}
        found = check(beam(96, "2x6 DF-L No.2", loads=loads))["M", "shear"]
        assert found.combination == "D"
        assert found.ratio == pytest.approx(1.5 * (100 / 12 * 48) / (1.5 * 5.5) / (180 * 0.9))


def test_shear_is_largest_at_a_bearing_and_nothing_near_it_is_left_out():
    found = check(beam(96, "2x6 DF-L No.2", loads={"line": [line(60)]}))["M", "shear"]
    assert found.demand == pytest.approx(1.5 * (60 / 12 * 48) / 8.25)
    assert found.ratio == pytest.approx(found.demand / (180 * 1.15))
    assert found.at_in in (pytest.approx(0), pytest.approx(96))
    assert found.terms["V"] == pytest.approx(240)


class TestBearing:
    def test_the_reaction_bears_on_the_chord_without_load_duration(self):
        found = check(beam(96, "2x6 DF-L No.2", loads={"line": [line(60, "dead"), line(60)]}))["A", "bearing"]
        assert found.demand == pytest.approx(120 / 12 * 48 / (1.5 * 3.5))
        assert found.capacity == 625
        assert (found.of, found.combination, found.source, found.at_in) == ("bearing", "D + S", "NDS 3.10.2", None)
        assert found.terms["Cb"] == 1

    def test_every_ply_bears(self):
        found = check(beam(96, "2x6 DF-L No.2", plies=2, loads={"line": [line(60)]}))["A", "bearing"]
        assert found.demand == pytest.approx(60 / 12 * 48 / (3 * 3.5))

    def test_flat_lumber_bears_on_its_wide_face(self):
        member = {"id": "M", "role": "top_chord", "joints": ["A", "B"], "lumber": "2x4 DF-L No.2", "flat": True}
        found = check(beam(24, "2x4 DF-L No.2", members=[member], loads={"line": [line(60)]}))["A", "bearing"]
        assert found.demand == pytest.approx(60 / 12 * 12 / (3.5 * 3.5))

    def test_the_bottom_chord_bears_where_there_is_one(self):
        document = gable()
        for member in document["members"]:
            if member["role"] == "bottom_chord":
                member["lumber"] = "2x4 Hem-Fir No.2"
        found = check(document)["A", "bearing"]
        assert found.capacity == 405
        assert found.terms["lumber"] == "2x4 Hem-Fir No.2"

    def test_the_weaker_of_two_pieces_over_a_bearing_counts(self):
        document = beam(96, "2x6 DF-L No.2", loads={"line": [line(60), line(60, member="N")]})
        document["joints"]["C"] = [192, 0]
        document["members"].append({"id": "N", "role": "top_chord", "joints": ["B", "C"], "lumber": "2x6 Hem-Fir No.2"})
        document["bearings"].append({"joint": "C", "restrains": "y", "width_in": 3.5})
        found = check(document)
        assert found["A", "bearing"].capacity == 625
        assert found["B", "bearing"].capacity == 405

    def test_the_weaker_of_two_pieces_is_the_one_that_holds_less_on_its_whole_width(self):
        """405 psi on 3.5 in. of flat lumber hold 1417 lb/in, 625 psi on an edge of 1.5 in. only 937."""
        document = beam(24, "2x4 DF-L No.2", loads={"line": [line(60), line(60, member="N")]})
        document["joints"]["C"] = [48, 0]
        flat = {"id": "N", "role": "top_chord", "joints": ["B", "C"], "lumber": "2x4 Hem-Fir No.2", "flat": True}
        document["members"].append(flat)
        document["bearings"].append({"joint": "C", "restrains": "y", "width_in": 3.5})
        found = check(document)
        assert (found["C", "bearing"].capacity, found["C", "bearing"].terms["area"]) == (405, 3.5 * 3.5)
        assert (found["B", "bearing"].capacity, found["B", "bearing"].terms["area"]) == (625, 1.5 * 3.5)

    def test_a_bearing_pressed_by_less_than_a_pound_is_pressed(self):
        found = check(beam(96, "2x6 DF-L No.2", loads={"line": [line(0.1)]}))["A", "bearing"]
        assert found.demand == pytest.approx(0.1 / 12 * 48 / (1.5 * 3.5))

    def test_where_one_bearing_is_lifted_the_next_is_still_pressed(self):
        """100 lb at the tip of 36 in. beyond a span of 96: A is held down, B carries 100 · 132/96."""
        document = beam(96, "2x6 DF-L No.2", loads={"point": [{"case": "snow", "joint": "C", "down_lb": 100}]})
        document["joints"]["C"] = [132, 0]
        document["members"].append({"id": "N", "role": "top_chord", "joints": ["B", "C"], "lumber": "2x6 DF-L No.2"})
        found = check(document)
        assert ("A", "bearing") not in found
        assert found["B", "bearing"].terms["R"] == pytest.approx(100 * 132 / 96)

    def test_a_bearing_that_is_only_lifted_is_not_pressed_on(self):
        loads = {"area": [{"case": "wind", "chord": "top_chord", "psf": -30, "along": "normal"}]}
        assert ("A", "bearing") not in check(beam(96, "2x6 DF-L No.2", loads=loads))


def test_a_member_without_force_is_checked_for_nothing():
    """The king post of a truss without load on its bottom chord, hinged at the post, carries nothing."""
    document = gable(hinges=["A", "B", "C", "P"])
    del document["loads"]["area"][1]
    rules = {rule for of, rule in check(document) if of == "W"}
    assert rules == set()


def test_serviceability_is_deflection_and_nothing_else():
    assert frozenset({"live deflection", "total deflection"}) == SERVICEABILITY


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name)
def test_examples_give_checks_that_json_carries(path):
    found = check(json.loads(path.read_text()))
    assert found
    for one in found.values():
        text = json.dumps([one.demand, one.capacity, one.ratio, one.at_in, dict(one.terms)], allow_nan=False)
        assert len(text) > 10
        assert one.passes is (one.ratio <= 1 + 1e-9)
        assert 0 <= one.ratio < math.inf


def test_the_examples_are_there():
    assert len(EXAMPLES) == 15
