"""Roof live load: ASCE 7 §4.8.2 and IRC Table R301.6 (values.md §5.2), each number with its tag."""

import pytest

from tests.refused import refused
from trusses.analysis.format.document import read
from trusses.analysis.loads.roof_live import RULES, RoofLiveError, carried_ft2, reduced_psf, table_psf, write_roof_live
from trusses.analysis.shapes.shapes import ShapeError, build


@pytest.mark.parametrize(
    ("area", "rise", "psf"), [(100, 4, 20), (100, 6, 18), (100, 8, 16), (100, 12, 12), (300, 6, 16.2)]
)
def test_reduced_by_area_and_rise(area, rise, psf):
    """Lr = 20 R1 R2: the formula secondary, these values derived in values.md §5.2."""
    assert reduced_psf(area, rise) == pytest.approx(psf, abs=1e-9)


@pytest.mark.parametrize(
    ("area", "rise", "psf"),
    [(200, 0, 20), (201, 0, 19.98), (400, 0, 16), (600, 0, 12), (5000, 0, 12), (100, 4.2, 19.8), (600, 12, 12)],
)
def test_the_ends_of_the_reduction(area, rise, psf):
    """R1 1 to 200 square feet, 0.6 from 600; R2 1 to 4 in 12; never under 12 psf: secondary, values.md §5.2."""
    assert reduced_psf(area, rise) == pytest.approx(psf, abs=1e-9)


@pytest.mark.parametrize(
    ("rise", "row"), [(0, (20, 16, 12)), (3.99, (20, 16, 12)), (4, (16, 14, 12)), (11.9, (16, 14, 12)), (12, (12,) * 3)]
)
def test_the_residential_table(rise, row):
    """IRC Table R301.6: the column to 200 square feet secondary, the other two from memory (values.md §5.2)."""
    assert [table_psf(area, rise) for area in (0, 201, 601)] == list(row)
    assert [table_psf(area, rise) for area in (200, 600, 6000)] == list(row)


def live(document):
    return [load for load in document["loads"]["area"] if load["case"] == "roof_live"]


def test_a_truss_carries_its_length_by_its_spacing():
    """36 ft and two tails of 18 in., 24 in. apart: 78 square feet on the plan; 6 in 12 makes it 18 psf."""
    document = build("w", span="36'", overhang_left=18, overhang_right=18, arranged=False)
    assert carried_ft2(read(document)) == pytest.approx(78)
    for rule, psf in (("asce", 18), ("irc", 16)):
        (load,) = live(write_roof_live(document, rule))
        assert load == {"case": "roof_live", "chord": "top_chord", "psf": psf, "along": "plan"}
    wide = build("w", span="40'", pitch=3, spacing=96, arranged=False)
    assert [live(write_roof_live(wide, rule))[0]["psf"] for rule in ("asce", "irc")] == [17.6, 16]


def test_each_plane_has_the_load_of_its_own_rise():
    document = build("hip", span="32'", pitch=8, setback=96, arranged=False)
    written = write_roof_live(document, "asce")
    windows = [(load["psf"], load.get("from_x_in"), load.get("to_x_in")) for load in live(written)]
    assert windows == [(16, None, 96), (20, 96, 288), (16, 288, None)]
    assert write_roof_live(written, "asce") == written
    assert [load for load in written["loads"]["area"] if load["case"] != "roof_live"] == [
        load for load in document["loads"]["area"] if load["case"] != "roof_live"
    ]


def test_a_shape_takes_it_by_rule():
    """Arranged, each half has it too."""
    document = build("w", span="36'", pitch=8, roof_live_by="asce")
    assert {(load["pattern"], load["psf"]) for load in live(document)} == {("all", 16), ("left", 16), ("right", 16)}
    assert live(build("w", span="36'", pitch=8))[0]["psf"] == 20
    with refused(ShapeError, "shape-roof-live-reduced", "roof_live_by", whole_psf=20):
        build("w", span="36'", roof_live=30, roof_live_by="irc")


@pytest.mark.parametrize("rule", RULES)
def test_no_roof_is_refused(rule):
    with refused(RoofLiveError, "roof-live-on-floor"):
        write_roof_live(build("floor", span="20'", arranged=False), rule)
    broken = build("w", span="20'", arranged=False)
    broken["members"] = [member for member in broken["members"] if member["role"] != "top_chord"]
    broken["members"] += [{"id": "X1", "role": "web", "joints": ["t0", "t1"], "lumber": "2x4 SPF No.1/No.2"}]
    broken["members"] += [{"id": "X2", "role": "web", "joints": ["t3", "t4"], "lumber": "2x4 SPF No.1/No.2"}]
    assert carried_ft2(read(broken)) == 0
    with refused(RoofLiveError, "roof-live-on-broken-chord"):
        write_roof_live(broken, rule)
