"""Whether two designs are one: what a saw and a press make alike, so that copies of both may share a mark.

Alike means: the same members of the same lumber between joints that lie within SAME_IN of each other, the same plies,
bearings, restraint and loads, and openings of which each holds its fellow. A design that is another's mirror image is
that one turned end for end. Inches.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Iterable, Mapping
from typing import Any

from trusses.analysis.departures import departures
from trusses.analysis.format.document import read_stored
from trusses.analysis.format.model import Opening, Truss

SAME_IN = 0.5
"""Joints and openings nearer to each other than this are at one place, as wood is built (common practice)."""
_HAIR_IN = 1e-6

Document = dict[str, Any]


def alike(document: Document, wanted: Document) -> bool:
    """Whether `document` serves where `wanted` was asked for; each opening of `wanted` must be held by one of
    `document` that is no smaller."""
    one, other = read_stored(document), read_stored(wanted)
    called = _joints(one, other)
    if called is None:
        return False
    ids = _members(one, other, called)
    if ids is None or {called[joint] for joint in other.hinges} != one.hinges:
        return False
    if {(b.joint, b.restrains, b.width_in) for b in one.bearings} != {
        (called[b.joint], b.restrains, b.width_in) for b in other.bearings
    }:
        return False
    if one.carries_trusses != other.carries_trusses or not _held(one.openings, other.openings):
        return False
    return not departures(one, read_stored(_as(one, wanted, called, ids)))


def alike_turned(document: Document, wanted: Document) -> bool:
    """Whether `document` turned end for end serves where `wanted` was asked for. Which of the ends is held sideways
    changes with it and doesn't count: both ways were analysed."""
    turned = mirrored(wanted)
    if turned is None:
        return False
    held = {bearing["joint"]: bearing["restrains"] for bearing in turned["bearings"]}
    called = _joints(read_stored(document), read_stored(turned))
    if called is None:
        return False
    sides = {bearing["joint"]: bearing["restrains"] for bearing in document["bearings"]}
    if sorted(sides.values()) != sorted(held.values()) or not sides.keys() <= set(called.values()):
        return False
    for bearing in turned["bearings"]:
        bearing["restrains"] = sides.get(called[bearing["joint"]], "")
    return alike(document, turned)


def middle_in(document: Document) -> float:
    """The x of the middle between its outer bearings."""
    return sum(outer_bearings(document)) / 2


def begins_off(before: Mapping[str, Any], after: Mapping[str, Any], *, turned: bool) -> float:
    """How far along its span in plan a copy begins from where it did by another document, its wood where it was."""
    (left, right), (now_left, now_right) = outer_bearings(before), outer_bearings(after)
    return right - now_right if turned else now_left - left


def outer_bearings(document: Mapping[str, Any]) -> tuple[float, float]:
    """The x of its left bearing and of its right one."""
    xs = [float(document["joints"][bearing["joint"]][0]) for bearing in document["bearings"]]
    return min(xs), max(xs)


def mirrored(document: Document) -> Document | None:
    """The mirror image about the middle between its outer bearings. Arrangements named left and right change names.
    None where a load presses square on an upright chord, whose sides then change."""
    truss = read_stored(document)
    middle2 = 2 * middle_in(document)
    if _pushes_upright(truss):
        return None
    turned = copy.deepcopy(document)
    turned["joints"] = {name: [middle2 - x, y] for name, (x, y) in document["joints"].items()}
    loads = turned.get("loads", {})
    for load in loads.get("area", ()):
        low, high = load.pop("from_x_in", None), load.pop("to_x_in", None)
        load |= {} if high is None else {"from_x_in": middle2 - high}
        load |= {} if low is None else {"to_x_in": middle2 - low}
    for load in loads.get("point", ()):
        if "right_lb" in load:
            load["right_lb"] = -load["right_lb"]
    for load in [load for held in loads.values() for load in held if "pattern" in load]:
        load["pattern"] = _other_side(load["pattern"])
    for opening in turned.get("openings", ()):
        x, y = opening["centre_in"]
        opening["centre_in"] = [middle2 - x, y]
    return turned


def _pushes_upright(truss: Truss) -> bool:
    pressed = {load.chord for load in truss.area_loads if load.along == "normal"}
    return any(
        member.role in pressed and abs(truss.ends(member)[0].x - truss.ends(member)[1].x) <= _HAIR_IN
        for member in truss.members
    )


def _other_side(pattern: str) -> str:
    return pattern.replace("left", "\0").replace("right", "left").replace("\0", "right")


def _joints(one: Truss, other: Truss) -> dict[str, str] | None:
    """{joint of `other`: the joint of `one` at its place}; None where one lacks its fellow."""
    if len(one.joints) != len(other.joints):
        return None
    called: dict[str, str] = {}
    for joint in other.joints:
        near = min(one.joints, key=lambda at: math.dist((at.x, at.y), (joint.x, joint.y)))
        if math.dist((near.x, near.y), (joint.x, joint.y)) > SAME_IN:
            return None
        called[joint.name] = near.name
    return called if len(set(called.values())) == len(called) else None


def _members(one: Truss, other: Truss, called: dict[str, str]) -> dict[str, str] | None:
    """{member of `other`: the same piece of `one`}; None where one lacks its fellow."""
    there = {(member.role, frozenset(member.joints), member.lumber, member.flat): member.id for member in one.members}
    ids = {}
    for member in other.members:
        joints = frozenset(called[joint] for joint in member.joints)
        ids[member.id] = there.pop((member.role, joints, member.lumber, member.flat), None)
    return None if there or None in ids.values() else {name: found for name, found in ids.items() if found}


def _held(openings: Iterable[Opening], wanted: Iterable[Opening]) -> bool:
    left = list(openings)
    for one in wanted:
        fellow = next((held for held in left if _holds(held, one)), None)
        if fellow is None:
            return False
        left.remove(fellow)
    return not left


def _holds(held: Opening, wanted: Opening) -> bool:
    if held.shape != wanted.shape or math.dist(held.centre, wanted.centre) > SAME_IN:
        return False
    sizes = zip((*held.size, held.clearance_in), (*wanted.size, wanted.clearance_in), strict=True)
    return all(-_HAIR_IN <= have - want <= SAME_IN for have, want in sizes)


def _as(one: Truss, wanted: Document, called: dict[str, str], ids: dict[str, str]) -> Document:
    """`wanted` by the names and on the joints of `one`, so that what is left to differ is what it is designed for. A
    member that is listed the other way round has its loads measured from its other end."""
    held = copy.deepcopy(wanted)
    held["joints"] = {joint.name: [joint.x, joint.y] for joint in one.joints}
    was = read_stored(wanted)
    turned = {}
    for member in held["members"]:
        fellow = one.member(ids[member["id"]])
        turned[member["id"]] = called[member["joints"][0]] != fellow.joints[0]
        member["id"], member["joints"] = fellow.id, list(fellow.joints)
    for bearing in held["bearings"]:
        bearing["joint"] = called[bearing["joint"]]
    held["hinges"] = sorted(called[joint] for joint in held.get("hinges", ()))
    for load in [*held.get("loads", {}).get("line", ()), *held.get("loads", {}).get("point", ())]:
        if "joint" in load:
            load["joint"] = called[load["joint"]]
        if "member" in load:
            length = was.length(was.member(load["member"]))
            if turned[load["member"]]:
                _from_other_end(load, length)
            load["member"] = ids[load["member"]]
    webs = held.get("lateral_restraint", {}).get("webs")
    if webs:
        held["lateral_restraint"]["webs"] = {ids[web]: rows for web, rows in webs.items()}
    held.pop("openings", None)
    return held


def _from_other_end(load: Document, length: float) -> None:
    if "at_in" in load:
        load["at_in"] = length - load["at_in"]
    elif "from_in" in load or "to_in" in load:
        low, high = load.pop("from_in", 0.0), load.pop("to_in", length)
        load |= {"from_in": length - high, "to_in": length - low}
