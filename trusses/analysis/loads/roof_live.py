"""Roof live load, reduced for a large roof and a steep one, written into a truss document. psf, square feet.

Two rules: ASCE 7 §4.8.2, Lr = 20 R1 R2 with 12 ≤ Lr ≤ 20, and the residential code's Table R301.6 in its place
(values.md §5.2, with the tag of each number). The area is what one truss carries on the plan: its top chord's length
by its spacing. Each plane of the roof has the load of its own rise.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from trusses.analysis.format.document import read
from trusses.analysis.format.model import Truss
from trusses.analysis.format.strict import tidy
from trusses.analysis.loads.roof_planes import roof_of
from trusses.analysis.words.refusal import Refusal

Document = dict[str, Any]
#: psf from the area that a truss carries, square feet, and the rise of the roof, inches in 12.
Rule = Callable[[float, float], float]

#: Lo of ordinary roofs, and the least that it is reduced to, psf.
WHOLE_PSF, LEAST_PSF = 20.0, 12.0
#: IRC Table R301.6, by rise in 12 and by area: psf for at most 200, 201 to 600 and more than 600 square feet.
_TABLE = ((4.0, (20.0, 16.0, 12.0)), (12.0, (16.0, 14.0, 12.0)), (float("inf"), (12.0, 12.0, 12.0)))
_CLOSE = 1e-6


class RoofLiveError(Refusal):
    """A truss for which no roof live load can be found."""


def reduced_psf(area_ft2: float, rise_in_12: float) -> float:
    """Lr by ASCE 7 §4.8.2, psf on the plan."""
    by_area = min(1.0, max(0.6, 1.2 - 0.001 * area_ft2))
    by_rise = min(1.0, max(0.6, 1.2 - 0.05 * rise_in_12))
    return max(LEAST_PSF, WHOLE_PSF * by_area * by_rise)


def table_psf(area_ft2: float, rise_in_12: float) -> float:
    """The least roof live load by IRC Table R301.6, psf on the plan."""
    column = 0 if area_ft2 <= 200 + _CLOSE else 1 if area_ft2 <= 600 + _CLOSE else 2
    return next(row[column] for under, row in _TABLE if rise_in_12 < under - _CLOSE)


RULES: Mapping[str, Rule] = MappingProxyType({"asce": reduced_psf, "irc": table_psf})


def carried_ft2(truss: Truss) -> float:
    """The area of roof that one truss carries, on the plan, square feet; 0 without a top chord."""
    xs = [joint.x for member in truss.members if member.role == "top_chord" for joint in truss.ends(member)]
    return (max(xs) - min(xs)) * truss.spacing_in / 144 if xs else 0.0


def write_roof_live(document: Document, rule: str) -> Document:
    """A copy of `document` with the roof live load of `rule`, a key of RULES, in the place of that on its top chord.

    Loads that act alone, line and point loads stay. Writing twice is as writing once. Raises DocumentError for a
    document that is wrong, RoofLiveError for a floor and for a top chord that isn't one line from eave to eave.
    """
    truss = read(document)
    roof = roof_of(truss)
    if truss.use == "floor":
        raise RoofLiveError("roof-live-on-floor")
    if roof is None:
        raise RoofLiveError("roof-live-on-broken-chord")
    area = carried_ft2(truss)
    loads: list[Document] = []
    for plane in roof.planes:
        # a slope's rise is known to the rounding of its joints
        psf = tidy(round(RULES[rule](area, round(plane.rise_in_12, 3)), 2))
        if loads and loads[-1]["psf"] == psf:
            loads[-1]["to_x_in"] = tidy(plane.right)
        else:
            load = {"case": "roof_live", "chord": "top_chord", "psf": psf, "along": "plan"}
            loads.append(load | {"from_x_in": tidy(plane.left), "to_x_in": tidy(plane.right)})
    del loads[0]["from_x_in"], loads[-1]["to_x_in"]
    written = copy.deepcopy(document)
    before = written.setdefault("loads", {}).get("area", [])
    kept = [load for load in before if not _replaced(load)]
    at = next((i for i, load in enumerate(before) if _replaced(load)), len(kept))
    written["loads"]["area"] = [*kept[:at], *loads, *kept[at:]]
    return written


def _replaced(load: Document) -> bool:
    return load["case"] == "roof_live" and load["chord"] == "top_chord" and "acts" not in load
