"""A truss document given to PyNite (PyNiteFEA), a general-purpose frame library, and its answers in our signs.

Written from the format's words alone: it reads the document itself and shares no code with the analysis.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from Pynite import FEModel3D

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
#: Out of the plane nothing acts; any number will do.
_ANY = 10.0


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


class Oracle:
    """One document's model in PyNite; `solve` it, then ask by case."""

    def __init__(self, document: dict[str, Any]) -> None:
        self.document = document
        self.at = {name: np.array(xy, dtype=float) for name, xy in document["joints"].items()}
        self.members = {member["id"]: member for member in document["members"]}
        self.cases = case_names(document)
        self.model = FEModel3D()
        self._ends: dict[str, tuple[np.ndarray, np.ndarray, np.ndarray]] = {}
        self._build()
        for case, loads in self.cases.items():
            self.model.add_load_combo(case, {case: 1.0})
            for kind, load in loads:
                getattr(self, f"_{kind}")(case, load)

    def solve(self) -> Oracle:
        self.model.analyze_linear(check_stability=False, sparse=False)
        return self

    def displacements(self, case: str) -> np.ndarray:
        nodes = [self.model.nodes[name] for name in self.document["joints"]]
        return np.array([[node.DX[case], node.DY[case]] for node in nodes])

    def reactions(self, case: str) -> np.ndarray:
        nodes = [self.model.nodes[bearing["joint"]] for bearing in self.document["bearings"]]
        return np.array([[node.RxnFX[case], node.RxnFY[case]] for node in nodes])

    def end_forces(self, case: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Axial, shear and moment at both ends of every member, (m, 2) each, signed as a truss document says."""
        if case in self._ends:
            return self._ends[case]
        out = np.zeros((3, len(self.members), 2))
        for i, name in enumerate(self.members):
            along, upper = self._directions(name)
            force = np.asarray(self.model.members[name].F(case), dtype=float).ravel()
            turn = along[0] * upper[1] - along[1] * upper[0]
            for end, sign in ((0, -1), (1, 1)):
                push = force[6 * end : 6 * end + 2]
                out[:, i, end] = sign * push @ along, push @ upper, sign * turn * force[6 * end + 5]
        self._ends[case] = out[0], out[1], out[2]
        return self._ends[case]

    def moment(self, name: str, at: float, case: str) -> float:
        """Sagging moment at a place along a member, from its end forces and its loads by a cut."""
        _, shear, moment = self.end_forces(case)
        i = list(self.members).index(name)
        _, upper = self._directions(name)
        total = moment[i, 0] + shear[i, 0] * at
        for start, end, push in self._strips(case, name):
            reach = min(at, end) - start
            if reach > 0:
                total += push @ upper * reach * (at - start - reach / 2)
        for place, push in self._stands(case, name):
            if place < at:
                total += push @ upper * (at - place)
        return float(total)

    def _directions(self, name: str) -> tuple[np.ndarray, np.ndarray]:
        first, second = (self.at[joint] for joint in self.members[name]["joints"])
        along = (second - first) / math.dist(first, second)
        upper = np.array([-along[1], along[0]])
        upright = along[0] == 0
        return along, upper if (upper[0] < 0 if upright else upper[1] > 0) else -upper

    def _build(self) -> None:
        model, document = self.model, self.document
        for name, (x, y) in document["joints"].items():
            model.add_node(name, x, y, 0)
        runs_on = self._continuous()
        held = {bearing["joint"]: bearing["restrains"] for bearing in document["bearings"]}
        for name in document["joints"]:
            turns = any(joint == name for joint, _ in runs_on)
            where = held.get(name, "")
            model.def_support(name, "x" in where, "y" in where, True, True, True, not turns)
        for name, member in self.members.items():
            self._member(name, member, runs_on)

    def _member(self, name: str, member: dict[str, Any], runs_on: dict[tuple[str, str], int]) -> None:
        model, plies = self.model, self.document.get("plies", 1)
        size, grade = member["lumber"].split(" ", 1)
        thick, wide = (WIDTHS[size], 1.5) if member.get("flat") else (1.5, WIDTHS[size])
        if grade not in model.materials:
            model.add_material(grade, STIFFNESS[grade], STIFFNESS[grade] / 2.6, 0.3, 0)
        model.add_section(name, plies * thick * wide, _ANY, plies * thick * wide**3 / 12, _ANY)
        model.add_member(name, *member["joints"], grade, name)
        pinned = [(joint, member["role"]) not in runs_on for joint in member["joints"]]
        model.def_releases(name, Rzi=pinned[0], Rzj=pinned[1])

    def _continuous(self) -> dict[tuple[str, str], int]:
        """The (joint, role) at which chord members share a rotation. PyNite's nodes have one rotation each, so only
        one role may run on over a joint here."""
        meet: dict[tuple[str, str], int] = {}
        for member in self.members.values():
            for joint in member["joints"]:
                if member["role"] != "web" and joint not in self.document.get("hinges", ()):
                    meet[joint, member["role"]] = meet.get((joint, member["role"]), 0) + 1
        runs_on = {key: count for key, count in meet.items() if count > 1}
        assert len({joint for joint, _ in runs_on}) == len(runs_on), "two chords run on over one joint"
        return runs_on

    def _area(self, case: str, load: dict[str, Any]) -> None:
        for name, start, end, push in self._area_strips(load):
            self._spread(case, name, start, end, push)

    def _line(self, case: str, load: dict[str, Any]) -> None:
        self._spread(case, *self._line_strip(load))

    def _point(self, case: str, load: dict[str, Any]) -> None:
        push = {"FX": load.get("right_lb", 0.0), "FY": -load["down_lb"]}
        for direction, force in push.items():
            if "joint" in load:
                self.model.add_node_load(load["joint"], direction, force, case)
            else:
                self.model.add_member_pt_load(load["member"], direction, force, load["at_in"], case)

    def _spread(self, case: str, name: str, start: float, end: float, push: np.ndarray) -> None:
        for direction, w in zip(("FX", "FY"), push, strict=True):
            self.model.add_member_dist_load(name, direction, w, w, start, end, case)

    def _strips(self, case: str, name: str) -> list[tuple[float, float, np.ndarray]]:
        strips = []
        for kind, load in self.cases[case]:
            if kind == "area":
                strips += [strip[1:] for strip in self._area_strips(load) if strip[0] == name]
            elif kind == "line" and load["member"] == name:
                strips.append(self._line_strip(load)[1:])
        return strips

    def _stands(self, case: str, name: str) -> list[tuple[float, np.ndarray]]:
        return [
            (load["at_in"], np.array([load.get("right_lb", 0.0), -load["down_lb"]]))
            for kind, load in self.cases[case]
            if kind == "point" and load.get("member") == name
        ]

    def _line_strip(self, load: dict[str, Any]) -> tuple[str, float, float, np.ndarray]:
        first, second = (self.at[joint] for joint in self.members[load["member"]]["joints"])
        end = load.get("to_in", math.dist(first, second))
        return load["member"], load.get("from_in", 0.0), end, np.array([0.0, -load["plf"] / 12])

    def _area_strips(self, load: dict[str, Any]) -> list[tuple[str, float, float, np.ndarray]]:
        """Member, start, end and pounds per inch (right, up) of an area load on each member that it reaches."""
        per_inch = load["psf"] / 144 * self.document["spacing_in"]
        left, right = load.get("from_x_in", -1e9), load.get("to_x_in", 1e9)
        strips = []
        for name, member in self.members.items():
            if member["role"] != load["chord"]:
                continue
            first, second = (self.at[joint] for joint in member["joints"])
            length, run = math.dist(first, second), second[0] - first[0]
            if run == 0:
                start, end = (0.0, length) if left <= first[0] <= right else (0.0, 0.0)
            else:
                low, high = sorted(((left - first[0]) / run, (right - first[0]) / run))
                start, end = max(low, 0.0) * length, min(high, 1.0) * length
            _, upper = self._directions(name)
            push = {
                "plan": np.array([0.0, -per_inch * abs(run) / length]),
                "slope": np.array([0.0, -per_inch]),
                "normal": -per_inch * upper,
            }[load["along"]]
            if end > start:
                strips.append((name, start, end, push))
        return strips
