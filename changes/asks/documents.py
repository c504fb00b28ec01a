"""In what two truss documents differ, as a change tells it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import shapely

from changes.asks.opening import SAME_IN, lacks_opening
from changes.models import Option
from trusses.analysis.departures import Departure, departures
from trusses.analysis.format.document import read_stored
from trusses.analysis.format.model import Truss
from trusses.analysis.words.phrases import Coded, coded


def departures_of(option: Option) -> list[Departure]:
    """How an option departs from the revision that it was made from in loads, bearings, use and restraint."""
    before, after = option.revision.document, option.document
    return departures(read_stored(before), read_stored(after))


def differences(before: dict[str, Any], after: dict[str, Any]) -> list[Coded]:
    """What else than members and joints differs, to be told in one sentence; none when nothing does.

    A designer may draw what the search never proposes: another outside shape, other bearings, other loads.
    """
    a, b = read_stored(before), read_stored(after)
    parts = [name for name, differs in _compared(a, b) if differs]
    gone = [each["id"] for each in before.get("openings", ()) if lacks_opening(after, [each])]
    return [coded("differs", parts=parts, gone=gone)] if parts or gone else []


def _compared(a: Truss, b: Truss) -> Iterable[tuple[str, bool]]:
    # vertices to lines, both ways: a panel point moved along its chord is no other shape
    yield "outside", shapely.hausdorff_distance(_outside(a), _outside(b)) > SAME_IN
    yield "bearings", _supports(a) != _supports(b)
    yield "loads", a.document.get("loads") != b.document.get("loads")
    yield "spacing", a.spacing_in != b.spacing_in
    yield "use", (a.use, a.ceiling) != (b.use, b.ceiling)
    yield "uplift-dead-share", a.uplift_dead_share != b.uplift_dead_share


def _outside(truss: Truss) -> shapely.Geometry:
    """The chords' centrelines."""
    lines = [[(end.x, end.y) for end in truss.ends(member)] for member in truss.members if member.is_chord]
    return shapely.union_all(shapely.linestrings(lines))


def _supports(truss: Truss) -> list[tuple[float, float, str, float]]:
    found = [(truss.joint(bearing.joint), bearing) for bearing in truss.bearings]
    return sorted((joint.x, joint.y, bearing.restrains, bearing.width_in) for joint, bearing in found)
