"""The truss document with other bearings. The truss stays; a bearing between panel points bends its chord there.

Places are x along the span and heights y, inches, of the truss document.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from trusses.analysis.format.model import Bearing, Role, Truss
from trusses.analysis.made_stronger import point_at
from trusses.analysis.redesign.draft import Draft, Illegal
from trusses.analysis.words.refusal import Refusal

Document = dict[str, Any]
#: What a wall may stand off its line without a word, and two bearings are one within, inches: this project's choice.
TOLERANCE_IN = 0.25


class BearingError(Refusal):
    """A bearing that can't be there."""


@dataclass(frozen=True, slots=True)
class Measured:
    """What as-measured walls make of a truss. `document` has each bearing where its wall is; `shims_in` is what each
    lower wall lacks to the highest, by joint; `off_in` how far each wall stands off its line, those within a quarter of
    an inch left out of both."""

    document: Document
    shims_in: Mapping[str, float]
    off_in: Mapping[str, float]


def moved(truss: Truss, joint: str, to_in: float) -> Document:
    """With one bearing somewhere else on its chord. Raises BearingError."""
    bearing = _bearing(truss, joint)
    others = [each for each in truss.bearings if each is not bearing]
    return _with(truss, others, [(chord_on(truss, joint), to_in, bearing.restrains, bearing.width_in)])


def added(truss: Truss, at_in: float, width_in: float, chord: Role = "bottom_chord") -> Document:
    """With one more bearing, which holds up and down. Raises BearingError."""
    return _with(truss, list(truss.bearings), [(chord, at_in, "y", width_in)])


def taken_away(truss: Truss, joint: str) -> Document:
    """Without one bearing; where it alone held sideways, the leftmost one left does. Raises BearingError."""
    bearing = _bearing(truss, joint)
    left = sorted((each for each in truss.bearings if each is not bearing), key=lambda each: truss.joint(each.joint).x)
    if not left:
        raise BearingError("bearing-the-only-one", "bearing", mark=truss.mark)
    if not any("x" in each.restrains for each in left):
        left[0] = left[0]._replace(restrains="xy")
    return _with(truss, left, [])


def as_measured(truss: Truss, walls: Mapping[str, tuple[float, float]]) -> Measured:
    """With each bearing of `walls`, joint to (x, y), where its wall was measured. Raises BearingError."""
    off = {joint: x - truss.joint(joint).x for joint, (x, _) in walls.items() if _bearing(truss, joint)}
    off = {joint: by for joint, by in off.items() if abs(by) > TOLERANCE_IN}
    rises = {
        bearing.joint: walls[bearing.joint][1] - truss.joint(bearing.joint).y if bearing.joint in walls else 0.0
        for bearing in truss.bearings
    }
    highest = max(rises.values())
    shims = {joint: highest - rise for joint, rise in rises.items() if highest - rise > TOLERANCE_IN}
    kept = [bearing for bearing in truss.bearings if bearing.joint not in off]
    placed = [
        (chord_on(truss, bearing.joint), truss.joint(bearing.joint).x + off[bearing.joint], *bearing[1:])
        for bearing in truss.bearings
        if bearing.joint in off
    ]
    return Measured(_with(truss, kept, placed), shims, off)


def chord_on(truss: Truss, joint: str) -> Role:
    """The chord that presses on a bearing: the bottom chord, or the top chord where there is none."""
    roles = {member.role for member in truss.members_at[joint]}
    return "bottom_chord" if "bottom_chord" in roles else "top_chord"


def _bearing(truss: Truss, joint: str) -> Bearing:
    for bearing in truss.bearings:
        if bearing.joint == joint:
            return bearing
    raise BearingError("bearing-not-of-truss", "bearing", mark=truss.mark, joint=joint)


def _with(truss: Truss, kept: list[Bearing], placed: list[tuple[Role, float, str, float]]) -> Document:
    draft = Draft(truss.document)
    bearings = list(kept)
    for chord, x, restrains, width in placed:
        xs = [draft.at(joint)[0] for joint in draft.chord_joints(chord)]
        if not xs or not min(xs) - 1e-6 <= x <= max(xs) + 1e-6:
            by = min(xs) - x if xs and x < min(xs) else x - max(xs, default=x)
            raise BearingError("bearing-beyond-truss", "bearing", mark=truss.mark, at_in=x, by_in=by)
        if any(abs(draft.at(other.joint)[0] - x) < max(other.width_in, width) for other in bearings):
            raise BearingError("bearing-there-already", "bearing", mark=truss.mark, at_in=x)
        try:
            joint = point_at(draft, chord, x)
        except Illegal:
            raise BearingError("bearing-beside-chord", "bearing", mark=truss.mark, at_in=x) from None
        bearings.append(Bearing(joint, restrains, width))
    document = draft.document()
    bearings.sort(key=lambda bearing: draft.at(bearing.joint)[0])
    document["bearings"] = [bearing._asdict() for bearing in bearings]
    return document
