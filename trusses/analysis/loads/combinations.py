"""Load cases, and the combinations of allowable-stress design (ASCE 7-16 §2.4.1) over their arrangements.

A case is one arrangement of one load: `dead`, `snow/left`. A load without a pattern is in every arrangement of its
case. Loads that act alone are kept apart in cases of their own, `live/alone`, unless their case holds nothing else.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from trusses.analysis.format.model import CASES, AreaLoad, LineLoad, PointLoad, Truss
from trusses.analysis.words.refusal import Refusal

Load = AreaLoad | LineLoad | PointLoad

#: The letter of each case in ASCE 7's combinations; live load and attic storage are both L.
LETTERS: Mapping[str, str] = MappingProxyType(
    {
        "dead": "D",
        "live": "L",
        "attic_storage": "L",
        "roof_live": "Lr",
        "snow": "S",
        "wind": "W",
        "rain": "R",
    }
)
#: Load-duration factor of each load (NDS Table 2.3.2); rain as snow, by this project's format.
DURATION: Mapping[str, float] = MappingProxyType({"D": 0.9, "L": 1.0, "S": 1.15, "R": 1.15, "Lr": 1.25, "W": 1.6})
#: The load-duration factor of dead load with a load that acts alone.
ALONE_DURATION = 1.0
_ROOF = ("Lr", "S", "R")
#: ASCE 7-16 §2.4.1, combinations 1 to 7 without earthquake; 0.45 is 0.75 × 0.6.
_ASD: tuple[tuple[tuple[str, float], ...], ...] = (
    (("D", 1.0),),
    (("D", 1.0), ("L", 1.0)),
    *((("D", 1.0), (roof, 1.0)) for roof in _ROOF),
    *((("D", 1.0), ("L", 0.75), (roof, 0.75)) for roof in _ROOF),
    (("D", 1.0), ("W", 0.6)),
    *((("D", 1.0), ("L", 0.75), ("W", 0.45), (roof, 0.75)) for roof in _ROOF),
    (("D", 0.6), ("W", 0.6)),
)
_REDUCED = (0.75, 0.45)
#: Patterns of different cases combine freely, so a few hundred of them would make millions of combinations.
MOST_COMBINATIONS = 1_000


class LoadError(Refusal):
    """Loads that can't be combined."""


class Case(NamedTuple):
    """One arrangement of one load. `name` is unique in its truss: "dead", "snow/left", "live/alone"."""

    name: str
    case: str
    pattern: str | None
    alone: bool

    def holds(self, load: Load) -> bool:
        """Whether a load acts in this case."""
        together = load.case == self.case and load.alone == self.alone
        return together and load.pattern in (None, self.pattern)


@dataclass(frozen=True, slots=True)
class Combination:
    """A sum of cases. `factors` by case name; `load_duration` is CD, that of the shortest load."""

    name: str
    factors: Mapping[str, float] = field(hash=False)
    load_duration: float


@dataclass(frozen=True, slots=True)
class _Arrangement:
    """One way a load of a combination can lie: its label, "S/left", and the cases that act together in it."""

    label: str
    cases: tuple[str, ...]


def cases(truss: Truss) -> tuple[Case, ...]:
    """Every case of a truss's loads, dead load first; the patterns of a case in the order of their first load.

    Raises LoadError where patterns are named so that two cases would have one name.
    """
    return _cases(tuple([(load.case, load.pattern, load.alone) for load in truss.loads]))


@lru_cache(maxsize=256)
def _cases(kinds: tuple[tuple[str, str | None, bool], ...]) -> tuple[Case, ...]:
    """The cases of loads of these kinds, (case, pattern, alone) each, in the order of their first load."""
    found: list[Case] = []
    for case in CASES:
        together = [kind for kind in kinds if kind[0] == case and not kind[2]]
        alone = [kind for kind in kinds if kind[0] == case and kind[2]]
        found += _arranged(case, case, together)
        found += _arranged(f"{case}/alone" if together else case, case, alone)
    _check_names([case.name for case in found])
    return tuple(found)


def _check_names(names: Sequence[str]) -> None:
    if len(set(names)) < len(names):
        twice = next(name for name in names if names.count(name) > 1)
        raise LoadError("cases-alike", "loads", name=twice)


def _arranged(name: str, case: str, kinds: Sequence[tuple[str, str | None, bool]]) -> list[Case]:
    if not kinds:
        return []
    alone = kinds[0][2]
    patterns = dict.fromkeys(pattern for _, pattern, _ in kinds if pattern is not None)
    if not patterns:
        return [Case(name, case, None, alone)]
    return [Case(f"{name}/{pattern}", case, pattern, alone) for pattern in patterns]


def helps_against_wind(combination: Combination) -> bool:
    """Whether the dead load in it is there to hold the truss down, and counted on by its sure share alone."""
    return combination.name.startswith("0.6D + ")


def combinations(truss: Truss, cases: Sequence[Case]) -> tuple[Combination, ...]:
    """The combinations of a truss's cases, `D` always first, then as ASCE 7 lists them, each under its own name.

    Raises LoadError for more than MOST_COMBINATIONS of them.
    """
    return superposition(truss, cases)[0]


def superposition(truss: Truss, cases: Sequence[Case]) -> tuple[tuple[Combination, ...], np.ndarray]:
    """The combinations of a truss's cases and the factor of each case in each, (combinations, cases)."""
    share = 1.0 if truss.uplift_dead_share is None else truss.uplift_dead_share
    return _superposition(share, tuple(cases))


@lru_cache(maxsize=256)
def _superposition(share: float, cases: tuple[Case, ...]) -> tuple[tuple[Combination, ...], np.ndarray]:
    found = _combinations(share, cases)
    factors = factors_of(found, cases)
    factors.flags.writeable = False
    return found, factors


def _combinations(share: float, cases: tuple[Case, ...]) -> tuple[Combination, ...]:
    letters = {letter: _arrangements(cases, letter) for letter in DURATION}
    alone = [case for case in cases if case.alone]
    templates = list(_terms(cases))
    count = sum(math.prod(len(letters[letter]) for letter, _ in terms) for terms in templates)
    count += len(letters["D"]) * len(alone)
    if count > MOST_COMBINATIONS:
        raise LoadError("too-many-combinations", "loads", count=count, most=MOST_COMBINATIONS)
    found = [combination for terms in templates for combination in _combined(share, letters, terms)]
    names = [_name_alone(case, alone) for case in alone]
    for dead, (case, name) in itertools.product(letters["D"], zip(alone, names, strict=True)):
        factors = dict.fromkeys((*dead.cases, case.name), 1.0)
        found.append(Combination(f"{dead.label} + {name}", MappingProxyType(factors), ALONE_DURATION))
    _check_names([combination.name for combination in found])
    return tuple(found)


def factors_of(combinations: Sequence[Combination], cases: Sequence[Case]) -> np.ndarray:
    """The factor of each case in each combination, (combinations, cases): what `Solution.combine` takes."""
    rows = [[combination.factors.get(case.name, 0.0) for case in cases] for combination in combinations]
    return np.array(rows, dtype=float).reshape(len(rows), len(cases))


def _terms(cases: Sequence[Case]) -> Iterator[tuple[tuple[str, float], ...]]:
    """The combinations' letters and factors, absent loads left out, each once."""
    there = {LETTERS[case.case] for case in cases if not case.alone} | {"D"}
    roof = there & set(_ROOF)
    seen = set()
    for asd in _ASD:
        # "Lr or S or R" is left out only where the truss has none of them
        if roof and any(letter in _ROOF and letter not in roof for letter, _ in asd):
            continue
        terms = tuple(term for term in asd if term[0] in there)
        reduced = len(terms) == 2 and terms[1][1] in _REDUCED
        # 0.6D without the wind that it was to hold down is no combination
        bare = len(terms) == 1 and asd[0] != ("D", 1.0)
        if terms not in seen and not reduced and not bare:
            seen.add(terms)
            yield terms


def _combined(
    share: float, letters: Mapping[str, list[_Arrangement]], terms: tuple[tuple[str, float], ...]
) -> Iterator[Combination]:
    """One combination for every choice of an arrangement for each of its loads."""
    duration = max(DURATION[letter] for letter, _ in terms)
    for chosen in itertools.product(*(letters[letter] for letter, _ in terms)):
        names, factors = [], {}
        for (letter, factor), arrangement in zip(terms, chosen, strict=True):
            names.append(arrangement.label if factor == 1 else f"{factor:g}{arrangement.label}")
            helps = (letter, factor) == ("D", 0.6)
            factors.update(dict.fromkeys(arrangement.cases, factor * share if helps else factor))
        yield Combination(" + ".join(names), MappingProxyType(factors), duration)


def _arrangements(cases: Sequence[Case], letter: str) -> list[_Arrangement]:
    """Every way the loads of one letter can lie. Those of different cases combine freely; no dead load is one way."""
    by_case: dict[str, list[Case]] = {}
    for case in cases:
        if LETTERS[case.case] == letter and not case.alone:
            by_case.setdefault(case.case, []).append(case)
    return [
        _Arrangement(
            "/".join([letter, *(case.pattern for case in chosen if case.pattern is not None)]),
            tuple(case.name for case in chosen),
        )
        for chosen in itertools.product(*by_case.values())
    ]


def _name_alone(case: Case, alone: Sequence[Case]) -> str:
    """`L/alone/left`; where live load and attic storage both act alone, their own names keep them apart."""
    letter = LETTERS[case.case]
    both = {other.case for other in alone if LETTERS[other.case] == letter}
    parts = [letter, *([case.case] if len(both) > 1 else []), "alone", *([case.pattern] if case.pattern else [])]
    return "/".join(parts)
