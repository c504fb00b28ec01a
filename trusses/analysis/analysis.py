"""The whole analysis of a truss: cases solved once, combinations by superposition, checks, openings, findings."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from trusses.analysis import analysis_document, checks, frame, openings
from trusses.analysis.findings import Finding, findings, not_checked
from trusses.analysis.frame import Mechanism
from trusses.analysis.loads import Case, Combination, cases, combinations, factors_of
from trusses.analysis.model import Truss
from trusses.analysis.outcome import PASSES
from trusses.analysis.response import Response

ENGINE = "chordchange 1.0"
"""What computed an analysis; raised whenever the same document would give other numbers or other words."""


@dataclass(frozen=True)
class Analysis:
    """One truss with all that was computed of it. Rows of `case_response` are cases, of `response` combinations."""

    truss: Truss
    cases: tuple[Case, ...]
    combinations: tuple[Combination, ...]
    case_response: Response
    response: Response
    checks: tuple[checks.Check, ...]

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
        return max((check.ratio for check in self.checks), default=0.0)

    @property
    def passes(self) -> bool:
        """Whether every lumber, bearing and deflection check passes. It says nothing of plates or openings."""
        return self.worst_ratio <= PASSES

    def document(self) -> dict[str, Any]:
        """The analysis document, format `chordchange.analysis` version 1."""
        return analysis_document.write(self, ENGINE)


def analyse(truss: Truss) -> Analysis:
    """Solve, combine and check one truss. Raises Mechanism where it can move freely."""
    its_cases = cases(truss)
    return _finish(truss, its_cases, frame.solve(truss, its_cases))


def analyse_many(trusses: Sequence[Truss]) -> list[Analysis | Mechanism]:
    """Each truss's analysis, or why it can't stand, in the given order; same-shaped trusses are solved in one stack."""
    out: dict[int, Analysis | Mechanism] = {}
    groups: dict[Any, list[int]] = defaultdict(list)
    for i, truss in enumerate(trusses):
        groups[_topology(truss)].append(i)
    for group in groups.values():
        out |= dict(zip(group, _analyse_stack([trusses[i] for i in group]), strict=True))
    return [out[i] for i in range(len(trusses))]


def _topology(truss: Truss) -> Any:
    """What trusses must share to be solved in one stack: all but coordinates, lumber and the loads' sizes."""
    return (
        tuple(joint.name for joint in truss.joints),
        tuple((member.id, member.role, member.joints) for member in truss.members),
        truss.hinges,
        tuple((bearing.joint, bearing.restrains) for bearing in truss.bearings),
        cases(truss),
    )


def _analyse_stack(trusses: list[Truss]) -> list[Analysis | Mechanism]:
    its_cases = cases(trusses[0])
    outcomes = frame.solve_stack(trusses, its_cases)
    return [
        outcome if isinstance(outcome, Mechanism) else _finish(truss, its_cases, outcome)
        for truss, outcome in zip(trusses, outcomes, strict=True)
    ]


def _finish(truss: Truss, its_cases: tuple[Case, ...], response: Response) -> Analysis:
    its_combinations = combinations(truss, its_cases)
    combined = response.combine(factors_of(its_combinations, its_cases))
    return Analysis(
        truss=truss,
        cases=its_cases,
        combinations=its_combinations,
        case_response=response,
        response=combined,
        checks=checks.check(truss, its_combinations, combined),
    )
