"""Joist: HUD Residential Structural Design Guide, Example 5.1 (values.md §3.6; the printed results).

2x8 Hem-Fir No.1 at 16 in., D 10 + L 30 psf, CD 1.0 on the sum. Its shear limit (40.8 ft) uses the Fv of that day,
75 psi with CH = 2; today's Fv 150 psi is the same number.
"""

import math

import pytest

from tests.beams import beam, check
from trusses.analysis.checks import nds
from trusses.analysis.lumber import lookup, section

PIECE = lookup("2x8 Hem-Fir No.1")
SECTION = section(PIECE)
PER_INCH = 40 * 16 / 144  # lb/in
CF = nds.size_factor(PIECE.rule, 8).fb


def test_section_properties():
    assert SECTION.modulus == pytest.approx(13.14, abs=0.005)
    assert SECTION.inertia == pytest.approx(47.63, abs=0.01)


def test_bending_span():
    adjusted = PIECE.fb * nds.REPETITIVE * CF
    assert adjusted == pytest.approx(1345, abs=1)
    span = 14.87 * 12
    clause = nds.bending(PER_INCH * span**2 / 8 / SECTION.modulus, adjusted, 1.0)
    assert clause.ratio == pytest.approx(1.0, abs=1e-3)


def test_bearing_span():
    reaction = PER_INCH * 45.56 * 12 / 2
    clause = nds.bearing(reaction, 2 * SECTION.breadth_in, PIECE.fc_perp)
    assert clause.capacity == 405
    assert clause.capacity * clause.factors["area"] == pytest.approx(1215)
    assert clause.ratio == pytest.approx(1.0, abs=1e-3)


def test_shear_span():
    span = 40.78 * 12
    clause = nds.shear(PER_INCH * span / 2, SECTION.area, 2 * 75)
    assert clause.ratio == pytest.approx(1.0, abs=1e-3)
    assert PIECE.fv == 2 * 75


def test_deflection_span():
    """L/360 under the live load governs at 13.8 ft (printed)."""
    live = 30 * 16 / 144
    span = 13.83 * 12
    sag = 5 * live * span**4 / (384 * PIECE.e * SECTION.inertia)
    assert sag == pytest.approx(span / 360, rel=2e-3)
    assert math.isclose(PIECE.e, 1.5e6)


def joist(feet, **more):
    """The example as a document: a joist of one piece under 10 and 30 psf, held by its floor."""
    loads = {
        "area": [
            {"case": case, "chord": "top_chord", "psf": psf, "along": "plan"}
            for case, psf in (("dead", 10), ("live", 30))
        ]
    }
    return check(beam(feet * 12, "2x8 Hem-Fir No.1", spacing=16, restraint=0, use="floor", loads=loads, **more))


def test_the_example_as_a_document():
    bending = joist(14.87)["M", "bending"]
    assert bending.combination == "D + L"
    assert bending.capacity == pytest.approx(1345, abs=1)
    assert bending.ratio == pytest.approx(1.0, abs=1e-3)
    assert joist(13.83)["P", "live deflection"].ratio == pytest.approx(1.0, abs=2e-3)
    two = [{"joint": joint, "restrains": how, "width_in": 2} for joint, how in (("A", "xy"), ("B", "y"))]
    bearing = joist(45.56, bearings=two)["A", "bearing"]
    assert bearing.capacity == 405
    assert bearing.terms["R"] == pytest.approx(1215, abs=1)
    assert bearing.ratio == pytest.approx(1.0, abs=1e-3)
    # the shear limit of that day, 40.8 ft with 75 psi doubled, is today's 150 psi
    assert joist(40.78)["M", "shear"].ratio == pytest.approx(1.0, abs=1e-3)
