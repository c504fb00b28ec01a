"""Weights that may be gone again: what a truss counts on them for, by hand."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from tests.beams import overhanging
from tests.option_cases import w_truss
from trusses.analysis.analysis import analyse
from trusses.analysis.capacity.placing import Placement
from trusses.analysis.capacity.strengthened import Weight, bearing_all
from trusses.analysis.checks.check import Finding
from trusses.analysis.format.document import read

WEIGHT = {"case": "dead", "member": "B1", "at_in": 60, "down_lb": 80, "note": "air handler"}


def cantilever(*points: dict[str, Any], **more: Any) -> dict[str, Any]:
    """100 lb of snow at the end of a chord that runs on over its bearing by 5 ft."""
    return overhanging({"case": "snow", "joint": "C", "down_lb": 100}, *points) | more


def told(document: dict[str, Any], code: str) -> list[Finding]:
    return [one for one in analyse(read(document)).findings if one.code == code]


def test_a_bearing_that_snow_lifts_is_held_down_for_what_it_is_without_the_weight():
    """D + S: the snow lifts A by 100 × 60 / 120 = 50 lb; 80 lb in the middle between the bearings put 40 there, so that
    10 are left with them."""
    (found,) = told(cantilever(WEIGHT), "weights-hold-down")
    assert found.where == "bearing A"
    assert found.values == {
        "joint": "A",
        "force_lb": pytest.approx(50),
        "combination": "D + S",
        "told_lb": pytest.approx(10),
    }
    assert told(cantilever(), "weights-hold-down") == []
    # on the cantilever it lifts A itself: without it there is less
    assert told(cantilever({**WEIGHT, "member": "B2"}), "weights-hold-down") == []


def test_a_line_of_weight_counts_alike():
    """16 plf over 60 in. are the same 80 lb about the same place."""
    document = cantilever()
    document["loads"]["line"] = [{"case": "dead", "member": "B1", "plf": 16, "from_in": 30, "to_in": 90}]
    (found,) = told(document, "weights-hold-down")
    assert found.values["force_lb"] == pytest.approx(50)


def test_what_a_truss_carries_is_no_weight_that_may_be_gone():
    """It brings its own snow to the same place, a quarter of its 80 lb at least."""
    assert told(cantilever(WEIGHT, {**WEIGHT, "case": "snow", "down_lb": 20}), "weights-hold-down") == []


def test_a_pound_at_its_place_makes_no_weight_lasting():
    """1 lb of snow beside it puts half of that on A: 49.5 lb are lifted without the weight."""
    (found,) = told(cantilever(WEIGHT, {**WEIGHT, "case": "snow", "down_lb": 1}), "weights-hold-down")
    assert found.values["force_lb"] == pytest.approx(49.5)
    assert told(cantilever(WEIGHT, {**WEIGHT, "case": "snow", "down_lb": 19}), "weights-hold-down")


def shared(share: float | None, *points: dict[str, Any]) -> list[bool]:
    """Of the finding on the share, whether weights are counted on; of the truss of 36 ft of other tests."""
    document = copy.deepcopy(w_truss().document)
    document["loads"]["point"] = list(points)
    if share is not None:
        document["uplift_dead_share"] = share
    return [one.values["over"] for one in analyse(read(document)).findings if one.code == "uplift-dead-share-weights"]


def test_that_all_but_the_weight_is_counted_on_is_told_still():
    """220 lb in the middle beside 762.5 lb on either bearing: 762.5 / 872.5 = 0.8739, so 0.873 is all of the rest."""
    truss = w_truss()
    assert [one.code for one in analyse(truss).findings].count("uplift-dead-share") == 1
    hung = bearing_all(truss, [Weight(220.0, Placement("bottom_chord", "point", 216.0))])
    assert hung.uplift_dead_share == 0.873
    (found,) = [one for one in analyse(hung).findings if one.code.startswith("uplift-dead-share")]
    assert (found.code, found.where) == ("uplift-dead-share-weights", "uplift_dead_share")
    assert found.values == {"share": 0.873, "over": False}
    # two of them, one after the other, are rounded twice
    twice = bearing_all(hung, [Weight(220.0, Placement("bottom_chord", "point", 216.0))])
    assert [one.values["over"] for one in analyse(twice).findings if one.code == found.code] == [False]
    # a share that was said is a share of the rest too
    said = bearing_all(
        read({**truss.document, "uplift_dead_share": 0.7}), [Weight(220.0, Placement("bottom_chord", "point", 216.0))]
    )
    assert not [one for one in analyse(said).findings if one.code.startswith("uplift-dead-share")]


def test_a_share_that_counts_on_the_weight_is_told():
    member = next(m for m in w_truss().members if m.role == "bottom_chord")
    weight = {"case": "dead", "member": member.id, "at_in": 40, "down_lb": 220}
    assert shared(1, weight) == [True]
    assert shared(0.6, weight) == []
    assert shared(1) == []
    assert shared(None, weight) == []  # that nothing is said is a finding of its own
