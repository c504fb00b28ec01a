"""A weight that a truss doesn't take as it is: what is offered, and that each offer holds."""

from dataclasses import replace

import pytest

from tests.option_cases import codes, w_truss
from tests.refused import refused
from trusses.analysis.analysis import analyse
from trusses.analysis.capacity.most import most_lb
from trusses.analysis.capacity.placing import CapacityError, Placement
from trusses.analysis.capacity.strengthened import Weight, taken
from trusses.analysis.format.document import read
from trusses.analysis.made_stronger import LIMITS, _shown, candidate
from trusses.analysis.words.options import title

PANEL = Placement("bottom_chord", "point", 216.0)


def weighs(truss, placement=PANEL):
    return most_lb(truss, [placement])[0]


def test_what_it_takes_as_it_is_changes_nothing():
    truss = w_truss()
    found = taken(truss, [Weight(weighs(truss) - 1, PANEL)])
    assert found.as_it_is.passes
    assert found.ways == ()


@pytest.mark.parametrize("shape", ["point", "pair", "line"])
def test_each_offer_carries_the_weight_and_keeps_the_outside(shape):
    truss = w_truss()
    where = Placement("bottom_chord", shape, 216.0, 24.0)
    most = weighs(truss, where)
    found = taken(truss, [Weight(1.5 * most, where, note="air handler")])
    assert not found.as_it_is.passes
    passing = [way for way in found.ways if way.passes]
    assert passing
    for way in passing:
        again = read(way.document)
        assert analyse(again).passes
        assert again.bearings == truss.bearings
        steps = codes(way.steps)
        share = 1.5 * most
        if "cross-beam" in steps:
            share = way.steps[0]["values"]["share_lb"]
        added = sum(load["down_lb"] for load in way.document["loads"].get("point", ()) if load.get("note"))
        added += sum(
            load["plf"] / 12 * (load["to_in"] - load["from_in"]) for load in way.document["loads"].get("line", ())
        )
        assert added == pytest.approx(share, rel=1e-3)
        assert title(way.steps)


def test_the_ways_differ_in_kind():
    truss = w_truss()
    found = taken(truss, [Weight(1.6 * weighs(truss), PANEL)])
    kinds = {code for way in found.ways if way.passes for code in codes(way.steps)}
    assert {"cross-beam", "upright"} <= kinds


def test_of_two_ways_of_one_kind_the_smaller_change_is_shown_alone():
    """Two candidates that pass with the same steps, whatever the grades."""
    truss = w_truss()
    one = candidate(truss, truss, analyse(truss))
    more = replace(one, change=replace(one.change, board_feet=one.change.board_feet + 4))
    assert (one.passes, one.change.kind) == (True, more.change.kind)
    assert _shown([more, one], LIMITS) == [one]


def test_a_stiff_beam_over_three_leaves_a_third():
    truss = w_truss()
    three = Weight(900, PANEL, (0, 24, 48), 24, 24, "stiff")
    assert three.shares_lb == pytest.approx([300] * 3)
    assert taken(truss, [three]).shares_lb == pytest.approx((300,))


def test_every_truss_is_drawn_for_the_largest_share():
    platform = Weight(800, PANEL, (0, 24, 48), 0, 48, "continuous")
    assert platform.most_lb == pytest.approx(500)


def test_a_weight_beyond_the_trusses_that_share_it():
    with refused(CapacityError, "weight-beyond-trusses"):
        taken(w_truss(), [Weight(100, PANEL, (0, 24), 12, 30, "stiff")])


def test_a_weight_that_nothing_helps_says_what_stops_the_best():
    found = taken(w_truss(), [Weight(90_000, PANEL)])
    assert not any(way.passes for way in found.ways)
    assert len(found.ways) == 1
    assert "fails" in codes(found.ways[0].told)
