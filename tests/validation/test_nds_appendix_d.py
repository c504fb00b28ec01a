"""Emin = E (1 - 1.645 COVE) 1.03 / 1.66, NDS Appendix D (from memory; its four results derived in values.md §1.4).

Every row of the lumber table is held to it in tests/analysis/test_lumber.py.
"""

import pytest

from trusses.analysis.lumber import lookup


def e_min(e, cov):
    return e * (1 - 1.645 * cov) * 1.03 / 1.66


@pytest.mark.parametrize(
    ("key", "e", "cov", "derived", "tabulated"),
    [
        ("2x4 SPF No.1/No.2", 1.4e6, 0.25, 511e3, 510e3),
        ("2x4 SPF 1650f-1.5E", 1.5e6, 0.11, 762e3, 760e3),
        ("2x4 SPF 2100f-1.8E", 1.8e6, 0.11, 915e3, 910e3),
        ("2x6 SPF 2400f-2.0E", 2.0e6, 0.11, 1016e3, 1020e3),
    ],
)
def test_the_formula_and_the_table(key, e, cov, derived, tabulated):
    assert e_min(e, cov) == pytest.approx(derived, abs=500)
    assert (lookup(key).e, lookup(key).e_min) == (e, tabulated)
