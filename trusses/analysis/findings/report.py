"""What a person must look at before trusting an analysis, and what no analysis here covers."""

from __future__ import annotations

from trusses.analysis.checks.check import Finding, Unchecked
from trusses.analysis.checks.member_properties import is_repetitive, takes_ct
from trusses.analysis.checks.nds import KM
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.findings.attic import attic_findings
from trusses.analysis.findings.force import force_findings
from trusses.analysis.findings.kind import kind_findings
from trusses.analysis.findings.load import load_findings
from trusses.analysis.findings.shape import heels_off, shape_findings
from trusses.analysis.findings.weights import weight_findings
from trusses.analysis.format.model import Truss
from trusses.analysis.frame.results import Results
from trusses.analysis.loads.snow import lacks_drift

__all__ = ["Finding", "findings", "not_checked"]


def findings(results: Results) -> tuple[Finding, ...]:
    """The findings of a truss: its loads, its shape and supports, then its forces."""
    truss = results.truss
    return (
        *load_findings(truss),
        *attic_findings(truss),
        *shape_findings(truss),
        *kind_findings(truss),
        *force_findings(results),
        *weight_findings(results),
    )


def not_checked(truss: Truss, surroundings: Surroundings = NOTHING_SAID) -> tuple[Unchecked, ...]:
    """What the analysis of this truss doesn't cover, or takes for granted."""
    unsaid = [bearing.joint for bearing in truss.bearings if surroundings.plate(bearing.joint) is None]
    found = [
        Unchecked("plates"),
        Unchecked("heel-eccentricity", {"drawn": any(heels_off(truss))}),
        Unchecked("joint-eccentricity"),
        Unchecked("leaning-webs"),
        Unchecked("connections"),
        Unchecked("fire"),
        Unchecked("joint-slip"),
        Unchecked("splices"),
        Unchecked("below", {"unsaid": unsaid, "every": len(unsaid) == len(truss.bearings)}),
        Unchecked("bracing"),
        Unchecked("treated-wet-hot", {"stated": "service" in truss.document}),
        Unchecked("snow-drifts"),
        Unchecked("snow-on-spans"),
        Unchecked("seismic"),
        Unchecked("self-weight"),
        Unchecked("cuts"),
    ]
    if truss.use == "roof":
        found.append(Unchecked("ice-at-eaves"))
    if truss.plies > 1:
        found.append(Unchecked("ply-fastening"))
    if lacks_drift(truss):
        found.append(Unchecked("snow-drift"))
    if truss.use == "floor":
        found.append(Unchecked("vibration"))
    if chords := [member.role for member in truss.members if is_repetitive(truss, member)]:
        found.append(Unchecked("repetitive-use", {"roles": list(dict.fromkeys(chords))}))
    if surroundings.km is not None and (sheathed := [m.id for m in truss.members if takes_ct(truss, m)]):
        dry = surroundings.km == KM[0]
        found.append(Unchecked("sheathed-chords", {"members": sheathed, "km": surroundings.km, "dry": dry}))
    return tuple(found)
