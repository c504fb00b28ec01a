"""Column stability factor CP (NDS 3.7.1), CD 1.15: the thirty anchors of values.md §1.11.

They were derived there from the formula with c = 0.8 and FcE = 0.822 Emin/(le/d)² (tag D), not printed anywhere.
"""

import pytest

from trusses.analysis.checks import nds
from trusses.analysis.lumber import lookup

ANCHORS = {
    "2x4 SPF No.1/No.2": (1520.9, [0.9102, 0.5526, 0.2838, 0.1657, 0.1077]),
    "2x4 DF-L No.2": (1785.4, [0.9068, 0.5405, 0.2757, 0.1607, 0.1044]),
    "2x4 Hem-Fir No.2": (1719.2, [0.8850, 0.4755, 0.2352, 0.1362, 0.0882]),
    "2x4 SP No.2": (1667.5, [0.8997, 0.5175, 0.2609, 0.1517, 0.0984]),
    "2x4 SPF 1650f-1.5E": (1955.0, [0.9247, 0.6091, 0.3240, 0.1907, 0.1243]),
    "2x4 SPF 2100f-1.8E": (2156.3, [0.9316, 0.6399, 0.3482, 0.2061, 0.1346]),
}


@pytest.mark.parametrize("key", ANCHORS)
def test_column_stability_factor(key):
    fc_star, expected = ANCHORS[key]
    piece = lookup(key)
    star = piece.fc * nds.size_factor(piece.rule, piece.nominal[1]).fc * 1.15
    assert star == pytest.approx(fc_star, abs=0.06)
    cp = nds.column_stability(star, nds.critical_buckling(piece.e_min, [10, 20, 30, 40, 50]))
    assert cp == pytest.approx(expected, abs=6e-5)
