"""Lateral design values of common nails in single shear: NDS 2018 Table 12N, side member 1-1/2 in.

118 and 141 lb for 10d and 16d at G 0.50 as the design's notes print them; the other species' from memory.
"""

import math

import pytest

from trusses.analysis.fasteners.nails import (
    SIXTEEN_PENNY,
    TEN_PENNY,
    Nail,
    dowel_bearing_psi,
    in_lumber,
    lateral,
)
from trusses.analysis.lumber import lookup


@pytest.mark.parametrize(
    ("specific_gravity", "ten", "sixteen"), [(0.55, 128, 154), (0.50, 118, 141), (0.43, 102, 122), (0.42, 100, 120)]
)
def test_table_12n(specific_gravity, ten, sixteen):
    """Both long enough for the whole of the main member to count, as the table has it; mode IV governs."""
    for nail, printed in ((TEN_PENNY, ten), (SIXTEEN_PENNY, sixteen)):
        found = lateral(nail, 1.5, 1.5, specific_gravity)
        assert round(found.z_lb) == printed
        assert found.mode == "IV"


def test_by_hand():
    """10d, G 0.50: Fe 16,600 · 0.5^1.84 = 4,637, printed 4,650 psi; mode IV
    0.148²/2.2 · √(2 · 4,650 · 90,000 / 6) = 0.0099564 · 11,811 = 117.6 lb."""
    assert dowel_bearing_psi(0.50) == 4650
    assert lateral(TEN_PENNY, 1.5, 1.5, 0.50).z_lb == pytest.approx(0.148**2 / 2.2 * math.sqrt(139.5e6))
    # mode Is: 0.148 · 1.5 · 4,650 / 2.2
    assert lateral(TEN_PENNY, 1.5, 1.5, 0.50).modes["Is"] == pytest.approx(469.2, abs=0.1)


def test_a_thin_side_member_governs_by_its_own_yield():
    """Through 1/4 in. mode Is: 0.148 · 0.25 · 4,650 / 2.2 = 78.2 lb is under mode IV; IIIs, which bends the nail in the
    side member, comes first with k3 = -1 + √(4 + 2 · 90,000 · 3 · 0.148² / (3 · 4,650 · 0.0625)) = 3.197: 83.3 lb."""
    found = lateral(TEN_PENNY, 0.25, 1.5, 0.50)
    assert found.modes["Is"] == pytest.approx(78.2, abs=0.1)
    assert found.modes["IIIs"] == pytest.approx(83.3, abs=0.2)
    assert (found.mode, found.z_lb) == ("Is", pytest.approx(78.2, abs=0.1))


def test_a_nail_that_reaches_too_little_counts_for_nothing():
    """Six diameters of 0.148 in. are 0.888 in.: of 3 in., 2.112 in. are left for the side member."""
    assert lateral(TEN_PENNY, 2.12, 1.5, 0.50) is None
    assert lateral(TEN_PENNY, 2.10, 1.5, 0.50) is not None


def test_a_tip_within_the_main_member_is_left_out_under_ten_diameters():
    """A nail of 0.162 in. that reaches 1.5 in. (under 1.62) into 3 in. bears on 1.5 - 0.162 = 1.338 in.; through
    1.5 in. on all of it."""
    short = Nail("cut", 0.162, 3.0)
    assert lateral(short, 1.5, 3.0, 0.50).modes["Im"] == pytest.approx(0.162 * 1.338 * 4650 / 2.2)
    assert lateral(SIXTEEN_PENNY, 1.5, 1.5, 0.50).modes["Im"] == pytest.approx(0.162 * 1.5 * 4650 / 2.2)


def test_the_truss_s_own_lumber_says_its_specific_gravity():
    assert round(in_lumber(TEN_PENNY, 1.5, lookup("2x4 DF-L No.2")).z_lb) == 118
    assert round(in_lumber(TEN_PENNY, 1.5, lookup("2x4 SPF No.1/No.2")).z_lb) == 100


def test_stout_nails_yield_at_less():
    assert [Nail("", d, 4).fyb for d in (0.131, 0.148, 0.192)] == [100_000, 90_000, 80_000]
    assert [Nail("", d, 4).kd for d in (0.17, 0.192)] == [2.2, pytest.approx(2.42)]
