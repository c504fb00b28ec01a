"""Allowable-stress combinations, ASCE 7-10/16 §2.4.1 (values.md §5.1), without earthquake, which isn't analysed.

The worked list is that of xcfem/xc verif/tests/aux/awc_nds_load_combinations.yaml (secondary); it writes 0.45 W for
0.75 (0.6 W). That no other increase is taken beside CD is common practice.
"""

import pytest

from tests.frames import document
from trusses.analysis.format.document import read
from trusses.analysis.loads.combinations import cases, combinations


def combined(*names):
    lines = [{"case": name, "member": "C1", "plf": 10} for name in names]
    one = document(
        {"A": (0, 0), "B": (120, 0)}, [("C1", "top_chord", "A", "B")], {"A": "xy", "B": "y"}, loads={"line": lines}
    )
    truss = read(one)
    return {frozenset(c.factors.items()): c.load_duration for c in combinations(truss, cases(truss))}


def of(**factors):
    return frozenset(factors.items())


def test_the_worked_list_of_dead_live_snow_and_wind():
    assert combined("dead", "live", "snow", "wind").keys() == {
        of(dead=1.0),
        of(dead=1.0, live=1.0),
        of(dead=1.0, snow=1.0),
        of(dead=1.0, live=0.75, snow=0.75),
        of(dead=1.0, wind=0.6),
        of(dead=1.0, wind=0.45, live=0.75, snow=0.75),
        of(dead=0.6, wind=0.6),
    }


def test_roof_live_or_snow_or_rain_never_together():
    roofs = ("roof_live", "snow", "rain")
    found = combined("dead", "live", "wind", *roofs)
    assert all(sum(name in roofs for name, _ in factors) <= 1 for factors in found)
    for roof in roofs:
        assert of(**{"dead": 1.0, roof: 1.0}) in found
        assert of(**{"dead": 1.0, "live": 0.75, roof: 0.75}) in found
        assert of(**{"dead": 1.0, "live": 0.75, "wind": 0.45, roof: 0.75}) in found
    # 1, 2, 5 and 7 once; 3, 4 and 6 with each of the three
    assert len(found) == 4 + 3 * 3


@pytest.mark.parametrize(
    ("names", "factors", "cd"),
    [
        (("dead",), {"dead": 1.0}, 0.9),
        (("dead", "live"), {"dead": 1.0, "live": 1.0}, 1.0),
        (("dead", "snow"), {"dead": 1.0, "snow": 1.0}, 1.15),
        (("dead", "live", "snow"), {"dead": 1.0, "live": 0.75, "snow": 0.75}, 1.15),
        (("dead", "wind"), {"dead": 1.0, "wind": 0.6}, 1.6),
        (("dead", "live", "wind"), {"dead": 1.0, "live": 0.75, "wind": 0.45}, 1.6),
        (("dead", "snow", "wind"), {"dead": 1.0, "snow": 0.75, "wind": 0.45}, 1.6),
        (("dead", "live", "snow", "wind"), {"dead": 1.0, "live": 0.75, "snow": 0.75, "wind": 0.45}, 1.6),
        (("dead", "wind"), {"dead": 0.6, "wind": 0.6}, 1.6),
        (("dead", "roof_live"), {"dead": 1.0, "roof_live": 1.0}, 1.25),
    ],
)
def test_the_duration_of_each_combination(names, factors, cd):
    """values.md §1.2: xcfem/xc verif/tests/materials/awc_nds/test_load_comb_duration_factor.py (secondary)."""
    assert combined(*names)[of(**factors)] == cd
