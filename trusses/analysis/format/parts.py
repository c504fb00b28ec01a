"""The parts of a truss document to records, each with its refusals: joints, members, what holds them, openings."""

from __future__ import annotations

import math
from collections import deque
from operator import attrgetter
from types import MappingProxyType
from typing import Any

from trusses.analysis.format.fields import Fields, check_name, point
from trusses.analysis.format.model import (
    ROLES,
    Bearing,
    Joint,
    LateralRestraint,
    Member,
    Opening,
    Service,
    shared,
)
from trusses.analysis.format.strict import LIMITS, DocumentError, Limits, place
from trusses.analysis.lumber import LumberError, lookup
from trusses.analysis.words.given import brief, quoted

#: °F that last in use: colder than any place on earth, and where the temperature factors of the NDS end.
LEAST_F, MOST_F = -130.0, 150.0
_x = attrgetter("x")


def read_joints(top: Fields) -> tuple[Joint, ...]:
    held, limits = top.take("joints"), top.limits
    if not isinstance(held, dict):
        top.refuse("no-joints", given=brief(held))
    if len(held) > limits.joints:
        raise DocumentError("too-many", "joints", key="joints", count=len(held), most=limits.joints)
    joints = []
    for name, xy in held.items():
        check_name(name, "joints", None, limits)
        joints.append(Joint(name, *point(xy, place(("joints", name)), limits)))
    return tuple(joints)


def read_members(top: Fields, joints: dict[str, Joint]) -> tuple[Member, ...]:
    members: list[Member] = []
    ids: dict[str, int] = {}
    pairs: dict[frozenset[str], str] = {}
    for i, value in enumerate(top.items("members", top.limits.members)):
        member = _member(value, f"members[{i}]", top.limits)
        if member.id in ids:
            raise DocumentError("member-id-twice", named(f"members[{i}]", value), other=f"members[{ids[member.id]}]")
        _check_ends(member, i, joints, top.limits.apart_in)
        pair = frozenset(member.joints)
        if pair in pairs:
            raise DocumentError("member-beside-member", named(f"members[{i}]", value), other=pairs[pair])
        ids[member.id] = i
        pairs[pair] = member.id
        members.append(member)
    if not members:
        raise DocumentError("no-members", "members")
    return shared(tuple(members))


def _member(value: Any, at: str, limits: Limits) -> Member:
    fields = Fields(value, named(at, value), ("id", "role", "joints", "lumber"), ("flat",), limits)
    name = fields.name("id")
    role = fields.choice("role", ROLES)
    ends = fields.items("joints", 2)
    if len(ends) != 2 or not all(isinstance(end, str) for end in ends):
        fields.refuse("no-two-joints")
    return Member(name, role, (ends[0], ends[1]), _lumber(fields), fields.flag("flat", False))


def named(at: str, value: Any) -> str:
    """`members[4] (W2)` where the object says its id in a decent way, else `members[4]`."""
    name = value.get("id") if isinstance(value, dict) else None
    return f"{at} ({quoted(name)[1:-1]})" if isinstance(name, str) and name else at


def _lumber(fields: Fields) -> str:
    key = fields.text("lumber", longest=fields.limits.name)
    try:
        lookup(key)
    except LumberError as error:
        raise DocumentError(error.code, fields.place, **error.values) from None
    return key


def _check_ends(member: Member, i: int, joints: dict[str, Joint], apart: float) -> None:
    first, second = member.joints
    a, b = joints.get(first), joints.get(second)
    if a is not None and b is not None and math.hypot(b.x - a.x, b.y - a.y) >= apart:
        return
    at = f"members[{i}] ({quoted(member.id)[1:-1]})"
    for name in member.joints:
        if name not in joints:
            raise DocumentError("joint-unknown", at, joint=brief(name))
    if first == second:
        raise DocumentError("member-at-one-joint", at, joint=first)
    raise DocumentError("member-without-length", at, joints=[first, second])


def check_joints(joints: tuple[Joint, ...], members: tuple[Member, ...], apart: float) -> None:
    used = {name for member in members for name in member.joints}
    for joint in joints:
        if joint.name not in used:
            raise DocumentError("joint-unused", place(("joints", joint.name)), joint=joint.name)
    near: deque[Joint] = deque()
    for joint in sorted(joints, key=_x):
        while near and joint.x - near[0].x >= apart:
            near.popleft()
        for other in near:
            if math.hypot(joint.x - other.x, joint.y - other.y) < apart:
                first, second = sorted((joint, other), key=joints.index)
                raise DocumentError(
                    "joints-at-one-place", place(("joints", second.name)), joint=second.name, other=first.name
                )
        near.append(joint)


def lengths_of(joints: tuple[Joint, ...], members: tuple[Member, ...]) -> dict[str, float]:
    at = {joint.name: (joint.x, joint.y) for joint in joints}
    return {member.id: math.dist(at[member.joints[0]], at[member.joints[1]]) for member in members}


def read_hinges(top: Fields, names: set[str]) -> frozenset[str]:
    seen: set[str] = set()
    for i, name in enumerate(top.items("hinges", top.limits.joints, ())):
        at = f"hinges[{i}]"
        if not isinstance(name, str):
            raise DocumentError("no-joint-name", at, given=brief(name))
        if name not in names:
            raise DocumentError("joint-unknown", at, joint=brief(name))
        if name in seen:
            raise DocumentError("hinge-twice", at, joint=name)
        seen.add(name)
    return frozenset(seen)


def read_bearings(top: Fields, names: set[str], members: tuple[Member, ...]) -> tuple[Bearing, ...]:
    chords = {name for member in members if member.is_chord for name in member.joints}
    bearings: dict[str, Bearing] = {}
    for i, value in enumerate(top.items("bearings", top.limits.joints)):
        fields = Fields(value, f"bearings[{i}]", ("joint", "restrains", "width_in"), (), top.limits)
        joint = fields.text("joint", longest=top.limits.name)
        if joint not in names:
            fields.refuse("joint-unknown", joint=joint)
        if joint in bearings:
            fields.refuse("bearing-twice", joint=joint)
        if joint not in chords:
            fields.refuse("bearing-without-chord", joint=joint)
        restrains = fields.choice("restrains", ("x", "y", "xy"))
        bearings[joint] = Bearing(joint, restrains, fields.length("width_in", zero=False))
    if not bearings:
        raise DocumentError("no-bearings", "bearings")
    return tuple(bearings.values())


def read_openings(top: Fields) -> tuple[Opening, ...]:
    openings: dict[str, Opening] = {}
    for i, value in enumerate(top.items("openings", top.limits.openings, ())):
        opening = read_opening(value, f"openings[{i}]", top.limits)
        if opening.id in openings:
            raise DocumentError("opening-id-twice", named(f"openings[{i}]", value))
        openings[opening.id] = opening
    return tuple(openings.values())


def read_opening(value: Any, at: str = "opening", limits: Limits = LIMITS) -> Opening:
    """One opening as a truss document writes it. Raises DocumentError."""
    at = named(at, value)
    shape = value.get("shape") if isinstance(value, dict) else None
    sizes = {"rectangle": ("width_in", "height_in"), "circle": ("diameter_in",)}
    if isinstance(value, dict) and "shape" in value and (not isinstance(shape, str) or shape not in sizes):
        Fields({"shape": shape}, at, ("shape",)).choice("shape", sizes)
    wanted = sizes.get(shape or "", ())
    fields = Fields(value, at, ("id", "shape", "centre_in", *wanted), ("clearance_in", "note"), limits)
    given = {key: fields.length(key, zero=False) for key in wanted}
    return Opening(
        id=fields.name("id"),
        shape=fields.choice("shape", sizes),
        centre=point(fields.take("centre_in"), f"{at}.centre_in", limits),
        clearance_in=fields.length("clearance_in", zero=True, default=0.0),
        note=fields.text("note", ""),
        **given,
    )


def read_restraint(value: Any, members: tuple[Member, ...], limits: Limits) -> LateralRestraint:
    chords = ("top_chord_in", "bottom_chord_in")
    fields = Fields(value, "lateral_restraint", (), (*chords, "webs"), limits)
    rows = fields.take("webs", {})
    if not isinstance(rows, dict):
        fields.refuse("no-rows", given=brief(rows))
    roles = {member.id: member.role for member in members}
    row_fields = Fields(rows, "lateral_restraint.webs", (), tuple(rows), limits)
    for web in rows:
        if web not in roles:
            row_fields.refuse("web-unknown", web=brief(web))
        if roles[web] != "web":
            row_fields.refuse("no-web", member=web, role=roles[web])
    webs = {web: row_fields.whole(web, 0, limits.restraint_rows) for web in rows}
    spacing = {key: fields.length(key, zero=True) if fields.has(key) else None for key in chords}
    return LateralRestraint(**spacing, webs=MappingProxyType(webs))


def read_service(value: Any, limits: Limits) -> Service:
    fields, usual = Fields(value, "service", (), Service._fields, limits), Service()
    temperature = fields.number("temperature_f", "F", most=1e6, default=usual.temperature_f)
    if not LEAST_F <= temperature <= MOST_F:
        # the tables of temperature end there
        fields.refuse("temperature-bounds", least=LEAST_F, most=MOST_F, given=brief(temperature))
    return Service(
        fields.choice("moisture", ("dry", "wet"), usual.moisture), temperature, fields.flag("incised", usual.incised)
    )


def read_share(top: Fields) -> float | None:
    if not top.has("uplift_dead_share"):
        return None
    share = top.number("uplift_dead_share", "share", most=1e6)
    if not 0 <= share <= 1:
        top.refuse("share-bounds", given=brief(share))
    return share
