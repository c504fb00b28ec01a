"""Checks under one combination alone, beside those of the whole analysis: of all combinations, the worst governs. They
follow by statics from what an analysis document holds, to whose ten digits they are as exact as the checks in it."""

import json

import pytest

from tests.random_trusses import random_truss
from trusses.analysis.analysis import analyse, checks_under
from trusses.analysis.checks.surroundings import Surroundings
from trusses.analysis.format.document import read, read_stored
from trusses.analysis.frame import solve
from trusses.analysis.shapes.shapes import build
from trusses.analysis.words.loads import is_without

SHAPES = [("w", {"ground_snow": 40, "wind_up": 15}), ("floor", {}), ("hip", {"wind_up": 20, "snow": 30})]


@pytest.fixture
def stored(monkeypatch):
    """A truss's analysis document as a database keeps it. From then on no frame can be solved."""

    def make(truss, surroundings=Surroundings()):  # noqa: B008
        analysis = json.loads(json.dumps(analyse(truss, surroundings).document()))
        monkeypatch.setattr(solve, "_solve", lambda *_: pytest.fail("a frame was solved"))
        return analysis

    return make


def is_what_governs(truss, analysis, interaction=1e-9):
    worst: dict[tuple[str, str], float] = {}
    for combination in analysis["combinations"]:
        for check in checks_under(truss, analysis, combination):
            assert check.combination == combination
            key = check.id, check.rule
            worst[key] = max(worst.get(key, 0.0), check.ratio)
    governing = {(c["id"], c["rule"]): c for c in analysis["checks"] if c["of"] == "member"}
    lighter = {key for key, check in governing.items() if is_without(check["combination"])}
    assert governing.keys() - lighter <= worst.keys() <= governing.keys()
    for key, check in governing.items():
        rel = interaction if " and " in key[1] else 1e-9
        if key in lighter:
            # with all that stands on it it is less: no combination of the document
            assert worst.get(key, 0.0) < check["ratio"], key
        else:
            assert worst[key] == pytest.approx(check["ratio"], rel=rel, abs=1e-11), key
    return len(governing)


@pytest.mark.parametrize(("shape", "given"), SHAPES)
def test_the_worst_of_every_combination_is_what_governs(shape, given, stored):
    truss = read(build(shape, span=240, **given))
    assert is_what_governs(truss, stored(truss)) > 30


@pytest.mark.parametrize("seed", range(40))
def test_with_loads_of_every_kind_anywhere_along_members(seed, stored):
    """Where the axial force changes sign at a low slope, its last digit moves that place, and the bending there."""
    truss = read_stored(random_truss(seed))
    assert is_what_governs(truss, stored(truss), interaction=2e-8) > 10


def test_a_duration_of_its_own_and_what_was_told(stored):
    """CD 0.9 of dead load alone and 1.15 of snow (NDS Table 2.3.2); CT only where sheathing was told of (4.4.2)."""
    truss = read(build("w", span=240, snow=30))
    bare, sheathed = analyse(truss).document(), stored(truss, Surroundings(km=2300))
    factors = {
        name: {check.terms["CD"] for check in checks_under(truss, bare, name) if "CD" in check.terms}
        for name in ("D", "D + S/balanced")
    }
    assert factors == {"D": {0.9}, "D + S/balanced": {1.15}}
    assert any("CT" in check.terms for check in checks_under(truss, sheathed, "D + S/balanced"))
    assert not any("CT" in check.terms for check in checks_under(truss, bare, "D + S/balanced"))


def test_a_combination_that_the_truss_has_not(stored):
    truss = read(build("w", span=240))
    with pytest.raises(KeyError):
        checks_under(truss, stored(truss), "D + W")
