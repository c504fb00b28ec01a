"""Members that would need the same wood: what a truss document is refused for, and what a search must not propose.

A member is a rectangle of its true depth about its centreline, from joint to joint. At a joint the pieces are cut to
each other, so there their rectangles may overlap: along a piece a joint reaches as far as its wood overlaps that of any
other piece that ends there, and one depth of the piece more, though never over the middle half of what is left free.
Beyond that

- a web's wood may go into no other piece's by more than `TOUCH_IN`;
- a chord's may not go into another chord's by more than half of the lesser depth: then a centreline runs in it;
- a web that lies along a piece at its joint overlaps it over no more than `MOST_ALONG` of its own length;
- a joint of webs only lies in the wood of no piece that doesn't end there.

Rounded coordinates, butt cuts, heels, splices a little beside a panel point and webs whose feet stand close together
stay within that. Which limits is this project's choice. Inches.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.lumber import lookup, section
from trusses.analysis.model import Member

Floats = NDArray[np.float64]
Whole = NDArray[np.intp]

#: How far wood may go into other wood: what rounding to 1/16 in. at both ends of two pieces makes.
TOUCH_IN = 1 / 8
#: The share of a web's length over which it may overlap a piece that it meets at a joint.
MOST_ALONG = 0.9
#: Chords that part at a joint at a lesser sine than this (1 degree) lie in one place.
_ONE_PLACE = 0.0175


@dataclass(frozen=True)
class Clash:
    """Two members, by their numbers in the document, that would need the same wood, and how they lie."""

    members: tuple[int, int]
    how: str


@dataclass(frozen=True, eq=False)
class _Pairs:
    """What of a truss's members doesn't depend on where the joints are: who meets whom, and half depths (m,).

    `ends` (2, m) are joints. `meeting` are the pairs at a joint, both ways round and in order of the first one's end;
    `turned` is -1 where they leave the joint in unlike senses of their own directions; `first_of_end` starts each end's
    stretch of them and `met_ends` says which end (0 to 2m) that is. `apart` are the pairs that share no joint, a web
    first where there is one; `into` is by how much the two may go into each other. `loose` are joints of webs only and
    pieces that don't end there.
    """

    ends: Whole
    half: Floats
    web: NDArray[np.bool_]
    meeting: Whole
    turned: Floats
    first_of_end: Whole
    met_ends: Whole
    apart: Whole
    into: Floats
    loose: Whole


@lru_cache(maxsize=128)
def _pairs(members: tuple[Member, ...], names: tuple[str, ...]) -> _Pairs:
    number = {name: i for i, name in enumerate(names)}
    ends = np.array([[number[name] for name in member.joints] for member in members]).T
    half = np.array([section(lookup(member.lumber), member.flat).depth_in / 2 for member in members])
    at: dict[int, list[tuple[int, int]]] = {}
    for (side, member), joint in np.ndenumerate(ends):
        at.setdefault(int(joint), []).append((side, member))
    count = len(members)
    meeting = sorted(
        (side * count + i, i, j, 1.0 if side == other else -1.0)
        for held in at.values()
        for side, i in held
        for other, j in held
        if i != j
    )
    found = np.array([row[:3] for row in meeting], dtype=np.intp).reshape(-1, 3)
    starts = np.flatnonzero(np.diff(found[:, 0], prepend=-1))
    joined = {frozenset((i, j)) for _, i, j, _ in meeting}
    web = np.array([not member.is_chord for member in members])
    apart = [
        (i, j) if web[i] or not web[j] else (j, i)
        for i, j in combinations(range(count), 2)
        if frozenset((i, j)) not in joined
    ]
    pairs = np.array(apart, dtype=np.intp).reshape(-1, 2).T
    into = np.where(web[pairs[0]], TOUCH_IN, half[pairs].min(axis=0))
    loose = [
        (joint, j)
        for joint, held in at.items()
        if all(web[i] for _, i in held)
        for j in range(count)
        if j not in {i for _, i in held}
    ]
    return _Pairs(
        ends,
        half,
        web,
        found[:, 1:].T,
        np.array([row[3] for row in meeting]),
        starts,
        found[starts, 0],
        pairs,
        into,
        np.array(loose, dtype=np.intp).reshape(-1, 2).T,
    )


def clashes(members: tuple[Member, ...], names: tuple[str, ...], xy: Floats) -> tuple[Clash, ...]:
    """The clashes of members whose joints `names` are at `xy` (2, j); none of them has no length."""
    return tuple(_clashes(_pairs(members, names), xy))


def _clashes(of: _Pairs, xy: Floats) -> Iterator[Clash]:
    start, end = xy[:, of.ends[0]], xy[:, of.ends[1]]
    run = end - start
    length = np.hypot(*run)
    ux, uy = run / length
    half, web = of.half, of.web
    # along each piece, how far its wood overlaps that of the pieces at its two ends
    i, j = of.meeting
    cosine = of.turned * (ux[i] * ux[j] + uy[i] * uy[j])
    sine = np.abs(ux[i] * uy[j] - uy[i] * ux[j])
    reach = np.where(cosine > 0, (half[j] + half[i] * cosine) / np.maximum(sine, 1e-9), half[j] * sine)
    along = web[i] & (reach > MOST_ALONG * length[i]) & (reach > 2 * (half[i] + half[j]))
    along |= ~web[i] & ~web[j] & (cosine > 0) & (sine < _ONE_PLACE)
    for pair in np.flatnonzero(along):
        yield Clash((int(i[pair]), int(j[pair])), "along")
    zones = np.zeros(2 * len(half))
    zones[of.met_ends] = np.maximum.reduceat(reach, of.first_of_end)
    zones = zones.reshape(2, -1)
    free = length - zones.sum(axis=0)
    zones += np.minimum(2 * half, np.maximum(free, 0.0) / 4)
    # the part of a web beyond its joints; chords are whole, since webs are cut at them
    zones = np.where(web, zones, 0.0)
    kept = np.maximum(length - zones.sum(axis=0), 0.0) / 2
    middle = (zones[0] + length - zones[1]) / 2
    x, y = start[0] + ux * middle, start[1] + uy * middle
    i, j = of.apart
    # two rectangles overlap by the least of what they overlap by along the four directions of their sides
    dx, dy = x[j] - x[i], y[j] - y[i]
    cosine, sine = np.abs(ux[i] * ux[j] + uy[i] * uy[j]), np.abs(ux[i] * uy[j] - uy[i] * ux[j])
    over = np.minimum(
        np.minimum(
            kept[i] + kept[j] * cosine + half[j] * sine - np.abs(dx * ux[i] + dy * uy[i]),
            half[i] + kept[j] * sine + half[j] * cosine - np.abs(dx * uy[i] - dy * ux[i]),
        ),
        np.minimum(
            kept[j] + kept[i] * cosine + half[i] * sine - np.abs(dx * ux[j] + dy * uy[j]),
            half[j] + kept[i] * sine + half[i] * cosine - np.abs(dx * uy[j] - dy * ux[j]),
        ),
    )
    for pair in np.flatnonzero((over > of.into) & (kept[i] > 0) & (kept[j] > 0)):
        yield Clash((int(i[pair]), int(j[pair])), "through")
    joint, j = of.loose
    if len(j):
        dx, dy = xy[0, joint] - start[0, j], xy[1, joint] - start[1, j]
        on, off = dx * ux[j] + dy * uy[j], np.abs(dx * uy[j] - dy * ux[j])
        inside = (off < half[j] - TOUCH_IN) & (on > 2 * half[j]) & (on < length[j] - 2 * half[j])
        for pair in np.flatnonzero(inside):
            yield Clash((int(joint[pair]), int(j[pair])), "joint")
