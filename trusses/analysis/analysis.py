"""The whole analysis of a truss: cases solved once, combinations by superposition, checks, openings, findings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from trusses.analysis import analysis_document
from trusses.analysis.checks import stack as checks
from trusses.analysis.checks import weights_gone
from trusses.analysis.checks.check import PASSES, Check, Unchecked
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.clearance import openings
from trusses.analysis.findings.missed_bearing import interior, missed_bearings
from trusses.analysis.findings.report import Finding, findings, not_checked
from trusses.analysis.findings.weights import gone_finding
from trusses.analysis.format.model import Truss
from trusses.analysis.frame import solve as frame
from trusses.analysis.frame.results import Results, of_solution
from trusses.analysis.frame.solution import Solution
from trusses.analysis.frame.solve import Mechanism
from trusses.analysis.loads.combinations import Case, Combination, superposition
from trusses.analysis.loads.weights import Weight, each_weight
from trusses.analysis.words import loads as words

ENGINE = "chordchange 1.4"
"""What computed an analysis; raised whenever the same document would give other numbers or other words."""
#: Without weights a check counts where it grows by more than this share.
_MORE = 1e-9


@dataclass(frozen=True)
class Analysis:
    """One truss with all that was computed of it.

    Everything is computed with the stack that the truss was in, `solution` and `checked` at index `at` of it; its own
    arrays and the records of checks are made when asked for, which of a search's many candidates few are.

    What stands or hangs on it may be gone: it is judged `without` each choice of its weights as well, which the checks
    say in their combination; `results` and `solution` are those with all of them.
    """

    truss: Truss
    cases: tuple[Case, ...]
    combinations: tuple[Combination, ...]
    solution: Solution
    checked: checks.StackChecks
    at: int
    surroundings: Surroundings = NOTHING_SAID

    @cached_property
    def results(self) -> Results:
        """Its forces, reactions and deflections under every case and combination."""
        return of_solution(self.truss, self.solution, self.at, self.combinations, self.checked.factors)

    @cached_property
    def without(self) -> tuple[tuple[str, Analysis], ...]:
        """The truss without some of its weights, and what these are called."""
        return _without([self])[0]

    @cached_property
    def as_loaded(self) -> tuple[Check, ...]:
        """The checks with all of its weights on it."""
        return self.checked.of(self.at)

    @property
    def ratios(self) -> dict[tuple[str, str, str], float]:
        """… by what they are of, its name and their rule."""
        return {(one.of, one.id, one.rule): one.ratio for one in self.as_loaded}

    @cached_property
    def checks(self) -> tuple[Check, ...]:
        """Each at its worst, with the weights or without some of them."""
        if not self.without:
            return self.as_loaded
        found = {(one.of, one.id, one.rule): one for one in self.as_loaded}
        order = {of: i for i, of in enumerate(dict.fromkeys(key[:2] for key in found))}
        for called, analysis in self.without:
            for one in analysis.as_loaded:
                key = one.of, one.id, one.rule
                if key not in found or one.ratio > found[key].ratio * (1 + _MORE):
                    found[key] = replace(one, combination=words.without(one.combination, called))
        return tuple(sorted(found.values(), key=lambda one: order.get((one.of, one.id), len(order))))

    def failing(self) -> tuple[Check, ...]:
        """The checks that are over their limits, with all the weights on it; where there are none, without some."""
        alone, factors = self.solution.only(self.at), self.checked.factors
        found = checks.failing(self.truss, self.combinations, alone, factors, self.surroundings)
        return found or tuple(one for one in self.checks if not one.passes)

    @cached_property
    def openings(self) -> tuple[openings.Fit, ...]:
        return openings.fits(self.truss)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        return (*findings(self.results), *gone_finding(self.checks, self.as_loaded), *self._missed_bearings())

    def _missed_bearings(self) -> Iterator[Finding]:
        if not interior(self.truss):
            return iter(())
        alone, factors = self.solution.only(self.at), self.checked.factors
        return missed_bearings(self.truss, alone, self.combinations, factors, self.surroundings, self.as_loaded)

    @cached_property
    def not_checked(self) -> tuple[Unchecked, ...]:
        return tuple(not_checked(self.truss, self.surroundings))

    @property
    def as_loaded_ratio(self) -> float:
        """The worst ratio with all of its weights on it."""
        return float(self.checked.worst[self.at])

    @property
    def worst_ratio(self) -> float:
        return max(self.as_loaded_ratio, *(one.as_loaded_ratio for _, one in self.without), 0.0)

    @property
    def passes(self) -> bool:
        """Whether every lumber, bearing and deflection check passes. It says nothing of plates or openings."""
        return self.worst_ratio <= PASSES

    def document(self) -> dict[str, Any]:
        """The analysis document, format `chordchange.analysis` version 1."""
        return analysis_document.write(
            self.results,
            engine=ENGINE,
            surroundings=self.surroundings,
            checks=self.checks,
            worst_ratio=self.worst_ratio,
            openings=self.openings,
            findings=self.findings,
            not_checked=self.not_checked,
        )


def analyse(truss: Truss, surroundings: Surroundings = NOTHING_SAID) -> Analysis:
    """Solve, combine and check one truss, told what stands around it. Raises Mechanism where it can move freely."""
    outcome = analyse_many([truss], surroundings)[0]
    if isinstance(outcome, Mechanism):
        raise outcome
    return outcome


def analyse_many(trusses: Sequence[Truss], surroundings: Surroundings = NOTHING_SAID) -> list[Analysis | Mechanism]:
    """Each truss's analysis, or why it can't stand, in the given order; same-shaped trusses are solved in one stack.

    `surroundings` are the same for all of them, as for the candidates of one mark. Those that pass are solved without
    their weights too, all together; of others who asks for it waits for that.
    """
    found = _analysed(trusses, surroundings)
    passing = [one for one in found if isinstance(one, Analysis) and one.as_loaded_ratio <= PASSES]
    for one, without in zip(passing, _without(passing), strict=True):
        one.__dict__["without"] = without
    return found


def _without(those: Sequence[Analysis]) -> list[tuple[tuple[str, Analysis], ...]]:
    """Analyses, told of the same surroundings, of each truss without some of its weights."""
    weights = [each_weight(one.truss) for one in those]
    choices = [weights_gone.first(of) for of in weights]
    found = _left(those, weights, choices)
    further = []
    for one, of, first, analyses in zip(those, weights, choices, found, strict=True):
        more = len(of) > weights_gone.EVERY_WAY and len(analyses) == len(first)
        ratios = {gone: each.ratios for gone, (_, each) in zip(first, analyses, strict=True)} if more else {}
        further.append(weights_gone.further(of, one.ratios, ratios) if more else [])
    return [tuple(a + b) for a, b in zip(found, _left(those, weights, further), strict=True)]


def _left(
    those: Sequence[Analysis], weights: Sequence[list[Weight]], choices: Sequence[list[weights_gone.Choice]]
) -> list[list[tuple[str, Analysis]]]:
    """All in one go."""
    left = [
        weights_gone.left(one.truss, of, gone) if gone else []
        for one, of, gone in zip(those, weights, choices, strict=True)
    ]
    if not any(left):
        return [[] for _ in left]
    found = iter(_analysed([truss for of in left for _, truss in of], those[0].surroundings))
    # what stands with its weights stands without them: loads hold no truss
    return [[(called, each) for called, _ in of if isinstance(each := next(found), Analysis)] for of in left]


def _analysed(trusses: Sequence[Truss], surroundings: Surroundings) -> list[Analysis | Mechanism]:
    """Each as it is loaded."""
    out: dict[int, Analysis | Mechanism] = {}
    for which, solution in frame.stacks(trusses, _alike):
        if solution.moving:
            # those that stand are solved again without those that can move, whose numbers mean nothing
            out |= {which[t]: motion for t, motion in solution.moving.items()}
            standing = [i for t, i in enumerate(which) if t not in solution.moving]
            out |= dict(zip(standing, _analysed([trusses[i] for i in standing], surroundings), strict=True))
        else:
            out |= dict(zip(which, _checked([trusses[i] for i in which], solution, surroundings), strict=True))
    return [out[i] for i in range(len(trusses))]


def checks_under(truss: Truss, analysis: Mapping[str, Any], combination: str) -> tuple[Check, ...]:
    """Every check of a truss's members under one of its combinations alone, from its analysis document and told what
    that was; no frame is solved.

    Raises KeyError where it has no such combination or the two don't belong together.
    """
    results = analysis_document.read_back(truss, analysis, only=combination)
    told = Surroundings.read(analysis.get("surroundings", {}))
    return checks.checks_of_members(truss, results.combinations, results.solution, np.ones((1, 1)), told)


def _alike(truss: Truss) -> tuple[object, ...]:
    """What trusses must share besides their shape and cases to be checked in one stack."""
    return truss.use, truss.ceiling, truss.uplift_dead_share, truss.service.wet


def _checked(trusses: Sequence[Truss], solution: Solution, surroundings: Surroundings) -> list[Analysis]:
    cases = solution.cases
    combinations, factors = superposition(trusses[0], cases)
    checked = checks.check_stack(trusses, combinations, solution, factors, surroundings)
    return [
        Analysis(truss, cases, combinations, solution, checked, at, surroundings) for at, truss in enumerate(trusses)
    ]
