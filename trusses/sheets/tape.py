"""Three dimensions of a truss that a tape can check, from edges of wood and faces of walls. Inches.

Everything is measured in the truss's plane and from the marked end: the one at the left of the drawing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from trusses.analysis.format.model import Bearing, Member, Truss
from trusses.analysis.lumber import lookup, section
from trusses.drawing.measures import height
from trusses.drawing.outline import outlines
from trusses.drawing.shape import shape

TOLERANCE_IN = 0.5
"""What a tape may be off before it means something: this tool's own allowance, not a fabrication tolerance."""

_STRAIGHT = 1e-6
_STEEP = 0.1
# a web nearer the wall than this is the heel's own
_HEEL_IN = 6.0


@dataclass(frozen=True)
class Dimension:
    """`inches` between two places that `says` names, `webs` among them; a tape may differ by `tolerance_in`."""

    says: str
    inches: float
    webs: tuple[str, ...] = ()
    tolerance_in: float = TOLERANCE_IN


@dataclass(frozen=True)
class _Face:
    """Where a web's wood covers the inner edge of the bottom chord, from `start` to `end` along it."""

    web: str
    start: float
    end: float


def marked_bearing(truss: Truss) -> Bearing:
    """The bearing at the marked end."""
    return min(truss.bearings, key=lambda bearing: truss.joint(bearing.joint).x)


def dimensions(truss: Truss) -> tuple[Dimension, ...]:
    """Up to three dimensions, those first that tell one revision from another."""
    faces = _faces(truss)
    found = [*_clear(truss, faces), *_first_web(truss, faces), *_height(truss), *_out_to_out(truss)]
    return tuple(found[:3])


def _depth(truss: Truss, member: Member) -> float:
    return section(lookup(member.lumber), member.flat, truss.plies).depth_in


def _height(truss: Truss) -> Iterator[Dimension]:
    """The overall height that the drawing shows as well."""
    drawn = shape(truss.document)
    base, top = height(drawn, outlines(drawn))
    says = (
        "Overall height: from a level line at the underside of the bottom chord, at its bearings, to the highest wood"
    )
    yield Dimension(says, top - base)


def _run(truss: Truss) -> list[Member]:
    """The bottom chord's members in one straight line from its left end, left to right."""
    chords = [member for member in truss.members if member.role == "bottom_chord"]
    chords.sort(key=lambda member: min(joint.x for joint in truss.ends(member)))
    run: list[Member] = []
    for member in chords:
        if run and abs(_slope(truss, member) - _slope(truss, run[0])) > _STRAIGHT:
            break
        run.append(member)
    return run


def _slope(truss: Truss, member: Member) -> float:
    a, b = sorted(truss.ends(member), key=lambda joint: joint.x)
    return math.atan2(b.y - a.y, b.x - a.x)


def _faces(truss: Truss) -> list[_Face]:
    """The webs along the bottom chord's first straight run, from the marked wall's outside face on its inner edge."""
    run = _run(truss)
    if not run:
        return []
    slope = _slope(truss, run[0])
    half = max(_depth(truss, member) for member in run) / 2
    along, across = (math.cos(slope), math.sin(slope)), (-math.sin(slope), math.cos(slope))
    left = min((joint for member in run for joint in truss.ends(member)), key=lambda joint: joint.x)
    names = {name for member in run for name in member.joints}
    bearing = marked_bearing(truss)
    wall = (truss.joint(bearing.joint).x - bearing.width_in / 2 - left.x) / along[0] + half * math.tan(slope)
    faces = []
    for web in (member for member in truss.members if member.role == "web"):
        for near, far in (truss.ends(web), truss.ends(web)[::-1]):
            if near.name not in names or far.name in names:
                continue
            length = truss.length(web)
            u = ((far.x - near.x) / length, (far.y - near.y) / length)
            sideways, up = u[0] * along[0] + u[1] * along[1], u[0] * across[0] + u[1] * across[1]
            if up < _STEEP:
                continue
            foot = (near.x - left.x) * along[0] + (near.y - left.y) * along[1] + half * sideways / up
            width = _depth(truss, web) / 2 / up
            faces.append(_Face(web.id, foot - width - wall, foot + width - wall))
    return sorted(faces, key=lambda face: face.start)


def _first_web(truss: Truss, faces: list[_Face]) -> Iterator[Dimension]:
    first = next((face for face in faces if face.start > _HEEL_IN), None)
    if first:
        wall = marked_bearing(truss).joint
        yield Dimension(
            f"From the outside face of the wall at {wall}, the marked end, along the bottom chord's upper edge to the "
            f"near face of web {first.web}",
            first.start,
            (first.web,),
        )


def _clear(truss: Truss, faces: list[_Face]) -> Iterator[Dimension]:
    """Between the webs beside the first opening; without one, between those that stand furthest apart."""
    gaps = []
    reach = faces[0] if faces else None
    for face in faces[1:]:
        if reach and face.start > reach.end:
            gaps.append((reach, face))
        if reach is None or face.end > reach.end:
            reach = face
    if not gaps:
        return
    bearing = marked_bearing(truss)
    wall_x = truss.joint(bearing.joint).x - bearing.width_in / 2
    slope = math.cos(_slope(truss, _run(truss)[0]))
    places = [(opening.id, (opening.centre[0] - wall_x) / slope) for opening in truss.openings]
    beside = next(
        ((left, right, name) for name, at in places for left, right in gaps if left.end <= at <= right.start), None
    )
    left, right = beside[:2] if beside else max(gaps, key=lambda gap: round(gap[1].start - gap[0].end, 6))
    where = f", at opening {beside[2]}" if beside else ", the widest place"
    yield Dimension(
        f"Clear between webs {left.web} and {right.web} along the bottom chord's upper edge{where}",
        right.start - left.end,
        (left.web, right.web),
    )


def _out_to_out(truss: Truss) -> Iterator[Dimension]:
    walls = sorted(truss.bearings, key=lambda bearing: truss.joint(bearing.joint).x)
    first, last = walls[0], walls[-1]
    if first is not last:
        between = truss.joint(last.joint).x - truss.joint(first.joint).x
        yield Dimension(
            f"Between the outside faces of the walls at {first.joint} and {last.joint}",
            between + (first.width_in + last.width_in) / 2,
        )
