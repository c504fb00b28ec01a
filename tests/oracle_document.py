"""A truss document's words as pieces and pushes, for the oracles: general-purpose frame libraries that are asked beside
the analysis.

Written from the format's words alone: it reads the document itself and shares no code with the analysis.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

#: psi, for the lumber of the examples and the random trusses (NDS Supplement Tables 4A to 4C as in values.md §2).
STIFFNESS = {
    "SPF No.1/No.2": 1.4e6,
    "DF-L No.2": 1.6e6,
    "Hem-Fir No.2": 1.3e6,
    "SP No.1": 1.6e6,
    "SP No.2": 1.4e6,
    "SPF 2100f-1.8E": 1.8e6,
    "SPF 2400f-2.0E": 2.0e6,
}
WIDTHS = {"2x3": 2.5, "2x4": 3.5, "2x6": 5.5, "2x8": 7.25}

#: A point load nearer a member's end than this is on it, inches.
ON_END = 1e-7

#: Start, end and pounds per inch, right and up, of a load along a part of a member.
Strip = tuple[float, float, np.ndarray]


def case_names(document: dict[str, Any]) -> dict[str, list[tuple[str, dict[str, Any]]]]:
    """Case name -> the (kind, load) pairs that act in it."""
    loads = [(kind, load) for kind, these in document["loads"].items() for load in these]
    groups: dict[tuple[str, bool], list[tuple[str, dict[str, Any]]]] = {}
    for kind, load in loads:
        groups.setdefault((load["case"], load.get("acts") == "alone"), []).append((kind, load))
    named = {}
    for (case, alone), these in groups.items():
        name = f"{case}/alone" if alone and (case, False) in groups else case
        patterns = sorted({load["pattern"] for _, load in these if "pattern" in load})
        for pattern in patterns or [None]:
            full = name if pattern is None else f"{name}/{pattern}"
            named[full] = [(kind, load) for kind, load in these if load.get("pattern") in (None, pattern)]
    return named


class Said:
    """What one document says, by the names of members and cases."""

    def __init__(self, document: dict[str, Any]) -> None:
        self.document = document
        self.at = {name: np.array(xy, dtype=float) for name, xy in document["joints"].items()}
        self.members = {member["id"]: member for member in document["members"]}
        self.cases = case_names(document)
        self.bearings = {bearing["joint"]: bearing["restrains"] for bearing in document["bearings"]}

    def ends(self, name: str) -> tuple[np.ndarray, np.ndarray]:
        first, second = self.members[name]["joints"]
        return self.at[first], self.at[second]

    def length(self, name: str) -> float:
        return math.dist(*self.ends(name))

    def directions(self, name: str) -> tuple[np.ndarray, np.ndarray]:
        """Along a member from its first joint, and toward its upper face: the left one of an upright member."""
        first, second = self.ends(name)
        along = (second - first) / math.dist(first, second)
        upper = np.array([-along[1], along[0]])
        upright = along[0] == 0
        return along, upper if (upper[0] < 0 if upright else upper[1] > 0) else -upper

    def stiffness(self, name: str) -> tuple[float, float, float]:
        """E psi, A in² and I in⁴ of a member, all plies together."""
        member, plies = self.members[name], self.document.get("plies", 1)
        size, grade = member["lumber"].split(" ", 1)
        thick, wide = (WIDTHS[size], 1.5) if member.get("flat") else (1.5, WIDTHS[size])
        return STIFFNESS[grade], plies * thick * wide, plies * thick * wide**3 / 12

    def runs_on(self) -> set[tuple[str, str]]:
        """The (joint, role) at which chord members share a rotation; every other member end turns by itself."""
        meet: dict[tuple[str, str], int] = {}
        for member in self.members.values():
            for joint in member["joints"]:
                if member["role"] != "web" and joint not in self.document.get("hinges", ()):
                    meet[joint, member["role"]] = meet.get((joint, member["role"]), 0) + 1
        return {key for key, count in meet.items() if count > 1}

    def strips(self, case: str, name: str) -> list[Strip]:
        """The loads along a member."""
        strips = []
        for kind, load in self.cases[case]:
            if kind == "area" and load["chord"] == self.members[name]["role"]:
                strips += self._area(load, name)
            elif kind == "line" and load["member"] == name:
                start, end = load.get("from_in", 0.0), load.get("to_in", self.length(name))
                strips.append((start, end, np.array([0.0, -load["plf"] / 12])))
        return strips

    def stands(self, case: str, name: str) -> list[tuple[float, np.ndarray]]:
        """Where on a member point loads stand, and their pounds, right and up."""
        points = [load for kind, load in self.cases[case] if kind == "point" and load.get("member") == name]
        return [(load["at_in"], _push(load)) for load in points]

    def on_end(self, case: str, name: str, end: int) -> np.ndarray:
        """The sum of the point loads on the very end of a member, its first (0) or its second (1), right and up."""
        at = end * self.length(name)
        return sum((push for place, push in self.stands(case, name) if abs(place - at) < ON_END), np.zeros(2))

    def at_joints(self, case: str) -> list[tuple[str, np.ndarray]]:
        """The point loads at joints."""
        return [(load["joint"], _push(load)) for kind, load in self.cases[case] if kind == "point" and "joint" in load]

    def _area(self, load: dict[str, Any], name: str) -> list[Strip]:
        per_inch = load["psf"] / 144 * self.document["spacing_in"]
        left, right = load.get("from_x_in", -1e9), load.get("to_x_in", 1e9)
        first, second = self.ends(name)
        length, run = math.dist(first, second), second[0] - first[0]
        if run == 0:
            start, end = (0.0, length) if left <= first[0] <= right else (0.0, 0.0)
        else:
            low, high = sorted(((left - first[0]) / run, (right - first[0]) / run))
            start, end = max(low, 0.0) * length, min(high, 1.0) * length
        push = {
            "plan": np.array([0.0, -per_inch * abs(run) / length]),
            "slope": np.array([0.0, -per_inch]),
            "normal": -per_inch * self.directions(name)[1],
        }[load["along"]]
        return [(start, end, push)] if end > start else []


def _push(load: dict[str, Any]) -> np.ndarray:
    return np.array([load.get("right_lb", 0.0), -load["down_lb"]])
