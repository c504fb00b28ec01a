"""The whole analysis of a truss: cases solved once, combinations by superposition, checks, openings, findings."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from trusses.analysis import analysis_document, checks, frame
from trusses.analysis.findings.report import Finding, findings, not_checked
from trusses.analysis.frame import Mechanism
from trusses.analysis.loads import Case, Combination, cases, combinations, factors_of
from trusses.analysis.model import Truss
from trusses.analysis.outcome import PASSES
from trusses.analysis.solver.response import Response
from trusses.analysis.solver.topology import key
from trusses.analysis.space import openings

ENGINE = "chordchange 1.0"
"""What computed an analysis; raised whenever the same document would give other numbers or other words."""


@dataclass(frozen=True)
class Analysis:
    """One truss with all that was computed of it. Rows of `case_response` are cases, of `response` combinations.

    Everything is computed with the stack that the truss was in, `checked` at index `at` of it; superposed forces and
    the records of checks are made when asked for, which of a search's many candidates few are.
    """

    truss: Truss
    cases: tuple[Case, ...]
    combinations: tuple[Combination, ...]
    case_response: Response
    checked: checks.StackChecks
    at: int

    @cached_property
    def response(self) -> Response:
        return self.case_response.combine(factors_of(self.combinations, self.cases))

    @cached_property
    def checks(self) -> tuple[checks.Check, ...]:
        return self.checked.of(self.at)

    @cached_property
    def openings(self) -> tuple[openings.Fit, ...]:
        return openings.fits(self.truss)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        return tuple(findings(self.truss, self.cases, self.case_response))

    @cached_property
    def not_checked(self) -> tuple[str, ...]:
        return tuple(not_checked(self.truss))

    @property
    def worst_ratio(self) -> float:
        return float(self.checked.worst[self.at])

    @property
    def passes(self) -> bool:
        """Whether every lumber, bearing and deflection check passes. It says nothing of plates or openings."""
        return self.worst_ratio <= PASSES

    def document(self) -> dict[str, Any]:
        """The analysis document, format `chordchange.analysis` version 1."""
        return analysis_document.write(self, ENGINE)


def analyse(truss: Truss) -> Analysis:
    """Solve, combine and check one truss. Raises Mechanism where it can move freely."""
    outcome = _analyse_stack([truss], cases(truss))[0]
    if isinstance(outcome, Mechanism):
        raise outcome
    return outcome


def analyse_many(trusses: Sequence[Truss]) -> list[Analysis | Mechanism]:
    """Each truss's analysis, or why it can't stand, in the given order; same-shaped trusses are solved in one stack."""
    out: dict[int, Analysis | Mechanism] = {}
    groups: dict[Any, list[int]] = defaultdict(list)
    for i, truss in enumerate(trusses):
        groups[_alike(truss)].append(i)
    for (*_, its_cases), group in groups.items():
        for start in range(0, len(group), frame.STACK):
            stack = group[start : start + frame.STACK]
            out |= dict(zip(stack, _analyse_stack([trusses[i] for i in stack], its_cases), strict=True))
    return [out[i] for i in range(len(trusses))]


def _alike(truss: Truss) -> tuple[Any, ...]:
    """What trusses must share to be analysed in one stack: all but coordinates, lumber and the loads' sizes."""
    return key(truss), truss.use, truss.ceiling, truss.uplift_dead_share, cases(truss)


def _analyse_stack(trusses: list[Truss], its_cases: tuple[Case, ...]) -> list[Analysis | Mechanism]:
    outcomes = frame.solve_stack(trusses, its_cases)
    standing = [i for i, outcome in enumerate(outcomes) if isinstance(outcome, Response)]
    out: list[Analysis | Mechanism] = [outcome for outcome in outcomes if isinstance(outcome, Mechanism)]
    if not standing:
        return out
    its_combinations = combinations(trusses[0], its_cases)
    responses = [outcome for outcome in outcomes if isinstance(outcome, Response)]
    checked = checks.check_stack(
        [trusses[i] for i in standing], its_combinations, responses, factors_of(its_combinations, its_cases)
    )
    for at, (i, response) in enumerate(zip(standing, responses, strict=True)):
        out.insert(i, Analysis(trusses[i], its_cases, its_combinations, response, checked, at))
    return out
