"""Findings on the shape, the supports, the wood and the restraint of a truss, from the document alone."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from trusses.analysis.checks.check import Finding
from trusses.analysis.format.model import CHORDS, Bearing, Member, Role, Truss
from trusses.analysis.loads.arrangements import open_panels
from trusses.analysis.lumber import lookup

#: A chord that turns by more than this sine (about 1/2°) at a joint can't be one straight piece of wood.
_BENT = 0.01
#: A heel farther than this from the bearing is a cantilever, not a heel set off its wall, inches.
_HEEL_REACH = 24.0


def shape_findings(truss: Truss) -> Iterator[Finding]:
    """What geometry, supports and lumber show without any force."""
    yield from _supports(truss)
    yield from _bends_and_splices(truss)
    yield from _chase_splices(truss)
    yield from _wood(truss)
    yield from _restraint(truss)


def _supports(truss: Truss) -> Iterator[Finding]:
    holding = [bearing for bearing in truss.bearings if "x" in bearing.restrains]
    for a, b in itertools.combinations(holding, 2):
        if _one_end(truss, a, b):
            yield Finding(
                "x-couple",
                f"The bearings at {a.joint} and {b.joint} both hold the same end sideways, one above the other:"
                " together they fix that end against turning as no wall does, and the rest looks stronger than it is.",
                f"bearings {a.joint}, {b.joint}",
            )
        else:
            yield Finding(
                "thrust",
                f"The bearings at {a.joint} and {b.joint} both hold sideways: the truss then leans on its walls like"
                " an arch, and the numbers are true only if both walls can take that push.",
                f"bearings {a.joint}, {b.joint}",
            )


def _one_end(truss: Truss, a: Bearing, b: Bearing) -> bool:
    first, second = truss.joint(a.joint), truss.joint(b.joint)
    return abs(first.x - second.x) <= abs(first.y - second.y)


def heels_off(truss: Truss) -> Iterator[tuple[int, float]]:
    """Bearings under the bottom chord alone, with the crossing of the chords near but not over them: which, and how far
    it is from the bearing's middle, inches."""
    meets = {name: {member.role for member in members} for name, members in truss.members_at.items()}
    heels = [truss.joint(name) for name, roles in meets.items() if set(CHORDS) <= roles]
    for i, bearing in enumerate(truss.bearings):
        if "y" not in bearing.restrains or meets[bearing.joint] != {"bottom_chord"} or not heels:
            continue
        x = truss.joint(bearing.joint).x
        off = min((abs(heel.x - x) for heel in heels), default=math.inf)
        if bearing.width_in / 2 < off <= _HEEL_REACH:
            yield i, off


def _bends_and_splices(truss: Truss) -> Iterator[Finding]:
    for joint, role, (a, b) in _through_joints(truss):
        if joint in truss.hinges:
            continue
        if abs(_turn(truss, joint, a, b)) > _BENT:
            yield Finding(
                "chord-bend",
                f"The {_words(role)} changes direction at {joint}, which isn't a hinge: no piece of wood runs around a"
                " bend, so that the moment it carries there is not to be counted on.",
                f"joint {joint}",
            )
        elif a.lumber != b.lumber or a.flat != b.flat:
            yield Finding(
                "splice-not-hinged",
                f"The {_words(role)} changes from {a.lumber} to {b.lumber} at {joint}, which isn't a hinge: the two"
                " pieces are taken to carry moment into each other, and a plated splice isn't checked for that.",
                f"joint {joint}",
            )


def _chase_splices(truss: Truss) -> Iterator[Finding]:
    for start, end in open_panels(truss):
        for role in CHORDS:
            joints = {name for member in truss.members if member.role == role for name in member.joints}
            run = sorted(joints, key=lambda name: truss.joint(name).x)
            inside = [i for i, name in enumerate(run) if start - 1e-6 <= truss.joint(name).x <= end + 1e-6]
            near = run[max(0, inside[0] - 1) : inside[-1] + 2] if inside else []
            through = {joint for joint, of, _ in _through_joints(truss) if of == role}
            for joint in (name for name in near if name in truss.hinges and name in through):
                yield Finding(
                    "chase-splice",
                    f"The {_words(role)} has a hinge or splice at {joint}, in the chase panel or the panel beside it:"
                    " there the chords carry the shear by bending and must run through in one piece.",
                    f"joint {joint}",
                )


def _through_joints(truss: Truss) -> Iterator[tuple[str, Role, tuple[Member, Member]]]:
    """The joints at which one chord runs through, and the two pieces that meet there."""
    for joint, members in truss.members_at.items():
        for role in CHORDS:
            same = [member for member in members if member.role == role]
            if len(same) == 2:
                yield joint, role, (same[0], same[1])


def _turn(truss: Truss, joint: str, a: Member, b: Member) -> float:
    """The sine of the angle by which a chord turns at a joint; 1 where it turns back on itself."""
    (ax, ay), (bx, by) = (_away(truss, joint, member) for member in (a, b))
    return 1.0 if ax * bx + ay * by >= 0 else ax * by - ay * bx


def _away(truss: Truss, joint: str, member: Member) -> tuple[float, float]:
    first, second = truss.ends(member)
    here, there = (first, second) if first.name == joint else (second, first)
    length = truss.length(member)
    return (there.x - here.x) / length, (there.y - here.y) / length


def _wood(truss: Truss) -> Iterator[Finding]:
    if truss.plies > 1 and not truss.ply_fastening:
        yield Finding(
            "ply-fastening",
            f"The document doesn't say how the {truss.plies} plies are fastened to each other: each is checked as"
            " buckling sideways by itself, and without fastening they don't share the load either.",
            "ply_fastening",
        )
    notes: dict[str, list[str]] = {}
    for member in truss.members:
        if note := lookup(member.lumber).note:
            notes.setdefault(note, []).append(member.id)
    for note, members in notes.items():
        yield Finding(
            "lumber-values", f"{note} Check it against the grading rules before use.", f"members {', '.join(members)}"
        )


def _restraint(truss: Truss) -> Iterator[Finding]:
    for role in CHORDS:
        if truss.lateral_restraint.spacing(role) is None and any(member.role == role for member in truss.members):
            yield Finding(
                "restraint-unstated",
                f"The document states no lateral restraint of the {_words(role)}: it is taken as held sideways at its"
                " ends only.",
                f"lateral_restraint {role}",
            )
    for web, rows in truss.lateral_restraint.webs.items():
        if rows > 0:
            row = "1 row" if rows == 1 else f"{rows} rows"
            yield Finding(
                "web-restraint",
                f"{web} relies on {row} of lateral restraint: that works only where like webs of the neighboring"
                " trusses carry the row on and it is braced diagonally, and a change that takes this web out of its"
                " row touches the neighbors too.",
                f"member {web}",
            )


def _words(role: str) -> str:
    return role.replace("_", " ")
