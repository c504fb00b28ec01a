"""Three dimensions of a truss that a tape can check, from edges of wood and faces of walls. Inches.

Everything is measured in the truss's plane and from the marked end: the one at the left of the drawing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from trusses.analysis.format.model import Bearing, Member, Truss
from trusses.analysis.lumber import lookup, section
from trusses.drawing.measures import height
from trusses.drawing.outline import outlines
from trusses.drawing.shape import shape
from trusses.drawing.taped import Taped

TOLERANCE_IN = 0.5
"""What a tape may be off before it means something: this tool's own allowance, not a fabrication tolerance."""

_STRAIGHT = 1e-6
_STEEP = 0.1
# a web nearer the wall than this is the heel's own
_HEEL_IN = 6.0


@dataclass(frozen=True)
class Dimension:
    """`inches` between two places that `says` names, `webs` among them; a tape may differ by `tolerance_in`. `key`
    tells it from others of its truss, `start` and `end` are the two places, inches, and `was` is what it measured in
    the revision before where that is off by more than the tolerance."""

    key: tuple[str, ...]
    says: str
    inches: float
    start: tuple[float, float]
    end: tuple[float, float]
    webs: tuple[str, ...] = ()
    tolerance_in: float = TOLERANCE_IN
    opening: str = ""
    was: float | None = None
    new: bool = False
    """The revision before has nothing that is measured so."""

    def drawn(self, letter: str) -> Taped:
        """As the drawing shows it."""
        return Taped(letter, "height" if self.key == ("height",) else "along", self.start, self.end, self.inches)


@dataclass(frozen=True)
class _Face:
    """Where a web's wood covers the inner edge of the bottom chord, from `start` to `end` along it."""

    web: str
    start: float
    end: float


def marked_bearing(truss: Truss) -> Bearing:
    """The bearing at the marked end."""
    return min(truss.bearings, key=lambda bearing: truss.joint(bearing.joint).x)


def dimensions(truss: Truss, before: Truss | None = None) -> tuple[Dimension, ...]:
    """Up to three dimensions, those first that tell one revision from another: between the webs beside an opening, then
    what measures otherwise than in the revision `before`, the most first, then what every truss is told by."""
    gaps, feet = list(_clears(truss)), list(_webs(truss))
    beside = [one for one in gaps if one.opening]
    widest = max(gaps, key=lambda one: round(one.inches, 6), default=None)
    usual = [
        *beside[:1],
        *([replace(widest, says=f"{widest.says}, the widest place")] if widest and not beside else []),
    ]
    usual += [*feet[:1], *_height(truss), *_out_to_out(truss)]
    if before is None:
        return tuple(usual[:3])
    was = {one.key: one.inches for one in (*_clears(before), *_webs(before), *_height(before), *_out_to_out(before))}

    def told(one: Dimension) -> Dimension:
        old = was.get(one.key)
        differs = old is not None and abs(one.inches - old) > one.tolerance_in
        return replace(one, was=old if differs else None, new=old is None)

    def much(one: Dimension) -> float:
        return math.inf if one.new else abs(one.inches - (one.was if one.was is not None else one.inches))

    every = [told(one) for one in dict.fromkeys((*beside, *usual, *gaps, *feet))]
    differing = sorted((one for one in every if one.was is not None or one.new), key=much, reverse=True)
    first = [one for one in every if one.opening][:1]
    chosen = {one.key: one for one in reversed([*first, *differing, *map(told, usual)])}
    in_order = dict.fromkeys(one.key for one in (*first, *differing, *usual))
    return tuple(chosen[key] for key in in_order)[:3]


def _depth(truss: Truss, member: Member) -> float:
    return section(lookup(member.lumber), member.flat, truss.plies).depth_in


def _height(truss: Truss) -> Iterator[Dimension]:
    """The overall height that the drawing shows as well."""
    drawn = shape(truss.document)
    base, top = height(drawn, outlines(drawn))
    says = (
        "Overall height: from a level line at the underside of the bottom chord, at its bearings, to the highest wood"
    )
    x = max(joint.x for joint in truss.joints)
    yield Dimension(("height",), says, top - base, (x, base), (x, top))


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


@dataclass(frozen=True)
class _Edge:
    """The inner edge of the bottom chord's first straight run: from the marked wall's outside face on it, and which way
    it goes; and the webs that stand on it."""

    wall: tuple[float, float]
    along: tuple[float, float]
    faces: tuple[_Face, ...]

    def at(self, inches: float) -> tuple[float, float]:
        return self.wall[0] + inches * self.along[0], self.wall[1] + inches * self.along[1]


def _edge(truss: Truss) -> _Edge | None:
    """None where there is no bottom chord."""
    run = _run(truss)
    if not run:
        return None
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
    at = tuple(left_at + wall * a + half * c for left_at, a, c in zip((left.x, left.y), along, across, strict=True))
    return _Edge((at[0], at[1]), along, tuple(sorted(faces, key=lambda face: face.start)))


def _webs(truss: Truss) -> Iterator[Dimension]:
    """From the marked wall to each web along the chord, the nearest first; the heel's own are left out."""
    edge = _edge(truss)
    if edge is None:
        return
    for face in edge.faces:
        if face.start > _HEEL_IN:
            wall = marked_bearing(truss).joint
            yield Dimension(
                ("wall", face.web),
                f"From the outside face of the wall at {wall}, the marked end, to the near face of web {face.web},"
                " along the bottom chord's upper edge",
                face.start,
                edge.at(0.0),
                edge.at(face.start),
                (face.web,),
            )


def _clears(truss: Truss) -> Iterator[Dimension]:
    """Between webs next to each other along the chord, from the marked end; `opening` where one is between them."""
    edge = _edge(truss)
    if edge is None or not edge.faces:
        return
    bearing = marked_bearing(truss)
    wall_x = truss.joint(bearing.joint).x - bearing.width_in / 2
    places = [(opening.id, (opening.centre[0] - wall_x) / edge.along[0]) for opening in truss.openings]
    reach = edge.faces[0]
    for face in edge.faces[1:]:
        if face.start > reach.end:
            held = next((name for name, at in places if reach.end <= at <= face.start), "")
            yield Dimension(
                ("clear", reach.web, face.web),
                f"Clear between webs {reach.web} and {face.web} along the bottom chord's upper edge"
                f"{f', at opening {held}' if held else ''}",
                face.start - reach.end,
                edge.at(reach.end),
                edge.at(face.start),
                (reach.web, face.web),
                opening=held,
            )
        if face.end > reach.end:
            reach = face


def _out_to_out(truss: Truss) -> Iterator[Dimension]:
    walls = sorted(truss.bearings, key=lambda bearing: truss.joint(bearing.joint).x)
    first, last = walls[0], walls[-1]
    if first is not last:
        ends = (truss.joint(first.joint), truss.joint(last.joint))
        start, end = ends[0].x - first.width_in / 2, ends[1].x + last.width_in / 2
        says = f"Between the outside faces of the walls at {first.joint} and {last.joint}"
        yield Dimension(("walls",), says, end - start, (start, ends[0].y), (end, ends[1].y))
