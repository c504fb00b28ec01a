"""Where the copies of a mark land on the one that carries them: from where both stand in plan, or as somebody said.

Plan inches, x to the right and y up; a copy is a line along its span that starts at its leftmost bearing's joint, and
copies step to the right or up, as a placement has it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from trusses.analysis.format.model import Member, Truss
from trusses.analysis.lumber import lookup, section
from trusses.analysis.words.refusal import Refusal

#: Places along a carrier that differ by less are the same, inches.
SAME_PLACE_IN = 1 / 16
#: What was typed to a sixteenth still lies on the member, inches.
_ON_IN = 1 / 16


class CarryingError(Refusal):
    """Trusses that don't meet, or loads that can't be handed on."""


@dataclass(frozen=True, slots=True)
class Stand:
    """A row of copies in plan: where the first begins (x, y), the way its span runs, the step to the next one. A copy
    begins with its left bearing, or with its right one where the row is turned end for end."""

    level: str
    x: float
    y: float
    along: Literal["x", "y"] | str
    spacing: float
    count: int
    turned: bool = False

    def starts(self) -> Iterator[tuple[float, float]]:
        """Where each copy begins."""
        for i in range(self.count):
            step = self.spacing * i
            yield (self.x, self.y + step) if self.along == "x" else (self.x + step, self.y)


@dataclass(frozen=True, slots=True)
class Hung:
    """A place that somebody named: `at_in` inches along a bottom-chord member of the carrier from its first joint."""

    member: str
    at_in: float


@dataclass(frozen=True)
class Placed:
    """A mark's truss with the rows in which its copies stand; `copies` counts them all, placed or not."""

    truss: Truss
    copies: int
    stands: tuple[Stand, ...] = ()


@dataclass(frozen=True, slots=True)
class Landing:
    """One copy's bearing `joint` on the carrier: `at_in` along `member` from its first joint, which is `along_in` from
    the carrier's left bearing. Inches."""

    joint: str
    member: str
    at_in: float
    along_in: float


def landings(
    carrier: Placed, carried: Placed, joint: str, hung: Sequence[Hung] = (), beside: Sequence[Placed] = ()
) -> tuple[Landing, ...]:
    """Where the bearing at `joint` of each carried copy lands on one copy of the carrier, from its left; none where all
    of them stand on `beside`, the other marks that such bearings stand on: each copy stands on what is nearest.

    Raises CarryingError where something doesn't meet, or where the carrier's copies would carry differently.
    """
    mark = carried.truss.mark
    if joint not in {bearing.joint for bearing in carried.truss.bearings}:
        raise CarryingError("no-bearing-at-joint", mark=mark, joint=joint)
    if hung:
        return _named(carrier, carried, joint, hung, sum(one.copies for one in beside))
    found = _from_plan(carrier, carried, joint, beside)
    places = [[round(along / SAME_PLACE_IN) for along in sorted(each)] for each in found]
    if any(each != places[0] for each in places):
        raise CarryingError("lands-differently", mark=mark, carriers=len(found), carrier=carrier.truss.mark)
    return tuple(_landing(carrier.truss, joint, along) for along in sorted(found[0]))


def _named(carrier: Placed, carried: Placed, joint: str, hung: Sequence[Hung], beside: int) -> tuple[Landing, ...]:
    """The places on each copy of the carrier and of the marks `beside` it, alike."""
    on, mark = carrier.truss, carried.truss.mark
    if len(hung) * (carrier.copies + beside) != carried.copies:
        raise CarryingError(
            "places-and-copies",
            mark=mark,
            copies=carried.copies,
            places=len(hung),
            carrier=on.mark,
            carriers=carrier.copies + beside,
        )
    landed = []
    for place in hung:
        if place.member not in on.member_index:
            raise CarryingError("carrier-without-member", carrier=on.mark, member=place.member)
        member = on.member(place.member)
        if member.role != "bottom_chord":
            raise CarryingError("no-bottom-chord-member", member=place.member, carrier=on.mark, mark=mark)
        length = on.length(member)
        if not -_ON_IN <= place.at_in <= length + _ON_IN:
            raise CarryingError(
                "beyond-carrier-member", at_in=place.at_in, member=place.member, carrier=on.mark, length_in=length
            )
        first, second = on.ends(member)
        along = first.x + (second.x - first.x) * min(max(place.at_in / length, 0.0), 1.0) - _left(on)
        landed.append(_on(on, joint, member, place.at_in, along))
    return tuple(sorted(landed, key=lambda landing: landing.along_in))


Line = tuple[Placed, Stand, float, float]
"""One copy of a mark that carries: its row, and where in plan it begins."""


def _from_plan(carrier: Placed, carried: Placed, joint: str, beside: Sequence[Placed]) -> list[list[float]]:
    """For each copy of the carrier, how far from its left bearing the carried copies land, inches."""
    mark, name = carried.truss.mark, carrier.truss.mark
    for one in (carried, carrier, *beside):
        if not one.stands:
            raise CarryingError("not-in-plan", unplaced=one.truss.mark, mark=mark, carrier=name)
    lines: list[Line] = [
        (one, stand, *start) for one in (carrier, *beside) for stand in one.stands for start in stand.starts()
    ]
    reaches = {one.truss.mark: _reach(one.truss, mark) for one in (carrier, *beside)}
    found: list[list[float]] = [[] for line in lines if line[0] is carrier]
    number = 0
    for stand in carried.stands:
        across = [i for i, line in enumerate(lines) if line[1].level == stand.level and line[1].along != stand.along]
        if not across:
            raise _never_meet(stand, carrier, mark)
        for start in stand.starts():
            number += 1
            point = _point(carried.truss, joint, stand, start)
            measured = [(*_beside(lines[i], point), i) for i in across]
            off, along, nearest = min(measured, key=lambda one: _apart(reaches[lines[one[2]][0].truss.mark], *one[:2]))
            if lines[nearest][0] is carrier:
                _refuse_off(carrier.truss, carried.truss, joint, number, off, along)
                found[nearest].append(along)
    return found


def _apart(reach: tuple[float, float], off: float, along: float) -> float:
    """How far a point beside a line is from the wood that lies along it from and to `reach`, inches."""
    return math.hypot(off, max(reach[0] - along, along - reach[1], 0.0))


def _never_meet(stand: Stand, carrier: Placed, mark: str) -> CarryingError:
    name = carrier.truss.mark
    if any(other.level == stand.level for other in carrier.stands):
        return CarryingError("runs-alongside", mark=mark, carrier=name)
    levels = sorted({other.level for other in carrier.stands})
    return CarryingError("other-level", mark=mark, level=stand.level, carrier=name, levels=levels)


def _point(truss: Truss, joint: str, stand: Stand, start: tuple[float, float]) -> tuple[float, float]:
    along = truss.joint(joint).x - _left(truss)
    if stand.turned:
        along = truss.span_in - along
    return (start[0] + along, start[1]) if stand.along == "x" else (start[0], start[1] + along)


def _beside(line: Line, point: tuple[float, float]) -> tuple[float, float]:
    """How far a point is beside a copy of a carrier, and how far along it from its left bearing, inches."""
    carrier, stand, x, y = line
    dx, dy = point[0] - x, point[1] - y
    off, along = (abs(dy), dx) if stand.along == "x" else (abs(dx), dy)
    return off, carrier.truss.span_in - along if stand.turned else along


def _reach(carrier: Truss, mark: str) -> tuple[float, float]:
    """From where to where the carrier's bottom chord runs, inches from its left bearing."""
    xs = [end.x - _left(carrier) for member in _bottom(carrier) for end in carrier.ends(member)]
    if not xs:
        raise CarryingError("carrier-without-bottom-chord", carrier=carrier.mark, mark=mark)
    return min(xs), max(xs)


def _refuse_off(carrier: Truss, carried: Truss, joint: str, number: int, off: float, along: float) -> None:
    width = next(bearing.width_in for bearing in carried.bearings if bearing.joint == joint)
    if off > _half_breadth(carrier) + width:
        raise CarryingError(
            "beside-carrier", joint=joint, mark=carried.mark, copy=number, off_in=off, carrier=carrier.mark
        )
    low, high = _reach(carrier, carried.mark)
    if not low - _ON_IN <= along <= high + _ON_IN:
        end, by = ("left", low - along) if along < low else ("right", along - high)
        raise CarryingError(
            "beyond-carrier-end",
            joint=joint,
            mark=carried.mark,
            copy=number,
            by_in=by,
            end=end,
            carrier=carrier.mark,
        )


def _landing(carrier: Truss, joint: str, along: float) -> Landing:
    x = _left(carrier) + along
    member = min(_bottom(carrier), key=lambda member: _beyond(carrier, member, x))
    first, second = carrier.ends(member)
    share = (x - first.x) / (second.x - first.x) if second.x != first.x else 0.0
    return _on(carrier, joint, member, share * carrier.length(member), along)


def _on(carrier: Truss, joint: str, member: Member, at_in: float, along: float) -> Landing:
    """The landing at a place along a bottom-chord member. Within what counts as one place from its end it stands on the
    panel point, which is the exact end of the first of the bottom chord's members there, whichever was named."""
    length = carrier.length(member)
    if SAME_PLACE_IN < at_in < length - SAME_PLACE_IN:
        return Landing(joint, member.id, round(at_in, 4), round(along, 4))
    point = member.joints[at_in > length / 2]
    first = next(one for one in _bottom(carrier) if point in one.joints)
    at = carrier.length(first) if first.joints[1] == point else 0.0
    return Landing(joint, first.id, at, round(carrier.joint(point).x - _left(carrier), 4))


def _beyond(truss: Truss, member: Member, x: float) -> float:
    """How far a place is from the part of the span that a member covers, inches."""
    low, high = sorted(end.x for end in truss.ends(member))
    return max(low - x, x - high, 0.0)


def _bottom(truss: Truss) -> list[Member]:
    return [member for member in truss.members if member.role == "bottom_chord"]


def _half_breadth(truss: Truss) -> float:
    breadths = [section(lookup(member.lumber), member.flat, truss.plies).breadth_in for member in _bottom(truss)]
    return max(breadths, default=0.0) * truss.plies / 2


def _left(truss: Truss) -> float:
    return min(truss.joint(bearing.joint).x for bearing in truss.bearings)
