"""Every combination of ASCE 7-16 §2.4.1 over every arrangement, for every set of loads that a truss can have.

What is wanted is written here by hand, for each set of loads that are there, and spread over the arrangements by
counting them; nothing is taken from the code under test.
"""

import itertools
import math

import pytest

from tests.frames import document
from trusses.analysis.format.document import read
from trusses.analysis.loads.combinations import cases, combinations

ROOF = ("Lr", "S", "R")
CASES = {
    "D": ["dead"],
    "L": ["live", "attic_storage"],
    "Lr": ["roof_live"],
    "S": ["snow"],
    "R": ["rain"],
    "W": ["wind"],
}
#: NDS Table 2.3.2; rain as snow, by the format.
DURATION = {"D": 0.9, "L": 1.0, "S": 1.15, "R": 1.15, "Lr": 1.25, "W": 1.6}


def combined(loads, **more):
    lines = [{"member": "C1", "plf": 10} | load for load in loads]
    truss = read(
        document(
            {"A": (0, 0), "B": (120, 0)},
            [("C1", "top_chord", "A", "B")],
            {"A": "xy", "B": "y"},
            loads={"line": lines},
            **more,
        )
    )
    return combinations(truss, cases(truss))


def wanted(letters):
    """Letter and factor of each combination for the loads that are there, D always among them."""
    live, wind = "L" in letters, "W" in letters
    out = [(("D", 1.0),)]
    out += [(("D", 1.0), ("L", 1.0))] if live else []
    for roof in ROOF:
        if roof in letters:
            out += [(("D", 1.0), (roof, 1.0))]
            out += [(("D", 1.0), ("L", 0.75), (roof, 0.75))] if live else []
            out += [(("D", 1.0), ("L", 0.75), ("W", 0.45), (roof, 0.75))] if live and wind else []
            out += [(("D", 1.0), ("W", 0.45), (roof, 0.75))] if wind and not live else []
    if wind:
        out += [(("D", 1.0), ("W", 0.6)), (("D", 0.6), ("W", 0.6))]
        out += [(("D", 1.0), ("L", 0.75), ("W", 0.45))] if live and not letters & set(ROOF) else []
    return out


@pytest.mark.parametrize("patterns", [1, 2, 3])
@pytest.mark.parametrize("others", [s for n in range(6) for s in itertools.combinations(("L", *ROOF, "W"), n)], ids=str)
def test_each_combination_over_each_arrangement(others, patterns):
    """One, two and three arrangements of each load; the dead load lies one way."""
    letters = {"D", *others}
    loads = [{"case": "dead"}] + [
        {"case": CASES[letter][0], "pattern": f"p{i}"} for letter in others for i in range(patterns)
    ]
    expected = {}
    for terms in wanted(letters):
        ways = itertools.product(*([None] if letter == "D" else range(patterns) for letter, _ in terms))
        for chosen in ways:
            factors = {
                "dead" if letter == "D" else f"{CASES[letter][0]}/p{i}": factor
                for (letter, factor), i in zip(terms, chosen, strict=True)
            }
            expected[frozenset(factors.items())] = max(DURATION[letter] for letter, _ in terms)
    got = {frozenset(c.factors.items()): c.load_duration for c in combined(loads)}
    assert got == expected


@pytest.mark.parametrize("others", [("S",), ("R",), ("Lr", "W"), ("S", "R", "W")], ids=str)
def test_live_load_and_storage_are_one_load_in_every_way_of_both(others):
    """Two ways of each: four of L, at full and at 0.75, with every arrangement of the rest."""
    loads = [{"case": "dead"}]
    loads += [{"case": case, "pattern": name} for case in CASES["L"] for name in "ab"]
    loads += [{"case": CASES[letter][0], "pattern": name} for letter in others for name in "xyz"]
    got = combined(loads)
    pairs = {
        (factor, live, storage)
        for c in got
        for live, storage in itertools.product("ab", repeat=2)
        if (factor := c.factors.get(f"live/{live}")) and c.factors.get(f"attic_storage/{storage}") == factor
    }
    assert pairs == {(factor, a, b) for factor in (1.0, 0.75) for a, b in itertools.product("ab", repeat=2)}
    for c in got:
        held = [sum(name.startswith(case) for name in c.factors) for case in CASES["L"]]
        assert held in ([0, 0], [1, 1]), c.name
    count = sum(
        math.prod({"D": 1, "L": 4}.get(letter, 3) for letter, _ in terms) for terms in wanted({"D", "L", *others})
    )
    assert len(got) == count


def test_what_is_sure_of_the_dead_load_counts_where_it_holds_down_alone():
    loads = [{"case": "dead"}]
    loads += [{"case": "wind", "pattern": way} for way in ("up", "down")]
    loads += [{"case": "live"}, {"case": "snow"}, {"case": "attic_storage", "acts": "alone"}]
    for c in combined(loads, uplift_dead_share=0.7):
        assert c.factors["dead"] == pytest.approx(0.42 if c.name.startswith("0.6D") else 1), c.name
    lifted = [c.name for c in combined(loads, uplift_dead_share=0.7) if c.name.startswith("0.6D")]
    assert lifted == ["0.6D + 0.6W/up", "0.6D + 0.6W/down"]


@pytest.mark.parametrize("case", ["live", "attic_storage", "roof_live", "snow", "rain", "wind"])
def test_what_acts_alone_acts_with_the_dead_load_and_nothing_else(case):
    """In full, whatever the case, with CD 1.0 (truss-document.md), and once for each of its own arrangements."""
    rest = [{"case": name} for names in CASES.values() for name in names]
    without = {c.name for c in combined(rest)}
    alone = [{"case": case, "acts": "alone", "pattern": name} for name in "ab"]
    new = [c for c in combined(rest + alone) if c.name not in without]
    assert [dict(c.factors) for c in new] == [{"dead": 1.0, f"{case}/alone/{name}": 1.0} for name in "ab"]
    assert [c.load_duration for c in new] == [1.0, 1.0]
    assert without <= {c.name for c in combined(rest + alone)}
