"""Line and point loads kept at their true places while the members under them are moved, split and merged. Inches."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from trusses.analysis.format.model import CHORDS

Point = tuple[float, float]
Document = dict[str, Any]
#: A load within this of a member's centreline stands on it, inches.
ON_IN = 1e-3
DECIMALS = 6


class Illegal(ValueError):
    """A step that a truss document can't take. Whoever takes steps catches it and goes without: it reaches no person,
    and its text is for whoever reads a traceback."""


class Wood(Protocol):
    """Members and joints with places; what `draft.Draft` is."""

    joints: dict[str, list[float]]
    members: dict[str, Document]

    def at(self, joint: str) -> Point: ...
    def ends(self, member: str) -> tuple[Point, Point]: ...
    def length(self, member: str) -> float: ...
    def role(self, member: str) -> str: ...
    def chord_of(self, joint: str) -> str | None: ...


@dataclass(frozen=True, slots=True)
class Anchor:
    """Where a line or point load stood, in the truss's own x and y, and what it stood on."""

    kind: str
    load: Document
    role: str
    member: str
    ends: tuple[Point, Point]
    places: tuple[Point, ...]


def anchored(wood: Wood, loads: Mapping[str, Iterable[Document]]) -> Iterator[Anchor]:
    """An anchor for each line and point load of a document's `loads`, in their order."""
    for kind in ("line", "point"):
        for load in loads.get(kind, ()):
            yield _anchor(wood, kind, load)


def placed(wood: Wood, anchor: Anchor) -> Iterator[Document]:
    """The load where it stood: as it was written where its joint or member is as it was. Raises Illegal."""
    load = anchor.load
    if "joint" in load:
        if load["joint"] in wood.joints and wood.at(load["joint"]) == anchor.ends[0]:
            yield load
            return
        load = {key: value for key, value in load.items() if key != "joint"}
    elif anchor.member in wood.members and wood.ends(anchor.member) == anchor.ends:
        yield load
        return
    if anchor.role not in CHORDS:
        raise Illegal("a load would be left with nothing to stand on")
    yield from _point(wood, load, anchor) if anchor.kind == "point" else _line(wood, load, anchor)


def _anchor(wood: Wood, kind: str, load: Document) -> Anchor:
    if "joint" in load:
        place = wood.at(load["joint"])
        return Anchor(kind, load, wood.chord_of(load["joint"]) or "", "", (place, place), (place,))
    member = load["member"]
    ends = wood.ends(member)
    distances = [load["at_in"]] if kind == "point" else [load.get("from_in", 0), load.get("to_in", wood.length(member))]
    return Anchor(kind, load, wood.role(member), member, ends, tuple(_along(ends, at) for at in distances))


def _point(wood: Wood, load: Document, anchor: Anchor) -> Iterator[Document]:
    for name in _on_chord(wood, anchor.role):
        (at,), apart = _measure(wood, name, anchor.places)
        length = wood.length(name)
        if apart < ON_IN and -ON_IN < at < length + ON_IN:
            yield load | {"member": name, "at_in": round(min(max(at, 0.0), length), DECIMALS)}
            return
    raise Illegal("a load would be left with nothing to stand on")


def _line(wood: Wood, load: Document, anchor: Anchor) -> Iterator[Document]:
    covered = 0.0
    for name in _on_chord(wood, anchor.role):
        marks, apart = _measure(wood, name, anchor.places)
        start, end = max(min(marks), 0.0), min(max(marks), wood.length(name))
        if apart < ON_IN and end - start > ON_IN:
            covered += end - start
            yield load | {"member": name, "from_in": round(start, DECIMALS), "to_in": round(end, DECIMALS)}
    if abs(covered - math.dist(*anchor.places)) > 2 * ON_IN:
        raise Illegal("a load would be left with nothing to stand on")


def _on_chord(wood: Wood, role: str) -> list[str]:
    return [name for name, member in wood.members.items() if member["role"] == role]


def _measure(wood: Wood, member: str, places: tuple[Point, ...]) -> tuple[list[float], float]:
    """Distances of places from a member's first joint along it, and the farthest that one lies off its line."""
    (ax, ay), (bx, by) = wood.ends(member)
    length = math.dist((ax, ay), (bx, by))
    ux, uy = (bx - ax) / length, (by - ay) / length
    along = [(x - ax) * ux + (y - ay) * uy for x, y in places]
    return along, max(abs((y - ay) * ux - (x - ax) * uy) for x, y in places)


def _along(ends: tuple[Point, Point], distance: float) -> Point:
    (ax, ay), (bx, by) = ends
    share = distance / math.dist(*ends)
    return ax + (bx - ax) * share, ay + (by - ay) * share
