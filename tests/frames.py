"""Small frames for tests: truss documents written from a few words, and their one case solved."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from trusses.analysis.format.document import read
from trusses.analysis.format.model import PointLoad, Truss
from trusses.analysis.frame.results import Results
from trusses.analysis.frame.solve import solve
from trusses.analysis.loads.combinations import Case, cases

#: E 1.4e6 psi; 1.5 × 3.5 in.: A 5.25 in², I 5.359 in⁴.
SPF = "2x4 SPF No.1/No.2"
EI_2X4 = 1.4e6 * 1.5 * 3.5**3 / 12
EA_2X4 = 1.4e6 * 1.5 * 3.5


def document(
    joints: Mapping[str, Sequence[float]],
    members: Iterable[Sequence[str]],
    bearings: Mapping[str, str],
    **more: Any,
) -> dict[str, Any]:
    """A truss document. `members` are (id, role, first joint, second joint[, lumber]); `bearings` joint: restrains."""
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": "X1",
        "spacing_in": 24,
        "joints": {name: list(xy) for name, xy in joints.items()},
        "members": [
            {"id": name, "role": role, "joints": [first, second], "lumber": lumber[0] if lumber else SPF}
            for name, role, first, second, *lumber in members
        ],
        "bearings": [{"joint": joint, "restrains": how, "width_in": 3.5} for joint, how in bearings.items()],
    } | more


@dataclass(frozen=True)
class Solved:
    """A truss and its results, with the first case's results by name."""

    truss: Truss
    cases: tuple[Case, ...]
    response: Results

    @property
    def axial(self) -> dict[str, float]:
        """Axial force at each member's first end."""
        return {m.id: float(n) for m, n in zip(self.truss.members, self.response.end_axial[0, :, 0], strict=True)}

    @property
    def reactions(self) -> dict[str, tuple[float, float]]:
        return {
            b.joint: (float(x), float(y))
            for b, (x, y) in zip(self.truss.bearings, self.response.reactions[0], strict=True)
        }

    @property
    def up(self) -> list[float]:
        """Upward reactions in the order of the bearings."""
        return [float(y) for y in self.response.reactions[0, :, 1]]

    def moment(self, member: str, at: float) -> float:
        """Sagging moment `at` inches from a member's first joint."""
        return float(self._at(self.response.forces, member, at)[2][0])

    def sag(self, member: str, at: float) -> float:
        """How far down a point of a member moves, inches."""
        return -float(self._at(lambda x: (self.response.deflection(x),), member, at)[0][0, 1])

    def _at(self, what: Any, member: str, at: float) -> list[np.ndarray]:
        index = self.truss.member_index[member]
        stations = np.zeros((len(self.truss.members), 1))
        stations[index] = at
        return [values[0, index] for values in what(stations)]


def joint_of(truss: Truss, load: PointLoad) -> str | None:
    """The joint that takes a point load: the one it names, or the one at that end of a member on which it stands."""
    if load.member is None:
        return load.joint
    member = truss.member(load.member)
    first, second = member.joints
    return {0.0: first, truss.length(member): second}.get(load.at_in)


def solved(source: dict[str, Any] | Truss) -> Solved:
    truss = read(source) if isinstance(source, dict) else source
    its_cases = cases(truss)
    return Solved(truss, its_cases, solve(truss, its_cases))


def pin_jointed(
    joints: Mapping[str, Sequence[float]],
    members: str,
    bearings: Mapping[str, str],
    down: Mapping[str, float] | None = None,
    right: Mapping[str, float] | None = None,
    scale: float = 12.0,
) -> Solved:
    """A truss hinged at every joint, loaded at joints, solved. `members` are pairs of joints, "AB BC".

    The forces come in the unit of the loads: in a statically determinate truss neither lengths nor lumber matter, so
    `scale` turns whatever the source measures in into inches of a size that a document takes.
    """
    loaded = dict.fromkeys([*(down or {}), *(right or {})])
    return solved(
        document(
            {name: [scale * x for x in xy] for name, xy in joints.items()},
            [(pair, "top_chord", *pair) for pair in members.split()],
            bearings,
            hinges=list(joints),
            loads={
                "point": [
                    {"case": "dead", "joint": j, "down_lb": (down or {}).get(j, 0), "right_lb": (right or {}).get(j, 0)}
                    for j in loaded
                ]
            },
        )
    )


def beam(
    spans: Sequence[float], loaded: Mapping[int, float], points: Iterable[tuple[int, float, float]] = ()
) -> Solved:
    """A 2x4 on edge running over bearings at both ends of every span, solved. Members S1, S2 …

    `loaded` is span number: lb/in; `points` are (span number, inches from its left end, lb).
    """
    at = np.concatenate([[0.0], np.cumsum(spans)])
    joints = {f"R{i}": [float(x), 0.0] for i, x in enumerate(at)}
    return solved(
        document(
            joints,
            [(f"S{i}", "bottom_chord", f"R{i - 1}", f"R{i}") for i in range(1, len(at))],
            {"R0": "xy"} | {f"R{i}": "y" for i in range(1, len(at))},
            loads={
                "line": [{"case": "dead", "member": f"S{i}", "plf": 12 * w} for i, w in loaded.items()],
                "point": [{"case": "dead", "member": f"S{i}", "at_in": x, "down_lb": p} for i, x, p in points],
            },
        )
    )


def column(role: str = "top_chord", up: bool = True, **loads: Any) -> Solved:
    """An upright member 100 in. tall, held both ways at its foot and sideways at its head."""
    ends = ("A", "B") if up else ("B", "A")
    return solved(document({"A": (50, 0), "B": (50, 100)}, [("C1", role, *ends)], {"A": "xy", "B": "x"}, loads=loads))


def area(along: str, psf: float = 6.0, chord: str = "top_chord", **window: Any) -> dict[str, Any]:
    """6 psf at 24 in. is 1 lb/in."""
    return {"area": [{"case": "dead", "chord": chord, "psf": psf, "along": along} | window]}
