"""Findings on the loads of a truss document, from the document alone."""

from __future__ import annotations

from collections.abc import Iterator

from trusses.analysis.checks.check import Finding
from trusses.analysis.format.model import AreaLoad, Truss
from trusses.analysis.loads.arrangements import missing

_WHY = {
    "live": "A live load on part of a floor can raise forces many times over, in a chase panel above all.",
    "snow": "Snow that lies unevenly can reverse the force in webs near the peak.",
    "wind": "Wind presses and lifts, and what it lifts can turn tension into compression.",
}


def load_findings(truss: Truss) -> Iterator[Finding]:
    """Arrangements that are missing, loads that are missing, and what a reader may take for granted wrongly."""
    yield from _patterns(truss)
    yield from _absent(truss)
    yield from _alone(truss)
    if truss.uplift_dead_share is None and _wind_lifts(truss):
        yield Finding(
            "uplift-dead-share",
            "Wind lifts this truss, and the document doesn't say what share of the dead load is sure to be there"
            " (uplift_dead_share): all of it is counted on to hold the roof down, which may be too much.",
            "uplift_dead_share",
        )


def _patterns(truss: Truss) -> Iterator[Finding]:
    lacking: dict[str, list[str]] = {}
    for name in missing(truss):
        case, _, pattern = name.partition("/")
        lacking.setdefault(case, []).append(pattern)
    for case, patterns in lacking.items():
        yield Finding(
            f"{case}-patterns",
            f"The {case} load lacks {_listed(patterns)}. {_WHY.get(case, 'A partial load can govern.')}"
            " Write the arrangements into the document and compute again.",
            "loads",
        )


def _absent(truss: Truss) -> Iterator[Finding]:
    there = {load.case for load in truss.loads}
    if "dead" not in there:
        yield Finding(
            "no-dead-load",
            "No dead load is in the document. Self-weight isn't added: the dead loads must contain it.",
            "loads",
        )
    if truss.use == "roof" and "wind" not in there:
        yield Finding(
            "no-wind",
            "No wind is in the document, so neither uplift nor forces that wind reverses are looked at.",
            "loads",
        )


def _alone(truss: Truss) -> Iterator[Finding]:
    for case in dict.fromkeys(load.case for load in truss.loads):
        kinds = {load.alone for load in truss.loads if load.case == case}
        if len(kinds) == 2:
            yield Finding(
                "loads-alone-mixed",
                f"Some loads of the case {case} act alone and others together with the rest: those that act alone are"
                f" a case of their own, {case}/alone, and stand in no other combination than dead load with it.",
                "loads",
            )


def _wind_lifts(truss: Truss) -> bool:
    """Whether any wind load of the document acts upward."""
    for load in truss.loads:
        if load.case != "wind":
            continue
        size = load.psf if isinstance(load, AreaLoad) else getattr(load, "plf", None)
        if (load.down_lb if size is None else size) < 0:  # type: ignore[union-attr]
            return True
    return False


def _listed(names: list[str]) -> str:
    """The missing arrangements in words: "the pattern left", "the patterns all, left and right"."""
    if len(names) == 1:
        return f"the arrangement “{names[0]}”"
    quoted = [f"“{name}”" for name in names]
    return f"the arrangements {', '.join(quoted[:-1])} and {quoted[-1]}"
