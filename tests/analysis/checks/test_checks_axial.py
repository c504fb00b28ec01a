"""Members pulled and pushed along their length, bent or not, against cases worked by hand (NDS 2015/2018).

2x4 and 2x6 DF-L No.2: Fb 900, Ft 575, Fc 1350, Emin 580,000 psi (values.md §2.1).
"""

import math

import pytest

from tests.beams import beam, check, gable, line, push
from tests.nds_by_hand import cl, cp
from trusses.analysis.analysis import analyse
from trusses.analysis.format.document import read
from trusses.analysis.redesign.search import _decides
from trusses.analysis.words import options
from trusses.analysis.words.phrases import tell


def worst_in_words(pounds):
    """What a search says of the worst check of a column that is bent a little."""
    loads = {"point": [push(pounds)], "line": [line(5)]}
    return tell(options.TOLD, _decides(analyse(read(beam(72, "2x4 DF-L No.2", restraint=None, loads=loads)))))


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
            second = (fb - ft) / (star * cl(star, 580_000, 144, 5.5, 1.5))
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
        found = self.column(restraint=None, plies=3, ply_fastening="nailed: 10d at 12 in., two rows")
        out_of_plane, in_plane = 0.6 * cp(self.STAR, 580_000, 72 / 4.5), cp(self.STAR, 580_000, 72 / 3.5)
        assert found["M", "compression"].terms["CP"] == pytest.approx(min(out_of_plane, in_plane))
        assert found["M", "slenderness"].terms["le/d out of plane"] == pytest.approx(16)

    @pytest.mark.parametrize(
        ("stated", "plies", "counts"),
        [
            ("nailed", 3, True),
            ("Bolted with 1/2 in. at 24 in.", 3, True),
            ("  nailed: 16d", 2, True),
            ("nailed: 16d", 5, True),
            ("nailed: 16d", 6, False),
            ("none", 3, False),
            ("not fastened", 3, False),
            ("not nailed", 3, False),
            ("?", 3, False),
            ("", 3, False),
            ("nailedly", 3, False),
        ],
    )
    def test_what_counts_as_fastened(self, stated, plies, counts):
        """NDS 15.3.1 to 15.3.4: 2 to 5 plies, nailed or bolted. Else each buckles over 72 in. by its own 1.5 in.; two
        nailed plies are 3 in., 0.6·CP(72/3) against CP(72/1.5): 0.6·0.4017 = 0.2410 > 0.1130."""
        found = self.column(restraint=None, plies=plies, ply_fastening=stated)
        alone = cp(self.STAR, 580_000, 72 / 1.5)
        together = min(0.6 * cp(self.STAR, 580_000, 72 / (1.5 * plies)), cp(self.STAR, 580_000, 72 / 3.5))
        assert together > 2 * alone
        assert found["M", "compression"].terms["CP"] == pytest.approx(together if counts else alone)

    def test_flat_lumber_buckles_in_plane_about_its_thickness(self):
        member = {"id": "M", "role": "top_chord", "joints": ["A", "B"], "lumber": "2x4 DF-L No.2", "flat": True}
        found = self.column(length=36, restraint=None, members=[member])["M", "compression"]
        assert found.capacity == pytest.approx(self.STAR * cp(self.STAR, 580_000, 36 / 1.5))

    @pytest.mark.parametrize(("ends", "foot"), [("AB", 0), ("BA", 100)])
    def test_an_upright_chord_under_a_load_along_it_is_pressed_most_at_its_foot(self, ends, foot):
        """1 lb/in down 100 in. of post, bent by nothing: N runs from 0 at the head to -100 lb at the foot."""
        area = {"case": "dead", "chord": "top_chord", "psf": 6, "along": "slope"}
        member = {"id": "M", "role": "top_chord", "joints": list(ends), "lumber": "2x4 DF-L No.2"}
        document = beam(100, "2x4 DF-L No.2", loads={"area": [area]}, members=[member])
        document["joints"] = {"A": [0, 0], "B": [0, 100]}
        document["bearings"][1]["restrains"] = "x"
        found = check(document)
        assert found["M", "compression"].demand == pytest.approx(100 / 5.25)
        assert found["M", "compression"].at_in == pytest.approx(foot)
        assert ("M", "bending") not in found

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

    def test_over_the_buckling_stress_it_buckles_by_what_the_loads_exceed_it(self):
        """2x4 at 6 ft, unbraced: FcE2 = 0.822·580000/48² = 206.9 psi; 1300 lb makes fc = 247.6 psi. All loads divided
        by the ratio just meet eq. 3.9-3, and that ratio is more than fc/FcE2."""

        def under(times):
            loads = {"point": [push(1300 * times)], "line": [line(5 * times)]}
            return check(beam(72, "2x4 DF-L No.2", restraint=None, loads=loads))["M", "compression and bending"]

        found = under(1)
        assert found.ratio > 1300 / 5.25 / (0.822 * 580_000 / 48**2)
        assert not found.passes
        assert found.terms["buckles"].startswith("fc is at or over FcE")
        assert "(it buckles), at " in worst_in_words(1300)
        assert "buckles" not in worst_in_words(900)
        assert "eq. 3.9-3" not in found.terms
        carried = under(1 / found.ratio)
        assert carried.ratio == pytest.approx(1)
        assert carried.terms["eq. 3.9-3"] == pytest.approx(1)
        assert "buckles" not in carried.terms
        ratios = [under(times).ratio for times in (0.5, 0.7, 0.8, 0.82, 0.84, 0.86, 1, 2, 4, 8)]
        assert ratios == sorted(ratios)
        assert ratios[-1] == pytest.approx(8 * found.ratio)

    def test_past_the_buckling_stress_the_moment_still_counts(self):
        """A bent rafter at 3:4 pushed along by 1000 lb at B: N = -1.25·1000 - 0.3·100 lb at its foot, where M = 0."""
        document = beam(80, "2x4 DF-L No.2", restraint=None, loads={"line": [line(15)], "point": [push(1000)]})
        document["joints"] = {"A": [0, 0], "B": [64, 48]}
        found = check(document)["M", "compression and bending"]
        # between the foot, where it is pressed most, and the middle, where it is bent most
        assert 0 < found.at_in < 40
        assert found.ratio > 1280 / 5.25 / (0.822 * 580_000 / (80 / 1.5) ** 2)

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
