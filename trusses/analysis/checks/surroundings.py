"""What an analysis is told beside the truss document: what the building around the truss adds to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from trusses.analysis.checks import nds
from trusses.analysis.lumber import Lumber, lookup
from trusses.analysis.words.refusal import Refusal


class SurroundingsError(Refusal):
    """Surroundings that can't be."""


@dataclass(frozen=True)
class Surroundings:
    """What stands around a truss, where somebody said it; what nobody said is not counted on.

    `km` is that of CT where sheathing on the top chord meets the conditions of NDS 4.4.2 (wood structural panels of
    3/8 in. or more, nailed to the chord's narrow face, dry service): 2300 where the lumber had a moisture content of 19
    percent or less when it was sheathed, 1200 where it hadn't; None: no CT. `wall_plates` is the lumber of the plate
    below a bearing, by the bearing's joint; of joints that have no bearing it says nothing.

    Raises SurroundingsError for another `km`, and LumberError for lumber that the table doesn't have.
    """

    km: int | None = None
    wall_plates: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    def __post_init__(self) -> None:
        if self.km is not None and self.km not in nds.KM:
            raise SurroundingsError("km-unknown", km=self.km, known=list(nds.KM))
        for key in self.wall_plates.values():
            lookup(key)

    def plate(self, joint: str) -> Lumber | None:
        """The lumber of the wall plate below the bearing at a joint, where it was said."""
        key = self.wall_plates.get(joint)
        return None if key is None else lookup(key)

    def written(self, joints: Mapping[str, Any]) -> dict[str, Any]:
        """As an analysis document of a truss with bearings at `joints` records it; empty where nothing was said."""
        plates = {joint: key for joint, key in self.wall_plates.items() if joint in joints}
        return ({} if self.km is None else {"KM": self.km}) | ({"wall_plates": plates} if plates else {})

    @classmethod
    def read(cls, written: Mapping[str, Any]) -> Surroundings:
        """Those that an analysis document recorded under `surroundings`."""
        return cls(written.get("KM"), MappingProxyType(dict(written.get("wall_plates", {}))))


NOTHING_SAID = Surroundings()
