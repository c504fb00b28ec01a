"""A weight on a chord: where it hangs or stands, and the loads that it makes of a truss.

Places are x along the span, inches, as in the truss document. A line's weight is even along its plan length.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

from trusses.analysis.format.model import LineLoad, Member, PointLoad, Role, Truss
from trusses.analysis.words.refusal import Refusal

Document = dict[str, Any]
Shape = Literal["point", "pair", "line"]
#: Two members end where a place is no farther from their joint than this, inches.
_ON_IN = 1e-6
_FOOT = 12.0


class CapacityError(Refusal):
    """A weight that has no place in this truss, or that no rule shares."""


@dataclass(frozen=True, slots=True)
class Placement:
    """`at_in` is the middle of it; `length_in` what lies between the two points of a pair or the ends of a line."""

    chord: Role
    shape: Shape
    at_in: float
    length_in: float = 0.0

    @property
    def ends(self) -> tuple[float, float]:
        return self.at_in - self.length_in / 2, self.at_in + self.length_in / 2


def point_and_line_loads(
    truss: Truss, placement: Placement, pounds: float, case: str, note: str = ""
) -> tuple[list[PointLoad], list[LineLoad]]:
    """The loads of a weight of `pounds` on this truss. Raises CapacityError where the chord isn't there."""
    low, high = placement.ends
    if placement.shape == "line" and placement.length_in > 0:
        return [], list(_lines(truss, placement.chord, low, high, pounds, case))
    xs = (low, high) if placement.shape == "pair" and placement.length_in > 0 else (placement.at_in,)
    return [_point(truss, placement.chord, x, pounds / len(xs), case, note) for x in xs], []


def loaded(truss: Truss, placement: Placement, pounds: float, case: str) -> Truss:
    """The truss with a weight on it besides its own loads, whatever its document says."""
    points, lines = point_and_line_loads(truss, placement, pounds, case)
    return replace(truss, point_loads=(*truss.point_loads, *points), line_loads=(*truss.line_loads, *lines))


def written(truss: Truss, placement: Placement, pounds: float, case: str, note: str) -> Document:
    """The truss document with the weight written in."""
    points, lines = point_and_line_loads(truss, placement, pounds, case, note)
    document = copy.deepcopy(truss.document)
    loads = document.setdefault("loads", {})
    for key, new in (("point", [_of_point(each) for each in points]), ("line", [_of_line(each) for each in lines])):
        if new:
            loads[key] = [*loads.get(key, ()), *new]
    return document


def along(truss: Truss, chord: Role) -> Iterator[tuple[Member, float, float]]:
    """The members of a chord that run along the span, with the x at which each begins and ends, from the left."""
    found = []
    for member in truss.members:
        if member.role == chord:
            low, high = sorted(joint.x for joint in truss.ends(member))
            if high - low > _ON_IN:
                found.append((member, low, high))
    yield from sorted(found, key=lambda one: one[1:])


def _point(truss: Truss, chord: Role, x: float, pounds: float, case: str, note: str) -> PointLoad:
    for member, low, high in along(truss, chord):
        if low - _ON_IN <= x <= high + _ON_IN:
            at = min(max(_distance(truss, member, x), 0.0), truss.length(member))
            return PointLoad(case, down_lb=pounds, member=member.id, at_in=at, note=note)
    raise CapacityError("weight-beside-chord", "at_in", at_in=x, chord=chord)


def _lines(truss: Truss, chord: Role, low: float, high: float, pounds: float, case: str) -> Iterator[LineLoad]:
    reached = low
    for member, start, end in along(truss, chord):
        a, b = max(start, low), min(end, high)
        if b - a <= _ON_IN:
            continue
        if a > reached + _ON_IN:
            break
        reached = max(reached, b)
        ends = sorted((_distance(truss, member, a), _distance(truss, member, b)))
        plf = pounds * (b - a) / (high - low) / (ends[1] - ends[0]) * _FOOT
        yield LineLoad(case, member.id, plf, max(ends[0], 0.0), min(ends[1], truss.length(member)))
    if reached < high - _ON_IN:
        raise CapacityError("weight-beside-chord", "at_in", at_in=reached if reached > low else low, chord=chord)


def _distance(truss: Truss, member: Member, x: float) -> float:
    """From a member's first joint along it to x."""
    first, second = truss.ends(member)
    return truss.length(member) * (x - first.x) / (second.x - first.x)


def _of_point(load: PointLoad) -> Document:
    note = {"note": load.note} if load.note else {}
    return {"case": load.case, "member": load.member, "at_in": load.at_in, "down_lb": load.down_lb, **note}


def _of_line(load: LineLoad) -> Document:
    return {
        "case": load.case,
        "member": load.member,
        "plf": load.plf,
        "from_in": load.from_in,
        "to_in": load.to_in,
    }
