"""Random truss documents for tests: both chords, hinges, overhangs, flat lumber, plies, every kind of load.

Members come in any order and direction. The trusses are stable by construction; they are drawn to exercise the format,
not to pass checks.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from typing import Any

import numpy as np

from tests.frames import document
from trusses.analysis.format.document import read_stored
from trusses.analysis.format.shared_wood import clashes

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
    """Drawn anew, for a few seeds in a thousand, where a web would lie in another piece's wood."""
    for again in itertools.count():
        truss = _drawn(seed, np.random.default_rng([seed, again] if again else seed))
        read = read_stored(truss)
        if not clashes(read.members, read.names, read.xy):
            return truss
    raise AssertionError


def _drawn(seed: int, rng: np.random.Generator) -> dict[str, Any]:
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


#: Places on a member where loads begin, end or stand are one or so far apart, inches: a frame library that cuts its
#: members there loses digits to shorter pieces, by 12 EI / L³ against EA / L. `closer` draws the rest.
APART = 0.25
_Load = dict[str, Any]


def _loads(rng: np.random.Generator, truss: dict[str, Any]) -> dict[str, list[_Load]]:
    at = truss["joints"]
    xs = [xy[0] for xy in at.values()]
    lengths = {m["id"]: math.dist(*(at[joint] for joint in m["joints"])) for m in truss["members"]}
    some = rng.choice(CASES, size=3, replace=False)

    def case() -> _Load:
        name = str(rng.choice(some))
        said: _Load = {"case": name}
        if rng.random() < 0.4:
            said["pattern"] = str(rng.choice(["left", "right"]))
            if name == "dead":
                # drawn and left out: dead load is always there as a whole
                del said["pattern"]
        if name in ("live", "attic_storage") and rng.random() < 0.5:
            said["acts"] = "alone"
        return said

    def area() -> _Load:
        left, right = sorted(float(x) for x in rng.uniform(min(xs), max(xs), 2))
        if rng.random() < 0.2:
            left = float(rng.choice([x for x in xs if x < right]))
        load = case() | {
            "chord": str(rng.choice(["top_chord", "bottom_chord"])),
            "psf": float(rng.uniform(-40, 60)),
            "along": str(rng.choice(["plan", "slope", "normal"])),
        }
        load |= {} if rng.random() < 0.3 else {"from_x_in": left}
        return load | ({} if rng.random() < 0.3 else {"to_x_in": right})

    def line() -> _Load:
        member = str(rng.choice(list(lengths)))
        start, end = sorted(float(s) for s in rng.uniform(0, lengths[member], 2))
        load = case() | {"member": member, "plf": float(rng.uniform(-60, 90))}
        load |= {} if rng.random() < 0.2 else {"from_in": start}
        return load | ({} if rng.random() < 0.2 else {"to_in": end})

    def on_member() -> _Load:
        member = str(rng.choice(list(lengths)))
        place = float(rng.uniform(0, lengths[member]))
        if rng.random() < 0.2:
            place = float(rng.choice([0.0, lengths[member]]))
        force = {"down_lb": float(rng.uniform(-200, 400)), "right_lb": float(rng.uniform(-150, 150))}
        return case() | {"member": member, "at_in": place} | force

    def at_joint() -> _Load:
        push = {} if rng.random() < 0.3 else {"right_lb": float(rng.uniform(-90, 90))}
        return case() | {"joint": str(rng.choice(list(at))), "down_lb": 120.0} | push

    taken = {name: [0.0, length] for name, length in lengths.items()}

    def drawn(draw: Callable[[], _Load]) -> _Load:
        for _ in range(1000):
            load = draw()
            places = _places(truss, load)
            if all(_one_or_apart(place, taken[name]) for name, place in places):
                for name, place in places:
                    taken[name].append(place)
                return load
        raise AssertionError("no room for another load")

    dead = [
        {"case": "dead", "chord": "top_chord", "psf": 10, "along": "slope"},
        {"case": "dead", "chord": "bottom_chord", "psf": 5, "along": "slope"},
    ]
    loads = {
        "area": dead + [drawn(area) for _ in range(6)],
        "line": [drawn(line) for _ in range(4)],
        "point": [drawn(on_member) for _ in range(4)] + [at_joint() for _ in range(2)],
    }
    loads["point"] += _exactly_on(np.random.default_rng([1, len(lengths), len(xs)]), truss, loads)
    return loads


def _exactly_on(rng: np.random.Generator, truss: dict[str, Any], loads: dict[str, list[_Load]]) -> list[_Load]:
    """Point loads exactly on a bearing, on a hinge where the chord may be spliced, at a joint of webs and chords and at
    the edge of another load, each said by way of a member; in cases that are there already."""
    lengths = {m["id"]: math.dist(*(truss["joints"][joint] for joint in m["joints"])) for m in truss["members"]}
    ends = [(m["id"], joint, i * lengths[m["id"]]) for m in truss["members"] for i, joint in enumerate(m["joints"])]
    some = [str(truss["bearings"][0]["joint"]), *truss["hinges"][:1], str(rng.choice(list(truss["joints"])))]
    places = [(name, at) for joint in some for name, end, at in _one(rng, [end for end in ends if end[1] == joint])]
    edges = [place for kind in ("area", "line") for load in loads[kind] for place in _places(truss, load)]
    places += _one(rng, [(name, min(max(at, 0.0), lengths[name])) for name, at in edges])
    found = []
    for name, at in places:
        like = loads["line"][int(rng.integers(len(loads["line"])))]
        said = {key: like[key] for key in ("case", "pattern", "acts") if key in like}
        force = {"down_lb": float(rng.uniform(-200, 400)), "right_lb": float(rng.uniform(-150, 150))}
        found.append(said | {"member": name, "at_in": float(at)} | force)
    return found


def _one(rng: np.random.Generator, those: list[Any]) -> list[Any]:
    """One of them at random, where there is any."""
    return [those[int(rng.integers(len(those)))]] if those else []


def _one_or_apart(place: float, others: list[float]) -> bool:
    return all(abs(place - other) < 1e-9 or abs(place - other) >= APART for other in others)


def _places(truss: dict[str, Any], load: _Load) -> list[tuple[str, float]]:
    """The members and the places on them where a load begins, ends or stands."""
    if "member" in load:
        return [(load["member"], load[key]) for key in ("from_in", "to_in", "at_in") if key in load]
    found = []
    for member in truss["members"]:
        first, second = (truss["joints"][joint] for joint in member["joints"])
        run = second[0] - first[0]
        if member["role"] == load["chord"] and run:
            shares = [(load[key] - first[0]) / run for key in ("from_x_in", "to_x_in") if key in load]
            found += [(member["id"], share * math.dist(first, second)) for share in shares if 0 <= share <= 1]
    return found


def closer(seed: int) -> dict[str, Any]:
    """A random truss whose loads begin and end within thousandths of an inch of one another and of joints."""
    truss, rng = random_truss(seed), np.random.default_rng(seed)
    xs = sorted(xy[0] for xy in truss["joints"].values())
    for load in truss["loads"]["area"][2:]:
        near = float(rng.choice(xs[:-1]))
        load["from_x_in"] = near + float(10 ** rng.uniform(-6, -2))
        load["to_x_in"] = load["from_x_in"] + float(rng.choice([1e-3, 5.0, 50.0]))
    for load in truss["loads"]["line"]:
        load["from_in"] = float(10 ** rng.uniform(-6, -2))
    for load, line in zip(truss["loads"]["point"], truss["loads"]["line"], strict=False):
        if "member" in load:
            load["member"], load["at_in"] = line["member"], line["from_in"] * float(rng.choice([0.5, 1.5]))
    return truss
