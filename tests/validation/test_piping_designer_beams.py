"""piping-designer.com, continuous beams with some spans loaded: 2404 (two of three, to one side) and 2408 (the first
and third of four). Coefficients of wL and wL² as printed, held to one unit of the last decimal since the page cuts some
and rounds others up (it prints 4/7 as 0.572); the page's M4 of 0.805 in 2408 is a misprint for 0.0805, and 0.1167 in
2404 was derived, not printed.
"""

import pytest

from tests.frames import EI_2X4, beam

W, L = 5.0, 84.0
WL, WL2, DEFLECTION = W * L, W * L**2, W * L**4 / EI_2X4


def test_three_spans_two_to_one_side_loaded():
    three = beam([L] * 3, {1: W, 2: W})
    assert [r / WL for r in three.up] == pytest.approx([0.383, 1.200, 0.450, -0.033], abs=1e-3)
    assert three.response.end_moment[0, :2, 1] / WL2 == pytest.approx([-0.1167, -0.0333], abs=1e-4)
    assert three.moment("S1", 0.383 * L) / WL2 == pytest.approx(0.0735, abs=1e-4)
    assert three.moment("S2", 0.583 * L) / WL2 == pytest.approx(0.0534, abs=1e-4)
    assert max(three.sag("S1", x * L) for x in (0.42, 0.43, 0.44)) / DEFLECTION == pytest.approx(0.0059, abs=1e-4)


def test_four_spans_first_and_third_loaded():
    four = beam([L] * 4, {1: W, 3: W})
    assert [r / WL for r in four.up] == pytest.approx([0.446, 0.572, 0.464, 0.572, -0.054], abs=1e-3)
    assert four.response.end_moment[0, :3, 1] / WL2 == pytest.approx([-0.0536, -0.0357, -0.0536], abs=1e-4)
    assert four.moment("S1", 0.446 * L) / WL2 == pytest.approx(0.0996, abs=1e-4)
    # two equal negative moments apart by 1/56: the shear runs out at 13/28 of the third span
    assert four.response.peak_moment[0, 2] / WL2 == pytest.approx(0.0805, abs=1e-4)
