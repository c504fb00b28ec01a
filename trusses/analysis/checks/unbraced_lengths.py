"""How far each member runs between what holds it: the lengths that buckling and lateral stability take.

All from the document: in the plane by what meets a chord at its joints, out of it by the lateral restraint. For a stack
of trusses of one shape: arrays are (m, t), members and trusses.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from trusses.analysis.format.model import CHORDS, ROLES, Truss
from trusses.analysis.frame.geometry import Geometry
from trusses.analysis.frame.topology import Topology

Array = npt.NDArray[np.float64]

#: A chord that turns by less than this (sine of the angle, about 3°) runs straight on: the bend alone holds nothing.
_STRAIGHT = 0.05


@dataclass(frozen=True)
class Lengths:
    """Unsupported lengths in inches, (m, t) each.

    `in_plane`, `out_of_plane` are le of a compression member, Ke = 1. `upper`, `lower` are lu of a member in bending
    where its upper or its lower edge is the one in compression. 0 is held throughout.
    """

    in_plane: Array
    out_of_plane: Array
    upper: Array
    lower: Array


def lengths(trusses: Sequence[Truss], shape: Topology, place: Geometry) -> Lengths:
    """The unsupported lengths of every member.

    A chord's restraint holds its outer edge, a top chord's upper and a bottom chord's lower one. Without a stated
    spacing a chord is held at its ends only: le is then the whole run of connected pieces of that role.
    """
    between, whole_chord = _between(shape, place), _sums(_chords(shape)[0], place.length)
    out_of_plane, upper, lower = between.copy(), between.copy(), between.copy()
    for role, edge in zip(CHORDS, (upper, lower), strict=True):
        spacing = [truss.lateral_restraint.spacing(role) for truss in trusses]
        most = np.array([np.inf if one is None else one for one in spacing])
        which = shape.roles == ROLES.index(role)
        edge[which] = out_of_plane[which] = np.minimum(most, whole_chord[which])
    for t, truss in enumerate(trusses):
        for web, rows in truss.lateral_restraint.webs.items():
            m = truss.member_index[web]
            if not truss.members[m].is_chord:
                out_of_plane[m, t] = between[m, t] / (rows + 1)
    return Lengths(between, out_of_plane, upper, lower)


@lru_cache(maxsize=256)
def _chords(shape: Topology) -> tuple[npt.NDArray[np.int64], list[tuple[int, int, int]]]:
    """Which run of connected pieces of one role each member is in (m,), and the bare joints, where nothing but two
    pieces of one chord meet: the joint and the two members."""
    webs = {m for m, role in enumerate(shape.roles.tolist()) if ROLES[role] not in CHORDS}
    pairs, bare = [], []
    for joint in range(shape.joints):
        meeting = np.flatnonzero((shape.ends == joint).any(axis=1)).tolist()
        for i, one in enumerate(meeting):
            alike = [other for other in meeting[i + 1 :] if shape.roles[other] == shape.roles[one] and one not in webs]
            pairs += [(one, other) for other in alike]
            if len(meeting) == 2:
                bare += [(joint, one, other) for other in alike]
    return _joined(len(shape.ends), pairs), bare


def _joined(count: int, pairs: Iterable[tuple[int, int]]) -> npt.NDArray[np.int64]:
    """A number for each of the members, the same for those that pairs join."""
    run = np.arange(count)
    for one, other in pairs:
        run[run == run[other]] = run[one]
    return run


def _sums(run: npt.NDArray[np.int64], length: Array) -> Array:
    """The length of the run that each member is in, (m, t)."""
    total = np.zeros_like(length)
    np.add.at(total, run, length)
    return total[run]


def _between(shape: Topology, place: Geometry) -> Array:
    """The length of each member, or of the run of pieces that goes on through joints which don't hold the chord."""
    bare = _chords(shape)[1]
    # most chords have a web, a bearing or the other chord at every joint: then nothing runs on
    if not bare:
        return place.length
    runs_on = np.array([_runs_on(shape, place, *joint) for joint in bare])
    if not runs_on.any():
        return place.length
    out = place.length.copy()
    for t in np.flatnonzero(runs_on.any(axis=0)):
        pairs = [(one, other) for (_, one, other), on in zip(bare, runs_on[:, t], strict=True) if on]
        out[:, t : t + 1] = _sums(_joined(len(out), pairs), place.length[:, t : t + 1])
    return out


def _runs_on(shape: Topology, place: Geometry, joint: int, one: int, other: int) -> npt.NDArray[np.bool_]:
    """Whether the joint between two pieces of a chord leaves it free in the truss's plane, (t,): it runs straight on,
    and no bearing keeps it from moving across its own length."""
    a, b = (place.along[:, m] * (1.0 if shape.ends[m, 0] == joint else -1.0) for m in (one, other))
    turn, opposite = a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1] < 0
    right, up = shape.held[shape.bearings == joint].any(axis=0)
    held = np.where(np.abs(a[0]) >= np.abs(a[1]), up, right)
    return opposite & (np.abs(turn) < _STRAIGHT) & ~held
