"""Eccentric wood column: Beer & Johnston, Mechanics of Materials, problems 10.89 and 10.90 (values.md §3.9; printed).

125 mm square, 3.6 m, σC 9.2 MPa, E 12 GPa, KcE 0.3, e 50 mm, 12.8 MPa in bending: CP 0.4135 (0.41347 at
web.sunybroome.edu), σall 3.804 MPa; P 34.7 kN by the interaction method, 17.48 kN by allowable stress (derived).
The interaction is linear in the book, not NDS eq. 3.9-3: an anchor of the column formula and of statics.
"""

import pytest

from tests.frames import document, solved
from trusses.analysis.checks import nds
from trusses.analysis.lumber import Section

SIDE, LENGTH, E, KCE, SIGMA_C, BENDING, ECCENTRICITY = 125.0, 3600.0, 12e3, 0.3, 9.2, 12.8, 50.0
SQUARE = Section(SIDE, SIDE)


def allowed():
    f_ce = KCE * E / (LENGTH / SIDE) ** 2
    return f_ce, float(nds.column_stability(SIGMA_C, f_ce))


def test_column_stability():
    f_ce, cp = allowed()
    assert pytest.approx(28.8) == LENGTH / SIDE
    assert f_ce == pytest.approx(4.34, abs=5e-3)
    assert f_ce / SIGMA_C == pytest.approx(0.4718, abs=5e-5)
    assert cp == pytest.approx(0.4135, abs=5e-5)
    assert cp == pytest.approx(0.41347, abs=5e-6)
    assert cp * SIGMA_C == pytest.approx(3.804, abs=5e-4)


@pytest.mark.parametrize(("in_bending", "kilonewtons"), [(BENDING, 34.7), (None, 17.48)])
def test_eccentric_load(in_bending, kilonewtons):
    """P/A and M/S as the frame has them for a post with a bracket on its head; inches for millimetres."""
    _, cp = allowed()
    post = solved(
        document(
            {"A": (0, 0), "B": (0, 100), "C": (50, 100)},
            [("S", "top_chord", "A", "B"), ("H", "top_chord", "B", "C")],
            {"A": "xy", "B": "x"},
            loads={"point": [{"case": "dead", "joint": "C", "down_lb": 1000 * kilonewtons}]},
        )
    )
    axial, moment = -post.axial["S"], abs(post.moment("S", 100 - 1e-9))
    assert (axial, moment) == pytest.approx((1000 * kilonewtons, 1000 * kilonewtons * ECCENTRICITY))
    direct, bent = axial / SQUARE.area, moment / SQUARE.modulus
    column = cp * SIGMA_C
    assert direct / column + bent / (in_bending or column) == pytest.approx(1.0, abs=1.5e-3)
