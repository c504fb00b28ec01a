"""Why an opening can't be measured. `measure` is one of its sizes, its clearance, or x or y of its centre."""

from __future__ import annotations

from collections.abc import Mapping

from trusses.analysis.words.phrases import Says

_MEASURES = {"x": "distance along the span", "y": "height above the bottom"}


def _its(measure: str) -> str:
    return f"its {_MEASURES.get(measure, measure)}"


OPENINGS: Mapping[str, Says] = {
    "opening-lacks-size": "a {shape} needs its {measure}",
    "opening-size-not-over-0": lambda measure, size_in: f"{_its(measure)} must be more than 0 in., not {size_in:g} in.",
    "opening-clearance-below-0": "its clearance can't be less than 0 in., as {clearance_in:g} is",
    "opening-not-finite": lambda measure, shown: f"{_its(measure)} is not a number of inches ({shown})",
    "opening-too-large": lambda measure, size_in: f"{_its(measure)} of {size_in:.3g} in. is larger than any building",
}
