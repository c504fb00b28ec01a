"""How far each member runs between what holds it: the lengths that buckling and lateral stability take.

All from the document: in the plane by what meets a chord at its joints, out of it by the lateral restraint. For a stack
of trusses of one shape: arrays are (m, t), members and trusses.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from trusses.analysis.format.model import CHORDS, ROLES, Truss
from trusses.analysis.frame.geometry import Geometry
from trusses.analysis.frame.topology import Topology

Array = npt.NDArray[np.float64]

#: A chord that turns by less than this (sine of the angle, about 3°) runs straight on: the bend alone holds nothing.
_STRAIGHT = 0.05
#: A chord that is held farther apart than this isn't taken as sheathed, inches.
SHEATHED_SPACING = 24.0
#: A member that reaches into a span by less than this ends at its bearing, inches.
_REACHES = 1e-6

#: From a web's end at a joint that nothing holds into another web at its end there, and how it was chosen.
WebRuns = dict[tuple[int, int], tuple[tuple[int, int], tuple[float, float]]]


class Lengths(NamedTuple):
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
    spacing a chord is held at its ends only: le is then the whole run of connected pieces of that role. Its other edge
    nothing holds but what holds the whole piece: lu there is the distance between joints, and no less than the spacing
    of the restraint, or than the distance between bearings where none is stated. A web runs on sideways through the
    joints of `web_runs`.
    """
    between, whole_chord = _between(shape, place), _sums(_chords(shape)[0], place.length)
    spacings = _spacings(trusses)
    # a web is its own whole, and by this held at its ends alone
    spacing = np.concatenate([spacings, np.full_like(spacings[:1], np.inf)]).take(shape.roles, axis=0)
    held = out_of_plane = np.minimum(spacing, whole_chord)
    if np.isinf(spacings).any():
        spacing = np.where(np.isinf(spacing), _between_bearings(shape, place), spacing)
    other = np.maximum(between, np.minimum(spacing, whole_chord))
    top = shape.roles[:, None] == ROLES.index(CHORDS[0])
    upper, lower = np.where(top, held, other), np.where(top, other, held)
    runs = web_runs(trusses, shape, place)
    for t, truss in enumerate(trusses):
        rows = {truss.member_index[web]: rows for web, rows in truss.lateral_restraint.webs.items()}
        if not runs[t]:
            for m, count in rows.items():
                out_of_plane[m, t] = between[m, t] / (count + 1)
            continue
        for m in {*rows, *(web for web, _ in runs[t])}:
            out_of_plane[m, t] = web_length(m, rows, place.length[:, t], runs[t])
    return Lengths(between, out_of_plane, upper, lower)


def _spacings(trusses: Sequence[Truss]) -> Array:
    """How far apart the chords are held sideways, inches, (2, t); without end where that isn't stated."""
    stated = [(truss.lateral_restraint.top_chord_in, truss.lateral_restraint.bottom_chord_in) for truss in trusses]
    return np.array([[np.inf if one is None else one for one in both] for both in stated]).T


def _between_bearings(shape: Topology, place: Geometry) -> Array:
    """The distance between the bearings beside or below each member, (m, t): the longest of the spans that it reaches
    into, or of all where it reaches into none; without end where there is one bearing only."""
    at = place.xy[:, shape.bearings]
    at = np.take_along_axis(at, at[0].argsort(axis=0, kind="stable")[None], axis=1)
    if at.shape[1] < 2:
        return np.full_like(place.length, np.inf)
    apart = np.hypot(*np.diff(at, axis=1))[:, None]
    left, right = np.minimum(place.first, place.second), np.maximum(place.first, place.second)
    within = (left < at[0, 1:, None] - _REACHES) & (right > at[0, :-1, None] + _REACHES)
    within = within | ~within.any(axis=0, keepdims=True)
    return np.asarray(np.where(within, apart, 0.0).max(axis=0))


def web_runs(trusses: Sequence[Truss], shape: Topology, place: Geometry) -> list[WebRuns]:
    """Where the webs of each truss run on sideways, since nothing holds the joint there: from a web's end into another
    web at its end, as pairs of member and end (0 or 1).

    A joint of webs alone holds nothing: a web runs on into the one that goes on most nearly straight, the longer of two
    that turn alike. A chord's panel point holds a web, unless the web runs straight through into one on the chord's
    other side, and the chord is held sideways farther apart than sheathing would, or nobody said how.
    """
    every = _web_pairs(shape)
    runs: list[WebRuns] = [{} for _ in trusses]
    if not len(every.webs):
        return runs
    (ax, ay), (bx, by) = (place.along.take(every.webs[:, i], axis=1) * every.away[:, i, None] for i in (0, 1))
    along = ax * bx + ay * by
    straight = (along < 0) & (np.abs(ax * by - ay * bx) < _STRAIGHT)
    if every.chords.any(axis=1).all() and not straight.any():
        return runs
    top, bottom = _spacings(trusses) > SHEATHED_SPACING
    # a chord that is held closely holds what stands on it; both chords where both meet there
    free = (top | ~every.chords[:, :1]) & (bottom | ~every.chords[:, 1:])
    goes_on = ~every.chords.any(axis=1, keepdims=True) | (straight & free)
    for pair, t in zip(*goes_on.nonzero(), strict=True):
        (a, b), (end_a, end_b) = every.webs[pair].tolist(), every.ends[pair].tolist()
        for here, onward in (((a, end_a), (b, end_b)), ((b, end_b), (a, end_a))):
            turn = round(float(along[pair, t]), 9), -float(place.length[onward[0], t])
            best = runs[t].get(here)
            if best is None or turn < best[1]:
                runs[t][here] = onward, turn
    return runs


def web_length(web: int, rows: Mapping[int, int], length: Array, runs: WebRuns) -> float:
    """How far a web runs sideways between what holds it, inches, with so many evenly spaced `rows` on each web;
    `length` (m,). On from an end that `runs` into other webs: to the first row there, or to a held joint."""

    def onward(here: tuple[int, int], seen: set[int]) -> float:
        if here not in runs or (next_one := runs[here][0])[0] in seen:
            return 0.0
        m, end = next_one
        piece = float(length[m]) / (rows.get(m, 0) + 1)
        return piece if rows.get(m) else piece + onward((m, 1 - end), seen | {m})

    first, second = (onward((web, end), {web}) for end in (0, 1))
    piece = float(length[web]) / (rows.get(web, 0) + 1)
    return piece + (max(first, second) if rows.get(web) else first + second)


class _WebPairs(NamedTuple):
    """Two webs that meet at a joint without a bearing, where both are alone or stand on a chord: (k, 2) each. `webs`
    and their `ends` there, +1 where a web leads `away` from it and -1 where it leads there, and which `chords` (top,
    bottom) meet there."""

    webs: npt.NDArray[np.int64]
    ends: npt.NDArray[np.int64]
    away: Array
    chords: npt.NDArray[np.bool_]


@lru_cache(maxsize=256)
def _web_pairs(shape: Topology) -> _WebPairs:
    webs, ends, chords = [], [], []
    for joint in set(range(shape.joints)) - set(shape.bearings.tolist()):
        meeting = np.flatnonzero((shape.ends == joint).any(axis=1)).tolist()
        roles = [ROLES[shape.roles[m]] for m in meeting]
        alone = [m for m, role in zip(meeting, roles, strict=True) if role not in CHORDS]
        for pair in itertools.combinations(alone, 2):
            webs.append(pair)
            ends.append([int(shape.ends[m, 1] == joint) for m in pair])
            chords.append([role in roles for role in CHORDS])
    at = np.array(ends, dtype=int).reshape(-1, 2)
    return _WebPairs(
        np.array(webs, dtype=int).reshape(-1, 2), at, 1.0 - 2.0 * at, np.array(chords, dtype=bool).reshape(-1, 2)
    )


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
