"""MATHalino, Engineering Mechanics, problem 417 (roof truss by the method of sections); kN, tension positive.

https://www.mathalino.com/reviewer/engineering-mechanics/problem-417-roof-truss-method-sections ; coordinates rebuilt
from the printed solution.
"""

import pytest

from tests.frames import pin_jointed


def test_forces_in_the_cut_members_and_the_reaction():
    truss = pin_jointed(
        {"A": (0, 0), "B": (4, 3), "C": (4, 0), "D": (8, 3), "E": (8, 0), "F": (12, 0)},
        "AB AC BC BD CD CE DE DF EF",
        {"A": "xy", "F": "y"},
        down={"E": 360},
        scale=24,
    )
    assert truss.up[0] == pytest.approx(120)
    assert {name: truss.axial[name] for name in ("BD", "CD", "CE")} == pytest.approx(
        {"BD": -160, "CD": -200, "CE": 320}
    )
