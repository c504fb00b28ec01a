"""What else is drawn on a plan: runs, which the app of changes adds. This app knows only what they look like."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from trusses.models import Job

Point = tuple[float, float]


@dataclass(frozen=True)
class Met:
    """Where a run crosses a copy: its letter, where, and what it answers (`analysis.runs.crossing.VERDICTS`)."""

    letter: str
    at: Point
    verdict: str


@dataclass(frozen=True)
class Path:
    """A run on the plan: corners in inches, how wide it is, what it is called, where it leads when tapped; `left`: a
    decision issued nothing for it, and it is drawn as a dashed line that is no duct."""

    name: str
    points: Sequence[Point]
    width_in: float
    met: Sequence[Met] = ()
    href: str = ""
    left: bool = False


paths_of: list[Callable[[Job, str], Sequence[Path]]] = []
"""What draws runs on a level of a job's plan; the app that has them adds itself when it starts."""


def drawn_on(job: Job, level: str) -> list[Path]:
    return [path for paths in paths_of for path in paths(job, level)]
