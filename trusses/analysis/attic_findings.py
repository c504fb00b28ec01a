"""Room in a roof truss that makes its attic one with limited storage (IRC Table R301.5, notes b and g)."""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from shapely import affinity

from trusses.analysis.clear_space import space
from trusses.analysis.model import Truss
from trusses.analysis.outcome import Finding
from trusses.analysis.pockets import clear_parts
from trusses.analysis.units import feet_inches

#: The clear box between webs that tells an attic with limited storage, inches.
BOX_WIDTH, BOX_HEIGHT = 24.0, 42.0
#: What the bottom chord of such an attic carries, psf.
STORAGE_PSF = 20.0
_MOST_TOLD = 4


def attic_findings(truss: Truss) -> Iterator[Finding]:
    """Where the box fits between the webs of a roof truss whose bottom chord carries less than the storage load."""
    if truss.use != "roof" or _carries_storage(truss):
        return
    places = _places_for_box(truss)
    if not places:
        return
    left = min(truss.joint(bearing.joint).x for bearing in truss.bearings)
    where = ", ".join(feet_inches(x - left, to=1) for x in places[:_MOST_TOLD])
    more = f" and {len(places) - _MOST_TOLD} more" if len(places) > _MOST_TOLD else ""
    yield Finding(
        "attic-storage",
        f"A clear box 42 in. high and 24 in. wide fits between the webs about {where}{more} from the left bearing."
        " Where the next truss has that room too and the attic can be reached, the bottom chord there has to carry"
        " 20 psf of storage, not 10 (IRC Table R301.5); the document has less.",
        "loads",
    )


def _carries_storage(truss: Truss) -> bool:
    return any(
        load.case in ("live", "attic_storage") and load.chord == "bottom_chord" and load.psf >= STORAGE_PSF
        for load in truss.area_loads
    )


def _places_for_box(truss: Truss) -> list[float]:
    """The middle of one place for the box in each pocket that has room for it, from left to right, x in inches."""
    ys = [joint.y for joint in truss.joints]
    if max(ys) - min(ys) < BOX_HEIGHT:
        return []
    places = []
    for pocket in clear_parts(space(truss)):
        corner = pocket
        # the lower left corners from which all four corners of the box lie in the pocket
        for across, up in ((BOX_WIDTH, 0), (0, BOX_HEIGHT), (BOX_WIDTH, BOX_HEIGHT)):
            corner = corner.intersection(affinity.translate(pocket, -across, -up))
        if corner.is_empty:
            continue
        at = corner.representative_point()
        if pocket.covers(shapely.box(at.x, at.y, at.x + BOX_WIDTH, at.y + BOX_HEIGHT)):
            places.append(at.x + BOX_WIDTH / 2)
    return sorted(places)
