"""FOSSEE (IIT Bombay) textbook companion 3862, chapter 3: `FOSSEE/Scilab-TBC-Uploads: 3862/CH3/EX3.n/Ex3_n.sce`
(commit 7bc77cb1): six worked trusses with every printed force; kN, tension positive. The files don't name the book
(believed to be S.S. Bhavikatti: from memory). Printed to two or three decimals, so held to one unit of the last.

Example 3.6 prints 12 kN of tension in FG where its own other signs give compression: not an anchor, and not used.
"""

import itertools
import math

import pytest

from tests.frames import pin_jointed

ROOT3 = math.sqrt(3)


def test_example_3_1_cantilever():
    truss = pin_jointed(
        {"A": (0, 1), "B": (1, 1), "E": (0, 0), "D": (1, 0), "C": (2, 0)},
        "CB CD DB DE BE BA",
        {"A": "xy", "E": "xy"},
        down={"C": 40, "D": 40},
        scale=100,
    )
    assert truss.axial == pytest.approx(
        {"CB": 56.57, "CD": -40, "DB": 40, "DE": -40, "BE": -113.14, "BA": 120}, abs=0.01
    )


def test_example_3_2():
    truss = pin_jointed(
        {"A": (0, 0), "B": (1, ROOT3), "C": (3, ROOT3), "D": (4, 0), "E": (2, 0)},
        "AB AE BC BE CE CD DE",
        {"A": "xy", "D": "y"},
        down={"B": 40, "C": 50, "E": 60},
        scale=40,
    )
    printed = {
        "AB": -83.716,
        "AE": 41.858,
        "BC": -60.622,
        "BE": 37.528,
        "CE": 31.754,
        "CD": -89.489,
        "DE": 44.745,
    }
    assert truss.axial == pytest.approx(printed, abs=1e-3)
    assert truss.up == pytest.approx([72.5, 77.5])


def test_example_3_3():
    truss = pin_jointed(
        {"A": (0, 0), "B": (1.5, 1.5 * ROOT3), "C": (3, 0), "D": (6, 0)},
        "AB AC BD CD BC",
        {"A": "xy", "D": "y"},
        down={"B": 20, "C": 10},
        scale=40,
    )
    printed = {"AB": -23.09, "AC": 11.55, "BD": -20.00, "CD": 17.32, "BC": 11.55}
    assert truss.axial == pytest.approx(printed, abs=0.01)


def test_example_3_4():
    truss = pin_jointed(
        {"A": (0, 0), "F": (4, 0), "E": (8, 0), "B": (0, 4), "C": (4, 4), "D": (8, 4)},
        "AB AF BF BC CD CF DF DE EF",
        {"A": "xy", "E": "y"},
        down={"B": 30, "C": 50, "D": 40, "F": 30},
        right={"D": 20},
        scale=40,
    )
    printed = {
        "AB": -60,
        "AF": 20,
        "BF": 42.43,
        "BC": -30,
        "CD": -30,
        "CF": -50,
        "DF": 70.71,
        "DE": -90,
        "EF": 0,
    }
    assert truss.axial == pytest.approx(printed, abs=0.01)


def test_example_3_5():
    truss = pin_jointed(
        {"A": (0, 0), "B": (0, 4), "C": (3, 8), "D": (3, 4), "F": (3, 0), "E": (6, 0)},
        "ED EF AB AF BC CD BD BF DF",
        {"A": "xy", "C": "x"},
        down={"E": 20},
        scale=40,
    )
    printed = {"ED": 25, "EF": -15, "AB": -20, "AF": -15, "BC": -25, "CD": 20, "BD": 15, "BF": 0, "DF": 0}
    assert truss.axial == pytest.approx(printed, abs=1e-9)
    assert abs(truss.reactions["C"][0]) == pytest.approx(15)


def test_example_3_8_warren_by_sections():
    bottom, top = "ACEGIKMO", "BDFHJLN"
    joints = {name: (4 * i, 0) for i, name in enumerate(bottom)}
    joints |= {name: (4 * i + 2, 2 * ROOT3) for i, name in enumerate(top)}
    chords = [a + b for row in (bottom, top) for a, b in itertools.pairwise(row)]
    webs = [w for i, t in enumerate(top) for w in (bottom[i] + t, t + bottom[i + 1])]
    truss = pin_jointed(joints, " ".join(chords + webs), {"A": "xy", "O": "y"}, down=dict.fromkeys(top, 10.0), scale=40)
    assert truss.axial["FH"] == pytest.approx(-69.282, abs=1e-3)
    assert truss.axial["GH"] == pytest.approx(-5.774, abs=1e-3)
    assert truss.axial["GI"] == pytest.approx(72.169, abs=1e-3)
