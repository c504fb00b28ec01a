"""What is asked of the demo job's set, and what its designers revise: openings, other kinds of ask, runs, as data.

All of it is invented, as the set is. No database here.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass
from typing import Any

from trusses.demo_set import FLOOR, ROOF, Document, marks


@dataclass(frozen=True, slots=True)
class PresetAsk:
    """An ask that the demo offers ready to send: the opening doesn't fit the mark as it is, and can be made to."""

    mark: str
    opening: Document
    reason: str


def heavier_roof() -> tuple[str, Document, Document]:
    """A mark that a girder carries, an opening that fits in it, and its truss document with a heavier roof on it."""
    document = next(copy.deepcopy(mark.document) for mark in marks() if mark.mark == "R11")
    for load in document["loads"]["area"]:
        if (load["case"], load["chord"]) == ("dead", "top_chord"):
            load["psf"] = 15
    opening = {
        "id": "O1",
        "shape": "circle",
        "centre_in": [124, 12],
        "diameter_in": 4,
        "clearance_in": 0.5,
        "note": "bath fan duct",
    }
    return "R11", opening, {**document, "openings": [opening]}


def own_revision() -> tuple[str, Document, str]:
    """A mark that its designer revises unasked, its truss document then, and why."""
    document = next(copy.deepcopy(mark.document) for mark in marks() if mark.mark == "R8")
    for member in document["members"]:
        if member["role"] == "web":
            member["lumber"] = "2x4 DF-L No.2"
    return "R8", document, "The yard has no more 2x4 SPF for the webs: DF-L in its place."


def next_revision() -> tuple[str, Document]:
    """A mark of which some copies are built, and its truss document with an opening that fits, for the others."""
    document = next(copy.deepcopy(mark.document) for mark in marks() if mark.mark == "R9")
    opening = {
        "id": "O1",
        "shape": "circle",
        "centre_in": [88.5, 13.25],
        "diameter_in": 3,
        "clearance_in": 0.5,
        "note": "conduit to the porch light",
    }
    return "R9", {**document, "openings": [opening]}


def preset_asks() -> tuple[PresetAsk, ...]:
    """Asks that don't fit today's trusses and that a change of webs answers; a page offers the first."""
    trunk = {
        "id": "O1",
        "shape": "circle",
        "centre_in": [126, 28],
        "diameter_in": 14,
        "clearance_in": 1,
        "note": "supply trunk",
    }
    chase = {
        "id": "O1",
        "shape": "rectangle",
        "centre_in": [120, 8],
        "width_in": 24,
        "height_in": 12,
        "clearance_in": 0.5,
        "note": "trunk duct to the north rooms",
    }
    return (
        PresetAsk("R1", trunk, "The supply trunk has to cross the bedroom attic here to reach the far rooms."),
        PresetAsk("F1", chase, "The trunk duct has to run through the floor at midspan."),
    )


def asks_of_each_kind() -> tuple[tuple[str, dict[str, Any], str], ...]:
    """The mark, the ask and the reason of a request of each kind that isn't an opening; weights are invented."""
    air_handler = {
        "what": "air handler",
        "weight_lb": 390,
        "at_in": 216,
        "shape": "pair",
        "length_in": 48,
        "shared": "stiff",
        "how": "hung",
    }
    hatch = {"what": "hatch", "across_in": 96, "along_in": 216, "width_in": 22, "length_in": 54, "most_gap_in": 48}
    return (
        ("R2", {"kind": "load", "copies": [6, 7, 8], "load": air_handler}, "The air handler hangs over the hall."),
        (
            "F1",
            {"kind": "bearing", "bearing": {"change": "added", "at_in": 120, "width_in": 3.5}},
            "The owner wants a wall between the two rooms below.",
        ),
        ("R2", {"kind": "passage", "copies": [5], "passage": hatch}, "An attic hatch with a ladder in the hall."),
        (
            "F2",
            {
                "kind": "damage",
                "copies": [15],
                "damage": {"member": "W6", "how": "cut", "at_in": 8, "note": "A plumber's saw; the web hangs loose."},
            },
            "A web was cut on the ground before setting.",
        ),
        (
            "",
            {"kind": "question", "question": {"says": "May drywall be stacked on the floor over the basement?"}},
            "The drywall comes on Thursday.",
        ),
    )


def repaired_damage() -> tuple[str, dict[str, Any], str]:
    """The mark, the ask and the reason of damage that the demo repairs."""
    damage = {"member": "B1", "how": "plate torn", "at_in": 0, "note": "The heel's plate stands off by half an inch."}
    ask = {"kind": "damage", "copies": [4], "damage": damage}
    return "R10", ask, "Found loose when the truss was to be set (invented)."


@dataclass(frozen=True, slots=True)
class PresetRun:
    """A run that the demo's builder asked for; `waits`: it is left for the worker to compute."""

    run: Document
    reason: str
    waits: bool = False


def preset_runs() -> tuple[PresetRun, ...]:
    """A trunk through three marks, a plenum that no truss can take, a drain that falls. Sizes and places invented."""
    trunk = {"shape": "circle", "diameter_in": 14, "clearance_in": 1}
    plenum = {"shape": "rectangle", "width_in": 60, "height_in": 60, "clearance_in": 1}
    drain = {"shape": "circle", "diameter_in": 3.5, "clearance_in": 0.5}
    return (
        PresetRun(
            _path(FLOOR, [[8, 60], [216, 60]], 10, drain, "3 in. drain from the family bath", slope=0.25),
            "The drain of the family bath has to reach the stack by the east wall (invented).",
        ),
        PresetRun(
            _path(ROOF, [[144, 452], [144, 640]], 28, plenum, "return plenum"),
            "The return plenum as the first plan drew it, straight through the study's roof (invented).",
        ),
        PresetRun(
            _path(ROOF, [[12, 126], [706, 126]], 44, trunk, "supply trunk, 14 in. round"),
            "The supply trunk from the bedrooms through the hall to the great room (invented).",
            waits=True,
        ),
    )


def _path(
    level: str, points: list[list[float]], height: float, section: Document, note: str, slope: float = 0
) -> Document:
    return {
        "level": level,
        "points_in": points,
        "height_in": height,
        "datum": "bearing",
        "slope_in_per_ft": slope,
        "section": section,
        "note": f"{note} (demo)",
    }
