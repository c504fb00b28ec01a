"""A row of trusses: what stands in the way, which width each carries."""

import pytest

from tests.option_cases import w_truss
from tests.refused import refused
from trusses.analysis.analysis import analyse
from trusses.analysis.format.document import read
from trusses.analysis.passages.row import Passage, PassageError, Row, check_between, for_width

ROW = Row((1, 2, 3, 4, 5), (0.0, 24.0, 48.0, 72.0, 96.0))


def hatch(across=36.0, width=22.5, along=216.0, clearance=0.0):
    return Passage(across, along, width, 30.0, clearance)


def test_between_trusses_at_24_in_22_and_a_half_are_clear():
    """24 - 1.5 = 22.5 in., which is why an attic's 22 x 30 in. opening (IRC R807.1) fits."""
    assert ROW.in_the_way(hatch(width=22.5)) == ()
    assert ROW.in_the_way(hatch(width=22.6)) == (1, 2)
    assert ROW.in_the_way(hatch(width=22.0, clearance=0.3)) == (1, 2)
    assert ROW.in_the_way(hatch(width=22.5, across=36.1)) == (2,)


def test_plies_are_as_thick_as_they_are():
    assert Row(ROW.numbers, ROW.places_in, 3.0).in_the_way(hatch(width=22.0)) == (1, 2)


def test_widths_by_hand():
    """One left out of 24 in.: its neighbours carry 36 in., half of 24 and half of 48."""
    assert [ROW.tributary_in(i) for i in range(5)] == [24.0] * 5
    without = ROW.without(2)
    assert without.numbers == (1, 2, 4, 5)
    assert [without.tributary_in(i, ROW) for i in range(4)] == [24, 36, 36, 24]
    assert [without.widest_in(i) for i in range(4)] == [24, 48, 48, 24]


def test_a_shift_moves_width_from_one_side_to_the_other_and_loses_none():
    shifted = ROW.with_places([0, 24, 40, 72, 96])
    widths = [shifted.tributary_in(i, ROW) for i in range(5)]
    assert widths == [24, 20, 24, 28, 24]
    assert sum(widths) == 5 * 24


def test_a_width_scales_the_area_loads_by_hand():
    """36 in. carried where the wider gap is 48: 36/24 of every reaction, and no Cr beyond 24 in. apart (NDS 4.3.9)."""
    truss = w_truss()
    wide = read(for_width(truss.document, 36.0, 48.0))
    assert wide.spacing_in == 48
    before, after = analyse(truss), analyse(wide)
    assert after.results.combined.reactions == pytest.approx(1.5 * before.results.combined.reactions, abs=1e-6)
    bending = [check.terms["Cr"] for check in after.checks if check.rule == "bending" and "Cr" in check.terms]
    assert set(bending) == {1.0}
    assert read(for_width(truss.document, 24.0, 24.0)).area_loads == truss.area_loads


@pytest.mark.parametrize(
    ("passage", "code"),
    [
        (hatch(across=11.0), "passage-beside-row"),
        (hatch(across=85.0), "passage-beside-row"),
        (hatch(along=10.0), "passage-beside-truss"),
        (hatch(along=430.0), "passage-beside-truss"),
    ],
)
def test_what_lies_beside_is_refused(passage, code):
    with refused(PassageError, code):
        check_between(w_truss(), ROW, passage)


def test_what_just_reaches_the_last_truss_is_not_beside_the_row():
    check_between(w_truss(), ROW, hatch(across=11.25))
