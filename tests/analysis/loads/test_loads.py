"""Cases, and the combinations of ASCE 7-16 §2.4.1 over their arrangements, by the names that the format fixes."""

import itertools

import numpy as np
import pytest

from tests.frames import document
from tests.refused import refused
from trusses.analysis.format.document import read
from trusses.analysis.loads.combinations import (
    MOST_COMBINATIONS,
    LoadError,
    cases,
    combinations,
    factors_of,
    superposition,
)

BEAM = {"A": (0, 0), "B": (120, 0)}


def load(case, pattern=None, alone=False):
    said = {"case": case, "member": "C1", "plf": 10}
    said |= {} if pattern is None else {"pattern": pattern}
    return said | ({"acts": "alone"} if alone else {})


def truss(*loads, **more):
    return read(
        document(BEAM, [("C1", "top_chord", "A", "B")], {"A": "xy", "B": "y"}, loads={"line": list(loads)}, **more)
    )


def case_names(*loads):
    return [case.name for case in cases(truss(*loads))]


def combined(*loads, **more):
    its = truss(*loads, **more)
    return {c.name: c for c in combinations(its, cases(its))}


def test_a_case_without_patterns_is_its_own_name():
    assert case_names(load("snow"), load("dead"), load("dead")) == ["dead", "snow"]


def test_a_case_with_patterns_is_written_once_for_each():
    assert case_names(load("snow", "right"), load("snow", "left"), load("snow", "right")) == ["snow/right", "snow/left"]


def test_loads_without_a_pattern_are_in_every_pattern_of_their_case_and_no_other():
    its = truss(load("live", "left"), load("live"), load("live", "right"), load("snow"), load("live", alone=True))
    held = {case.name: [case.holds(it) for it in its.line_loads] for case in cases(its)}
    assert held == {
        "live/left": [True, True, False, False, False],
        "live/right": [False, True, True, False, False],
        "live/alone": [False, False, False, False, True],
        "snow": [False, False, False, True, False],
    }


def test_loads_that_act_alone_are_a_case_of_their_own():
    assert case_names(load("attic_storage", alone=True)) == ["attic_storage"]
    assert case_names(load("attic_storage", alone=True), load("attic_storage")) == [
        "attic_storage",
        "attic_storage/alone",
    ]
    assert case_names(load("live", "half", alone=True), load("live", "all"), load("live", alone=True)) == [
        "live/all",
        "live/alone/half",
    ]
    assert case_names(load("live", "half", alone=True)) == ["live/half"]
    assert [case.alone for case in cases(truss(load("live", "half", alone=True)))] == [True]


def test_dead_load_is_always_a_combination():
    (only,) = combined().values()
    assert (only.name, dict(only.factors), only.load_duration) == ("D", {}, 0.9)
    (only,) = combined(load("dead")).values()
    assert (only.name, dict(only.factors), only.load_duration) == ("D", {"dead": 1.0}, 0.9)


def test_every_combination_of_every_load():
    """ASCE 7-16 §2.4.1, 1 to 7; load duration by NDS Table 2.3.2 and 2.3.2.1, the shortest load's."""
    got = combined(*map(load, ("dead", "live", "roof_live", "snow", "rain", "wind")))
    roof = {"Lr": ("roof_live", 1.25), "S": ("snow", 1.15), "R": ("rain", 1.15)}
    wanted = {"D": ({"dead": 1}, 0.9), "D + L": ({"dead": 1, "live": 1}, 1.0)}
    for letter, (case, duration) in roof.items():
        wanted[f"D + {letter}"] = {"dead": 1, case: 1}, duration
        wanted[f"D + 0.75L + 0.75{letter}"] = {"dead": 1, "live": 0.75, case: 0.75}, duration
        wanted[f"D + 0.75L + 0.45W + 0.75{letter}"] = {"dead": 1, "live": 0.75, "wind": 0.45, case: 0.75}, 1.6
    wanted["D + 0.6W"] = {"dead": 1, "wind": 0.6}, 1.6
    wanted["0.6D + 0.6W"] = {"dead": 0.6, "wind": 0.6}, 1.6
    assert {name: (dict(c.factors), c.load_duration) for name, c in got.items()} == wanted
    assert next(iter(got)) == "D"


def test_absent_loads_drop_out_and_reduced_single_loads_go():
    assert list(combined(load("dead"), load("snow"))) == ["D", "D + S"]
    assert list(combined(load("dead"), load("live"))) == ["D", "D + L"]
    assert list(combined(load("dead"), load("wind"))) == ["D", "D + 0.6W", "0.6D + 0.6W"]
    assert list(combined(load("dead"), load("wind"), load("snow"))) == [
        "D",
        "D + S",
        "D + 0.6W",
        "D + 0.45W + 0.75S",
        "0.6D + 0.6W",
    ]
    assert list(combined(load("dead"), load("wind"), load("live"))) == [
        "D",
        "D + L",
        "D + 0.6W",
        "D + 0.75L + 0.45W",
        "0.6D + 0.6W",
    ]
    assert list(combined(load("snow"))) == ["D", "D + S"]


def test_patterns_of_different_cases_combine_freely():
    got = combined(
        load("dead"),
        load("live", "half"),
        load("live", "all"),
        load("snow", "left"),
        load("snow", "balanced"),
        load("wind", "up"),
        load("wind", "down"),
    )
    live, snow, wind = ("half", "all"), ("left", "balanced"), ("up", "down")
    assert {name for name in got if "L" in name and "S" in name and "W" not in name} == {
        f"D + 0.75L/{a} + 0.75S/{b}" for a, b in itertools.product(live, snow)
    }
    assert {name for name in got if "L" in name and "W" in name} == {
        f"D + 0.75L/{a} + 0.45W/{b} + 0.75S/{c}" for a, b, c in itertools.product(live, wind, snow)
    }
    assert dict(got["D + 0.75L/half + 0.45W/up + 0.75S/left"].factors) == {
        "dead": 1,
        "live/half": 0.75,
        "wind/up": 0.45,
        "snow/left": 0.75,
    }
    assert {"D + L/half", "D + S/balanced", "D + 0.6W/up", "0.6D + 0.6W/down"} <= got.keys()
    assert len(got) == 1 + 2 + 2 + 4 + 2 + 8 + 2


def test_live_load_and_attic_storage_act_together_as_l():
    got = combined(load("dead"), load("live", "half"), load("live", "all"), load("attic_storage"), load("snow"))
    assert {name: dict(c.factors) for name, c in got.items() if name.startswith("D + L")} == {
        "D + L/half": {"dead": 1, "live/half": 1, "attic_storage": 1},
        "D + L/all": {"dead": 1, "live/all": 1, "attic_storage": 1},
    }
    both = combined(load("live", "a"), load("live", "b"), load("attic_storage", "a"), load("attic_storage", "c"))
    assert set(both) == {"D", "D + L/a/a", "D + L/a/c", "D + L/b/a", "D + L/b/c"}
    assert dict(both["D + L/b/a"].factors) == {"live/b": 1, "attic_storage/a": 1}


def test_what_acts_alone_is_in_one_combination_only():
    got = combined(load("dead"), load("live"), load("attic_storage", alone=True), load("snow"), load("wind"))
    holds = [c for c in got.values() if "attic_storage" in c.factors]
    assert [(c.name, dict(c.factors), c.load_duration) for c in holds] == [
        ("D + L/alone", {"dead": 1, "attic_storage": 1}, 1.0)
    ]
    patterned = combined(load("dead"), load("live", "a", True), load("live", "b", True), load("live"))
    assert set(patterned) == {"D", "D + L", "D + L/alone/a", "D + L/alone/b"}
    both = combined(load("live", alone=True), load("attic_storage", alone=True))
    assert set(both) == {"D", "D + L/live/alone", "D + L/attic_storage/alone"}
    snow = combined(load("dead"), load("snow", alone=True))
    assert {name: c.load_duration for name, c in snow.items()} == {"D": 0.9, "D + S/alone": 1.0}


def test_the_sure_share_of_dead_load_holds_down_and_nothing_else():
    got = combined(load("dead"), load("wind"), load("snow"), uplift_dead_share=0.5)
    assert {name: c.factors["dead"] for name, c in got.items()} == {
        "D": 1,
        "D + S": 1,
        "D + 0.6W": 1,
        "D + 0.45W + 0.75S": 1,
        "0.6D + 0.6W": 0.3,
    }
    assert combined(load("dead"), load("wind"), uplift_dead_share=0)["0.6D + 0.6W"].factors["dead"] == 0


def test_factors_are_a_matrix_of_combinations_by_cases():
    its = truss(load("dead"), load("wind", "up"), load("wind", "down"))
    its_cases = cases(its)
    assert factors_of(combinations(its, its_cases), its_cases) == pytest.approx(
        np.array([[1, 0, 0], [1, 0.6, 0], [1, 0, 0.6], [0.6, 0.6, 0], [0.6, 0, 0.6]])
    )


def test_two_arrangements_of_one_name_are_refused():
    with refused(LoadError, "cases-alike", "loads", name="live/alone/left"):
        case_names(load("live", "alone/left"), load("live", "left", alone=True))
    with refused(LoadError, "cases-alike", "loads", name="D + L/a/b/c"):
        combined(
            load("live", "a/b"),
            load("live", "a"),
            load("attic_storage", "c"),
            load("attic_storage", "b/c"),
            load("dead"),
        )


def test_more_combinations_than_anyone_could_read_are_refused_before_they_are_made():
    many = [load(case, f"p{i}") for case in ("live", "snow", "wind") for i in range(100)]
    with refused(LoadError, "too-many-combinations", "loads", most=MOST_COMBINATIONS):
        combined(*many)


@pytest.mark.parametrize(("live", "snow", "fits"), [(9, 99, True), (6, 142, False)])
def test_a_thousand_combinations_are_made_and_one_more_is_refused(live, snow, fits):
    """Dead load alone, with each live, each snow and each pair of them: (1 + 9) · (1 + 99) and (1 + 6) · (1 + 142)."""
    many = [load("dead"), *(load("live", f"l{i}") for i in range(live)), *(load("snow", f"s{i}") for i in range(snow))]
    if fits:
        assert len(combined(*many)) == 1000
    else:
        with refused(LoadError, "too-many-combinations", "loads", count=1001):
            combined(*many)


def test_factors_that_trusses_share_cannot_be_changed():
    its = truss(load("dead"), load("snow"))
    _, factors = superposition(its, cases(its))
    assert factors.tolist() == [[1, 0], [1, 1]]
    with pytest.raises(ValueError, match="read-only"):
        factors[0, 0] = 2
