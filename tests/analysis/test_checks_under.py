"""Checks under one combination alone, beside those of the whole analysis: of all combinations, the worst governs."""

import pytest

from trusses.analysis.analysis import analyse, checks_under
from trusses.analysis.checks.surroundings import Surroundings
from trusses.analysis.format.document import read
from trusses.analysis.shapes.shapes import build


@pytest.mark.parametrize(
    ("shape", "given"), [("w", {"ground_snow": 40, "wind_up": 15}), ("floor", {}), ("hip", {"wind_up": 20, "snow": 30})]
)
def test_the_worst_of_every_combination_is_what_governs(shape, given):
    truss = read(build(shape, span=240, **given))
    whole = analyse(truss)
    worst: dict[tuple[str, str], float] = {}
    for combination in whole.combinations:
        for check in checks_under(truss, combination.name):
            assert check.combination == combination.name
            key = check.id, check.rule
            worst[key] = max(worst.get(key, 0.0), check.ratio)
    governing = {(check.id, check.rule): check.ratio for check in whole.checks if check.of == "member"}
    assert worst.keys() == governing.keys()
    assert len(governing) > 30
    for key, ratio in governing.items():
        assert worst[key] == pytest.approx(ratio, rel=1e-9), key


def test_a_duration_of_its_own_and_what_was_told():
    """CD 0.9 of dead load alone and 1.15 of snow (NDS Table 2.3.2); CT only where sheathing was told of (4.4.2)."""
    truss = read(build("w", span=240, snow=30))
    factors = {
        name: {check.terms["CD"] for check in checks_under(truss, name) if "CD" in check.terms}
        for name in ("D", "D + S/balanced")
    }
    assert factors == {"D": {0.9}, "D + S/balanced": {1.15}}
    sheathed = checks_under(truss, "D + S/balanced", Surroundings(km=2300))
    assert any("CT" in check.terms for check in sheathed)
    assert not any("CT" in check.terms for check in checks_under(truss, "D + S/balanced"))


def test_a_combination_that_the_truss_has_not():
    with pytest.raises(KeyError):
        checks_under(read(build("w", span=240)), "D + W")
