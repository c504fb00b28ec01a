"""The records of one truss design.

One unit system everywhere in the core: inches, pounds-force, psi; area loads in psf and line loads in plf,
as a truss document writes them, until `combinations` turns them into pounds per inch. x runs along the span to the
right, y up; coordinates are those of the members' centrelines. Records don't change: a changed truss is another
truss document, read anew (see `document`). Those that a truss has many of are named tuples, which are quick to
make, to compare and to take apart into columns.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from types import MappingProxyType
from typing import Literal, NamedTuple, TypeVar

import numpy as np
import numpy.typing as npt

Role = Literal["top_chord", "bottom_chord", "web"]
ROLES: tuple[Role, ...] = ("top_chord", "bottom_chord", "web")
CHORDS: tuple[Role, ...] = ("top_chord", "bottom_chord")
#: Places along a member closer than this share of its length are one place; also the slope of a vertical member.
TOUCH = 1e-9
CASES = ("dead", "live", "attic_storage", "roof_live", "snow", "wind", "rain")


class Joint(NamedTuple):
    """A panel point; `x`, `y` in inches."""

    name: str
    x: float
    y: float


class Member(NamedTuple):
    """A straight piece between two joints. `lumber` is a key of the lumber table; `flat` lays it on its wide face."""

    id: str
    role: Role
    joints: tuple[str, str]
    lumber: str
    flat: bool = False

    @property
    def is_chord(self) -> bool:
        return self.role != "web"


class Bearing(NamedTuple):
    """A support. `restrains` is "x", "y" or "xy"; `width_in` is its length along the span."""

    joint: str
    restrains: str
    width_in: float


class AreaLoad(NamedTuple):
    """psf on every chord member of one role over the truss's spacing, in a window of the truss's x (inches)."""

    case: str
    chord: Role
    psf: float
    along: Literal["plan", "slope", "normal"]
    from_x_in: float = -math.inf
    to_x_in: float = math.inf
    pattern: str | None = None
    alone: bool = False

    @property
    def windowed(self) -> bool:
        """Whether it acts in a part of the truss only."""
        return self.from_x_in > -math.inf or self.to_x_in < math.inf


class LineLoad(NamedTuple):
    """plf downward along a member, between two distances (inches) from its first joint; `to_in` None: to its end."""

    case: str
    member: str
    plf: float
    from_in: float = 0.0
    to_in: float | None = None
    pattern: str | None = None
    alone: bool = False


class PointLoad(NamedTuple):
    """Pounds at a joint, or at `at_in` inches along a member from its first joint. Down and right are positive."""

    case: str
    down_lb: float
    right_lb: float = 0.0
    member: str | None = None
    at_in: float | None = None
    joint: str | None = None
    note: str = ""
    pattern: str | None = None
    alone: bool = False


@dataclass(frozen=True, slots=True)
class Opening:
    """Clear space that must stay free of wood; the shape grown by `clearance_in`, corners rounded. Inches."""

    id: str
    shape: Literal["rectangle", "circle"]
    centre: tuple[float, float]
    width_in: float | None = None
    height_in: float | None = None
    diameter_in: float | None = None
    clearance_in: float = 0.0
    note: str = ""

    @property
    def size(self) -> tuple[float, float]:
        """Width and height without the clearance, inches."""
        if self.shape == "circle":
            return (self.diameter_in or 0.0, self.diameter_in or 0.0)
        return (self.width_in or 0.0, self.height_in or 0.0)


@dataclass(frozen=True, slots=True)
class LateralRestraint:
    """Out-of-plane support: spacing along each chord in inches (0 continuous, None only at its ends); rows per web."""

    top_chord_in: float | None = None
    bottom_chord_in: float | None = None
    webs: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))

    def spacing(self, role: Role) -> float | None:
        return self.top_chord_in if role == "top_chord" else self.bottom_chord_in


class Service(NamedTuple):
    """What the lumber meets in use: `moisture` of 19 % or less ("dry") or more ("wet"), the temperature that lasts, °F,
    and whether it was incised for treatment."""

    moisture: Literal["dry", "wet"] = "dry"
    temperature_f: float = 90.0
    incised: bool = False

    @property
    def wet(self) -> bool:
        return self.moisture == "wet"


_Records = TypeVar("_Records", bound=tuple)


@lru_cache(maxsize=128)
def shared(records: _Records) -> _Records:
    """The candidates of a search and the marks of a job mostly have the same members: then they share one tuple, which
    takes less memory and is known for the same without looking through it."""
    return records


@dataclass(frozen=True)
class Truss:
    """One truss design, whole. `document` is the JSON object that it was read from; treat it as read-only. It is
    written by `write` when somebody asks for it: of most candidates of a search nobody does.

    `names` and `xy` (2, j) are the joints in columns, laid out while they are at hand: solvers take them from here.
    """

    mark: str
    title: str
    use: Literal["roof", "floor"]
    ceiling: Literal["none", "gypsum", "plaster"]
    plies: int
    spacing_in: float
    joints: tuple[Joint, ...]
    members: tuple[Member, ...]
    hinges: frozenset[str]
    bearings: tuple[Bearing, ...]
    area_loads: tuple[AreaLoad, ...]
    line_loads: tuple[LineLoad, ...]
    point_loads: tuple[PointLoad, ...]
    openings: tuple[Opening, ...]
    lateral_restraint: LateralRestraint
    uplift_dead_share: float | None
    ply_fastening: str | None
    service: Service
    carries_trusses: bool
    write: Callable[[], dict] = field(repr=False, compare=False)
    names: tuple[str, ...] = field(init=False, repr=False, compare=False)
    xy: npt.NDArray[np.float64] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        names, *xy = zip(*self.joints, strict=True)
        object.__setattr__(self, "names", shared(names))
        object.__setattr__(self, "xy", np.array(xy))

    @cached_property
    def document(self) -> dict:
        return self.write()

    @cached_property
    def joint_index(self) -> dict[str, int]:
        return {joint.name: i for i, joint in enumerate(self.joints)}

    @cached_property
    def member_index(self) -> dict[str, int]:
        return {member.id: i for i, member in enumerate(self.members)}

    def joint(self, name: str) -> Joint:
        return self.joints[self.joint_index[name]]

    def member(self, member_id: str) -> Member:
        return self.members[self.member_index[member_id]]

    def ends(self, member: Member) -> tuple[Joint, Joint]:
        return self.joint(member.joints[0]), self.joint(member.joints[1])

    def length(self, member: Member) -> float:
        """Centreline length in inches."""
        a, b = self.ends(member)
        return math.hypot(b.x - a.x, b.y - a.y)

    def joint_under(self, load: PointLoad) -> str | None:
        """The joint that a point load stands on, at the joint itself or at the very end of a member; None between."""
        if load.member is None:
            return load.joint
        member, share = self.member(load.member), 0.0
        if load.at_in:
            share = load.at_in / self.length(member)
        if TOUCH < share < 1 - TOUCH:
            return None
        return member.joints[share > TOUCH]

    @cached_property
    def members_at(self) -> dict[str, tuple[Member, ...]]:
        """The members that end at each joint."""
        at: dict[str, list[Member]] = {joint.name: [] for joint in self.joints}
        for member in self.members:
            for name in member.joints:
                at[name].append(member)
        return {name: tuple(members) for name, members in at.items()}

    @property
    def loads(self) -> tuple[AreaLoad | LineLoad | PointLoad, ...]:
        return (*self.area_loads, *self.line_loads, *self.point_loads)

    @property
    def span_in(self) -> float:
        """Distance between the outermost bearings, inches."""
        xs = [self.joint(b.joint).x for b in self.bearings]
        return max(xs) - min(xs)
