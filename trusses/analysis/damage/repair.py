"""What a repair of a damaged member has to carry: an aid to whoever designs it, and no design.

The forces are those of the truss as it was drawn. Nails hold by the force over its load-duration factor, so each
combination's force is divided by its own. Scabs are 2x, one on either face, each nail in single shear.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from trusses.analysis.analysis import Analysis
from trusses.analysis.fasteners.nails import COMMON, Lateral, in_lumber
from trusses.analysis.format.model import Truss
from trusses.analysis.lumber import lookup, section

#: The scab's thickness, a 2x, inches.
SIDE_IN = 1.5
_NO_FORCE_LB = 0.5


@dataclass(frozen=True, slots=True)
class Nailing:
    """So many nails in each of two scabs, on each side of the break, for the axial force alone."""

    lateral: Lateral
    a_face: int


@dataclass(frozen=True, slots=True)
class Demand:
    """What the member carries whole: its largest tension and compression with their combinations, and at the damage
    the largest shear and moment, pounds and inch-pounds; `holding_lb` is the largest axial force over its load-duration
    factor, under `holding_by` with `load_duration`. `nailing` is empty where the lumber can't be nailed so: several
    plies, or a nail that reaches too little."""

    member: str
    tension_lb: float
    tension_by: str | None
    compression_lb: float
    compression_by: str | None
    shear_lb: float
    moment_inlb: float
    holding_lb: float
    holding_by: str | None
    load_duration: float
    nailing: tuple[Nailing, ...]


def demand(analysis: Analysis, member_id: str, at_in: float) -> Demand:
    """`analysis` is of the truss as it was before the damage; `at_in` along the member from its first joint."""
    truss = analysis.truss
    m = truss.member_index[member_id]
    ends = analysis.results.combined.end_axial[:, m]
    stations = np.full((len(truss.members), 1), 0.0)
    stations[m] = at_in
    axial, shear, moment = (values[:, m, 0] for values in analysis.results.combined.forces(stations))
    forces = np.column_stack([ends, axial])
    names = [combination.name for combination in analysis.combinations]
    durations = np.array([combination.load_duration for combination in analysis.combinations])
    pulled, pressed = forces.max(axis=1), -forces.min(axis=1)
    held = np.abs(forces).max(axis=1) / durations
    most = int(held.argmax())

    def by(values: np.ndarray) -> tuple[float, str | None]:
        at = int(values.argmax())
        return (float(values[at]), names[at]) if values[at] > _NO_FORCE_LB else (0.0, None)

    (tension, tension_by), (compression, compression_by) = by(pulled), by(pressed)
    return Demand(
        member=member_id,
        tension_lb=tension,
        tension_by=tension_by,
        compression_lb=compression,
        compression_by=compression_by,
        shear_lb=float(np.abs(shear).max()),
        moment_inlb=float(np.abs(moment).max()),
        holding_lb=float(held[most]),
        holding_by=names[most] if held[most] > _NO_FORCE_LB else None,
        load_duration=float(durations[most]),
        nailing=nailing(truss, member_id, float(held[most])),
    )


def nailing(truss: Truss, member_id: str, holding_lb: float) -> tuple[Nailing, ...]:
    """Nails of each size for a force over its load-duration factor: n = F / (2 faces × Z), whole nails a face."""
    member = truss.member(member_id)
    lumber = lookup(member.lumber)
    if truss.plies > 1 or section(lumber, member.flat).breadth_in != lumber.thickness_in:
        return ()  # a scab holds the outer ply alone, and not by nails of this length the wide face of a flat piece
    found = [value for nail in COMMON if (value := in_lumber(nail, SIDE_IN, lumber)) is not None]
    return tuple(Nailing(value, max(math.ceil(holding_lb / (2 * value.z_lb) - 1e-9), 1)) for value in found)
