"""What is hung on a truss isn't counted on to hold it down: its ties stay those of the truss without it."""

from dataclasses import replace

import pytest

from tests.option_cases import w_truss
from trusses.analysis.analysis import analyse
from trusses.analysis.capacity.placing import Placement
from trusses.analysis.capacity.strengthened import Weight, bearing_all, taken
from trusses.analysis.format.document import read


def in_a_storm():
    """The truss with twice its wind, which lifts it off its bearings."""
    truss = w_truss()
    area = [
        {**load, "psf": load["psf"] * (2 if load["case"] == "wind" else 1)} for load in truss.document["loads"]["area"]
    ]
    return read({**truss.document, "loads": {**truss.document["loads"], "area": area}})


def ties(truss):
    """Uplift of each bearing, lb."""
    return [one["uplift_lb"] for one in analyse(truss).document()["envelope"]["reactions_lb"].values()]


def without_wind(truss):
    loads = truss.document["loads"]
    calm = {key: [load for load in those if load["case"] != "wind"] for key, those in loads.items()}
    return read({**truss.document, "loads": calm})


@pytest.mark.parametrize("at_in", [72.0, 216.0, 400.0])
@pytest.mark.parametrize("share", [None, 1.0, 0.7])
def test_no_tie_gets_lighter(at_in, share):
    truss = in_a_storm()
    if share is not None:
        truss = read({**truss.document, "uplift_dead_share": share})
    before = ties(truss)
    assert max(before) > 100
    loaded = bearing_all(truss, [Weight(220.0, Placement("bottom_chord", "point", at_in))])
    after = ties(loaded)
    assert all(new >= old - 0.01 for old, new in zip(before, after, strict=True))
    # and no more is left out than that: at the bearing that most of it lies on, nothing but a thousandth
    assert min(new - old for old, new in zip(before, after, strict=True)) < 5


def test_by_hand():
    """36 ft, 6 in 12, 2 ft apart, 10 psf on the slope and 10 below: 20 plf × 18 ft × (√1.25 + 1) = 762.5 lb on either
    bearing. 220 lb in the middle make 872.5, of which 762.5 are 0.8739."""
    loaded = bearing_all(w_truss(), [Weight(220.0, Placement("bottom_chord", "point", 216.0))])
    assert loaded.uplift_dead_share == 0.873
    assert loaded.document["uplift_dead_share"] == 0.873


def test_several_weights_and_a_cross_beam_count_alike():
    truss = w_truss()
    middle = Placement("bottom_chord", "point", 216.0)
    both = bearing_all(truss, [Weight(110.0, middle), Weight(110.0, middle)])
    assert both.uplift_dead_share == 0.873
    over = taken(truss, [Weight(4_000.0, middle)])
    beams = [way for way in over.ways if any(step["code"] == "cross-beam" for step in way.steps)]
    assert beams
    for way in beams:
        share = way.steps[0]["values"]["share_lb"]
        assert way.document["uplift_dead_share"] == pytest.approx(762.5 / (762.5 + share / 2), abs=0.001)


def test_what_no_wind_lifts_and_what_is_live_load_change_nothing():
    calm, middle = without_wind(w_truss()), Placement("bottom_chord", "point", 216.0)
    assert bearing_all(calm, [Weight(220.0, middle)]).uplift_dead_share is None
    live = bearing_all(w_truss(), [replace(Weight(220.0, middle), case="live")])
    assert live.uplift_dead_share is None
    assert "uplift_dead_share" not in live.document
