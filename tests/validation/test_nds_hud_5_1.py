"""Joist: HUD Residential Structural Design Guide, Example 5.1 (values.md §3.6; the printed results).

2x8 Hem-Fir No.1 at 16 in., D 10 + L 30 psf, CD 1.0 on the sum. Its shear limit (40.8 ft) uses the Fv of that day,
75 psi with CH = 2; today's Fv 150 psi is the same number.
"""

import math

import pytest

from trusses.analysis import nds
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
