"""The document of a truss as it is damaged: what the damaged member is taken to carry, on the safe side and simply.

A web that is cut, notched, split, short at an end or loose in its plate is taken as gone. A chord that is cut, short or
loose is parted there by a saw's width and its two stubs stay; one that is notched or split lengthwise is taken to have
a hinge there. A bow within the limit of setting takes nothing; over it a web counts as gone, a chord as hinged. That is
this project's rule, not a standard's: what such a piece still carries, nobody can compute.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

from trusses.analysis.format.document import read_stored
from trusses.analysis.format.model import Member, Truss
from trusses.analysis.redesign.draft import Draft, Illegal
from trusses.analysis.words.refusal import Refusal

Document = dict[str, Any]
How = Literal["cut", "notched", "split", "plate torn", "end short", "bow"]
HOW: tuple[How, ...] = ("cut", "notched", "split", "plate torn", "end short", "bow")
Taken = Literal["gone", "parted", "hinged", "whole"]
#: A saw's cut, and what nobody measures on site, inches.
CUT_IN = 1.0
#: The bow of a chord or a web between its joints that setting allows: the greater of 3/4 in. and L/200, never over
#: 2 in. (ANSI/TPI 1-2002, chapter 6, read in a copy).
_BOW_IN, _BOW_SHARE, _MOST_BOW_IN = 0.75, 1 / 200, 2.0


class DamageError(Refusal):
    """Damage that can't be in this truss."""


@dataclass(frozen=True, slots=True)
class Damage:
    """`at_in` along the member from its first joint, inches; `size_in` how deep a notch or how far a bow is."""

    member: str
    how: How
    at_in: float
    size_in: float = 0.0


def most_bow_in(length_in: float) -> float:
    return min(max(_BOW_IN, _BOW_SHARE * length_in), _MOST_BOW_IN)


def taken_as(truss: Truss, damage: Damage) -> Taken:
    """What the member counts as. Raises DamageError where it has no such member or place."""
    if damage.member not in truss.member_index:
        raise DamageError("damage-no-member", "member", mark=truss.mark, member=damage.member)
    member = truss.member(damage.member)
    length = truss.length(member)
    if not 0 <= damage.at_in <= length:
        raise DamageError("damage-beyond-member", "at_in", member=damage.member, at_in=damage.at_in, length_in=length)
    if damage.how == "bow" and damage.size_in <= most_bow_in(length):
        return "whole"
    if not member.is_chord:
        return "gone"
    return "parted" if damage.how in ("cut", "plate torn", "end short") else "hinged"


def damaged(truss: Truss, damage: Damage) -> Document:
    """The truss document as it is taken to be now. Raises DamageError."""
    taken, member = taken_as(truss, damage), truss.member(damage.member)
    if taken == "whole":
        return copy.deepcopy(truss.document)
    if taken == "gone":
        return _without(truss.document, truss, member)
    x = _x_at(truss, member, damage.at_in)
    draft = Draft(truss.document)
    if taken == "hinged":
        joint = _point(draft, member, x)
        draft.hinges = draft.hinges | {joint}
        return draft.document()
    low, high = (_x_at(truss, member, damage.at_in + by) for by in (-CUT_IN / 2, CUT_IN / 2))
    ends = [_point(draft, member, each) for each in sorted((low, high))]
    parted = draft.document()
    between = next(each for each in parted["members"] if set(each["joints"]) == set(ends))
    whole = read_stored(parted)
    return _without(parted, whole, whole.member(between["id"]))


def _x_at(truss: Truss, member: Member, at_in: float) -> float:
    """The x of a place along a member, kept on it."""
    first, second = truss.ends(member)
    share = min(max(at_in / truss.length(member), 0.0), 1.0)
    return first.x + share * (second.x - first.x)


def _point(draft: Draft, member: Member, x: float) -> str:
    """The joint of the chord at x, a new one where there is none."""
    for joint in draft.chord_joints(member.role):
        if abs(draft.at(joint)[0] - x) < CUT_IN / 8:
            return joint
    try:
        return draft.split(member.role, x)
    except Illegal:
        raise DamageError("damage-upright-chord", "member", member=member.id) from None


def _without(document: Document, truss: Truss, member: Member) -> Document:
    """The document without a member; what stood on it stands on its ends, half a line load on each."""
    left = copy.deepcopy(document)
    left["members"] = [each for each in left["members"] if each["id"] != member.id]
    rows = left.get("lateral_restraint", {}).get("webs", {})
    rows.pop(member.id, None)
    loads = left.get("loads", {})
    on_ends = [
        moved for kind in ("line", "point") for load in loads.get(kind, ()) for moved in _moved(load, truss, member)
    ]
    for kind in {"line", "point"} & loads.keys():
        loads[kind] = [load for load in loads[kind] if load.get("member") != member.id]
    if on_ends:
        loads["point"] = [*loads.get("point", ()), *on_ends]
    used = {joint for each in left["members"] for joint in each["joints"]}
    left["joints"] = {name: place for name, place in left["joints"].items() if name in used}
    left["hinges"] = [name for name in left.get("hinges", ()) if name in used]
    return left


def _moved(load: Document, truss: Truss, member: Member) -> Iterator[Document]:
    """A load on a member that is gone, on the ends that it had."""
    if load.get("member") != member.id:
        return
    kept: Document = {key: load[key] for key in ("case", "pattern", "acts", "note") if key in load}
    length = truss.length(member)
    if "plf" in load:
        start, end = load.get("from_in", 0.0), load.get("to_in", length)
        half = load["plf"] * (end - start) / 12 / 2
        yield from ({**kept, "joint": joint, "down_lb": half} for joint in member.joints)
        return
    share = load["at_in"] / length
    for joint, part in zip(member.joints, (1 - share, share), strict=True):
        forces: Document = {key: load[key] * part for key in ("down_lb", "right_lb") if key in load}
        if any(forces.values()):
            yield {**kept, "joint": joint, **forces}
