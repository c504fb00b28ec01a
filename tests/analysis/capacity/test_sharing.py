"""How trusses side by side share a weight, against handbook beams (names as in the design's check values)."""

import pytest

from tests.refused import refused
from trusses.analysis.capacity.placing import CapacityError
from trusses.analysis.capacity.sharing import shares

THREE = (0.0, 24.0, 48.0)


def test_a_stiff_beam_over_three_gives_a_third_each():
    assert shares("stiff", THREE, 24, 24) == pytest.approx([1 / 3] * 3)
    assert shares("stiff", THREE, 0, 48) == pytest.approx([1 / 3] * 3)


def test_a_stiff_beam_off_the_middle():
    """e = 12 in.: 1/3 ± 12 · 24 / (2 · 24²) = 1/3 ± 1/4."""
    assert shares("stiff", THREE, 36, 36) == pytest.approx([1 / 12, 1 / 3, 7 / 12])


def test_three_eighths_ten_eighths_three_eighths():
    """Two equal spans, uniform: 0.375, 1.25, 0.375 wL (Hicks, Civil Engineering Formulas, Table 2.1), of 2 wL."""
    assert shares("continuous", THREE, 0, 48) == pytest.approx([3 / 16, 10 / 16, 3 / 16])


def test_two_spans_one_loaded():
    """7/16, 5/8, -1/16 wL (Lindeburg): the far truss is lifted, which no platform that only lies there does."""
    with refused(CapacityError, "weight-lifts-a-truss", "across_in", rule="continuous", truss=3):
        shares("continuous", THREE, 0, 24)


def test_three_and_four_spans():
    """Hicks, Table 2.1: three spans 0.4, 1.1 wL; four spans 11/28, 32/28, 26/28 wL."""
    assert shares("continuous", (0, 24, 48, 72), 0, 72) == pytest.approx([0.4 / 3, 1.1 / 3, 1.1 / 3, 0.4 / 3])
    four = shares("continuous", (0, 24, 48, 72, 96), 0, 96)
    assert four == pytest.approx([11 / 112, 32 / 112, 26 / 112, 32 / 112, 11 / 112])


def test_a_weight_between_two_goes_by_its_distances():
    for rule in ("stiff", "continuous"):
        assert shares(rule, (0, 24), 6, 6) == pytest.approx([0.75, 0.25])


def test_a_weight_over_a_truss_is_all_its_own_on_trusses_that_do_not_give():
    assert shares("continuous", THREE, 24, 24) == pytest.approx([0, 1, 0])


def test_no_rule_puts_all_of_it_on_the_nearest():
    assert shares("one", THREE, 30, 30) == (0, 1, 0)
    assert shares("stiff", (0,), 0, 0) == (1,)


@pytest.mark.parametrize("rule", ["stiff", "continuous", "one"])
def test_all_of_it_is_shared(rule):
    assert sum(shares(rule, (0, 19.2, 38.4, 57.6), 10, 50)) == pytest.approx(1)


@pytest.mark.parametrize(("low", "high"), [(-1, 10), (40, 49), (-0.01, 48)])
def test_a_weight_beyond_the_trusses_is_refused(low, high):
    with refused(CapacityError, "weight-beyond-trusses"):
        shares("stiff", THREE, low, high)


def test_a_stiff_beam_tips_where_the_weight_is_beyond_its_middle_third():
    """Two of three trusses' width apart: 1/3 - 24 e / 1152 is nothing at e = 16 in."""
    assert shares("stiff", THREE, 40, 40)[0] == pytest.approx(0, abs=1e-9)
    with refused(CapacityError, "weight-lifts-a-truss", truss=1):
        shares("stiff", THREE, 40.1, 40.1)
