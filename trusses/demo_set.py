"""The demo job's set: one invented house, its trusses as data. No database here.

Everything is invented: the house, the loads, the nailing of plies. The main block is 36 ft deep between its bearings
and 60 ft long, with bedrooms to the west and a great room to the east. A 40 ft wing for garage and shop stands east of
it, a 24 ft study with a hipped roof north of it, a porch and an entry south of it, and a sun room south of the wing.
Plan coordinates are inches from the south-west corner of the main block, x to the east, y to the north.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from trusses.analysis.analysis import analyse
from trusses.analysis.format.document import read
from trusses.analysis.load_path.chain import Link, loaded
from trusses.analysis.load_path.chain import Mark as Chained
from trusses.analysis.load_path.landing import Stand as InPlan
from trusses.analysis.load_path.taken_up import NOTHING_TAKEN, TakenUp
from trusses.analysis.loads.arrangements import arrange
from trusses.analysis.shapes.shapes import build

Document = dict[str, Any]

ROOF, FLOOR = "Roof", "Floor over basement"


@dataclass(frozen=True, slots=True)
class Job:
    """What the demo job is called."""

    name: str = "Demo house"
    place: str = "Invented for this demo, like its loads"
    time_zone: str = "America/Denver"


@dataclass(frozen=True, slots=True)
class Stand:
    """Where copies stand in plan, inches: the first one's left end, the way its span runs, the step between copies."""

    level: str
    x_in: float
    y_in: float
    direction: str
    spacing_in: float
    count: int
    note: str


@dataclass(frozen=True, slots=True)
class Below:
    """What a bearing stands on: a wall line with its top plate where it has one, or the mark that carries it."""

    wall: str = ""
    plate: str = ""
    carrier: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark: its truss document, where its copies stand, how many are in which stage (in the order of their
    numbers), in how many days from today changes end (None: no day is set; negative: they are over), and what each of
    its bearings stands on, in the document's order."""

    document: Document
    stands: tuple[Stand, ...]
    stages: tuple[tuple[str, int], ...]
    days_to_change: int | None
    below: tuple[Below, ...] = ()
    taken_up: TakenUp = NOTHING_TAKEN

    @property
    def mark(self) -> str:
        return str(self.document["mark"])

    @property
    def quantity(self) -> int:
        return sum(stand.count for stand in self.stands)


_SPF, _DFL = "2x4 SPF No.1/No.2", "2x4 DF-L No.2"
_MSR, _MSR_6 = "2x4 SPF 2100f-1.8E", "2x6 SPF 2100f-1.8E"
_MSR_24 = "2x6 SPF 2400f-2.0E"
_DFL_6, _SPF_6 = "2x6 DF-L No.2", "2x6 SPF No.1/No.2"

# psf, invented, as is the share of the dead load that holds down against wind
_ROOF = {
    "top_dead": 10,
    "bottom_dead": 7,
    "roof_live": 20,
    "ground_snow": 30,
    "wind_up": 20,
    "wind_down": 10,
    "bottom_live": 10,
    "uplift_dead_share": 0.7,
    "bottom_restraint": 48,
    "stock": 288,
}
# a box 42 in. high and 24 in. wide fits between these trusses' webs: limited storage, 20 psf (IRC Table R301.5, note g)
_STORAGE = {"storage": 20, "bottom_live": 0}
_FLOOR = {"top_dead": 12, "bottom_dead": 5, "floor_live": 40, "spacing": 16, "depth": 16, "bottom_restraint": 48}
_MAIN = {"span": 432, "pitch": 6, "overhang_left": 18, "overhang_right": 18}
_STUDY = {"span": 288, "pitch": 6}


def _truss(mark: str, kind: str, title: str, lumber: tuple[str, str, str], **given: Any) -> Document:
    top, bottom, web = lumber
    usual = _FLOOR if kind == "floor" else _ROOF
    woods = {"top_lumber": top, "bottom_lumber": bottom, "web_lumber": web}
    return build(kind, mark=mark, title=f"{title} (demo, loads invented)", **usual | woods | given)


def _with_points(document: Document, points: list[Document]) -> Document:
    """`document`, still without arrangements, with point loads added and the arrangements then written in."""
    changed = copy.deepcopy(document)
    changed["loads"]["point"] = points
    return arrange(changed)


def _air_handler() -> Document:
    title = "Howe over the hall, an air handler stands on it"
    truss = _truss("R3", "howe", title, (_MSR_6, _MSR_6, _MSR), **_MAIN, **_STORAGE, arranged=False)
    note = "air handler and platform: one truss's share"
    return _with_points(truss, [{"case": "dead", "joint": name, "down_lb": 110, "note": note} for name in ("b2", "b3")])


def _hip_girder() -> Document:
    """Its tributary width is 12 in. on the side of the next truss and half of the 6 ft jacks on the other."""
    truss = _truss(
        "R5",
        "hip",
        "Two-ply hip, 6 ft from the north wall, end jacks stand on it",
        (_DFL_6, _DFL_6, _DFL),
        **_STUDY,
        setback=72,
        plies=2,
        spacing=48,
        ply_fastening="nailed: 10d in two rows, 9 in. apart, along every member (invented for this demo)",
        bearing_left=5.5,
        bearing_right=5.5,
        arranged=False,
    )
    ends = [name for name, (x, _) in truss["joints"].items() if name.startswith("t") and x in (72, 216)]
    note = "corner jacks and hip rafter"
    points = [
        {"case": case, "joint": name, "down_lb": pounds, "note": note}
        for name in ends
        for case, pounds in (("dead", 150), ("snow", 220), ("roof_live", 180))
    ]
    return _with_points(truss, points) | {"carries_trusses": True}


def _roof(x: float, y: float, direction: str, count: int, note: str) -> Stand:
    return Stand(ROOF, x, y, direction, 24, count, note)


def _floor(x: float, y: float, count: int, note: str) -> Stand:
    return Stand(FLOOR, x, y, "y", 16, count, note)


def _main_roof() -> list[Mark]:
    bedrooms = _truss("R1", "w", "W over the bedrooms", (_MSR_6, _MSR_24, _SPF), **_MAIN, **_STORAGE)
    vault = _truss("R2", "scissors", "Scissors over the great room", (_MSR_6, _MSR_6, _MSR), **_MAIN, bottom_pitch=2.5)
    return [
        Mark(
            bedrooms,
            (_roof(24, 0, "y", 12, "bedrooms, from the west end wall"),),
            (("released", 8), ("designing", 4)),
            12,
        ),
        Mark(
            vault,
            (_roof(408, 0, "y", 13, "great room, up to the east end wall"),),
            (("released", 3), ("designing", 10)),
            19,
        ),
        Mark(_air_handler(), (_roof(312, 0, "y", 4, "hall and mechanical attic"),), (("released", 4),), 8),
    ]


def _wings() -> list[Mark]:
    shop = _truss(
        "R4",
        "double-w",
        "Double W over garage and shop",
        (_DFL_6, _MSR_6, _DFL),
        span=480,
        pitch=5,
        overhang_left=12,
        overhang_right=12,
        **_STORAGE,
    )
    hips = [
        _truss(mark, "hip", f"Hip, {feet} ft from the north wall", (_DFL, _SPF, _SPF), **_STUDY, setback=12 * feet)
        for mark, feet in (("R6", 8), ("R7", 10))
    ]
    study = _truss("R8", "w", "W over the study", (_MSR, _DFL_6, _SPF), **_STUDY, **_STORAGE)
    porch = _truss("R9", "mono", "Mono over the porch", (_DFL, _SPF, _SPF), span=144, pitch=4, overhang_left=18)
    entry = _truss(
        "R10",
        "king-post",
        "King post over the entry",
        (_SPF_6, _SPF, _SPF),
        span=168,
        pitch=8,
        overhang_left=12,
        overhang_right=12,
    )
    over_porch = (
        _roof(24, -144, "y", 10, "porch west of the entry; the high end bears on the post beam at the house wall"),
        _roof(504, -144, "y", 8, "porch east of the entry; the high end bears on the post beam at the house wall"),
    )
    return [
        Mark(
            shop,
            (_roof(720, 24, "x", 11, "garage and shop, from the south end wall"),),
            (("cut", 6), ("released", 5)),
            3,
        ),
        Mark(
            _hip_girder(), (_roof(0, 624, "x", 1, "study, carries the end jacks of the hip"),), (("released", 1),), 12
        ),
        Mark(hips[0], (_roof(0, 600, "x", 1, "study"),), (("released", 1),), 12),
        Mark(hips[1], (_roof(0, 576, "x", 1, "study"),), (("designing", 1),), 12),
        Mark(study, (_roof(0, 456, "x", 5, "study, from the main block's north wall"),), (("designing", 5),), 12),
        Mark(porch, over_porch, (("built", 10), ("released", 8)), 4),
        Mark(entry, (_roof(288, -96, "x", 4, "entry, between the two porches"),), (("delivered", 4),), -9),
    ]


def _floors() -> list[Mark]:
    family = _truss("F1", "floor", "Floor over family and mechanical room", (_MSR, _MSR, _SPF), span=240)
    kitchen = _truss(
        "F2", "floor", "Floor with a chase under the kitchen", (_MSR, _MSR, _SPF), span=192, chase_width=20
    )
    stair = _truss("F3", "floor", "Floor beside the stair", (_DFL, _DFL, _SPF), span=160)
    return [
        Mark(
            family, (_floor(16, 0, 18, "south half, south wall to the basement bearing wall"),), (("released", 18),), 6
        ),
        Mark(
            kitchen,
            (_floor(16, 240, 18, "north half, basement bearing wall to the north wall"),),
            (("set", 11), ("delivered", 7)),
            -20,
        ),
        Mark(stair, (_floor(320, 80, 8, "east of the stair, to the basement bearing wall"),), (("set", 8),), -27),
    ]


def _sun_room() -> list[Mark]:
    """Nine monos hang with their high ends on a girder over the wide opening between shop and sun room."""
    monos = _truss("R11", "mono", "Mono over the sun room", (_DFL, _SPF, _SPF), span=144, pitch=4, overhang_left=18)
    girder = _truss(
        "G1",
        "flat",
        "Two-ply girder over the opening to the sun room, carries R11",
        (_DFL, _SPF_6, _SPF),
        span=240,
        depth=36,
        panels=10,
        plies=2,
        ply_fastening="nailed: 10d in two rows, 9 in. apart, along every member (invented for this demo)",
        bearing_left=5.5,
        bearing_right=5.5,
    )
    note = "sun room, the high ends hang on the girder at the house"
    places = (_roof(768, -144, "y", 9, note),), (_roof(744, 0, "x", 1, "over the opening to the sun room"),)
    chained = {
        str(document["mark"]): Chained(document, analyse(read(document)).document(), stand[0].count, _in_plan(stand))
        for document, stand in zip((monos, girder), places, strict=True)
    }
    high_end = monos["bearings"][1]["joint"]
    girder, taken = loaded(chained, [Link("R11", high_end, "G1")], "G1")
    return [
        Mark(monos, places[0], (("designing", 9),), 16),
        Mark(girder, places[1], (("designing", 1),), 16, taken_up=taken),
    ]


def _in_plan(stands: tuple[Stand, ...]) -> tuple[InPlan, ...]:
    return tuple(InPlan(s.level, s.x_in, s.y_in, s.direction, s.spacing_in, s.count) for s in stands)


_STUDS, _SILL = "2x6 DF-L No.2", "2x6 DF-L No.2"
_MAIN_WALLS = Below("south wall of the main block", _STUDS), Below("north wall of the main block", _STUDS)
_STUDY_WALLS = Below("west wall of the study", _STUDS), Below("east wall of the study", _STUDS)
_BASEMENT = Below("basement bearing wall", _SILL)
_BELOW: dict[str, tuple[Below, Below]] = {
    **dict.fromkeys(("R1", "R2", "R3"), _MAIN_WALLS),
    "R4": (Below("west wall of the shop", _STUDS), Below("east wall of the shop", _STUDS)),
    **dict.fromkeys(("R5", "R6", "R7", "R8"), _STUDY_WALLS),
    "R9": (Below("porch beam"), Below("post beam at the house wall")),
    "R10": (Below("west beam of the entry"), Below("east beam of the entry")),
    "F1": (Below("south foundation wall", _SILL), _BASEMENT),
    "F2": (_BASEMENT, Below("north foundation wall", _SILL)),
    "F3": (Below("beam beside the stair"), _BASEMENT),
    "R11": (Below("south wall of the sun room", _STUDS), Below(carrier="G1")),
    "G1": (Below("west post of the opening"), Below("east post of the opening")),
}
"""What the bearings of each mark stand on. Invented, the plates too."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """A wall, header or beam as it stands in plan, inches."""

    level: str
    points: tuple[tuple[float, float], ...]


WALLS: dict[str, Drawn] = {
    "south wall of the main block": Drawn(ROOF, ((0, 0), (720, 0))),
    "north wall of the main block": Drawn(ROOF, ((0, 432), (720, 432))),
    "west end wall of the main block": Drawn(ROOF, ((0, 0), (0, 432))),
    "east end wall of the main block": Drawn(ROOF, ((720, 264), (720, 432))),
    "west wall of the shop": Drawn(ROOF, ((720, 0), (720, 264))),
    "east wall of the shop": Drawn(ROOF, ((1200, 0), (1200, 288))),
    "north end wall of the shop": Drawn(ROOF, ((720, 288), (1200, 288))),
    "south end wall of the shop": Drawn(ROOF, ((984, 0), (1200, 0))),
    "west wall of the study": Drawn(ROOF, ((0, 432), (0, 696))),
    "east wall of the study": Drawn(ROOF, ((288, 432), (288, 696))),
    "north wall of the study": Drawn(ROOF, ((0, 696), (288, 696))),
    "porch beam": Drawn(ROOF, ((0, -144), (720, -144))),
    "post beam at the house wall": Drawn(ROOF, ((12, -8), (708, -8))),
    "west beam of the entry": Drawn(ROOF, ((288, -144), (288, -12))),
    "east beam of the entry": Drawn(ROOF, ((456, -144), (456, -12))),
    "south wall of the sun room": Drawn(ROOF, ((744, -144), (984, -144))),
    "west post of the opening": Drawn(ROOF, ((741, 0), (747, 0))),
    "east post of the opening": Drawn(ROOF, ((981, 0), (987, 0))),
    "south foundation wall": Drawn(FLOOR, ((0, 0), (720, 0))),
    "north foundation wall": Drawn(FLOOR, ((0, 432), (720, 432))),
    "west foundation wall": Drawn(FLOOR, ((0, 0), (0, 432))),
    "east foundation wall": Drawn(FLOOR, ((720, 0), (720, 432))),
    "basement bearing wall": Drawn(FLOOR, ((0, 240), (720, 240))),
    "beam beside the stair": Drawn(FLOOR, ((304, 80), (452, 80))),
}
"""Walls in plan, by the names that bearings have for them; the rest stand under no truss. Invented."""


@lru_cache(maxsize=1)
def marks() -> tuple[Mark, ...]:
    """The set, mark by mark. The documents are shared: copy one before changing it."""
    every = (*_main_roof(), *_wings(), *_floors(), *_sun_room())
    return tuple(replace(mark, below=_BELOW[mark.mark]) for mark in every)


def rates() -> dict[str, Any]:
    """What the demo job's shop charges, and how long it reckons for a seal."""
    note = "Invented for this demo; not what any shop charges."
    return {"board_foot": "1.15", "piece": "2.40", "joint": "4.50", "note": note, "seal_days": 3}
