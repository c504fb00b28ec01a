"""What the members' checks show beside their ratios, and that the smallest forces are read right.

2x6 DF-L No.2: Fb 900, Fc 1350, Emin 580,000 psi (values.md §2.1); NDS 2015/2018.
"""

import pytest

from tests.beams import beam, check, check_together, line, push

LUMBER, E_MIN, AREA, MODULUS = "2x6 DF-L No.2", 580_000, 8.25, 1.5 * 5.5**2 / 6


def test_both_buckling_stresses_are_shown_each_with_its_own_length():
    """FcE = 0.822 Emin / (le/d)² (3.7.1): 96 in. over 5.5 in plane, 24 in. over 1.5 out of it."""
    terms = check(beam(96, LUMBER, restraint=24, loads={"point": [push(1000)]}))["M", "compression"].terms
    assert terms["FcE in plane"] == pytest.approx(0.822 * E_MIN / (96 / 5.5) ** 2)
    assert terms["FcE out of plane"] == pytest.approx(0.822 * E_MIN / (24 / 1.5) ** 2)


@pytest.mark.parametrize(("pounds", "rule"), [(0.5, "compression"), (-0.5, "tension")])
def test_half_a_pound_is_half_a_pound(pounds, rule):
    assert check(beam(96, LUMBER, loads={"point": [push(pounds)]}))["M", rule].demand == pytest.approx(0.5 / AREA)


@pytest.mark.parametrize(("way", "l_u"), [(1, 24), (-1, 96)])
def test_the_edge_in_compression_is_told_however_small_the_moment(way, l_u):
    """0.0005 plf over 8 ft make 0.05 in-lb; a top chord is held at 24 in. on its upper edge alone."""
    loads = {"line": [line(way * 0.0005)]}
    found = check(beam(96, LUMBER, restraint=24, loads=loads))["M", "bending"]
    assert found.demand == pytest.approx(0.0005 / 12 * 96**2 / 8 / MODULUS)
    assert found.at_in == pytest.approx(48)
    assert found.terms["lu"] == l_u


def test_of_the_smallest_moments_the_largest_governs():
    """0.001 lb at 24 in. and 0.002 lb in the middle of 96: M is 24 R and 48 R - 0.024, R = 0.00175 lb."""
    points = [{"case": "snow", "member": "M", "at_in": at, "down_lb": lb} for at, lb in ((24, 0.001), (48, 0.002))]
    found = check(beam(96, LUMBER, loads={"point": points}))["M", "bending"]
    assert found.demand == pytest.approx((48 * 0.00175 - 0.024) / MODULUS)
    assert found.at_in == pytest.approx(48)


@pytest.mark.parametrize(("way", "l_u"), [(1, 24), (-1, 96)])
def test_lateral_buckling_beside_compression_takes_the_edge_that_is_pressed(way, l_u):
    """Eq. 3.9-4: fc/FcE2 + (fb/FbE)², FbE = 1.2 Emin / RB² with le from Table 3.3.3."""
    found = check(beam(96, LUMBER, restraint=24, loads={"point": [push(600)], "line": [line(way * 60)]}))
    fb = 60 / 12 * 96**2 / 8 / MODULUS
    l_e = 2.06 * l_u if l_u < 7 * 5.5 else 1.84 * l_u
    f_be, f_ce2 = 1.2 * E_MIN * 1.5**2 / (l_e * 5.5), 0.822 * E_MIN / (24 / 1.5) ** 2
    terms = found["M", "compression and bending"].terms
    assert terms["eq. 3.9-4"] == pytest.approx(600 / AREA / f_ce2 + (fb / f_be) ** 2)


def test_nothing_is_worst_where_nothing_acts():
    found = check_together([beam(96, LUMBER)])
    assert found.worst.tolist() == [0]
    assert [(one.rule, one.demand) for one in found.of(0)] == [("total deflection", 0)]
