"""Axial forces of an analysis document, as a drawing shows them. Pounds; magnitudes with a sign in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from trusses.analysis.requirements.supports import at_most
from trusses.drawing.paper import DrawingError
from trusses.drawing.shape import Shape
from trusses.drawing.text import magnitude

Analysis = Mapping[str, Any]
_LEAST_LB = 0.5  # less than this rounds to no magnitude
_LEAST_REVERSAL = 0.02  # of the truss's largest force: smaller ones of the other sign aren't worth a second pattern


@dataclass(frozen=True)
class Force:
    """Largest pull and largest push of one member, both as magnitudes."""

    tension: float
    compression: float
    reverses: bool = False

    @property
    def most(self) -> float:
        return max(self.tension, self.compression)

    @property
    def kind(self) -> str:
        if self.most < _LEAST_LB:
            return "unloaded"
        if self.reverses:
            return "both"
        return "tension" if self.tension >= self.compression else "compression"

    @property
    def words(self) -> tuple[str, ...]:
        """What the label says: T for tension, C for compression, the larger first."""
        if self.kind == "unloaded":
            return ("0 lb",)
        parts = sorted(((self.tension, "T"), (self.compression, "C")), reverse=True)
        return tuple(f"{magnitude(force)} {sign}" for force, sign in parts[: 2 if self.reverses else 1])


def member_forces(shape: Shape, analysis: Analysis, combination: str | None) -> dict[str, Force]:
    """Each member's force in one combination or case, or over all combinations (the envelope) for None."""
    if combination is None:
        found = {
            name: (row["tension_lb"], row["compression_lb"]) for name, row in analysis["envelope"]["members"].items()
        }
    else:
        rows = _row(analysis, combination)["members"]
        found = {name: _both_signs(row["axial_lb"]) for name, row in rows.items()}
    for name in shape.pieces:
        if name not in found:
            raise DrawingError("drawing-of-another-truss", member=name)
    largest = max((max(found[name]) for name in shape.pieces), default=0.0)
    least = max(_LEAST_LB, _LEAST_REVERSAL * largest)
    return {
        name: Force(float(found[name][0]), float(found[name][1]), min(found[name]) >= least) for name in shape.pieces
    }


def reactions(analysis: Analysis, combination: str | None) -> dict[str, tuple[float, float]]:
    """Down on the wall and uplift at each bearing, both as magnitudes; the most for None, also without the weights on
    the truss."""
    if combination is None:
        most = at_most(analysis)
        return {joint: (float(row["down_lb"]), float(row["uplift_lb"])) for joint, row in most.items()}
    rows = _row(analysis, combination)["reactions_lb"]
    return {joint: (max(0.0, float(up)), max(0.0, -float(up))) for joint, (_, up) in rows.items()}


def _row(analysis: Analysis, combination: str) -> Mapping[str, Any]:
    for kind in ("combinations", "cases"):
        if combination in analysis.get(kind, {}):
            row: Mapping[str, Any] = analysis[kind][combination]
            return row
    raise DrawingError("drawing-combination", combination=combination)


def _both_signs(axial: tuple[float, float]) -> tuple[float, float]:
    return (max(0.0, *axial), max(0.0, *(-value for value in axial)))
