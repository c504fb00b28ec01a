"""Beam-column: AWC Structural Wood Design Examples 2015/2018, E1.7 (values.md §3.3).

Southern Pine No.1 2x6, 9 ft, weak axis braced; wind 25 psf over 4 ft, axial D 560 lb and S 840 lb. The numbers are
values.md's own recomputation in full figures; the copied ones (ratio 0.8875, 0.1714, 0.0750) start from rounded
metric values.
"""

import pytest

from trusses.analysis.checks import nds
from trusses.analysis.lumber import lookup, section

PIECE = lookup("2x6 SP No.1")
SECTION = section(PIECE)
LENGTH = 108.0
F_CE1 = nds.critical_buckling(PIECE.e_min, LENGTH / SECTION.depth_in)


def test_critical_buckling():
    assert LENGTH / SECTION.depth_in == pytest.approx(19.64, abs=0.005)
    assert pytest.approx(1236.5, abs=0.05) == F_CE1


@pytest.mark.parametrize(
    ("cd", "axial", "fc_star", "cp", "fc_prime", "fc"),
    [
        (1.6, 1400, 2480, 0.4326, 1072.9, 169.70),
        (1.15, 1400, 1782.5, 0.5551, 989.5, 169.70),
        (0.9, 560, 1395, 0.6479, 903.8, 67.88),
    ],
)
def test_compression(cd, axial, fc_star, cp, fc_prime, fc):
    star = PIECE.fc * nds.size_factor(PIECE.rule, 6).fc * cd
    clause = nds.compression(axial / SECTION.area, star, nds.column_stability(star, F_CE1))
    assert star == pytest.approx(fc_star)
    assert clause.factors["CP"] == pytest.approx(cp, abs=6e-5)
    assert clause.capacity == pytest.approx(fc_prime, abs=0.06)
    assert clause.demand == pytest.approx(fc, abs=0.006)
    assert clause.ratio == pytest.approx({1.6: 0.1582, 1.15: 0.171, 0.9: 0.075}[cd], abs=6e-4)


def test_bending_and_compression():
    fb = 100 / 12 * LENGTH**2 / 8 / SECTION.modulus
    star = PIECE.fc * 1.6
    fc_prime = star * nds.column_stability(star, F_CE1)
    clause = nds.bending_and_compression(1400 / SECTION.area, fc_prime, fb, PIECE.fb * 1.6, F_CE1)
    assert fb == pytest.approx(1606.6, abs=0.1)
    assert PIECE.fb * 1.6 == 2160
    assert clause.ratio == pytest.approx(0.887, abs=5e-4)
