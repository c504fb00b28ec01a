"""Biaxial beam-column: AWC Structural Wood Design Examples 2015/2018, believed to be E1.8 (values.md §3.4).

Southern Pine No.2 2x4, 3 ft, loads at mid-length: axial D 300 and S 600 lb, across the weak axis D 50 and S 100 lb,
across the strong axis W 120 lb. The numbers are values.md's: the source's references, and its recomputation.
"""

import pytest

from trusses.analysis.checks import nds
from trusses.analysis.lumber import lookup, section

PIECE = lookup("2x4 SP No.2")
EDGE, FLAT = section(PIECE), section(PIECE, flat=True)
LENGTH = 36.0
F_CE1 = nds.critical_buckling(PIECE.e_min, LENGTH / 3.5)
F_CE2 = nds.critical_buckling(PIECE.e_min, LENGTH / 1.5)
LE = 1.37 * LENGTH + 3 * 3.5  # Table 3.3.3, one concentrated load at the centre
R_B = nds.beam_slenderness(LE, 3.5, 1.5)
F_BE = nds.beam_buckling(PIECE.e_min, R_B)

COMBINATIONS = [
    # CD, axial, weak-axis load, strong-axis load; Fc*, CP, Fc', Fb2', fc, fb2, fb1, ratio
    pytest.param(1.6, 900, 150, 120, 2320, 0.29, 673, 1936, 171, 1029, 353, 0.9757, id="D+S+W"),
    pytest.param(1.15, 900, 150, 0, 1667, 0.387, 646, 1392, 171, 1029, 0, 1.0373, id="D+S"),
    pytest.param(0.9, 300, 50, 0, 1305, 0.473, 617, 1089, 57, 343, 0, 0.3502, id="D"),
]


def test_buckling_stresses():
    assert pytest.approx(3962.5, abs=0.1) == F_CE1
    assert pytest.approx(727.8, abs=0.1) == F_CE2
    assert pytest.approx(59.82) == LE
    assert pytest.approx(9.646, abs=5e-4) == R_B
    assert pytest.approx(6576.9, abs=0.5) == F_BE


def test_beam_stability_and_the_strong_axis():
    cl = nds.beam_stability(PIECE.fb * 1.6, F_BE)
    assert cl == pytest.approx(0.982, abs=5e-4)
    assert PIECE.fb * 1.6 * cl == pytest.approx(1729, abs=1)


@pytest.mark.parametrize(
    ("cd", "axial", "weak", "strong", "fc_star", "cp", "fc_prime", "fb2_prime", "fc", "fb2", "fb1", "ratio"),
    COMBINATIONS,
)
def test_combination(cd, axial, weak, strong, fc_star, cp, fc_prime, fb2_prime, fc, fb2, fb1, ratio):
    star = PIECE.fc * cd
    compression = nds.compression(axial / EDGE.area, star, nds.column_stability(star, F_CE2))
    assert star == pytest.approx(fc_star, abs=0.6)
    assert compression.factors["CP"] == pytest.approx(cp, abs=6e-4)
    assert compression.capacity == pytest.approx(fc_prime, abs=0.6)
    assert compression.demand == pytest.approx(fc, abs=0.5)

    flat_prime = PIECE.fb * cd * nds.flat_use_factor(4)
    assert flat_prime == pytest.approx(fb2_prime, abs=0.6)
    stress2, stress1 = weak * LENGTH / 4 / FLAT.modulus, strong * LENGTH / 4 / EDGE.modulus
    assert (stress2, stress1) == pytest.approx((fb2, fb1), abs=0.6)

    edge_prime = PIECE.fb * cd * nds.beam_stability(PIECE.fb * cd, F_BE)
    clause = nds.bending_and_compression(
        compression.demand,
        compression.capacity,
        stress1,
        edge_prime,
        F_CE1,
        fb2=stress2,
        fb2_prime=flat_prime,
        f_ce2=F_CE2,
        f_be=F_BE,
    )
    assert clause.factors["eq. 3.9-3"] == pytest.approx(ratio, abs=1e-4)
    assert (clause.ratio > 1) == (ratio > 1)


def test_the_condition_of_eq_3_9_4():
    stress1 = 120 * LENGTH / 4 / EDGE.modulus
    clause = nds.bending_and_compression(900 / EDGE.area, 673, stress1, 1729, F_CE1, f_ce2=F_CE2, f_be=F_BE)
    assert clause.factors["eq. 3.9-4"] == pytest.approx(0.238, abs=5e-4)
