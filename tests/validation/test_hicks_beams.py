"""Hicks, Civil Engineering Formulas, pages 24 and 66 and Table 2.1: beams under uniform load.

digilib.universitaspertamina.ac.id/ebook/Civil%20Engineering%20Formulas (page55, page66, page96/97). Coefficients of wL,
wL² and wL⁴/EI as printed; those printed to three or four decimals are held to half a unit of the last.
"""

import pytest

from tests.frames import EI_2X4, beam

W, L = 4.0, 96.0
WL, WL2, DEFLECTION = W * L, W * L**2, W * L**4 / EI_2X4


def test_two_equal_spans():
    two = beam([L, L], {1: W, 2: W})
    assert [r / WL for r in two.up] == pytest.approx([0.375, 1.25, 0.375])
    assert two.response.end_moment[0, 0] / WL2 == pytest.approx([0, -0.125])
    assert two.moment("S1", 0.375 * L) / WL2 == pytest.approx(0.0703, abs=5e-5)


def test_propped_cantilever_is_one_of_two_equal_spans():
    """By symmetry the middle bearing of two equal spans doesn't turn: it fixes the end of each."""
    two = beam([L, L], {1: W, 2: W})
    response = two.response
    assert response.end_shear[0, 0] / WL == pytest.approx([3 / 8, 5 / 8])
    assert response.end_moment[0, 0, 1] / WL2 == pytest.approx(-1 / 8)
    assert two.moment("S1", 3 / 8 * L) / WL2 == pytest.approx(9 / 128)
    assert two.sag("S1", 0.4215 * L) / DEFLECTION == pytest.approx(0.0054, abs=5e-5)
    assert two.sag("S1", 0.4215 * L) / DEFLECTION == pytest.approx(1 / 185, rel=2e-3)


def test_fixed_at_both_ends_is_the_middle_of_very_many_equal_spans():
    """An end's influence fades by 2 - √3 a span, to 1e-11 over twenty: in the middle span it is nothing."""
    many = beam([L] * 41, dict.fromkeys(range(1, 42), W))
    response, middle = many.response, many.truss.member_index["S21"]
    assert response.end_moment[0, middle] / WL2 == pytest.approx([-1 / 12, -1 / 12], abs=1e-9)
    assert many.moment("S21", L / 2) / WL2 == pytest.approx(1 / 24, abs=1e-9)
    assert many.sag("S21", L / 2) / DEFLECTION == pytest.approx(1 / 384, abs=1e-9)


def test_three_equal_spans():
    three = beam([L] * 3, dict.fromkeys((1, 2, 3), W))
    assert [r / WL for r in three.up] == pytest.approx([0.4, 1.1, 1.1, 0.4])
    assert three.response.end_moment[0, :, 1] / WL2 == pytest.approx([-0.1, -0.1, 0])
    assert three.response.peak_moment[0, 0] / WL2 == pytest.approx(-0.1)
    assert three.moment("S1", 0.4 * L) / WL2 == pytest.approx(0.08)
    assert three.moment("S2", 0.5 * L) / WL2 == pytest.approx(0.025)
    assert three.sag("S1", 0.446 * L) / DEFLECTION == pytest.approx(0.0069, abs=5e-5)


def test_four_equal_spans():
    four = beam([L] * 4, dict.fromkeys((1, 2, 3, 4), W))
    assert [r / WL for r in four.up] == pytest.approx([11 / 28, 32 / 28, 26 / 28, 32 / 28, 11 / 28])
    assert four.response.end_moment[0, :3, 1] / WL2 == pytest.approx([-3 / 28, -2 / 28, -3 / 28])
    assert four.moment("S1", 11 / 28 * L) / WL2 == pytest.approx(0.0772, abs=5e-5)
    # at 15/28 of the second span the shear 15/28 wL has run out
    assert four.moment("S2", 15 / 28 * L) / WL2 == pytest.approx(0.0364, abs=5e-5)
