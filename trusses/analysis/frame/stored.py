"""One truss under one of its combinations, with the forces at its members' ends as its analysis document has them."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import numpy as np

from trusses.analysis.format.model import Truss
from trusses.analysis.frame.geometry import geometry
from trusses.analysis.frame.member_loads import layout, member_loads
from trusses.analysis.frame.solution import Solution, blank
from trusses.analysis.frame.topology import topology
from trusses.analysis.loads.combinations import Combination, cases, factors_of

_ENDS = ("axial_lb", "shear_lb", "moment_inlb")


def stored(truss: Truss, analysis: Mapping[str, Any], name: str) -> tuple[Combination, Solution]:
    """The combination of that name, and a solution whose one row it is. What that says of forces along members follows
    by statics from the stored ends and the truss's own loads; no frame is solved.

    Raises KeyError where there is no such combination, or the two don't belong together.
    """
    shape, its_cases, row = topology(truss), cases(truss), analysis["combinations"][name]
    combination = Combination(name, MappingProxyType(dict(row["factors"])), row["load_duration"])
    place, members = geometry([truss], shape), [member.id for member in truss.members]
    loads = member_loads([truss], its_cases, shape, place, layout(truss))
    solution = Solution(shape, (), place, loads.combine(factors_of([combination], its_cases)), blank(shape, 1, 1), {})
    moved, held = row["displacements_in"], row["reactions_lb"]
    solution.displacements[0, :, 0] = np.ravel([moved[joint.name] for joint in truss.joints])
    solution.reactions[0, ..., 0] = np.array([held[bearing.joint] for bearing in truss.bearings]).T
    ends = np.array([[row["members"][member][key] for member in members] for key in _ENDS])
    solution.ends[0, ..., 0] = ends.transpose(0, 2, 1).reshape(6, len(members))
    _shear_of_moments(solution)
    return combination, solution


def _shear_of_moments(solution: Solution) -> None:
    """Shear at the first ends from the moments at both. Ten digits of a shear are fewer of a moment that it makes on
    its way along the member; between two moments nothing grows."""
    shear = solution.ends[0, 2]
    shear[:] = 0.0
    _, h, forces = solution.along(np.arange(len(shear)))
    _, v, m, _, q = forces[0, :, -1]
    at_end = m + (v - q * h[-1] / 2) * h[-1]
    shear[:] = (solution.ends[0, 5] - at_end) / solution.place.length
