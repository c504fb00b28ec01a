"""How far each member runs between what holds it: the lengths that buckling and lateral stability take.

All from the document: in the plane by what meets a chord at its joints, out of it by the lateral restraint.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trusses.analysis.model import Member, Truss

#: A chord that turns by less than this (sine of the angle, about 3°) runs straight on: the bend alone holds nothing.
_STRAIGHT = 0.05


@dataclass(frozen=True)
class Lengths:
    """Unsupported lengths in inches, (m,) each, in the order of the truss's members.

    `in_plane`, `out_of_plane` are le of a compression member, Ke = 1. `upper`, `lower` are lu of a member in bending
    where its upper or its lower edge is the one in compression. 0 is held throughout.
    """

    in_plane: npt.NDArray[np.float64]
    out_of_plane: npt.NDArray[np.float64]
    upper: npt.NDArray[np.float64]
    lower: npt.NDArray[np.float64]


def lengths(truss: Truss) -> Lengths:
    """The unsupported lengths of every member.

    A chord's restraint holds its outer edge, a top chord's upper and a bottom chord's lower one. Without a stated
    spacing a chord is held at its ends only: le is then the whole run of connected pieces of that role.
    """
    own = np.array([truss.length(member) for member in truss.members])
    between_joints = own
    # most chords have a web, a bearing or the other chord at every joint: then nothing runs on
    if any(not _held(truss, joint, member) for joint, member in _bare(truss)):
        between_joints = _runs(truss, own, lambda joint, member: not _held(truss, joint, member))
    whole_chord = _runs(truss, own, lambda joint, member: True)
    out_of_plane, upper, lower = between_joints.copy(), between_joints.copy(), between_joints.copy()
    for i, member in enumerate(truss.members):
        if not member.is_chord:
            rows = truss.lateral_restraint.webs.get(member.id, 0)
            out_of_plane[i] = between_joints[i] / (rows + 1)
            continue
        spacing = truss.lateral_restraint.spacing(member.role)
        held_edge = whole_chord[i] if spacing is None else min(spacing, whole_chord[i])
        out_of_plane[i] = held_edge
        (upper if member.role == "top_chord" else lower)[i] = held_edge
    return Lengths(between_joints, out_of_plane, upper, lower)


def _bare(truss: Truss) -> Iterator[tuple[str, Member]]:
    """The joints where only two pieces meet, both of one chord, each with one of the pieces."""
    for joint, meeting in truss.members_at.items():
        if len(meeting) == 2 and meeting[0].is_chord and meeting[0].role == meeting[1].role:
            yield joint, meeting[0]


def _runs(
    truss: Truss, own: npt.NDArray[np.float64], runs_on: Callable[[str, Member], bool]
) -> npt.NDArray[np.float64]:
    """The length, for each member, of the run of chord pieces of its role that hang together, inches (m,)."""
    run_of = {member.id: i for i, member in enumerate(truss.members)}
    total = own.copy()
    done: set[str] = set()
    for member in truss.members:
        if member.id in done or not member.is_chord:
            continue
        pieces = {piece.id for piece in _connected(truss, member, runs_on)}
        done |= pieces
        indices = [run_of[piece] for piece in pieces]
        total[indices] = own[indices].sum()
    return total


def _connected(truss: Truss, start: Member, runs_on: Callable[[str, Member], bool]) -> Iterator[Member]:
    seen, waiting = {start.id}, [start]
    while waiting:
        member = waiting.pop()
        yield member
        for joint in member.joints:
            if not runs_on(joint, member):
                continue
            for other in truss.members_at[joint]:
                if other.role == member.role and other.id not in seen:
                    seen.add(other.id)
                    waiting.append(other)


def _held(truss: Truss, joint: str, member: Member) -> bool:
    """Whether a joint holds a chord in the truss's plane: a web, a bearing, the other chord, a bend or an end."""
    meeting = truss.members_at[joint]
    same = [other for other in meeting if other.role == member.role]
    if len(same) != 2 or len(meeting) > 2 or _bears(truss, joint, member):
        return True
    a, b = (_direction(truss, other, joint) for other in same)
    turn = a[0] * b[1] - a[1] * b[0]
    opposite = a[0] * b[0] + a[1] * b[1] < 0
    return not (opposite and abs(turn) < _STRAIGHT)


def _bears(truss: Truss, joint: str, member: Member) -> bool:
    """Whether a bearing at a joint keeps a chord there from moving across its own length."""
    x, y = _direction(truss, member, joint)
    across = "y" if abs(x) >= abs(y) else "x"
    return any(bearing.joint == joint and across in bearing.restrains for bearing in truss.bearings)


def _direction(truss: Truss, member: Member, away_from: str) -> tuple[float, float]:
    first, second = truss.ends(member)
    sign = 1 if first.name == away_from else -1
    length = truss.length(member)
    return sign * (second.x - first.x) / length, sign * (second.y - first.y) / length
