"""How a floor truss moves beside those next to it that keep their design: figures without a verdict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from trusses.analysis.requirements.movement import Frequency
from trusses.analysis.requirements.restraint_rows import told
from trusses.designs import design_of
from trusses.models import Truss
from trusses.plan.beside import kept_beside
from trusses.sheets import sheet_facts


@dataclass(frozen=True)
class Moves:
    """One design: whose it is, its live and total deflection, and an estimate of how quickly it swings."""

    who: str
    deflections: tuple[sheet_facts.Deflection, ...]
    frequency: Frequency | None

    @property
    def hz(self) -> float | None:
        return self.frequency.hz if self.frequency else None


def moves(who: str, document: Mapping[str, Any], analysis: Mapping[str, Any]) -> Moves:
    """By the stored analysis of a truss document."""
    facts = sheet_facts.facts(design_of(document), analysis, None)
    return Moves(who, tuple(facts.deflections), facts.frequency)


def beside(truss: Truss) -> list[Moves]:
    """The designs that stand next to copies of a floor truss which can still change; none for a roof."""
    if truss.current.document.get("use") != "floor":
        return []
    return [
        moves(f"{told(those)}, revision {revision.number}", revision.document, revision.analysis)
        for those, revision in kept_beside(truss)
    ]
