"""An analysis document read back as arrays, so that whatever is derived from it rests on what was stored."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.format.model import Truss
from trusses.analysis.loads.combinations import Combination

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Recorded:
    """One truss and its analysis document as arrays: r combinations, c cases, j joints, m members, b bearings.

    `end_axial` and `end_shear` (r, m, 2) lb by the format's signs: tension positive; toward the member's upper face.
    `displacements` (r, j, 2) and `case_displacements` (c, j, 2) in inches, `reactions` (r, b, 2) and `case_reactions`
    (c, b, 2) in pounds, right and up positive. `document` is the analysis document itself.
    """

    truss: Truss
    combinations: tuple[Combination, ...]
    cases: tuple[str, ...]
    end_axial: Array
    end_shear: Array
    displacements: Array
    reactions: Array
    case_displacements: Array
    case_reactions: Array
    document: Mapping[str, Any]


def recorded(truss: Truss, analysis: Mapping[str, Any]) -> Recorded:
    """Read an analysis document of that truss. Raises KeyError where the two don't belong together."""
    combined, cases = analysis["combinations"], analysis["cases"]
    members = [member.id for member in truss.members]
    bearings = [bearing.joint for bearing in truss.bearings]
    joints = [joint.name for joint in truss.joints]

    def table(rows: Mapping[str, Any], key: str, names: list[str]) -> Array:
        return _array([[row[key][name] for name in names] for row in rows.values()], len(names))

    def ends(key: str) -> Array:
        return _array([[row["members"][name][key] for name in members] for row in combined.values()], len(members))

    return Recorded(
        truss=truss,
        combinations=tuple(
            Combination(name, MappingProxyType(dict(row["factors"])), row["load_duration"])
            for name, row in combined.items()
        ),
        cases=tuple(cases),
        end_axial=ends("axial_lb"),
        end_shear=ends("shear_lb"),
        displacements=table(combined, "displacements_in", joints),
        reactions=table(combined, "reactions_lb", bearings),
        case_displacements=table(cases, "displacements_in", joints),
        case_reactions=table(cases, "reactions_lb", bearings),
        document=analysis,
    )


def _array(values: list[Any], names: int) -> Array:
    # a truss without loads has no case: no rows, and still (0, names, 2)
    return np.array(values, dtype=float).reshape(len(values), names, 2)
