"""ASCE 7-16 chapter 7, and what 7-22 changed (values.md §5.3): each number with its tag.

"From memory" means that no text was seen; "derived" that the number was computed for values.md by its formulas;
"secondary" that a text about the standard prints it, not the standard itself.
"""

import math

import pytest

from tests.refused import refused
from trusses.analysis.format.document import read
from trusses.analysis.loads.roof_planes import roof_of
from trusses.analysis.loads.snow import drifts, snow_loads
from trusses.analysis.loads.snow_rules import Site, SnowError, slope_factor
from trusses.analysis.shapes.shapes import build


def degrees(rise_in_12):
    return math.degrees(math.atan(rise_in_12 / 12))


def test_flat_roof_snow():
    """pf = 0.7 Ce Ct Is pg (7.3-1), secondary: pg 30, terrain B partly exposed, Ct 1, risk II gives 21.0 psf
    (xcfem/xc verif/tests/actions/snow/test_snowASCE7.py), and a public review of the standard prints 19.0575."""
    assert Site(30, exposure=1.0, thermal=1.0).flat_psf == pytest.approx(21.0, rel=1e-12)
    assert Site(25, exposure=0.9, thermal=1.1, importance=1.1).flat_psf == pytest.approx(19.0575, rel=1e-12)


@pytest.mark.parametrize(
    ("rise", "thermal", "factor"),
    [
        (9, 1.1, 1.0),
        (10, 1.1, 0.929),
        (12, 1.1, 0.769),
        (7, 1.0, 0.994),
        (8, 1.0, 0.908),
        (9, 1.0, 0.828),
        (10, 1.0, 0.755),
        (12, 1.0, 0.625),
    ],
)
def test_slope_factor_of_shingles(rise, thermal, factor):
    """Cs of "other" surfaces, derived in values.md §5.3; the lines themselves are from memory."""
    assert slope_factor(degrees(rise), thermal, slippery=False) == pytest.approx(factor, abs=5e-4)


@pytest.mark.parametrize(
    ("thermal", "slippery", "knee", "at_45"),
    [
        (0.85, False, 30, 1 - 15 / 40),
        (1.0, False, 30, 1 - 15 / 40),
        (1.0, True, 5, 1 - 40 / 65),
        (1.1, False, 37.5, 1 - 7.5 / 32.5),
        (1.1, True, 10, 1 - 35 / 60),  # secondary: eng-tips 165815, quoting ASCE C7.4
        (1.2, False, 45, 1.0),
        (1.2, True, 15, 1 - 30 / 55),
        (1.3, True, 15, 1 - 30 / 55),
    ],
)
def test_every_curve_of_the_slope_factor(thermal, slippery, knee, at_45):
    """Full up to the knee, straight to 0 at 70 degrees, 0 beyond; from memory but where noted."""
    assert slope_factor(knee, thermal, slippery) == 1
    assert slope_factor(0, thermal, slippery) == 1
    assert slope_factor(45, thermal, slippery) == pytest.approx(at_45, abs=1e-12)
    assert slope_factor(knee + 1, thermal, slippery) == pytest.approx(1 - 1 / (70 - knee), abs=1e-12)
    assert slope_factor(70, thermal, slippery) == slope_factor(80, thermal, slippery) == 0


@pytest.mark.parametrize(
    ("ground", "importance", "least"), [(15, 1.0, 15), (20, 1.0, 20), (20, 1.1, 22), (30, 1.0, 20), (50, 1.2, 24)]
)
def test_least_snow_of_low_slopes(ground, importance, least):
    """pm = Is pg up to 20 psf, else 20 Is (secondary)."""
    assert Site(ground, importance=importance).least_psf == pytest.approx(least)


@pytest.mark.parametrize(("rise", "psf"), [(3.2, 20.0), (3.25, 14.7)])
def test_the_least_snow_ends_at_15_degrees(rise, psf):
    """3.2 in 12 is 14.93 degrees, 3.25 is 15.16 (the limit is from memory); pf of 21 psf on the ground is 14.7."""
    roof = roof_of(read(build("w", span="28'", pitch=rise, arranged=False)))
    (balanced,) = [load for load in snow_loads(roof, Site(21, thermal=1.0)) if load["pattern"] == "balanced"]
    assert balanced["psf"] == psf


def test_the_drift_of_a_house():
    """values.md §5.3, derived: pg 30, W 20 ft, 6 in 12: hd 1.435 ft, 18.2 psf over 5.41 ft from the ridge."""
    site = Site(30)
    assert site.density_pcf == pytest.approx(17.9, rel=1e-12)
    assert site.drift_ft(20) == pytest.approx(1.435, abs=5e-4)
    psf, feet = site.surcharge(20, run=2)
    assert psf == pytest.approx(18.2, abs=0.05)
    assert feet == pytest.approx(5.41, abs=5e-3)
    # W is not less than 20 ft (from memory)
    assert site.drift_ft(12) == site.drift_ft(20) < site.drift_ft(20.01)
    assert Site(200).density_pcf == 30


@pytest.mark.parametrize(
    ("ground", "importance", "fetch", "height"),
    [(25, 1.1, 40, 2.1783), (25, 1.1, 60, 2.7212), (70, 1.2, 200, 6.5952), (15, 0.8, 100, 2.6501)],
)
def test_the_importance_factor_in_the_drift(ground, importance, fetch, height):
    """hd = sqrt(Is)(0.43 W^(1/3) (pg + 10)^(1/4) - 1.5): secondary, a public review of ASCE 7-16 Figure 7.6-1 prints
    these heights. values.md has the formula at Is 1."""
    assert Site(ground, importance=importance).drift_ft(fetch) == pytest.approx(height, abs=5e-5)


@pytest.mark.parametrize(("rise", "asked"), [(0.49, False), (0.5, True), (7, True), (7.05, False)])
def test_unbalanced_snow_between_half_and_seven_in_twelve(rise, asked):
    """2.38 to 30.2 degrees: values.md §5.3, from a university's published calculator."""
    roof = roof_of(read(build("w", span="28'", pitch=rise, heel_height=24, arranged=False)))
    assert drifts(roof.ridge) is asked


def test_the_truss_form_holds_at_any_width():
    """values.md §5.3: windward 0.3 ps, leeward ps and the rectangle, also under 20 ft (ASCE C7.6.1, from memory)."""
    for span in (20, 30, 60):
        roof = roof_of(read(build("w", span=span * 12, pitch=6, arranged=False)))
        left = [load for load in snow_loads(roof, Site(30, thermal=1.0)) if load["pattern"] == "left"]
        whole, windward, drift = left
        assert (whole["psf"], whole["to_x_in"]) == (21, span * 6)
        assert (windward["psf"], windward["from_x_in"]) == (6.3, span * 6)
        psf, feet = Site(30).surcharge(span / 2, run=2)
        assert drift["psf"] == pytest.approx(psf, abs=0.005)
        assert drift["from_x_in"] == pytest.approx(span * 6 - 12 * feet, abs=5e-5)
        assert drift["to_x_in"] == span * 6


@pytest.mark.parametrize(
    ("ground", "fetch", "wind", "height"),
    [
        (30, 30, 0.55, 2.469),
        (40, 240, 0.5, 5.063),
        (30, 60, 0.55, 3.147),
        (40, 100, 0.5, 3.727),
    ],
)
def test_the_drift_of_7_22(ground, fetch, wind, height):
    """hd = 1.5 sqrt(pg^0.74 W^0.70 W2^1.7 / gamma): secondary, a public review of ASCE 7-22 prints these heights,
    the first for the standard's own example 1."""
    site = Site(ground, snow_edition="7-22", winter_wind=wind)
    assert site.drift_ft(fetch) == pytest.approx(height, abs=1e-3)


def test_the_unbalanced_snow_of_7_22s_first_example():
    """Secondary, as above: 6 in 12, W 30 ft, pg 30, W2 0.55: 31.1 psf over 9.3 ft, before the 0.7 of ASD."""
    psf, feet = Site(30, snow_edition="7-22", winter_wind=0.55).surcharge(30, run=2)
    assert psf == pytest.approx(31.1, abs=0.2)  # the example rounds the height to 2.46 ft
    assert feet == pytest.approx(9.3, abs=0.05)


@pytest.mark.parametrize(
    ("importance", "least"), [(0.8, 25), (1.0, 30), (1.1, 35), (1.2, 40)], ids=("I", "II", "III", "IV")
)
def test_the_least_snow_of_7_22(importance, least):
    """Table 7.3-4 by risk category: secondary, as above. No importance factor in pf any more (values.md: memory)."""
    site = Site(80, thermal=1.2, importance=importance, snow_edition="7-22", winter_wind=0.4)
    assert site.least_psf == least
    assert site.flat_psf == pytest.approx(0.7 * 1.2 * 80)
    assert Site(12, importance=importance, snow_edition="7-22").least_psf == 12


@pytest.mark.parametrize(("thermal", "knee"), [(1.0, 30), (1.1, 30), (1.15, 37.5), (1.2, 45)])
def test_the_curves_of_7_22_belong_to_other_thermal_factors(thermal, knee):
    """§7.4.4 of 7-22: the warm curve up to Ct 1.1; secondary, as above."""
    assert slope_factor(knee, thermal, False, "7-22") == 1
    assert slope_factor(knee + 1, thermal, False, "7-22") == pytest.approx(1 - 1 / (70 - knee))


def test_ground_snow_at_strength_level_stands_in_asd_with_0_7():
    """values.md §5.1, from memory: ASCE 7-22 has D + 0.7 S. The document has no factor, so its load is the product."""
    roof = roof_of(read(build("w", span="60'", pitch=6, arranged=False)))
    site = Site(30, thermal=1.14, snow_edition="7-22", winter_wind=0.55)
    by_pattern = {
        name: [load["psf"] for load in snow_loads(roof, site) if load["pattern"] == name]
        for name in ("balanced", "left")
    }
    ps = 0.7 * 1.14 * 30
    assert by_pattern["balanced"] == [pytest.approx(0.7 * ps, abs=0.005)]
    drift = site.surcharge(30, 2)[0]
    assert by_pattern["left"] == [pytest.approx(0.7 * psf, abs=0.005) for psf in (ps, 0.3 * ps, drift)]


def test_a_cold_ventilated_attic_where_no_thermal_factor_is_given():
    """ASCE 7 Table 7.3-2: Ct 1.1 in 7-16 (values.md §5.3), 1.2 in 7-22 (secondary)."""
    assert (Site(30).ct, Site(30, snow_edition="7-22").ct, Site(30, thermal=1.0).ct) == (1.1, 1.2, 1.0)
    for wind in (0.1, 0.9):
        assert Site(30, snow_edition="7-22", winter_wind=wind).winter_wind == wind
    for wind in (0.09, 0.91):
        with refused(SnowError, "snow-number", "winter_wind", least=0.1, most=0.9):
            Site(30, snow_edition="7-22", winter_wind=wind)
    with refused(SnowError, "snow-number", "ground_snow", least=0, most=400):
        Site(0)
