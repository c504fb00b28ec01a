"""A truss is judged without each of its weights, and without any of them together: by hand, and beside every choice."""

from __future__ import annotations

import random
from itertools import chain, combinations
from typing import Any

import pytest

from tests.beams import beam, line, overhanging
from tests.option_cases import w_truss
from trusses.analysis.analysis import analyse, analyse_many
from trusses.analysis.capacity.most import most_lb
from trusses.analysis.capacity.placing import Placement, written
from trusses.analysis.checks import weights_gone
from trusses.analysis.format.document import read
from trusses.analysis.frame import solve
from trusses.analysis.loads.weights import each_weight, taken_off
from trusses.analysis.verdict import verdict
from trusses.analysis.words.loads import acting, is_without

S_2X8 = 1.5 * 7.25**2 / 6


def braced(*points: dict[str, Any], **more: Any) -> dict[str, Any]:
    """The chord that runs on over its bearing, held every foot."""
    return overhanging(*points, lateral_restraint={"top_chord_in": 12, "bottom_chord_in": 12}, **more)


def stone(at_in: float = 60, lb: float = 200, **more: Any) -> dict[str, Any]:
    return {"case": "dead", "member": "B2", "at_in": at_in, "down_lb": lb, "note": "stone", **more}


def tub(at_in: float = 60, lb: float = 360) -> dict[str, Any]:
    return {"case": "dead", "member": "B1", "at_in": at_in, "down_lb": lb, "note": "tub"}


def of(analysis: Any, member: str, rule: str) -> Any:
    return next(one for one in analysis.checks if (one.id, one.rule) == (member, rule))


def test_a_weight_on_an_overhang_relieves_what_lies_between_the_bearings():
    """360 lb in the middle of 10 ft: 360 × 10 / 4 = 900 lb-ft there. 150 lb at the end of 5 ft, 750 lb-ft over B, take
    half of that away in the middle, which leaves 525; over B there are 750, with the tub or without it."""
    found = analyse(read(braced(stone(lb=150), tub())))
    between, beyond = of(found, "B1", "bending"), of(found, "B2", "bending")
    assert between.demand == pytest.approx(900 * 12 / S_2X8)
    assert between.combination == "D without the 150 lb stone"
    assert (beyond.demand, beyond.combination) == (pytest.approx(750 * 12 / S_2X8), "D")
    loaded = next(one for one in found.as_loaded if (one.id, one.rule) == ("B1", "bending"))
    assert loaded.demand == pytest.approx(750 * 12 / S_2X8)
    assert found.worst_ratio == pytest.approx(max(one.ratio for one in found.checks))
    assert acting(between.combination) == "dead load without the 150 lb stone"


def failing() -> dict[str, Any]:
    """846 psi are allowed, so 927 lb-ft (`test_the_most_at_a_place…`). 400 lb make 1,000 between the bearings; with 150
    lb at the end 625 there, and 750 over B."""
    return braced(stone(lb=150), tub(lb=400))


def test_it_fails_where_the_weight_is_gone_and_says_which():
    found = analyse(read(failing()))
    assert found.as_loaded_ratio < 1 < found.worst_ratio
    assert not found.passes
    (told,) = [one for one in found.findings if one.code == "weights-help"]
    assert (told.where, told.values["combination"]) == ("member B1", "D without the 150 lb stone")
    assert told.values["ratio"] == of(found, "B1", "bending").ratio > 1 > told.values["with_ratio"]
    written_down = found.document()
    assert not written_down["passes"]
    assert written_down["worst_ratio"] == pytest.approx(found.worst_ratio)
    assert "under D without the 150 lb stone" in " ".join(one["says"] for one in written_down["findings"])
    for judged in (found, written_down):
        assert [one.code for one in verdict(found.truss, judged).why_not] == ["check-fails"]
    # a search goes by what is solved together
    light, heavy = analyse_many([read(braced(tub())), read(failing())])
    assert (light.passes, heavy.passes) == (True, False)


def test_live_load_that_stands_alone_goes_too_and_what_is_carried_stays():
    """360 lb of dead load in the middle and 100 of a hoist, 1,150 lb-ft of D + L, less 375 by a hoist of 150 lb on the
    overhang: 927 / 0.9 = 1,030 are allowed. Dead load with as much snow on it is what the truss carries."""
    hoists = {**tub(lb=100), "case": "live", "note": "hoist"}, stone(lb=150, case="live", note="lift")
    found = analyse(read(braced(tub(), *hoists)))
    over = of(found, "B1", "bending")
    assert found.as_loaded_ratio < 1 < over.ratio
    assert over.demand == pytest.approx(1150 * 12 / S_2X8)
    assert over.combination == "D + L without the 150 lb lift"
    carried = braced(stone(), {**stone(), "case": "snow", "note": ""}, tub(lb=560))
    assert [one.note for one in each_weight(read(carried))] == ["tub"]


def test_pieces_of_one_line_are_one_weight_and_what_a_line_says_of_itself():
    truss = w_truss()
    load = Placement("bottom_chord", "line", 216.0, 200.0)
    lined = read(written(truss, load, 300.0, "dead", "panels"))
    assert len(lined.line_loads) - len(truss.line_loads) > 1
    (weight,) = each_weight(lined)
    assert (weight.pounds, len(weight.lines)) == (pytest.approx(300), len(lined.line_loads))


def test_a_truss_without_weights_is_solved_once(monkeypatch):
    solved = []
    solving = solve._solve
    monkeypatch.setattr(solve, "_solve", lambda *given: solved.append(given) or solving(*given))
    truss = w_truss()
    found = analyse(truss)
    assert found.without == ()
    assert found.checks == found.as_loaded
    assert found.worst_ratio == found.as_loaded_ratio
    assert len(solved) == 1


@pytest.mark.parametrize("seed", range(6))
def test_of_many_weights_those_go_that_relieve_a_check(seed):
    """Five to seven weights anywhere on both chords: none of all the choices of them makes any ratio larger."""
    chance, truss = random.Random(seed), w_truss()
    for i in range(5 + seed % 3):
        chord = chance.choice(["bottom_chord", "top_chord"])
        place = Placement(chord, "point", chance.uniform(5, 420))
        truss = read(written(truss, place, chance.uniform(30, 400), "dead", f"stone {i}"))
    weights = each_weight(truss)
    assert len(weights) == 5 + seed % 3
    found = analyse(truss)
    assert len(weights) < len(found.without) < 2 ** len(weights) - 1
    every = chain.from_iterable(combinations(weights, n) for n in range(len(weights) + 1))
    worst: dict[tuple[str, str, str], float] = {}
    for each in analyse_many([taken_off(truss, gone) for gone in every]):
        for key, ratio in each.ratios.items():
            worst[key] = max(worst.get(key, 0.0), ratio)
    ours = {(one.of, one.id, one.rule): one.ratio for one in found.checks}
    assert ours == {key: pytest.approx(ratio, rel=1e-6) for key, ratio in worst.items()}
    assert any(is_without(one.combination) and " and " in one.rule for one in found.checks)


def test_the_most_at_a_place_counts_on_no_other_weight():
    """927 lb-ft, so 370 lb in the middle by themselves, whatever lies on the overhang."""
    alone, beside = (
        float(most_lb(read(document), [Placement("bottom_chord", "point", 60.0)])[0])
        for document in (braced(), braced(stone(lb=150)))
    )
    assert beside == pytest.approx(alone, abs=2)
    assert alone == pytest.approx(927 * 4 / 10, abs=2)


def gone(document: dict[str, Any]) -> list[Any]:
    truss = read(document)
    weights = each_weight(truss)
    return weights_gone.left(truss, weights, weights_gone.first(weights))


def test_against_wind_what_is_left_counts_on_what_it_had_before():
    """40 plf over 8 ft, and 100 lb in the middle: of its 210 lb on each bearing 160 are sure, 0.761. Without the weight
    it counts on all of the 160 again: a thousandth less."""
    loads = [line(40, "dead", "M"), line(-100, "wind", "M", pattern="up")]
    document = beam(96.0, "2x6 DF-L No.2", role="bottom_chord", loads={"line": loads}) | {"uplift_dead_share": 0.761}
    document["loads"]["point"] = [{"case": "dead", "member": "M", "at_in": 48.0, "down_lb": 100}]
    ((called, left),) = gone(document)
    assert called == "the 100 lb on M"
    assert left.uplift_dead_share == pytest.approx(0.761 * 210 / 160, abs=1e-9)
    stated = {key: value for key, value in document.items() if key != "uplift_dead_share"}
    assert gone(stated)[0][1].uplift_dead_share is None
