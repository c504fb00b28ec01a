"""The clauses one by one: step tables from values.md §1.3 and §1.4, and limits that no published example reaches."""

import math

import numpy as np
import pytest

from trusses.analysis.checks import nds


@pytest.mark.parametrize(
    ("width", "fb", "ft", "fc"),
    [
        (2, 1.5, 1.5, 1.15),
        (3, 1.5, 1.5, 1.15),
        (4, 1.5, 1.5, 1.15),
        (5, 1.4, 1.4, 1.1),
        (6, 1.3, 1.3, 1.1),
        (8, 1.2, 1.2, 1.05),
        (10, 1.1, 1.1, 1.0),
        (12, 1.0, 1.0, 1.0),
        (14, 0.9, 0.9, 0.9),
    ],
)
def test_size_factor_is_a_step_table_on_nominal_width(width, fb, ft, fc):
    """NDS Supplement Table 4A, as values.md has it from a copy §1.3 (F2)."""
    assert nds.size_factor("visual", width) == nds.SizeFactor(fb, ft, fc)
    assert nds.size_factor("southern pine", width) == nds.SizeFactor(1, 1, 1)
    assert nds.size_factor("msr", width) == nds.SizeFactor(1, 1, 1)


def test_size_factor_of_stud():
    assert nds.size_factor("visual", 4, stud=True) == nds.SizeFactor(1.1, 1.1, 1.05)
    assert nds.size_factor("visual", 5, stud=True) == nds.SizeFactor(1, 1, 1)
    assert nds.size_factor("visual", 6, stud=True) == nds.SizeFactor(1, 1, 1)
    with pytest.raises(ValueError, match=r"No\.3"):
        nds.size_factor("visual", 8, stud=True)


@pytest.mark.parametrize(
    ("width", "cfu"), [(3, 1.0), (4, 1.10), (5, 1.10), (6, 1.15), (8, 1.15), (10, 1.20), (12, 1.20)]
)
def test_flat_use_factor(width, cfu):
    """values.md §1.4 (F2); 1.0 up to 3 in. from memory."""
    assert nds.flat_use_factor(width) == cfu


@pytest.mark.parametrize(
    ("l_u", "l_e"),
    [
        (0.0, 0.0),
        (24.0, 2.06 * 24),
        (24.5, 1.63 * 24.5 + 3 * 3.5),
        (50.05, 1.63 * 50.05 + 3 * 3.5),
        (50.06, 1.84 * 50.06),
        (120.0, 1.84 * 120),
    ],
)
def test_effective_length_changes_its_formula_at_7_and_over_14_3_depths(l_u, l_e):
    """Table 3.3.3 footnote 1, loads that are not in the table (values.md §1.5, from memory), 3.5 in. deep."""
    assert nds.effective_length(l_u, 3.5) == pytest.approx(l_e, rel=1e-12)


def test_what_is_held_throughout_neither_buckles_nor_rolls():
    assert nds.critical_buckling(510_000, 0.0) == math.inf
    assert nds.column_stability(1520.9, math.inf) == 1
    assert nds.beam_buckling(510_000, 0.0) == math.inf
    assert nds.beam_stability(2000.0, math.inf) == 1


def test_a_slender_column_takes_its_buckling_stress_and_a_stocky_one_its_strength():
    assert nds.column_stability(2000.0, 20.0) * 2000 == pytest.approx(20.0, rel=0.01)
    assert nds.column_stability(20.0, 2000.0) == pytest.approx(1.0, rel=0.01)


def test_slenderness_takes_the_larger_of_the_two_axes():
    clause = nds.slenderness(np.array([40.0, 10.0]), np.array([20.0, 60.0]))
    assert clause.demand.tolist() == [40, 60]
    assert clause.ratio.tolist() == [0.8, 1.2]


def test_bending_fails_where_the_slenderness_of_the_beam_is_over_fifty():
    assert nds.bending(10.0, 1000.0, 0.5, 50.0).ratio == pytest.approx(0.02)
    assert nds.bending(10.0, 1000.0, 0.5, 60.0).ratio == pytest.approx(1.2)
    assert nds.bending(10.0, 1000.0, 0.5).factors["RB"] == 0


def test_bearing_is_the_reaction_over_the_area_and_takes_nothing_for_its_length():
    """NDS 3.10.2; Cb 1 at the end of a member (values.md §1.7)."""
    clause = nds.bearing(1050.0, 5.25, 625.0)
    assert (clause.demand, clause.capacity, clause.ratio) == (200, 625, 0.32)
    assert clause.factors == {"R": 1050, "area": 5.25, "Cb": 1}


def test_tension_takes_up_bending_compression_only_on_the_edge_that_is_compressed():
    clause = nds.bending_and_tension(100.0, 500.0, 900.0, 1000.0, 400.0)
    assert clause.factors["eq. 3.9-1"] == pytest.approx(100 / 500 + 900 / 1000)
    assert clause.factors["eq. 3.9-2"] == pytest.approx((900 - 100) / 400)
    assert clause.ratio == pytest.approx(2.0)
    assert nds.bending_and_tension(400.0, 500.0, 300.0, 1000.0, 400.0).ratio == pytest.approx(1.1)


class TestBendingAndCompression:
    def ratio(self, fc, fb1, f_ce1=1000.0, **more):
        return nds.bending_and_compression(fc, 400.0, fb1, 1500.0, f_ce1, **more).ratio

    def test_equation(self):
        assert self.ratio(200.0, 600.0) == pytest.approx(0.5**2 + 600 / (1500 * 0.8))

    def test_without_bending_only_the_square_is_left(self):
        assert self.ratio(200.0, 0.0) == pytest.approx(0.25)

    def test_past_its_pole_the_ratio_is_what_the_loads_exceed_it_by(self):
        """fc/Fc' 1, fb/Fb' 0.6, fc/FcE1 1.2. Half of it: (1/2)² + 0.3/(1 - 0.6) = 0.25 + 0.75 = 1: a ratio of 2."""
        clause = nds.bending_and_compression(400.0, 400.0, 900.0, 1500.0, 400 / 1.2)
        assert clause.ratio == pytest.approx(2)
        assert clause.factors["eq. 3.9-3"] == np.inf

    def test_before_its_pole_the_plain_value_stands_beside_the_ratio(self):
        """fc/Fc' 0.8, fb/Fb' 0.5, fc/FcE1 0.5: 0.64 + 0.5/0.5 = 1.64; 0.64/s² + 0.5/(s - 0.5) is 1 at s = 1.3027."""
        clause = nds.bending_and_compression(400.0, 500.0, 750.0, 1500.0, 800.0)
        assert clause.factors["eq. 3.9-3"] == pytest.approx(1.64)
        assert clause.ratio == pytest.approx(1.3027, abs=5e-5)

    @pytest.mark.parametrize("sideways", [{}, {"fb2": 60.0, "fb2_prime": 1200.0}])
    @pytest.mark.parametrize("bent", [0.0, 1e-9, 3.0, 400.0])
    @pytest.mark.parametrize(("f_ce1", "f_ce2"), [(400, np.inf), (900, 500), (450, 600), (np.inf, 300)])
    def test_it_grows_steadily_with_the_load_and_passes_through_one(self, f_ce1, f_ce2, bent, sideways):
        """From a thousandth to thirty times the load. Over 1 the loads divided by it just meet the clause."""

        def of(times):
            more = {"fb2": sideways["fb2"] * times, "fb2_prime": sideways["fb2_prime"]} if sideways else {}
            return nds.bending_and_compression(
                200.0 * times, 280.0, bent * times, 1500.0, f_ce1, f_ce2=f_ce2, f_be=2000.0, **more
            )

        times = np.geomspace(1e-3, 30, 4000)
        ratio = of(times).ratio
        assert np.isfinite(ratio).all()
        assert (np.diff(ratio) > 0).all()
        # no leap: a step of 0.26 % of the load moves the ratio by a few times that at most
        assert np.diff(np.log(ratio)).max() < 0.015
        over = ratio > 1
        assert over.any()
        assert ratio[over] / times[over] == pytest.approx(np.full(over.sum(), (ratio / times)[over][0]), rel=1e-9)
        # the load at which the clause is just met, found by halving
        low, high = 0.0, 30.0
        for _ in range(100):
            middle = (low + high) / 2
            low, high = (middle, high) if of(middle).ratio <= 1 else (low, middle)
        assert ratio[over][0] == pytest.approx(times[over][0] / low, rel=1e-6)

    def test_a_condition_that_can_fail_first_counts_on_the_way_there(self):
        """Eq. 3.9-4: 0.5 + (750/1000)² = 1.0625 where eq. 3.9-3 alone would pass: s² = 0.5 s + 0.5625. At fb 700 it is
        0.99, and eq. 3.9-3 0.25 + 700/1500 = 0.717. Whether it can fail first follows from fc = Fc', fb = Fb', which
        eq. 3.9-3 lets no stress exceed: 500/1000 + (1500/1800)² = 1.19 could, 500/1000 + (1500/2200)² = 0.96 not."""
        within = nds.bending_and_compression(250.0, 500.0, 700.0, 1500.0, np.inf, f_ce2=500.0, f_be=1000.0)
        assert within.factors["eq. 3.9-4"] == pytest.approx(0.99)
        assert within.factors["eq. 3.9-3"] == pytest.approx(0.25 + 700 / 1500)
        assert within.ratio == pytest.approx(0.99)
        light = {"fc": 100.0, "fc_prime": 500.0, "fb1": 15.0, "fb1_prime": 1500.0, "f_ce1": np.inf, "f_ce2": 1000.0}
        assert nds.bending_and_compression(**light, f_be=1800.0).ratio == pytest.approx(0.1 + (15 / 1800) ** 2)
        assert nds.bending_and_compression(**light, f_be=2200.0).ratio == pytest.approx(0.04 + 0.01)
        beyond = nds.bending_and_compression(250.0, 500.0, 750.0, 1500.0, np.inf, f_ce2=500.0, f_be=1000.0)
        assert beyond.factors["eq. 3.9-4"] == pytest.approx(1.0625)
        assert beyond.ratio == pytest.approx(0.25 + (0.0625 + 0.5625) ** 0.5)

    def test_the_buckling_stress_counts_on_the_way_where_ct_has_fc_prime_over_it(self):
        """FcE1 without CT 400 psi, Fc' with it 500 psi, no bending at this place: (fc/500)² is 0.64 at fc 400 psi,
        where fc < FcE1 isn't met any more."""
        ratio = [
            float(nds.bending_and_compression(fc, 500.0, 0.0, 1500.0, 400.0).ratio)
            for fc in (200.0, 399.9, 400.0, 800.0)
        ]
        assert ratio == pytest.approx([0.5, 0.99975, 1.0, 2.0])
        assert ratio[2] > 1 + 1e-9
        assert float(nds.bending_and_compression(200.0, 390.0, 0.0, 1500.0, 400.0).ratio) == pytest.approx(
            (200 / 390) ** 2
        )

    def test_where_the_condition_is_not_met_the_larger_of_both_equations_counts(self):
        """As before, and eq. 3.9-3 with a weak Fb', 0.25 + 750/600 = 1.5: s² = 0.25 + 1.25 s."""
        clause = nds.bending_and_compression(250.0, 500.0, 750.0, 600.0, np.inf, f_ce2=500.0, f_be=1000.0)
        assert clause.ratio == pytest.approx(0.625 + (0.625**2 + 0.25) ** 0.5)

    def test_a_condition_of_just_one_is_not_met(self):
        """Eq. 3.9-4 reads "less than 1": 0.75 + (500/1000)² is 1, where eq. 3.9-3 gives 0.25 + 500/1500."""
        of_one = {"f_ce2": 500.0, "f_be": 1000.0}
        ratio = nds.bending_and_compression(375.0, 750.0, 500.0, 1500.0, np.inf, **of_one).ratio
        assert ratio == pytest.approx(1)
        assert ratio > 1 + 1e-9

    def test_places_bent_sideways_and_not_are_each_as_if_alone(self):
        """Two conditions, one of them just not met, each without and with bending about the second axis."""
        fc, fb1 = np.array([[375.0], [250.0]]), 500.0
        fb2 = np.array([0.0, 10.0])
        rest = {"fb2_prime": 1000.0, "f_ce2": 500.0, "f_be": 1000.0}
        together = nds.bending_and_compression(fc, 750.0, fb1, 1500.0, np.inf, fb2=fb2, **rest).ratio
        for i, pushed in enumerate((375.0, 250.0)):
            for j, sideways in enumerate((0.0, 10.0)):
                alone = nds.bending_and_compression(pushed, 750.0, fb1, 1500.0, np.inf, fb2=sideways, **rest).ratio
                assert together[i, j] == alone
        # eq. 3.9-4 is 250/500 + (500/1000)², and more than eq. 3.9-3 of 1/9 + 1/3 (+ 10 / (1000 · 0.25))
        assert together[1].tolist() == pytest.approx([0.75, 0.75])
        # (0.5/s)² + (1/3)/s + 0.01/(s - 0.75 - 0.25/s) is 1 at s = 1.0186
        assert together[0] == pytest.approx([1, 1.0186], abs=1e-4)

    def test_the_least_bending_sideways_counts(self):
        """Half a psi against Fb2' 2 psi: (200/400)² + 0.5 / (2 · (1 - 200/800))."""
        assert self.ratio(200.0, 0.0, fb2=0.5, fb2_prime=2.0, f_ce2=800.0) == pytest.approx(0.25 + 1 / 3)

    def test_bending_about_both_axes_has_no_value_where_the_condition_is_used_up(self):
        """Eq. 3.9-4 is 0.25 + 0.81 = 1.06. Divided by the ratio s the stresses make eq. 3.9-3 just 1."""
        clause = nds.bending_and_compression(
            100.0, 500.0, 900.0, 1500.0, np.inf, fb2=10.0, fb2_prime=1000.0, f_ce2=400.0, f_be=1000.0
        )
        s = clause.ratio
        assert s > 0.125 + (0.125**2 + 0.81) ** 0.5
        assert (0.2 / s) ** 2 + 0.6 / s + 0.01 / (s - 0.25 - 0.81 / s) == pytest.approx(1)
        assert clause.factors["eq. 3.9-3"] == np.inf


def test_built_up_columns_are_never_weaker_than_their_plies():
    """NDS 15.3.2 (Kf 0.6 for nailing: values.md §3.7; the "not less than each by itself" from memory)."""
    short = nds.built_up_stability(1500.0, 510_000, 12.0, 1.5, 3.0)
    alone = nds.column_stability(1500.0, 0.822 * 510_000 / 8**2)
    assert short == pytest.approx(alone)
    assert alone > 0.6
    slender = nds.built_up_stability(1500.0, 510_000, 90.0, 1.5, 3.0)
    assert slender == pytest.approx(0.6 * nds.column_stability(1500.0, 0.822 * 510_000 / 30**2))
    assert nds.built_up_stability(1500.0, 510_000, 90.0, 1.5, 1.5) == pytest.approx(
        nds.column_stability(1500.0, 0.822 * 510_000 / 60**2)
    )


def test_arrays_broadcast():
    cp = nds.column_stability(np.array([[1000.0], [2000.0]]), np.array([500.0, 1000.0, 4000.0]))
    assert cp.shape == (2, 3)
    for i, star in enumerate((1000.0, 2000.0)):
        for j, f_ce in enumerate((500.0, 1000.0, 4000.0)):
            assert cp[i, j] == pytest.approx(float(nds.column_stability(star, f_ce)))
