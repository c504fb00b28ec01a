"""The `loads` of a truss document to records."""

from __future__ import annotations

import math
from typing import Any

from trusses.analysis.format.fields import Fields
from trusses.analysis.format.model import CASES, CHORDS, AreaLoad, LineLoad, Member, PointLoad
from trusses.analysis.format.strict import Limits
from trusses.analysis.words.given import brief

# a distance that was typed to a hundredth still ends at the member's end
_TO_END = 1e-6


class _Loads:
    def __init__(self, lengths: dict[str, float], joints: set[str], limits: Limits, stored: bool) -> None:
        self.lengths = lengths
        self.joints = joints
        self.limits = limits
        self.stored = stored

    def fields(self, value: Any, at: str, required: tuple[str, ...], optional: tuple[str, ...]) -> Fields:
        return Fields(value, at, ("case", *required), (*optional, "pattern", "acts"), self.limits)

    def shared(self, fields: Fields) -> dict[str, Any]:
        """What every load says: its case, pattern and whether it acts alone."""
        pattern = None
        if fields.has("pattern"):
            pattern = fields.name("pattern")
            if pattern == "alone":
                fields.refuse("pattern-alone")
        alone = fields.choice("acts", ("alone",)) == "alone" if fields.has("acts") else False
        case = fields.choice("case", CASES)
        if case == "dead" and (alone or pattern is not None) and not self.stored:
            fields.refuse("dead-load-in-part", key="pattern" if pattern is not None else "acts")
        return {"case": case, "pattern": pattern, "alone": alone}

    def member(self, fields: Fields) -> str:
        member = fields.text("member", longest=self.limits.name)
        if member not in self.lengths:
            fields.refuse("member-unknown", member=member)
        return member

    def along(self, fields: Fields, key: str, member: str) -> float:
        """A distance in inches from the member's first joint that must lie on the member."""
        distance = fields.length(key, zero=True)
        length = self.lengths[member]
        if distance > length + _TO_END:
            fields.refuse("beyond-member", key=key, given=brief(distance), member=member, length_in=length)
        return distance

    def area(self, value: Any, at: str) -> AreaLoad:
        fields = self.fields(value, at, ("chord", "psf", "along"), ("from_x_in", "to_x_in"))
        most = self.limits.length_in
        left = fields.number("from_x_in", "in", most=most) if fields.has("from_x_in") else -math.inf
        right = fields.number("to_x_in", "in", most=most) if fields.has("to_x_in") else math.inf
        if left >= right:
            fields.refuse("window-empty-in-plan", from_in=left, to_in=right)
        return AreaLoad(
            chord=fields.choice("chord", CHORDS),
            psf=fields.number("psf", "psf", most=self.limits.load),
            along=fields.choice("along", ("plan", "slope", "normal")),
            from_x_in=left,
            to_x_in=right,
            **self.shared(fields),
        )

    def line(self, value: Any, at: str) -> LineLoad:
        fields = self.fields(value, at, ("member", "plf"), ("from_in", "to_in"))
        member = self.member(fields)
        start = self.along(fields, "from_in", member) if fields.has("from_in") else 0.0
        end = self.along(fields, "to_in", member) if fields.has("to_in") else None
        if start >= (self.lengths[member] if end is None else end):
            fields.refuse("window-empty", from_in=start, to_in=end)
        plf = fields.number("plf", "plf", most=self.limits.load)
        return LineLoad(member=member, plf=plf, from_in=start, to_in=end, **self.shared(fields))

    def point(self, value: Any, at: str) -> PointLoad:
        fields = self.fields(value, at, ("down_lb",), ("member", "at_in", "joint", "right_lb", "note"))
        if fields.has("member") == fields.has("joint"):
            fields.refuse("point-load-at-both" if fields.has("joint") else "point-load-nowhere")
        member = joint = distance = None
        if fields.has("member"):
            member = self.member(fields)
            distance = self.along(fields, "at_in", member)
        else:
            joint = fields.text("joint", longest=self.limits.name)
            if joint not in self.joints:
                fields.refuse("joint-unknown", joint=joint)
            if fields.has("at_in"):
                fields.refuse("at-in-without-member")
        return PointLoad(
            down_lb=fields.number("down_lb", "lb", most=self.limits.load),
            right_lb=fields.number("right_lb", "lb", most=self.limits.load, default=0.0),
            member=member,
            at_in=distance,
            joint=joint,
            note=fields.text("note", ""),
            **self.shared(fields),
        )


def read_loads(
    value: Any, members: tuple[Member, ...], lengths: dict[str, float], joints: set[str], limits: Limits, stored: bool
) -> tuple[tuple[AreaLoad, ...], tuple[LineLoad, ...], tuple[PointLoad, ...]]:
    """The area, line and point loads. `lengths` gives each member's length in inches; in a `stored` document dead load
    may have patterns and act alone. Raises DocumentError."""
    fields = Fields(value, "loads", (), ("area", "line", "point"), limits)
    held = {key: fields.items(key, limits.loads, ()) for key in ("area", "line", "point")}
    if (count := sum(map(len, held.values()))) > limits.loads:
        fields.refuse("too-many", key="loads", count=count, most=limits.loads)
    reader = _Loads({member.id: lengths[member.id] for member in members}, joints, limits, stored)
    return (
        tuple(reader.area(load, f"loads.area[{i}]") for i, load in enumerate(held["area"])),
        tuple(reader.line(load, f"loads.line[{i}]") for i, load in enumerate(held["line"])),
        tuple(reader.point(load, f"loads.point[{i}]") for i, load in enumerate(held["point"])),
    )
