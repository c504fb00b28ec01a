"""Built-up column: Aghayere & Vigil, Structural Wood Design (ASD), Wiley 2007, Ex. 5.7 (values.md §3.7).

Three 2x6 DF-L No.1, nailed, 12 ft: Fc* 1650 psi; CP 0.168 about the laminated axis with Kf 0.6, 0.398 about the other.
"""

import pytest

from trusses.analysis.checks import nds
from trusses.analysis.lumber import lookup

PIECE = lookup("2x6 DF-L No.1")
LENGTH = 144.0
FC_STAR = PIECE.fc * nds.size_factor(PIECE.rule, 6).fc


def test_reference_value():
    assert pytest.approx(1650) == FC_STAR


def test_laminated_axis():
    slenderness = LENGTH / (3 * PIECE.thickness_in)
    assert slenderness == pytest.approx(32)
    cp = nds.column_stability(FC_STAR, nds.critical_buckling(PIECE.e_min, slenderness))
    assert cp == pytest.approx(0.27988, abs=1e-4)
    assert nds.KF_NAILED * cp == pytest.approx(0.16793, abs=1e-4)
    assert nds.KF_NAILED * cp * FC_STAR == pytest.approx(277, abs=0.5)
    assert nds.KF_NAILED * cp * FC_STAR * 3 * 1.5 * 5.5 == pytest.approx(6860, abs=5)


def test_strong_axis():
    cp = nds.column_stability(FC_STAR, nds.critical_buckling(PIECE.e_min, LENGTH / 5.5))
    assert cp == pytest.approx(0.398, abs=5e-4)
