"""What a sheet derives from the stored analysis of its revision: supports, restraint, movement, forces, joints."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from trusses.analysis import compare
from trusses.analysis.analysis_document import read_back
from trusses.analysis.checks.deflection import IN_SPAN, IN_SPAN_LIMIT
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.frame.results import Results
from trusses.analysis.piece_names import panel_names
from trusses.analysis.requirements import joints, movement, plates, supports, web_restraint
from trusses.analysis.requirements.supports import Support
from trusses.models import PlateTable
from trusses.sheets import words

_NOTHING_IN = 1e-6


@dataclass(frozen=True)
class Deflection:
    """One deflection check as a drawing states it: inches, the limit, the combination, and what share of the length L
    both are, L/`span_over` and L/`limit_over`; L is the span, of an overhang twice its length."""

    rule: str
    inches: float
    limit_in: float
    by: str
    span_over: int | None
    limit_over: int | None
    overhang: bool
    passes: bool
    span_in: float | None = None
    span_limit_in: float | None = None
    """Where an overhang governs, the most between the bearings and what is allowed there."""

    @property
    def share(self) -> str:
        """L/1,134, where L/360 is allowed."""
        if self.limit_over is None:
            return ""
        allowed = f"L/{self.limit_over:,} is allowed"
        return f"L/{self.span_over:,}, where {allowed}" if self.span_over else allowed


@dataclass(frozen=True)
class PlateNeed:
    """What one piece asks of a joint's plates: the governing demand, and by the job's table the area of its teeth."""

    governing: joints.Governing
    area_in2: float | None


@dataclass(frozen=True)
class Facts:
    """One truss's derived figures. Everything rests on its analysis document as it was stored, and the results that
    are read back from that."""

    results: Results
    analysis: Mapping[str, Any]
    table: PlateTable | None
    said: Surroundings = NOTHING_SAID

    @cached_property
    def supports(self) -> tuple[supports.Support, ...]:
        told = self.analysis
        return supports.supports(self.results, told["checks"], self.said, told.get("findings", ()))

    @property
    def unsaid_plates(self) -> list[str]:
        """The bearings for which nobody said the lumber of the wall plate."""
        return [one.joint for one in self.supports if one.plate is None]

    @cached_property
    def by_case(self) -> list[tuple[str, list[float]]]:
        """(case, pounds down on each bearing), unfactored."""
        return [
            (case_words(case, self.results.truss.document), [one.by_case[case] for one in self.supports])
            for case in self.results.cases
        ]

    @property
    def has_wind(self) -> bool:
        return any(load.case == "wind" for load in self.results.truss.loads)

    @cached_property
    def webs(self) -> tuple[web_restraint.WebRows, ...]:
        return web_restraint.web_rows(self.results)

    @property
    def restrained_webs(self) -> list[web_restraint.WebRows]:
        """Those that need a row or are counted on to have one."""
        return [row for row in self.webs if row.needed != 0 or row.stated]

    @property
    def free_webs(self) -> list[str]:
        return [row.web for row in self.webs if row.needed == 0 and not row.stated]

    @cached_property
    def deflections(self) -> list[Deflection]:
        return [_deflection(check) for check in self.analysis["checks"] if check["of"] == "truss"]

    @cached_property
    def camber(self) -> movement.Camber | None:
        return movement.camber(self.results)

    @cached_property
    def slides(self) -> tuple[movement.Slide, ...]:
        return movement.slides(self.results)

    @cached_property
    def frequency(self) -> movement.Frequency | None:
        return movement.frequency(self.results)

    @cached_property
    def called(self) -> dict[str, str]:
        """What each member is called: its piece, and which panel of it."""
        return panel_names(self.results.truss.document)

    @property
    def forces(self) -> list[dict[str, Any]]:
        """The largest tension and compression of each member, pounds, by which combination, and what it is called."""
        return [
            {"id": name, "called": self.called[name], **most}
            for name, most in self.analysis["envelope"]["members"].items()
        ]

    @cached_property
    def demand(self) -> joints.JointDemand:
        return joints.joint_demand(self.results)

    @cached_property
    def splices(self) -> tuple[joints.Splice, ...]:
        return joints.splices(self.results)

    @property
    def splice_steel(self) -> list[tuple[joints.Splice, float | None]]:
        """Each splice, and the inches of each plate's steel that must cross it in tension, where the table tells."""
        told = [(splice, self.joint_plates.get(splice.joint)) for splice in self.splices]
        return [(one, plates.steel_needed(one, at.plate) if at and at.plate else None) for one, at in told]

    @cached_property
    def joint_plates(self) -> dict[str, plates.JointPlate]:
        """By joint, what the job's table makes of the demand; empty without a table."""
        if self.table is None:
            return {}
        return {one.joint: one for one in plates.joint_plates(self.demand, plates.plates_of(self.table.rows))}

    @cached_property
    def joint_needs(self) -> list[tuple[str, list[PlateNeed], plates.JointPlate | None]]:
        """(joint, what each of its pieces asks for, what the table says of the joint), in the joints' order."""
        grouped: dict[str, list[PlateNeed]] = {}
        for one in self.demand.governing():
            told = self.joint_plates.get(one.piece.joint)
            area = next((area for piece, area in told.areas if piece == one.piece), None) if told else None
            grouped.setdefault(one.piece.joint, []).append(PlateNeed(one, area))
        return [(joint, needs, self.joint_plates.get(joint)) for joint, needs in grouped.items()]

    @property
    def places(self) -> list[tuple[str, float, float]]:
        """(joint, inches along from the left bearing's joint, inches above it), from left to right."""
        truss = self.results.truss
        left = min((truss.joint(bearing.joint) for bearing in truss.bearings), key=lambda joint: joint.x)
        placed = sorted(truss.joints, key=lambda joint: (joint.x, joint.y))
        return [(joint.name, joint.x - left.x, joint.y - left.y) for joint in placed]

    @property
    def bearings_along(self) -> list[tuple[Support, float]]:
        """(support, inches along from the left bearing's joint), in the document's order."""
        along = {joint: inches for joint, inches, _ in self.places}
        return [(one, along[one.joint]) for one in self.supports]

    @property
    def board_feet(self) -> float:
        return compare.board_feet(self.results.truss.document)

    @property
    def pieces(self) -> int:
        return compare.pieces(self.results.truss.document)

    @property
    def plated_joints(self) -> int:
        return joints.plated_joints(self.results.truss)

    unchecked_joints = joints.UNCHECKED
    unchecked_plates = plates.UNCHECKED


def facts(
    design: Design, analysis: Mapping[str, Any], table: PlateTable | None, said: Surroundings = NOTHING_SAID
) -> Facts:
    """The facts of a truss by its stored analysis document; `table` is the job's table of plate values, if any, `said`
    what is said today of what the truss stands on."""
    return Facts(read_back(design, analysis), analysis, table, said)


def _deflection(check: dict[str, Any]) -> Deflection:
    span, inches = check["terms"].get("span"), check["demand"]
    return Deflection(
        rule=check["rule"],
        inches=inches,
        limit_in=check["capacity"],
        by=check["combination"],
        span_over=int(span / inches) if span and inches > _NOTHING_IN else None,
        limit_over=round(span / check["capacity"]) if span else None,
        overhang="overhang" in check["terms"],
        passes=check["passes"],
        span_in=check["terms"].get(IN_SPAN),
        span_limit_in=check["terms"].get(IN_SPAN_LIMIT),
    )


def case_words(case: str, document: Mapping[str, Any]) -> str:
    """snow/left → Snow, left; of a truss document, which tells what its attic storage is."""
    name, _, pattern = case.partition("/")
    if name == words.STORAGE:
        those = [load for kind in document["loads"].values() for load in kind if load["case"] == name]
        if pattern.startswith("alone") or (those and all(load.get("acts") == "alone" for load in those)):
            return words.BOTTOM_LIVE
    name = name.replace("_", " ").capitalize()
    return f"{name}, {pattern}" if pattern else name
