"""Beam stability: AWC Structural Wood Design Examples 2015/2018, E1.2a (values.md §3.1; the printed results).

DF-L Select Structural 4x16, 20 ft, one load at midspan without a support there, CD = CF = 1.
"""

import pytest

from trusses.analysis.checks import nds
from trusses.analysis.lumber import Section, lookup

FB, E_MIN = 1500, 690_000
BREADTH, DEPTH = 3.5, 15.25
LE = 1.37 * 240 + 3 * DEPTH  # Table 3.3.3, one concentrated load at the centre; the example's 375 in.


def test_the_example_uses_our_row():
    piece = lookup("2x12 DF-L Select Structural")
    assert (piece.fb, piece.e_min) == (FB, E_MIN)


def test_section():
    beam = Section(BREADTH, DEPTH)
    assert beam.area == pytest.approx(53.38, abs=0.01)
    assert beam.modulus == pytest.approx(135.66, abs=0.01)
    assert beam.inertia == pytest.approx(1034, abs=0.5)


def test_beam_stability_factor():
    r_b = nds.beam_slenderness(LE, DEPTH, BREADTH)
    f_be = nds.beam_buckling(E_MIN, r_b)
    cl = nds.beam_stability(FB, f_be)
    assert r_b == pytest.approx(21.6, abs=0.05)
    assert f_be == pytest.approx(1776, abs=1)
    assert cl == pytest.approx(0.876, abs=5e-4)
    assert nds.bending(1000.0, FB, cl, r_b).capacity == pytest.approx(1313, abs=1)
