"""What a person must look at before trusting an analysis, and what no analysis here covers."""

from __future__ import annotations

from collections.abc import Sequence

from trusses.analysis.checks.check import Finding
from trusses.analysis.checks.member_properties import is_repetitive, takes_ct
from trusses.analysis.checks.nds import KM
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.findings.attic import attic_findings
from trusses.analysis.findings.force import force_findings
from trusses.analysis.findings.kind import kind_findings
from trusses.analysis.findings.load import load_findings
from trusses.analysis.findings.shape import shape_findings
from trusses.analysis.format.model import Truss
from trusses.analysis.frame.response import Response
from trusses.analysis.loads.combinations import Case

__all__ = ["Finding", "findings", "not_checked"]


def findings(truss: Truss, cases: Sequence[Case], response: Response) -> tuple[Finding, ...]:
    """The findings of a truss: its loads, its shape and supports, then its forces. `response` has a row a case."""
    return (
        *load_findings(truss),
        *attic_findings(truss),
        *shape_findings(truss),
        *kind_findings(truss),
        *force_findings(truss, cases, response),
    )


def not_checked(truss: Truss, surroundings: Surroundings = NOTHING_SAID) -> tuple[str, ...]:
    """What the analysis of this truss doesn't cover, or takes for granted; each a phrase."""
    says = [
        "plates",
        "heel eccentricity",
        "eccentricity at the other joints: members are taken to meet on their centerlines",
        "connections",
        "fire",
        "slip and stiffness of plated joints, so that deflections are a lower bound",
        "splices, and tension across the grain at plates",
        _below(truss, surroundings),
        "bracing, temporary and permanent, and what anchors the lateral restraint",
        "treated or wet lumber, and temperatures over 100 °F that last",
        "snow drifts from other roofs and in valleys, sliding snow, rain on snow, ice at eaves",
        "snow on some of several spans",
        "earthquake, drag loads and construction loads",
        "self-weight: the dead loads are taken to contain it",
        "cuts, holes, notches and damage: every member is taken as whole",
    ]
    if truss.plies > 1:
        says.append("ply fastening")
    if truss.use == "floor":
        says.append("vibration of the floor")
    chords = [member.role for member in truss.members if is_repetitive(truss, member)]
    if chords:
        which = " and ".join(role.replace("_", " ") for role in dict.fromkeys(chords))
        says.append(
            f"repetitive use: Cr 1.15 on the {which} takes for granted three or more like trusses,"
            " not over 24 in. apart, joined by sheathing or boards (NDS 4.3.9)"
        )
    if surroundings.km is not None and (sheathed := [m.id for m in truss.members if takes_ct(truss, m)]):
        moisture = "19 % or less" if surroundings.km == KM[0] else "over 19 %"
        says.append(
            f"sheathed chords: CT in the column stability of {', '.join(sheathed)}, where bent too, takes for granted"
            " wood structural panels of 3/8 in. or more nailed to the top chord's narrow face, and lumber that had"
            f" {moisture} moisture when it was sheathed (KM {surroundings.km}, NDS 4.4.2)"
        )
    return tuple(says)


def _below(truss: Truss, surroundings: Surroundings) -> str:
    """What below the bearings isn't checked: of wall plates, those whose lumber nobody said."""
    unsaid = [bearing.joint for bearing in truss.bearings if surroundings.plate(bearing.joint) is None]
    if len(unsaid) == len(truss.bearings):
        return "wall plates, headers and walls below the bearings"
    plates = f", and the wall plate at {', '.join(unsaid)}, whose lumber isn't said" if unsaid else ""
    return f"headers and walls below the bearings{plates}"
