"""Which factor applies to which value: NDS Table 4.3.1, sawn lumber (values.md §1.1), through whole analyses.

CD on Fb, Ft, Fv and Fc and never on Fc⊥, E and Emin: web.mst.edu/jthomas/classes/5260/problem/04/019, and NDS Table
2.3.2 footnote 1 at lfportal.everettwa.gov (found). The durations are those of Table 2.3.2 (found).
"""

import pytest

from tests.beams import beam, check, line, push

#: psi, 2x6 DF-L No.2: Supplement Table 4A; CF of 6 in. 1.3, 1.3 and 1.1 (values.md §2.1, §1.3).
FB, FT, FC, FV, FC_PERP, E_MIN = 900, 575, 1350, 180, 625, 580_000
SPAN = 60.0


def found(case="live", pounds=400, lumber="2x6 DF-L No.2", **more):
    """A beam-column of one piece, fully held from the side; 400 lb press it, -400 lb pull it."""
    flat = more.pop("flat", False)
    loads = {"line": [line(40, case)], "point": [push(pounds, case)]}
    document = beam(SPAN, lumber, loads=loads, **{"spacing": 48} | more)
    document["members"][0]["flat"] = flat
    return check(document)


@pytest.mark.parametrize(
    ("case", "cd"), [("live", 1.0), ("snow", 1.15), ("rain", 1.15), ("roof_live", 1.25), ("wind", 1.6)]
)
def test_load_duration(case, cd):
    pressed, pulled = found(case), found(case, pounds=-400)
    assert pressed["M", "bending"].capacity == pytest.approx(FB * 1.3 * cd)
    assert pulled["M", "tension"].capacity == pytest.approx(FT * 1.3 * cd)
    assert pressed["M", "shear"].capacity == pytest.approx(FV * cd)
    assert pressed["M", "compression"].terms["Fc*"] == pytest.approx(FC * 1.1 * cd)
    assert pressed["A", "bearing"].capacity == FC_PERP
    assert pressed["M", "slenderness"].capacity == 50
    assert pressed["M", "compression"].terms["FcE in plane"] == pytest.approx(0.822 * E_MIN / (SPAN / 5.5) ** 2)
    # E: the deflection is the load's, 0.6 of it with wind, over an E without CD
    share = 0.6 if case == "wind" else 1.0
    sag = 5 * share * 40 / 12 * SPAN**4 / (384 * 1.6e6 * 1.5 * 5.5**3 / 12)
    assert pressed["P", "live deflection"].demand == pytest.approx(sag)


def test_the_dead_load_alone_is_permanent():
    assert found("dead")["M", "shear"].capacity == pytest.approx(FV * 0.9)


def test_repetitive_use_counts_in_bending_alone():
    apart, close = (found(spacing=spacing) for spacing in (48, 24))
    assert close["M", "bending"].capacity == pytest.approx(1.15 * apart["M", "bending"].capacity)
    for key in (("M", "shear"), ("M", "compression"), ("A", "bearing")):
        assert close[key].capacity == pytest.approx(apart[key].capacity), key
    ends = [found(pounds=-400, spacing=spacing)["M", "tension"].capacity for spacing in (48, 24)]
    assert ends[0] == ends[1]


def test_flat_use_counts_in_bending_alone():
    flat = found(flat=True, pounds=50)
    assert flat["M", "bending"].capacity == pytest.approx(FB * 1.3 * 1.15)
    assert flat["M", "shear"].capacity == pytest.approx(FV)
    assert flat["M", "compression"].terms["Fc*"] == pytest.approx(FC * 1.1)
    assert flat["A", "bearing"].capacity == FC_PERP
    assert found(flat=True, pounds=-50)["M", "tension"].capacity == pytest.approx(FT * 1.3)


@pytest.mark.parametrize("lumber", ["2x6 SP No.2", "2x6 SPF 2100f-1.8E"])
def test_southern_pine_and_machine_rated_lumber_take_no_size_factor(lumber):
    """values.md §1.3, from memory: Table 4B is by width already, Table 4C holds for every width."""
    fb, ft, fc = {"2x6 SP No.2": (1000, 600, 1400), "2x6 SPF 2100f-1.8E": (2100, 1575, 1875)}[lumber]
    pressed = found(lumber=lumber)
    assert pressed["M", "bending"].capacity == pytest.approx(fb)
    assert pressed["M", "compression"].terms["Fc*"] == pytest.approx(fc)
    assert found(lumber=lumber, pounds=-400)["M", "tension"].capacity == pytest.approx(ft)
