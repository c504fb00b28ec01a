"""Findings on the loads of a truss document, from the document alone."""

from __future__ import annotations

from collections.abc import Iterator

from trusses.analysis.checks.check import Finding
from trusses.analysis.format.model import AreaLoad, LineLoad, PointLoad, Truss
from trusses.analysis.loads.arrangements import missing
from trusses.analysis.loads.snow import lacks_drift


def load_findings(truss: Truss) -> Iterator[Finding]:
    """Arrangements that are missing, loads that are missing, and what a reader may take for granted wrongly."""
    yield from _patterns(truss)
    if lacks_drift(truss):
        yield Finding("snow-drift", "loads")
    yield from _absent(truss)
    yield from _alone(truss)
    yield from _lifting(truss)
    if truss.uplift_dead_share is None and wind_lifts(truss):
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
    if truss.use == "floor" and "live" not in there:
        yield Finding("no-live-load", "loads")
    if truss.use == "roof" and not there & {"roof_live", "snow"}:
        yield Finding("no-roof-load", "loads")
    if truss.use == "roof" and "wind" not in there:
        yield Finding("no-wind", "loads")


def _alone(truss: Truss) -> Iterator[Finding]:
    for case in dict.fromkeys(load.case for load in truss.loads):
        kinds = {load.alone for load in truss.loads if load.case == case}
        if len(kinds) == 2:
            yield Finding("loads-alone-mixed", "loads", {"case": case})

    if any(load.case == "dead" and (load.alone or load.pattern is not None) for load in truss.loads):
        # a document from before such loads were refused
        yield Finding("dead-not-whole", "loads")


def _lifting(truss: Truss) -> Iterator[Finding]:
    """Cases other than wind whose loads act upward: a sign that is easily typed wrongly."""
    for case in dict.fromkeys(load.case for load in truss.loads if load.case != "wind" and _size(load) < 0):
        yield Finding("load-lifts", "loads", {"case": case})


def wind_lifts(truss: Truss) -> bool:
    """Whether any wind load of the document acts upward."""
    return any(load.case == "wind" and _size(load) < 0 for load in truss.loads)


def _size(load: AreaLoad | LineLoad | PointLoad) -> float:
    """psf, plf or pounds, downward positive."""
    if isinstance(load, AreaLoad):
        return load.psf
    return load.plf if isinstance(load, LineLoad) else load.down_lb
