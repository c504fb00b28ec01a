"""Random truss documents for tests: both chords, hinges, overhangs, flat lumber, plies, every kind of load.

Members come in any order and direction. The trusses are stable by construction; they are drawn to exercise the format,
not to pass checks.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from tests.frames import document

LUMBER = (
    "2x3 SPF No.1/No.2",
    "2x4 SPF No.1/No.2",
    "2x4 DF-L No.2",
    "2x6 SP No.1",
    "2x8 DF-L No.2",
    "2x4 SPF 2100f-1.8E",
)
CASES = ("dead", "live", "roof_live", "snow", "wind", "rain", "attic_storage")
_Members = list[tuple[str, str, str, str]]
_Joints = dict[str, tuple[float, float]]
#: Joints, members, bearings, and the joints that may be hinges without letting anything move.
_Shape = tuple[_Joints, _Members, dict[str, str], list[str]]


def random_truss(seed: int) -> dict[str, Any]:
    rng = np.random.default_rng(seed)
    joints, members, bearings, may_turn = (_roof if seed % 3 else _floor)(rng)
    truss = document(joints, _shuffled(rng, members), bearings)
    truss["spacing_in"] = float(rng.choice([12, 16, 19.2, 24, 48]))
    truss["plies"] = int(rng.integers(1, 4))
    truss["hinges"] = [str(name) for name in rng.choice(may_turn, size=int(rng.integers(0, 3)), replace=False)]
    flat = not seed % 3
    for member in truss["members"]:
        member["lumber"] = str(rng.choice(LUMBER))
        member["flat"] = bool(flat and rng.random() < 0.8)
    truss["loads"] = _loads(rng, truss)
    return truss


def _shuffled(rng: np.random.Generator, members: _Members) -> _Members:
    turned = [(name, role, *((a, b) if rng.random() < 0.5 else (b, a))) for name, role, a, b in members]
    return [turned[i] for i in rng.permutation(len(turned))]


def _roof(rng: np.random.Generator) -> _Shape:
    """Top chord from heel to heel over a peak, a bottom chord that may rise, overhangs over the bearings."""
    panels = int(rng.integers(2, 5))
    x = np.cumsum(rng.uniform(30, 90, 2 * panels))
    x = np.concatenate([[0.0], x])
    peak = float(x[panels])
    pitch, rise = rng.uniform(0.25, 0.8), rng.uniform(0.0, 0.12)
    joints: _Joints = {}
    for i, at in enumerate(x):
        joints[f"t{i}"] = (float(at), float(pitch * min(at, (x[-1] - at) * peak / (x[-1] - peak))))
    for i in range(1, 2 * panels):
        at = float(x[i] + rng.uniform(-8, 8))
        joints[f"b{i}"] = (at, rise * min(at, float(x[-1]) - at) * 0.5)
    last = 2 * panels
    bottom = ["t0", *(f"b{i}" for i in range(1, last)), f"t{last}"]
    members: _Members = [(f"T{i}", "top_chord", f"t{i - 1}", f"t{i}") for i in range(1, last + 1)]
    members += [(f"B{i}", "bottom_chord", bottom[i - 1], bottom[i]) for i in range(1, last + 1)]
    members += [(f"V{i}", "web", f"t{i}", f"b{i}") for i in range(1, last)]
    members += [
        (f"D{i}", "web", *((f"t{i}", f"b{i + 1}") if rng.random() < 0.5 else (f"b{i}", f"t{i + 1}")))
        for i in range(1, last - 1)
    ]
    for name, heel, step in (("t-", "t0", -1), ("t+", f"t{last}", 1)):
        if rng.random() < 0.6:
            out = float(rng.uniform(8, 30))
            joints[name] = (joints[heel][0] + step * out, -out * pitch)
            members.append((f"O{name[1]}", "top_chord", name, heel))
    bearings = {"t0": "xy", f"t{last}": "y"}
    if rng.random() < 0.4:
        bearings[f"b{int(rng.integers(1, last))}"] = "y"
    return joints, members, bearings, [f"t{i}" for i in range(1, last)] + bottom[1:-1]


def _floor(rng: np.random.Generator) -> _Shape:
    """Parallel chords whose top chord turns down at the ends: upright chord members for wind and slope loads."""
    panels = int(rng.integers(3, 8))
    x = np.concatenate([[0.0], np.cumsum(rng.uniform(16, 36, panels))])
    depth = float(rng.uniform(10, 24))
    joints: _Joints = {f"t{i}": (float(at), depth) for i, at in enumerate(x)}
    joints |= {f"b{i}": (float(at), 0.0) for i, at in enumerate(x)}
    members: _Members = [(f"T{i}", "top_chord", f"t{i - 1}", f"t{i}") for i in range(1, panels + 1)]
    members += [(f"B{i}", "bottom_chord", f"b{i - 1}", f"b{i}") for i in range(1, panels + 1)]
    members += [(f"U{i}", "top_chord", f"t{i}", f"b{i}") for i in (0, panels)]
    members += [(f"V{i}", "web", f"t{i}", f"b{i}") for i in range(1, panels)]
    chase = int(rng.integers(1, panels - 1))
    members += [
        (f"D{i}", "web", *((f"t{i}", f"b{i + 1}") if rng.random() < 0.5 else (f"b{i}", f"t{i + 1}")))
        for i in range(panels)
        if i != chase
    ]
    ends = ("b0", f"b{panels}") if rng.random() < 0.5 else ("t0", f"b{panels}")
    beside = {f"{row}{i}" for row in "tb" for i in (chase, chase + 1)}
    return joints, members, {ends[0]: "xy", ends[1]: "y"}, sorted(joints.keys() - beside)


def _loads(rng: np.random.Generator, truss: dict[str, Any]) -> dict[str, list[dict[str, Any]]]:
    xs = [xy[0] for xy in truss["joints"].values()]
    lengths = {m["id"]: math.dist(*(truss["joints"][joint] for joint in m["joints"])) for m in truss["members"]}

    some = rng.choice(CASES, size=3, replace=False)

    def case() -> dict[str, Any]:
        name = str(rng.choice(some))
        said: dict[str, Any] = {"case": name}
        if rng.random() < 0.4:
            said["pattern"] = str(rng.choice(["left", "right"]))
        if name in ("live", "attic_storage") and rng.random() < 0.5:
            said["acts"] = "alone"
        return said

    area = [
        {"case": "dead", "chord": "top_chord", "psf": 10, "along": "slope"},
        {"case": "dead", "chord": "bottom_chord", "psf": 5, "along": "slope"},
    ]
    for _ in range(6):
        left, right = sorted(float(x) for x in rng.uniform(min(xs), max(xs), 2))
        load = case() | {
            "chord": str(rng.choice(["top_chord", "bottom_chord"])),
            "psf": float(rng.uniform(-40, 60)),
            "along": str(rng.choice(["plan", "slope", "normal"])),
        }
        load |= {} if rng.random() < 0.3 else {"from_x_in": left}
        load |= {} if rng.random() < 0.3 else {"to_x_in": right}
        area.append(load)
    line, point = [], []
    for member in rng.choice(list(lengths), size=4):
        start, end = sorted(float(s) for s in rng.uniform(0, lengths[member], 2))
        line.append(
            case() | {"member": str(member), "plf": float(rng.uniform(-60, 90)), "from_in": start, "to_in": end}
        )
    for member in rng.choice(list(lengths), size=4):
        place = float(rng.uniform(0, lengths[member]))
        force = {"down_lb": float(rng.uniform(-200, 400)), "right_lb": float(rng.uniform(-150, 150))}
        point.append(case() | {"member": str(member), "at_in": place} | force)
    for joint in rng.choice(list(truss["joints"]), size=2):
        point.append(case() | {"joint": str(joint), "down_lb": 120.0, "right_lb": float(rng.uniform(-90, 90))})
    return {"area": area, "line": line, "point": point}
