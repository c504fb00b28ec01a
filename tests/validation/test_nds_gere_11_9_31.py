"""Column formula: Gere, Mechanics of Materials 7e, Prob. 11.9-31 (values.md §3.8; printed results).

3.5 × 7.25 in., Fc 1000 psi, E 1.3e6 psi, c 0.8, in the older form FcE = KcE E/(le/d)² with KcE 0.3.
"""

import pytest

from trusses.analysis.checks import nds

FC, E, KCE = 1000, 1.3e6, 0.3


@pytest.mark.parametrize(
    ("feet", "slenderness", "ratio", "cp", "kips"),
    [(6, 20.57, 0.9216, 0.6621, 16.8), (8, 27.43, 0.5184, 0.4464, 11.3), (10, 34.29, 0.3318, 0.3050, 7.7)],
)
def test_column(feet, slenderness, ratio, cp, kips):
    l_d = feet * 12 / 3.5
    assert l_d == pytest.approx(slenderness, abs=0.005)
    f_ce = KCE * E / l_d**2
    assert f_ce / FC == pytest.approx(ratio, abs=6e-5)
    factor = nds.column_stability(FC, f_ce)
    assert factor == pytest.approx(cp, abs=6e-5)
    assert factor * FC * 3.5 * 7.25 / 1000 == pytest.approx(kips, abs=0.05)


def test_todays_form_is_the_same_formula():
    """0.822 Emin stands where 0.3 E stood: an Emin of 0.3 E/0.822 gives the printed CP."""
    f_ce = nds.critical_buckling(KCE * E / 0.822, 72 / 3.5)
    assert nds.column_stability(FC, f_ce) == pytest.approx(0.6621, abs=6e-5)
