"""What is hung on a truss isn't counted on to hold it down: its ties stay those of the truss without it."""

from dataclasses import replace

import pytest

from tests.beams import beam, line
from tests.option_cases import w_truss
from trusses.analysis.analysis import analyse
from trusses.analysis.capacity import strengthened
from trusses.analysis.capacity.most import most_lb
from trusses.analysis.capacity.placing import Placement, written
from trusses.analysis.capacity.strengthened import Weight, bearing_all, taken
from trusses.analysis.capacity.uplift import fails_without
from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.analysis.format.document import read
from trusses.analysis.words.phrases import coded


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


def lifted_beam(length, dead, wind):
    """One span of a 2x6 under plf of dead load, lifted by wind."""
    loads = [line(dead, "dead", "M"), line(-wind, "wind", "M", pattern="up")]
    return read(beam(length, "2x6 DF-L No.2", role="bottom_chord", ceiling="none", loads={"line": loads}))


def test_the_curve_counts_on_no_weight_against_wind():
    """8 ft, 40 plf: each bearing has 160 lb of dead load. A weight of P at 6 in. from the left one puts 15/16 P there,
    so that s = 160 / (160 + 15/16 P) of the dead load is sure. In 0.6D + 0.6W the moment in the middle is 0.6 × 300 ×
    8² / 8 = 1,440 lb-ft up, less 0.6 s (40 × 8² / 8 + P / 16 × 4) of dead load; bending governs."""
    truss, where = lifted_beam(96.0, 40, 300), Placement("bottom_chord", "point", 6.0)
    most = float(most_lb(truss, [where])[0])
    loaded = analyse(bearing_all(truss, [Weight(most, where)]))
    assert loaded.passes
    assert not analyse(bearing_all(truss, [Weight(most + 3, where)])).passes
    governs = max(loaded.checks, key=lambda check: check.ratio)
    assert (governs.rule, governs.combination) == ("bending", "0.6D + 0.6W/up")
    moment = 1440 - 0.6 * 160 / (160 + 15 / 16 * most) * (320 + most / 4)
    assert 12 * moment / (1.5 * 5.5**2 / 6) == pytest.approx(governs.capacity, rel=5e-4)
    # counted on, a good deal more would pass
    assert analyse(read(written(truss, where, most + 100, "dead", ""))).passes
    # live load holds nothing down in that combination anyway
    assert most_lb(truss, [where], "live")[0] > most + 100


def test_what_its_weight_alone_makes_pass_passes_for_nobody():
    """6 ft, 70 plf, 590 plf of wind: (0.6 × 590 - 0.6 × 70) × 6² / 8 = 1,404 lb-ft up, more than it takes. With 200 lb
    in the middle 210 / 310 = 0.677 of the dead load are sure: 0.6 × 0.677 (70 × 6² / 8 + 200 × 6 / 4) = 250 lb-ft of it
    instead of 189, which leaves 1,343 in the middle. On either side of it the moment is larger by V² / 2w: V is 0.6 ×
    0.677 × 200 / 2 = 40.6 lb, w 0.6 × 590 - 0.6 × 0.677 × 70 = 325.6 plf, so 2.5 more: 1,345.7."""
    truss, weight = lifted_beam(72.0, 70, 590), Weight(200.0, Placement("bottom_chord", "point", 36.0))
    bare, hung = analyse(truss), bearing_all(truss, [weight])
    found = analyse(hung)
    assert not bare.passes
    assert found.as_loaded_ratio == pytest.approx(bare.worst_ratio * 1345.7 / 1404, rel=1e-4)
    assert found.as_loaded_ratio < 1
    # a thousandth of the dead load less is counted on
    assert found.worst_ratio == pytest.approx(bare.worst_ratio, rel=2e-4)
    assert not found.passes
    assert fails_without(hung, truss) == coded("fails-without-weight", ratio=pytest.approx(bare.worst_ratio))
    # made stronger it is strong enough without the weight too
    *passing, last = taken(truss, [weight]).ways
    assert not last.passes
    assert passing
    assert all(one.passes and one.analysis.worst_ratio <= 1 for one in passing)
    calm = without_wind(truss)
    assert fails_without(bearing_all(calm, [weight]), calm) is None


def test_a_pound_of_live_load_beside_it_makes_no_weight_lasting():
    """The same: with live load at its place, today's or asked for too, it's the weight all the same that is taken away.
    Without it the moment is the 1,404 lb-ft that are more than it takes; live load isn't in 0.6D + 0.6W."""
    truss, middle = lifted_beam(72.0, 70, 590), Placement("bottom_chord", "point", 36.0)
    weight, pound = Weight(200.0, middle), Weight(1.0, middle, case="live")
    fails = coded("fails-without-weight", ratio=pytest.approx(analyse(truss).worst_ratio))
    stood_on = bearing_all(truss, [pound])
    assert fails_without(bearing_all(stood_on, [weight]), stood_on) == fails
    *passing, last = taken(truss, [weight, pound]).ways
    assert (last.passes, [way.passes for way in passing]) == (False, [True] * len(passing))
    assert passing
    # with as much of it that the document looks like a load that is carried
    for way in taken(truss, [weight, replace(pound, pounds=80.0)]).ways:
        assert (way.passes, way.told[0], way.bars) == (False, fails, (fails,))


def test_a_second_weight_is_taken_away_by_itself():
    """572 plf: 1,355 lb-ft up, which it takes. Of the dead load with 200 lb on it 0.677 are sure; with 5 lb more, taken
    away again, it is what it was before them, while 0.677 of 70 plf alone would be too little: 0.6 (572 - 0.677 × 70) ×
    6² / 8 = 1,416 lb-ft."""
    middle = Placement("bottom_chord", "point", 36.0)
    hung = bearing_all(lifted_beam(72.0, 70, 572), [Weight(200.0, middle)])
    assert analyse(hung).passes
    assert taken(hung, [Weight(5.0, middle)]).ways == ()
    bare = read({**lifted_beam(72.0, 70, 572).document, "uplift_dead_share": hung.uplift_dead_share})
    assert not analyse(bare).passes


def test_a_weight_is_taken_off_a_truss_that_is_drawn_otherwise():
    """A panel point under the weight parts the chord: today's line load comes back in two pieces, and nothing else."""
    truss = lifted_beam(96.0, 40, 300)
    hung = bearing_all(truss, [Weight(100.0, Placement("bottom_chord", "point", 48.0))]).document
    pieces = [
        {**hung["members"][0], "id": name, "joints": ends} for name, ends in (("M", ["A", "N"]), ("L", ["N", "B"]))
    ]
    loads = [
        {**load, "member": name, "from_in": 0, "to_in": 48} for load in hung["loads"]["line"] for name in ("M", "L")
    ]
    parted = {
        **hung,
        "joints": {**hung["joints"], "N": [48, 0]},
        "members": pieces,
        "loads": {"line": loads, "point": hung["loads"]["point"]},
    }
    assert fails_without(read(parted), truss) == fails_without(read(hung), truss)
    assert fails_without(read(parted), lifted_beam(96.0, 40, 330)) is not None


def failing_deflection():
    """8 ft under a plaster ceiling, 40 plf and 325 of wind: 0.6 (325 - 40) × 8² / 8 = 1,368 lb-ft up, 0.8 % more
    than it takes (1,404 are 103.5 % of that); with 100 lb in the middle 160 / 210 of the dead load are sure, and it is
    strong enough. Wind alone lifts it by twice what is allowed, so with the weight as without it fails there."""
    loads = [line(40, "dead", "M"), line(-325, "wind", "M", pattern="up")]
    truss = read(beam(96.0, "2x6 DF-L No.2", role="bottom_chord", ceiling="plaster", loads={"line": loads}))
    weight = Weight(100.0, Placement("bottom_chord", "point", 48.0))
    hung = bearing_all(truss, [weight])
    assert {check.rule for check in analyse(hung).as_loaded if not check.passes} == SERVICEABILITY
    return truss, weight, hung


def test_where_a_deflection_fails_too_its_strength_has_to_be_its_own(monkeypatch):
    truss, weight, hung = failing_deflection()
    fails = coded("fails-without-weight", ratio=pytest.approx(1.0349 * 1368 / 1404, rel=1e-4))
    assert fails_without(hung, truss, failing=SERVICEABILITY) == fails
    monkeypatch.setattr(strengthened, "made_stronger", lambda *_: [])
    (way,) = taken(truss, [weight]).ways
    # of strength, which nobody accepts
    assert {check.rule for check in way.analysis.checks if not check.passes} == {*SERVICEABILITY, "bending"}
    assert not way.passes
    # a truss that is too weak with it isn't told that it is too weak without
    assert fails_without(hung, truss, failing={*SERVICEABILITY, "bending"}) is None
    # nor is one that bends too far with it or without, and is strong enough both times
    calmer = read({**truss.document, "loads": {"line": [line(40, "dead", "M"), line(-315, "wind", "M", pattern="up")]}})
    assert fails_without(bearing_all(calmer, [weight]), calmer, failing=SERVICEABILITY) is None
