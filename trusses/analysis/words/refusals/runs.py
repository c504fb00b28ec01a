"""Why a run is none."""

from __future__ import annotations

from collections.abc import Mapping

from trusses.analysis.words.phrases import Says, counted

RUNS: Mapping[str, Says] = {
    "run-few-points": lambda points: f"a run needs two points at least, and has {counted(points, 'point', 'points')}",
    "run-rises": lambda corners, given: (
        f"the run has {counted(corners, 'corner', 'corners')}, and {counted(given, 'change', 'changes')} of height at"
        " corners: give one for each, 0 where it stays level"
    ),
    "run-point-twice": "this point is the one before it: a run goes on from point to point",
}
