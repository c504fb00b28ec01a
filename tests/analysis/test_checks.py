"""The checks of whole documents against cases worked by hand; formulas written out here, not taken from the code.

NDS 2015/2018; the clause numbers stand beside the lines. Simple-span statics: wL²/8, wL/2, PL/4.
"""

import json
import math
from pathlib import Path

import pytest

from tests.beams import beam, check, gable, line, push
from trusses.analysis.checks import SERVICEABILITY

EXAMPLES = sorted(Path(__file__).with_name("examples").glob("E*.truss.json"))

DF = {"fb": 900, "ft": 575, "fv": 180, "fc": 1350, "e_min": 580_000}  # DF-L No.2, values.md §2.1


def cp(fc_star, e_min, slenderness):  # 3.7.1
    a = 0.822 * e_min / slenderness**2 / fc_star
    half = (1 + a) / 1.6
    return half - math.sqrt(half**2 - a / 0.8)


def cl(fb_star, e_min, l_u, depth, breadth):  # 3.3.3, uniform load
    l_e = 2.06 * l_u if l_u / depth < 7 else 1.63 * l_u + 3 * depth
    a = 1.2 * e_min / (l_e * depth / breadth**2) / fb_star
    half = (1 + a) / 1.9
    return half - math.sqrt(half**2 - a / 0.95)


class TestBending:
    """2x6 DF-L No.2, 8 ft, 60 plf: M = 5760 in-lb, S = 1.5·5.5²/6 = 7.5625 in³, CF 1.3."""

    FB = 60 / 12 * 96**2 / 8 / (1.5 * 5.5**2 / 6)

    def beam(self, plf=60, case="snow", **more):
        return beam(96, "2x6 DF-L No.2", loads={"line": [line(plf, case)]}, **more)

    def test_sagging_top_chord_is_restrained_at_its_spacing(self):
        found = check(self.beam(restraint=24))["M", "bending"]
        star = 900 * 1.3 * 1.15 * 1.15
        assert found.demand == pytest.approx(self.FB)
        assert found.capacity == pytest.approx(star * cl(star, DF["e_min"], 24, 5.5, 1.5))
        assert found.ratio == pytest.approx(found.demand / found.capacity)
        assert (found.combination, found.at_in, found.source) == ("D + S", pytest.approx(48), "NDS 3.3.1")
        assert found.terms["CD"] == 1.15
        assert (found.terms["Cr"], found.terms["CF"], found.terms["lu"]) == (1.15, 1.3, 24)
        assert found.terms["CL"] == pytest.approx(cl(star, DF["e_min"], 24, 5.5, 1.5))

    def test_lifted_top_chord_is_restrained_at_its_joints(self):
        loads = {"area": [{"case": "wind", "chord": "top_chord", "psf": -30, "along": "normal"}]}
        found = check(beam(96, "2x6 DF-L No.2", restraint=24, loads=loads))["M", "bending"]
        star = 900 * 1.3 * 1.15 * 1.6
        assert found.demand == pytest.approx(0.6 * self.FB)
        assert found.capacity == pytest.approx(star * cl(star, DF["e_min"], 96, 5.5, 1.5))
        assert found.terms["lu"] == 96

    def test_sagging_bottom_chord_is_restrained_at_its_joints(self):
        found = check(self.beam(role="bottom_chord", restraint=24))["M", "bending"]
        star = 900 * 1.3 * 1.15 * 1.15
        assert found.capacity == pytest.approx(star * cl(star, DF["e_min"], 96, 5.5, 1.5))

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
        found = check(self.beam(**{"restraint": 24} | more))["M", "bending"]
        assert found.terms["Cr"] == cr
        shallow = 900 * 1.3 * 1.15 * cr * found.terms["CL"]
        assert found.capacity == pytest.approx(shallow)

    def test_a_beam_too_slender_to_stand_fails_however_little_it_carries(self):
        """2x12, 24 ft, held at its ends: le = 1.63·288 + 3·11.25 = 503.19, RB = sqrt(le·11.25/1.5²) = 50.16."""
        found = check(beam(288, "2x12 DF-L No.2", restraint=None, loads={"line": [line(1)]}))["M", "bending"]
        r_b = math.sqrt((1.63 * 288 + 3 * 11.25) * 11.25 / 1.5**2)
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


class TestTension:
    def test_tension_alone(self):
        found = check(beam(96, "2x4 DF-L No.2", loads={"point": [push(-3000)]}))
        assert found["M", "tension"].demand == pytest.approx(3000 / 5.25)
        assert found["M", "tension"].capacity == pytest.approx(575 * 1.5 * 1.15)
        assert ("M", "compression") not in found
        assert ("M", "slenderness") not in found

    def test_ratio_of_exactly_one_passes_and_a_hair_more_fails(self):
        capacity = 575 * 1.5 * 1.15 * 5.25
        at_limit = check(beam(96, "2x4 DF-L No.2", loads={"point": [push(-capacity * (1 + 2e-10))]}))["M", "tension"]
        over = check(beam(96, "2x4 DF-L No.2", loads={"point": [push(-capacity * (1 + 1e-8))]}))["M", "tension"]
        assert (at_limit.passes, over.passes) == (True, False)

    def test_tension_with_bending_takes_both_expressions(self):
        """A long tie held only at its ends: the compressed edge (eq. 3.9-2) governs under little tension."""
        for pull in (200, 6000):
            loads = {"point": [push(-pull)], "line": [line(40)]}
            found = check(beam(144, "2x6 DF-L No.2", restraint=None, loads=loads))["M", "bending and tension"]
            fb, ft = 40 / 12 * 144**2 / 8 / (1.5 * 5.5**2 / 6), pull / 8.25
            star = 900 * 1.3 * 1.15
            first = ft / (575 * 1.3 * 1.15) + fb / star
            second = (fb - ft) / (star * cl(star, DF["e_min"], 144, 5.5, 1.5))
            assert found.ratio == pytest.approx(max(first, second))
            assert (second > first) == (pull == 200)
            assert found.capacity == 1
            assert found.demand == found.ratio
            assert found.at_in == pytest.approx(72)


class TestCompression:
    """2x4 DF-L No.2, 6 ft, 1500 lb: Fc* = 1350·1.15·1.15."""

    STAR = 1350 * 1.15 * 1.15

    def column(self, pounds=1500, length=72, lumber="2x4 DF-L No.2", **more):
        return check(beam(length, lumber, loads={"point": [push(pounds)]}, **more))

    def test_braced_out_of_plane_it_buckles_in_plane(self):
        found = self.column(restraint=12)["M", "compression"]
        assert found.demand == pytest.approx(1500 / 5.25)
        assert found.capacity == pytest.approx(self.STAR * cp(self.STAR, 580_000, 72 / 3.5))
        assert (found.terms["le in plane"], found.terms["le out of plane"]) == (72, 12)

    def test_unbraced_it_buckles_sideways(self):
        found = self.column(restraint=None)
        assert found["M", "compression"].capacity == pytest.approx(self.STAR * cp(self.STAR, 580_000, 48))
        assert found["M", "slenderness"].demand == pytest.approx(48)
        assert found["M", "slenderness"].ratio == pytest.approx(48 / 50)
        assert found["M", "slenderness"].at_in is None

    def test_slenderness_over_fifty_fails_under_any_compression(self):
        found = self.column(pounds=1, length=76, restraint=None)["M", "slenderness"]
        assert found.ratio == pytest.approx(76 / 1.5 / 50)
        assert not found.passes

    def test_loose_plies_buckle_sideways_one_by_one(self):
        found = self.column(restraint=None, plies=3)["M", "compression"]
        assert found.demand == pytest.approx(1500 / 15.75)
        assert found.capacity == pytest.approx(self.STAR * cp(self.STAR, 580_000, 72 / 1.5))

    def test_fastened_plies_buckle_as_one_with_the_factor_of_a_built_up_column(self):
        """15.3.2, Kf 0.6: out of plane 0.6·CP(72/4.5), the smaller; in plane CP(72/3.5)."""
        found = self.column(restraint=None, plies=3, ply_fastening="10d nails at 12 in., two rows")
        out_of_plane, in_plane = 0.6 * cp(self.STAR, 580_000, 72 / 4.5), cp(self.STAR, 580_000, 72 / 3.5)
        assert found["M", "compression"].terms["CP"] == pytest.approx(min(out_of_plane, in_plane))
        assert found["M", "slenderness"].terms["le/d out of plane"] == pytest.approx(16)

    def test_flat_lumber_buckles_in_plane_about_its_thickness(self):
        member = {"id": "M", "role": "top_chord", "joints": ["A", "B"], "lumber": "2x4 DF-L No.2", "flat": True}
        found = self.column(length=36, restraint=None, members=[member])["M", "compression"]
        assert found.capacity == pytest.approx(self.STAR * cp(self.STAR, 580_000, 36 / 1.5))

    def test_a_force_that_grows_along_the_member_governs_where_it_is_largest(self):
        """A rafter standing on A at 3:4, dead load along it: N = -w·L·sin α at the foot, where B can't hold it."""
        document = beam(80, "2x4 DF-L No.2", restraint=12, loads={"line": [line(60)]})
        document["joints"] = {"A": [0, 0], "B": [64, 48]}
        found = check(document)["M", "compression"]
        # B holds up only: its reaction w·L/2 up has a part along the member, as has the load
        total = 60 / 12 * 80
        at_foot, at_top = total * 0.6 - total / 2 * 0.6, -total / 2 * 0.6
        assert at_foot > at_top
        assert found.at_in == pytest.approx(0)
        assert found.demand == pytest.approx(at_foot / 5.25)


class TestCompressionAndBending:
    def test_both_with_the_moment_magnified(self):
        """3.9.2: 2x6 DF-L No.2, 8 ft, 1200 lb and 50 plf, held at 24 in. sideways."""
        loads = {"point": [push(1200)], "line": [line(50)]}
        found = check(beam(96, "2x6 DF-L No.2", restraint=24, loads=loads))["M", "compression and bending"]
        star, fb_star = 1350 * 1.1 * 1.15, 900 * 1.3 * 1.15 * 1.15
        fc, fb = 1200 / 8.25, 50 / 12 * 96**2 / 8 / (1.5 * 5.5**2 / 6)
        fc_prime = star * min(cp(star, 580_000, 96 / 5.5), cp(star, 580_000, 24 / 1.5))
        fb_prime = fb_star * cl(fb_star, 580_000, 24, 5.5, 1.5)
        f_ce1 = 0.822 * 580_000 / (96 / 5.5) ** 2
        assert found.ratio == pytest.approx((fc / fc_prime) ** 2 + fb / (fb_prime * (1 - fc / f_ce1)))
        assert (found.demand, found.capacity) == (found.ratio, 1)
        assert found.at_in == pytest.approx(48)
        assert found.terms["fc"] == pytest.approx(fc)
        assert found.terms["fb"] == pytest.approx(fb)
        assert (found.source, found.combination) == ("NDS 3.9.2", "D + S")

    def test_the_published_beam_column_through_the_whole_pipeline(self):
        """AWC E1.7 (values.md §3.3), D+S+W: 1400 lb and 100 plf of wind under CD 1.6, as D + 0.6W of 100/0.6 plf."""
        wind = {"case": "wind", "chord": "top_chord", "psf": 25 / 0.6, "along": "normal"}
        document = beam(
            108,
            "2x6 SP No.1",
            spacing=48,
            restraint=0,
            loads={"area": [wind], "point": [{"case": "dead", "joint": "B", "down_lb": 1400}]},
        )
        document["joints"] = {"A": [0, 0], "B": [0, 108]}
        document["bearings"][1]["restrains"] = "x"
        found = check(document)["M", "compression and bending"]
        assert found.combination == "D + 0.6W"
        assert found.ratio == pytest.approx(0.887, abs=5e-4)
        assert found.terms["CP"] == pytest.approx(0.4326, abs=6e-5)
        assert found.terms["fb"] == pytest.approx(1606.6, abs=0.1)
        assert found.terms["fc"] == pytest.approx(169.70, abs=0.006)
        assert found.at_in == pytest.approx(54)

    def test_over_the_buckling_stress_the_ratio_is_its_share_and_fails(self):
        """2x4 at 6 ft, unbraced: FcE2 = 0.822·580000/48² = 206.9 psi; 1300 lb makes fc = 247.6 psi."""
        loads = {"point": [push(1300)], "line": [line(5)]}
        found = check(beam(72, "2x4 DF-L No.2", restraint=None, loads=loads))["M", "compression and bending"]
        assert found.ratio == pytest.approx(1300 / 5.25 / (0.822 * 580_000 / 48**2))
        assert not found.passes

    def test_the_largest_share_of_the_buckling_stress_counts_where_the_moment_is_zero_too(self):
        """A bent rafter at 3:4 pushed along by 1000 lb at B: N = -1.25·1000 - 0.3·100 lb at its foot, where M = 0."""
        document = beam(80, "2x4 DF-L No.2", restraint=None, loads={"line": [line(15)], "point": [push(1000)]})
        document["joints"] = {"A": [0, 0], "B": [64, 48]}
        found = check(document)["M", "compression and bending"]
        assert found.at_in == pytest.approx(0)
        assert found.ratio == pytest.approx(1280 / 5.25 / (0.822 * 580_000 / (80 / 1.5) ** 2))

    def test_a_web_bends_under_a_load_on_it(self):
        document = gable()
        document["joints"] |= {"B": [80, 0]}
        document["loads"]["line"] = [line(100, "snow", member="W")]
        found = check(document)
        (a, b) = (80, 0), (96, 32)
        length = math.hypot(b[0] - a[0], b[1] - a[1])
        across = 100 / 12 * (b[0] - a[0]) / length
        assert found["W", "bending"].demand == pytest.approx(across * length**2 / 8 / (1.5 * 3.5**2 / 6))
        assert found["W", "bending"].terms["Cr"] == 1.0
        assert found["W", "bending"].terms["lu"] == pytest.approx(length)


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
