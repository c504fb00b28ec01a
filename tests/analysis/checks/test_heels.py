"""A heel that stands off its bearing: what the reaction's distance from the crossing of the chords does to the chord.

By statics, for the gable of `tests.beams` with its bearing e inside the crossing and the bottom chord hinged at
midspan, under dead load and snow. Loads: both top chords (10 psf along the slope, 20 psf in plan) and the bottom chord
(7 psf), 24 in. apart: W = (2·10·101.193 + 7·192 + 20·192)·24/144 = 1,201.31 lb. R at the far bearing is W (96 - e)/(192
- e). There half of the last bottom panel, 56 lb, comes straight down, the rest through the top chord; both top chords
are alike, pinned at their ends and lean on each other at the peak, so that as much comes down at the other crossing.
Over the bearing M = (R - 56) e + 7·24/144·e²/2: for e = 5 in. (584.59 - 56)·5 + 14.6 = 2,657.6 in-lb.
"""

import math

import pytest

from tests.beams import check, find, gable
from trusses.analysis.findings.report import not_checked
from trusses.analysis.format.document import read

SECTION = 3.0625  # in³ of a 2x4


def heel(off, *, mirrored=False, width=3.5):
    """The gable with its left bearing `off` inside the crossing A, or the same mirrored."""
    document = gable(hinges=["A", "B", "P", "C"])
    document["joints"]["S"] = [off, 0]
    document["members"][2]["joints"] = ["S", "B"]
    document["members"].append(document["members"][2] | {"id": "B0", "joints": ["A", "S"]})
    document["bearings"][0] = {"joint": "S", "restrains": "xy", "width_in": width}
    if mirrored:
        document["joints"] = {name: [192 - x, y] for name, (x, y) in document["joints"].items()}
    return document


def moment(off):
    load = (2 * 10 * math.hypot(96, 32) + 7 * 192 + 20 * 192) * 24 / 144
    far = load * (96 - off) / (192 - off)
    return (far - 56) * off + 7 * 24 / 144 * off**2 / 2


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("off", [2, 5, 12])
def test_the_chord_over_the_bearing_is_checked_with_the_moment_and_the_finding_tells_it(off, mirrored):
    found = check(heel(off, mirrored=mirrored))
    assert moment(5) == pytest.approx(2657.6, abs=0.1)
    # at 2 in. the panel beside it sags more under dead load than the heel bends it
    for name in ("B0", "B1") if off > 2 else ("B0",):
        bending = found[name, "bending"]
        assert bending.demand == pytest.approx(moment(off) / SECTION)
        assert bending.combination == "D + S"
    assert found["B0", "shear"].terms["V"] == pytest.approx(moment(off) / off + 7 * 24 / 144 * off / 2)
    (told,) = [finding for finding in find(heel(off, mirrored=mirrored)) if finding.code == "heel-eccentricity"]
    assert told.where == "bearing S"
    assert told.values["off_in"] == off
    assert told.values["moment_inlb"] == pytest.approx(moment(off))
    assert (told.values["combination"], told.values["role"]) == ("D + S", "bottom_chord")
    assert set(told.values["members"]) == {"B0", "B1"}


@pytest.mark.parametrize("off", [0.1, 1])
def test_a_crossing_over_the_bearing_bends_too_and_the_less_the_nearer_it_is(off):
    """Within the bearing nothing needs to be told, and the moment goes to nothing with the distance."""
    assert check(heel(off))["B0", "bending"].demand == pytest.approx(moment(off) / SECTION)
    assert "heel-eccentricity" not in {finding.code for finding in find(heel(off))}


def test_a_bearing_on_the_crossing_bends_nothing():
    document = gable(hinges=["A", "B", "P", "C"])
    truss = read(document)
    assert "heel-eccentricity" not in {finding.code for finding in find(document)}
    # over the bearing the chord is pinned: the most is at midpanel, w l²/8 of its own dead load
    assert check(document)["B1", "bending"].demand == pytest.approx(7 * 24 / 144 * 96**2 / 8 / SECTION)
    heels = [one for one in not_checked(truss) if one.code == "heel-eccentricity"]
    assert [one.values["drawn"] for one in heels] == [False]
    assert [one.values["drawn"] for one in not_checked(read(heel(5))) if one.code == "heel-eccentricity"] == [True]


def test_a_tail_of_the_top_chord_on_the_wall_is_told_as_well():
    """The bearing stands under the top chord's tail, 6 in. outside the crossing."""
    document = gable()
    document["joints"]["S"] = [-6, -2]
    document["members"].append(document["members"][0] | {"id": "TL", "joints": ["S", "A"]})
    document["hinges"] = ["P", "C"]
    document["bearings"][0] = {"joint": "S", "restrains": "xy", "width_in": 3.5}
    (told,) = [finding for finding in find(document) if finding.code == "heel-eccentricity"]
    assert (told.where, told.values["role"], told.values["off_in"]) == ("bearing S", "top_chord", 6)
