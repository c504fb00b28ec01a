"""Wet service, lasting heat and incised lumber (`service` of a truss document; NDS 4.3.3, 4.3.4, 4.3.8)."""

import copy

import pytest

from tests.beams import beam, check, gable, line, push
from tests.nds_by_hand import cp
from tests.refused import refused
from trusses.analysis.analysis import analyse, analyse_many
from trusses.analysis.checks.member_properties import takes_ct
from trusses.analysis.format.document import DocumentError, read
from trusses.analysis.lumber import service_factors

DFL = "2x4 DF-L No.2"
HARD = {"moisture": "wet", "temperature_f": 120, "incised": True}


# values.md §1.4: CM of Table 4A (a copy), Ct of Table 2.3.3 (a handbook), Ci of Table 4.3.8 (from memory)
@pytest.mark.parametrize(
    ("value", "wet", "heat", "cm", "ct", "ci"),
    [
        ("fb", False, 90, 1.0, 1.0, 0.8),
        ("fb", True, 100, 0.85, 1.0, 0.8),
        ("ft", True, 125, 1.0, 0.9, 0.8),
        ("ft", False, 150, 1.0, 0.9, 0.8),
        ("fv", True, 101, 0.97, 0.7, 0.8),
        ("fv", False, 101, 1.0, 0.8, 0.8),
        ("fc_perp", True, 126, 0.67, 0.5, 1.0),
        ("fc_perp", False, 150, 1.0, 0.7, 1.0),
        ("fc", True, 125, 0.8, 0.7, 0.8),
        ("e", True, 125, 0.9, 0.9, 0.95),
        ("e", False, 90, 1.0, 1.0, 0.95),
    ],
)
def test_the_tables(value, wet, heat, cm, ct, ci):
    assert service_factors(value, wet, heat, True) == (cm, ct, ci)
    assert service_factors(value, wet, heat, False) == (cm, ct, 1.0)


@pytest.mark.parametrize(
    ("value", "sized", "cm"), [("fb", 1150, 1.0), ("fb", 1151, 0.85), ("fc", 750, 1.0), ("fc", 751, 0.8)]
)
def test_weak_lumber_loses_nothing_by_moisture(value, sized, cm):
    """Table 4A: CM of Fb is 1.0 where Fb·CF is at most 1,150 psi, that of Fc where Fc·CF is at most 750 psi."""
    assert service_factors(value, True, 90, False, sized).cm == cm


def test_no_factor_over_150_degrees():
    with pytest.raises(ValueError, match="150"):
        service_factors("fb", False, 150.1, False)


def test_tension():
    """Ft' = 575·CD 1.15·CF 1.5·CM 1.0·Ct 0.9·Ci 0.8."""
    document = beam(96, DFL, loads={"point": [push(-1000)]}, service=HARD)
    found = check(document)["M", "tension"]
    assert found.capacity == pytest.approx(575 * 1.15 * 1.5 * 0.9 * 0.8)
    assert (found.terms["CM of Ft"], found.terms["Ct of Ft"], found.terms["Ci of Ft"]) == (1.0, 0.9, 0.8)


def test_compression():
    """Fc* = 1350·CD 1.15·CF 1.15·(CM 0.8·Ct 0.7·Ci 0.8) = 799.9 psi, Emin' = 580,000·(0.9·0.9·0.95) = 446,310 psi, le/d
    96/3.5 in plane (held throughout out of it)."""
    found = check(beam(96, DFL, loads={"point": [push(500)]}, service=HARD))["M", "compression"]
    star = 1350 * 1.15 * 1.15 * 0.8 * 0.7 * 0.8
    assert found.capacity == pytest.approx(star * cp(star, 580_000 * 0.9 * 0.9 * 0.95, 96 / 3.5))
    assert found.terms["CM of Emin"] == 0.9


def test_bending_shear_and_bearing():
    """Fb' = 900·CF 1.5·CD 1.15·Cr 1.15·(0.85·0.7·0.8): 1,350 psi is over 1,150. Fv' = 180·1.15·(0.97·0.7·0.8). Fc⊥' =
    625·(0.67·0.7·1.0)."""
    found = check(beam(48, DFL, loads={"line": [line(50)]}, service=HARD))
    assert found["M", "bending"].capacity == pytest.approx(900 * 1.5 * 1.15 * 1.15 * 0.85 * 0.7 * 0.8)
    assert found["M", "shear"].capacity == pytest.approx(180 * 1.15 * 0.97 * 0.7 * 0.8)
    assert found["A", "bearing"].capacity == pytest.approx(625 * 0.67 * 0.7)
    assert found["A", "bearing"].terms["CM of Fc-perp"] == 0.67


def test_number_three_spruce_is_weak_enough_to_stay():
    """SPF No.3 2x4: Fb·CF 750 psi and Fc·CF 747.5 psi; Emin still loses a tenth."""
    found = check(
        beam(48, "2x4 SPF No.3", loads={"line": [line(20)], "point": [push(200)]}, service={"moisture": "wet"})
    )
    assert found["M", "bending"].capacity == pytest.approx(500 * 1.5 * 1.15 * 1.15)
    star = 650 * 1.15 * 1.15
    assert found["M", "compression"].capacity == pytest.approx(star * cp(star, 440_000 * 0.9, 48 / 3.5))


def test_stiffness_loses_and_forces_stay():
    """E' = E·(0.9·0.9·0.95) everywhere: every joint moves 1/0.7695 as far, and no force changes."""
    dry, hard = (analyse(read(gable(**more))).document() for more in ({}, {"service": HARD}))
    before, after = (one["cases"]["snow"] for one in (dry, hard))
    for joint, (x, y) in before["displacements_in"].items():
        assert after["displacements_in"][joint] == pytest.approx([x / 0.7695, y / 0.7695], rel=1e-6, abs=1e-9)
    for name, forces in before["members"].items():
        assert after["members"][name]["axial_lb"] == pytest.approx(forces["axial_lb"], rel=1e-6, abs=1e-6)


def test_the_default_service_is_dry_and_changes_nothing():
    plain, said = (
        analyse(read(gable(**more))).document()
        for more in ({}, {"service": {"moisture": "dry", "temperature_f": 90, "incised": False}})
    )
    assert plain["checks"] == said["checks"]
    assert not any("CM" in name for check in plain["checks"] for name in check["terms"])


def test_trusses_of_different_service_are_no_stack_of_one_creep():
    documents = [gable(), gable(service={"moisture": "wet"}), gable()]
    together = analyse_many([read(copy.deepcopy(document)) for document in documents])
    for document, found in zip(documents, together, strict=True):
        assert found.document()["checks"] == analyse(read(document)).document()["checks"]


@pytest.mark.parametrize(
    ("service", "code", "values"),
    [
        ({"moisture": "damp"}, "no-choice", {"key": "moisture", "choices": ["dry", "wet"]}),
        ({"temperature_f": 160}, "temperature-bounds", {"least": -130, "most": 150, "given": 160}),
        ({"temperature_f": "hot"}, "no-number", {"key": "temperature_f", "unit": "F"}),
        ({"incised": "yes"}, "no-flag", {"key": "incised"}),
        ({"humidity": 1}, "key-unknown", {"key": "humidity"}),
        ("wet", "no-object", {"given": "wet"}),
    ],
)
def test_a_service_that_cannot_be_read_is_refused_by_its_place(service, code, values):
    with refused(DocumentError, code, "service", **values):
        read(gable(service=service))


def test_sheathing_stiffens_no_wet_chord():
    """NDS 4.4.2 speaks of chords in dry service."""
    dry, wet = read(gable()), read(gable(service={"moisture": "wet"}))
    assert takes_ct(dry, dry.members[0])
    assert not takes_ct(wet, wet.members[0])
