"""Beer & Johnston, Vector Mechanics for Engineers: Statics, chapter 6, method of joints: four printed solutions.

As stored at https://studylib.net/doc/26105572/1544514656 (1st to 4th problem of the set); coordinates rebuilt from the
printed solutions. Tension positive; the printed figures are whole numbers, so they are held to half a unit or to what
the exact fraction gives.
"""

import pytest

from tests.frames import pin_jointed


def test_first_problem_kn():
    truss = pin_jointed({"A": (3, 7.2), "B": (0, 3.2), "C": (0, 0)}, "AB BC AC", {"B": "xy", "C": "x"}, right={"A": 48})
    assert truss.axial == pytest.approx({"AB": 180, "BC": 144, "AC": -156})
    assert truss.reactions["B"][0] == pytest.approx(-108)
    assert truss.reactions["C"] == pytest.approx((60, 0))


def test_second_problem_lb():
    truss = pin_jointed(
        {"A": (0, 20), "B": (63, 20), "C": (15, 0)}, "AB BC AC", {"A": "xy", "C": "y"}, down={"B": 300}, scale=1
    )
    assert truss.axial == pytest.approx({"AB": 720, "BC": -780, "AC": -1200})
    assert truss.reactions["A"] == pytest.approx((0, -960), abs=1e-8)
    assert truss.reactions["C"] == pytest.approx((0, 1260))


def test_third_problem_kn():
    truss = pin_jointed({"A": (0, 5.25), "B": (-3, 4), "C": (0, 0)}, "AB AC BC", {"A": "xy", "C": "x"}, down={"B": 84})
    assert truss.axial == pytest.approx({"AB": 52, "AC": 64, "BC": -80})


def test_fourth_problem_lb():
    truss = pin_jointed(
        {"A": (0, 6), "B": (-12, 0), "C": (-8, 0), "D": (8, 0), "E": (12, 0)},
        "AB AC AD AE BC DE CD",
        {"C": "xy", "D": "y"},
        down={"A": 600, "B": 300, "E": 300},
    )
    # AB is printed as 671: 300 √5
    assert truss.axial == pytest.approx(
        {"AB": 671, "AE": 671, "BC": -600, "DE": -600, "AC": -1000, "AD": -1000, "CD": 200}, abs=0.5
    )
    assert truss.axial["AB"] == pytest.approx(300 * 5**0.5)
    assert truss.up == pytest.approx([600, 600])
