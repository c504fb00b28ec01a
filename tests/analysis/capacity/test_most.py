"""The largest weight along a chord, by hand for beams and by whole analyses for trusses."""

import math

import numpy as np
import pytest

from tests.beams import beam, gable
from tests.frames import beam as spans
from tests.option_cases import floor_truss, w_truss
from tests.refused import refused
from trusses.analysis.analysis import analyse
from trusses.analysis.capacity.most import MOST_LB, curve, most_lb, places
from trusses.analysis.capacity.placing import CapacityError, Placement, written
from trusses.analysis.format.document import read

LUMBER = "2x8 DF-L No.2"
SECTION = 1.5 * 7.25**2 / 6  # 13.14 in³


def one_span(length=96.0, lumber=LUMBER, **more):
    """Held along its upper edge, of no other load; a ceiling of none and long enough for bending to govern."""
    return read(beam(length, lumber, role="bottom_chord", spacing=48, ceiling="none", **more))


def test_pl_over_4_by_hand():
    """Simple span, 2x8 DF-L No.2, Fb 900, CF 1.2, CD 0.9 (dead), Cr 1 at 48 in.: Fb' 972 psi, M = 972 · 13.14 = 12,773
    in-lb. Its lower edge is held and it sags, so the upper is not: CL by lu = 96 in. At the middle P = 4 M / L."""
    truss = one_span()
    analysis = analyse(read(written(truss, Placement("bottom_chord", "point", 48), 400, "dead", "tub")))
    bending = next(check for check in analysis.checks if check.rule == "bending")
    assert bending.demand == pytest.approx(400 * 96 / 4 / SECTION)
    by_hand = 4 * bending.capacity * SECTION / 96
    governs = max(analysis.checks, key=lambda check: check.ratio)
    assert governs.rule == "bending"
    found = most_lb(truss, [Placement("bottom_chord", "point", 48)])
    assert found == pytest.approx([by_hand], abs=1.0)


def test_the_middle_of_a_panel_lies_between_pl_over_4_and_pl_over_8():
    """A chord that runs on is neither free nor fixed at its panel points: its moment lies between PL/4 and PL/8."""
    many = spans([96.0] * 7, {}, [(4, 48.0, 300.0)])
    moment = many.moment("S4", 48.0)
    assert 300 * 96 / 8 < moment < 300 * 96 / 4
    assert spans([96.0], {}, [(1, 48.0, 300.0)]).moment("S1", 48.0) == pytest.approx(300 * 96 / 4)


@pytest.mark.parametrize("shape", ["point", "pair", "line"])
def test_what_is_found_passes_and_two_pounds_more_fail(shape):
    truss = w_truss()
    for x in (30.0, 108.0, 216.0, 300.0):
        where = Placement("bottom_chord", shape, x, 24.0)
        (most,) = most_lb(truss, [where])
        assert 0 < most < MOST_LB
        assert analyse(read(written(truss, where, most, "dead", ""))).passes
        assert not analyse(read(written(truss, where, most + 2, "dead", ""))).passes


def test_all_places_at_once_are_each_alone():
    truss = floor_truss()
    found = curve(truss, "top_chord", "live")
    assert len(found.xs) == len(found.pounds) > 20
    for i in range(0, len(found.xs), 7):
        (alone,) = most_lb(truss, [Placement("top_chord", "point", found.xs[i])], "live")
        assert math.floor(alone) == found.pounds[i]


def test_more_places_than_one_stack():
    truss = w_truss()
    xs = np.linspace(20, 412, 150)
    found = most_lb(truss, [Placement("bottom_chord", "point", float(x)) for x in xs])
    (one,) = most_lb(truss, [Placement("bottom_chord", "point", float(xs[140]))])
    assert found[140] == pytest.approx(one, abs=1e-6)


def test_a_symmetric_truss_takes_the_same_on_either_side():
    found = curve(w_truss(), "bottom_chord")
    assert found.xs == pytest.approx([432 - x for x in reversed(found.xs)])
    # wind and snow lie on either side in turn
    assert found.pounds == pytest.approx(tuple(reversed(found.pounds)), abs=2)


def test_a_panel_point_takes_more_than_the_panels_beside_it():
    truss = w_truss()
    found = dict(zip(*(lambda c: (c.xs, c.pounds))(curve(truss, "bottom_chord")), strict=True))
    inner = [joint.x for joint in truss.joints if joint.y == 0 and 0 < joint.x < 432]
    for x in inner:
        beside = [pounds for at, pounds in found.items() if 6 < abs(at - x) <= 48]
        assert found[round(x, 3)] > max(beside)


def test_over_a_bearing_only_the_bearing_counts():
    assert curve(one_span(), "bottom_chord").pounds[0] > 1000


def test_a_truss_that_fails_today_takes_nothing():
    document = gable()
    document["loads"]["area"].append({"case": "snow", "chord": "top_chord", "psf": 200, "along": "plan"})
    truss = read(document)
    assert not analyse(truss).passes
    assert set(curve(truss, "bottom_chord").pounds) == {0.0}


def test_no_more_than_the_most_is_looked_for():
    stub = one_span(24.0, "2x12 DF-L Select Structural")
    assert most_lb(stub, [Placement("bottom_chord", "point", 0)])[0] <= MOST_LB


def test_dead_and_live_weights_differ_by_their_duration():
    """Of a beam without other loads, CD 0.9 for dead and 1.0 for live: bending governs, so 10/9 as much live load."""
    where = [Placement("bottom_chord", "point", 48)]
    dead, live = (most_lb(one_span(), where, case)[0] for case in ("dead", "live"))
    assert live / dead == pytest.approx(10 / 9, rel=0.06)


@pytest.mark.parametrize("x", [-0.1, 96.1])
def test_a_place_beside_the_chord_is_refused(x):
    with refused(CapacityError, "weight-beside-chord"):
        most_lb(one_span(), [Placement("bottom_chord", "point", x)])
    with refused(CapacityError, "weight-beside-chord"):
        most_lb(one_span(), [Placement("bottom_chord", "line", 95, 4)])


def test_the_weight_is_written_whole_and_where_it_is():
    truss = w_truss()
    where = Placement("top_chord", "line", 216, 200)
    document = written(truss, where, 1000, "dead", "stone")
    lines = document["loads"]["line"]
    assert sum(load["plf"] / 12 * (load["to_in"] - load["from_in"]) for load in lines) == pytest.approx(1000)
    analysis = analyse(read(document))
    before = analyse(truss)
    combination = [each.name for each in before.combinations].index("D")
    up = analysis.results.combined.reactions[combination, :, 1] - before.results.combined.reactions[combination, :, 1]
    assert up == pytest.approx([500, 500])
    pair = written(truss, Placement("bottom_chord", "pair", 100, 40), 300, "dead", "air handler")
    assert [(load["down_lb"], load["note"]) for load in pair["loads"]["point"]] == [(150, "air handler")] * 2


def test_a_curve_has_its_panel_points_and_steps_of_a_foot():
    truss = w_truss()
    xs = places(truss, "bottom_chord")
    assert {round(j.x, 3) for j in truss.joints if j.y == 0} <= set(xs)
    assert np.diff(xs).max() <= 12 + 1e-6
