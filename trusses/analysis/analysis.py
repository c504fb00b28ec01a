"""The whole analysis of a truss: cases solved once, combinations by superposition, checks, openings, findings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from trusses.analysis import analysis_document
from trusses.analysis.checks import stack as checks
from trusses.analysis.checks.check import PASSES, Unchecked
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.clearance import openings
from trusses.analysis.findings.missed_bearing import interior, missed_bearings
from trusses.analysis.findings.report import Finding, findings, not_checked
from trusses.analysis.format.model import Truss
from trusses.analysis.frame import solve as frame
from trusses.analysis.frame.results import Results, of_solution
from trusses.analysis.frame.solution import Solution
from trusses.analysis.frame.solve import Mechanism
from trusses.analysis.loads.combinations import Case, Combination, superposition

ENGINE = "chordchange 1.3"
"""What computed an analysis; raised whenever the same document would give other numbers or other words."""


@dataclass(frozen=True)
class Analysis:
    """One truss with all that was computed of it.

    Everything is computed with the stack that the truss was in, `solution` and `checked` at index `at` of it; its own
    arrays and the records of checks are made when asked for, which of a search's many candidates few are.
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
    def checks(self) -> tuple[checks.Check, ...]:
        return self.checked.of(self.at)

    @cached_property
    def openings(self) -> tuple[openings.Fit, ...]:
        return openings.fits(self.truss)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        return (*findings(self.results), *self._missed_bearings())

    def _missed_bearings(self) -> Iterator[Finding]:
        if not interior(self.truss):
            return iter(())
        alone, factors = self.solution.only(self.at), self.checked.factors
        return missed_bearings(self.truss, alone, self.combinations, factors, self.surroundings, self.checks)

    @cached_property
    def not_checked(self) -> tuple[Unchecked, ...]:
        return tuple(not_checked(self.truss, self.surroundings))

    @property
    def worst_ratio(self) -> float:
        return float(self.checked.worst[self.at])

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

    `surroundings` are the same for all of them, as for the candidates of one mark.
    """
    out: dict[int, Analysis | Mechanism] = {}
    for which, solution in frame.stacks(trusses, _alike):
        if solution.moving:
            # those that stand are solved again without those that can move, whose numbers mean nothing
            out |= {which[t]: motion for t, motion in solution.moving.items()}
            standing = [i for t, i in enumerate(which) if t not in solution.moving]
            out |= dict(zip(standing, analyse_many([trusses[i] for i in standing], surroundings), strict=True))
        else:
            out |= dict(zip(which, _checked([trusses[i] for i in which], solution, surroundings), strict=True))
    return [out[i] for i in range(len(trusses))]


def checks_under(truss: Truss, analysis: Mapping[str, Any], combination: str) -> tuple[checks.Check, ...]:
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
