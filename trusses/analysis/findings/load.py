"""Findings on the loads of a truss document, from the document alone."""

from __future__ import annotations

from collections.abc import Iterator

from trusses.analysis.checks.check import Finding
from trusses.analysis.format.model import AreaLoad, Truss
from trusses.analysis.loads.arrangements import missing


def load_findings(truss: Truss) -> Iterator[Finding]:
    """Arrangements that are missing, loads that are missing, and what a reader may take for granted wrongly."""
    yield from _patterns(truss)
    yield from _absent(truss)
    yield from _alone(truss)
    if truss.uplift_dead_share is None and _wind_lifts(truss):
        yield Finding("uplift-dead-share", "uplift_dead_share")


def _patterns(truss: Truss) -> Iterator[Finding]:
    lacking: dict[str, list[str]] = {}
    for name in missing(truss):
        case, _, pattern = name.partition("/")
        lacking.setdefault(case, []).append(pattern)
    for case, patterns in lacking.items():
        yield Finding(f"{case}-patterns", "loads", {"case": case, "lacking": patterns})


def _absent(truss: Truss) -> Iterator[Finding]:
    there = {load.case for load in truss.loads}
    if "dead" not in there:
        yield Finding("no-dead-load", "loads")
    if truss.use == "roof" and "wind" not in there:
        yield Finding("no-wind", "loads")


def _alone(truss: Truss) -> Iterator[Finding]:
    for case in dict.fromkeys(load.case for load in truss.loads):
        kinds = {load.alone for load in truss.loads if load.case == case}
        if len(kinds) == 2:
            yield Finding("loads-alone-mixed", "loads", {"case": case})


def _wind_lifts(truss: Truss) -> bool:
    """Whether any wind load of the document acts upward."""
    for load in truss.loads:
        if load.case != "wind":
            continue
        size = load.psf if isinstance(load, AreaLoad) else getattr(load, "plf", None)
        if (load.down_lb if size is None else size) < 0:  # type: ignore[union-attr]
            return True
    return False
