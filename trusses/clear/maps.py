"""The map of a stored truss, kept by its document's SHA-256, and the places of one chosen size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import shapely

from trusses import kept_drawings
from trusses.analysis.clearance.centres import DRAWN_IN, centres
from trusses.analysis.clearance.clear_map import Clear, clear_map
from trusses.analysis.format.model import Opening
from trusses.clear.taped import PocketTaped, Tape
from trusses.designs import design_of
from trusses.models import Revision

_ON_A_SHEET = 6


def pockets_of(revision: Revision) -> tuple[PocketTaped, ...]:
    """What each pocket of a revision holds, exactly and on a tape; a revision never changes."""
    return kept_drawings.kept(["clear map", revision.sha256], lambda: _taped(revision))


def _taped(revision: Revision) -> tuple[PocketTaped, ...]:
    tape = Tape(revision.document)
    return tuple(tape.pocket(one) for one in clear_map(design_of(revision.document)))


def largest_of(revision: Revision) -> list[PocketTaped]:
    """The pockets that hold the largest circles, few enough for a sheet, from left to right."""
    most = sorted(pockets_of(revision), key=lambda one: -one.clear.circle.diameter_in)[:_ON_A_SHEET]
    return sorted(most, key=lambda one: one.clear.number)


@dataclass(frozen=True)
class Room:
    """Where the centre of a chosen size may stand in one pocket."""

    clear: Clear
    free: shapely.MultiPolygon

    @property
    def areas(self) -> list[list[list[list[float]]]]:
        """Each area as its outer ring and those of what is cut out of it: points in inches, to a thousandth."""
        return [[_ring(ring) for ring in (area.exterior, *area.interiors)] for area in self.free.geoms]


def rooms(found: Sequence[Clear], opening: Opening) -> list[Room]:
    """The pockets that hold an opening of this size, with all its places there."""
    least = min(opening.size) + 2 * opening.clearance_in
    hopeful = [one for one in found if one.circle.diameter_in >= least - 1e-6]
    every = [Room(one, centres(one.pocket, opening, DRAWN_IN)) for one in hopeful]
    return [room for room in every if not room.free.is_empty]


def drawn(found: Sequence[Clear], chosen: Sequence[Room] | None) -> dict[str, Any]:
    """The map as the drawing takes it."""
    areas = {room.clear.number: room.areas for room in chosen or ()}
    return {
        "chosen": chosen is not None,
        "pockets": [
            {
                "number": one.number,
                "centre_in": [round(x, 4) for x in one.circle.centre_in],
                "diameter_in": round(one.circle.diameter_in, 4),
                "areas": areas.get(one.number, []),
            }
            for one in found
        ],
    }


def _ring(line: shapely.LinearRing) -> list[list[float]]:
    return [[round(float(x), 3), round(float(y), 3)] for x, y in shapely.get_coordinates(line)]
