"""Two equal spans, one of them under uniform load: engineersedge.com, after Lindeburg. Fractions as printed."""

import pytest

from tests.frames import beam

W, L = 6.0, 120.0


def test_one_of_two_spans_loaded():
    two = beam([L, L], {1: W})
    assert [r / (W * L) for r in two.up] == pytest.approx([7 / 16, 5 / 8, -1 / 16])
    assert two.response.end_moment[0, :, 1] / (W * L**2) == pytest.approx([-1 / 16, 0])
    assert two.moment("S1", 7 / 16 * L) / (W * L**2) == pytest.approx(49 / 512)
    assert two.response.peak_moment[0] / (W * L**2) == pytest.approx([49 / 512, -1 / 16])
