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

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.format.model import Member, Truss
from trusses.analysis.format.strict import DocumentError, place
from trusses.analysis.lumber import lookup, section
from trusses.analysis.words.given import quoted

Floats = NDArray[np.float64]
Whole = NDArray[np.intp]

#: How far wood may go into other wood: what rounding to 1/16 in. at both ends of two pieces makes.
TOUCH_IN = 1 / 8
#: The share of a web's length over which it may overlap a piece that it meets at a joint.
MOST_ALONG = 0.9
#: From this share on a person is told of it.
TOLD_ALONG = 0.5
#: Chords that leave a joint within an angle of 1 degree lie in one place.
_ONE_WAY = math.cos(math.radians(1))


_PAIRS_KEPT = 128


@dataclass(frozen=True, slots=True)
class Clash:
    """Two pieces that would need the same wood. `how`: a piece goes "through" another one, lies "along" one that it
    meets at a joint, or a "joint" lies in a piece's wood. `first` and `second` are numbers of members (of a joint and a
    member where `how` is "joint"), `at` is where, x and y in inches."""

    how: str
    first: int
    second: int
    at: tuple[float, float]


def clashes(members: tuple[Member, ...], names: tuple[str, ...], xy: Floats) -> tuple[Clash, ...]:
    """The clashes of members whose joints `names` are at `xy` (2, j); none of the members may be without length."""
    return tuple(_clashes(_pairs_of(members, names), xy))


def lying(members: tuple[Member, ...], names: tuple[str, ...], xy: Floats) -> dict[int, tuple[int, float]]:
    """Webs that lie in the wood of a piece that they meet over so much of their length that a person is told, though
    not so much that it is a clash: by the number of each the other piece, and that share of the length."""
    pairs = _pairs(members, names)
    _, run, _, reach = _reaches(pairs, xy)
    share = np.where(reach > pairs.web_reach, reach / np.abs(run)[pairs.one], 0.0)
    told: dict[int, tuple[int, float]] = {}
    for pair in np.flatnonzero((share > TOLD_ALONG) & (share <= MOST_ALONG)):
        web, most = int(pairs.one[pair]), float(share[pair])
        if most > told.get(web, (0, 0.0))[1]:
            told[web] = int(pairs.met[pair]), most
    return told


def pieces_of(clash: Clash, truss: Truss) -> list[str]:
    """The two pieces of a clash by name."""
    first = f"joint {truss.joints[clash.first].name}" if clash.how == "joint" else truss.members[clash.first].id
    return [first, truss.members[clash.second].id]


def refused(clash: Clash, truss: Truss) -> DocumentError:
    """The refusal of a document for a clash."""
    other = truss.members[clash.second].id
    if clash.how == "joint":
        joint = truss.joints[clash.first].name
        return DocumentError("joint-in-wood", place(("joints", joint)), joint=joint, member=other)
    first = truss.members[clash.first]
    at = f"members[{clash.first}] ({quoted(first.id)[1:-1]})"
    if clash.how == "along":
        met = next(name for name in first.joints if name in truss.members[clash.second].joints)
        return DocumentError("along-wood", at, member=other, joint=met)
    start, _ = truss.ends(first)
    away = math.dist(clash.at, (start.x, start.y))
    return DocumentError("through-wood", at, member=other, joint=start.name, away_in=away)


@dataclass(frozen=True, eq=False)
class _Pairs:
    """What of a truss's members doesn't depend on where the joints are; h are half depths.

    `ends` (2, m) are joints. `one` and `met` (p,) are the pairs at a joint, both ways round, in the order of the ends
    of `one`; `turned` (p,) is -1 where one of them comes to the joint and the other leaves it; `web_reach` (p,) is the
    overlap along a web below which it isn't looked at, infinite for chords; `chords` (p,) are pairs of chords.
    `ends_met` are the ends, numbered side by side, that meet others; `first_met` where each one's pairs begin.
    `i` and `j` (q,) are the pairs that share no joint, a web first where there is one; `into` (q,) is how far they may
    go into each other. `loose` (2, r) are joints of webs only with each member that doesn't end there.
    """

    ends: Whole
    h: Floats
    web: NDArray[np.bool_]
    one: Whole
    met: Whole
    turned: Floats
    h_one: Floats
    h_met: Floats
    web_reach: Floats
    chords: NDArray[np.bool_]
    ends_met: Whole
    first_met: Whole
    i: Whole
    j: Whole
    h_i: Floats
    h_j: Floats
    into: Floats
    loose: Whole


_last: dict[int, tuple[tuple[Member, ...], tuple[str, ...], _Pairs]] = {}


def _pairs_of(members: tuple[Member, ...], names: tuple[str, ...]) -> _Pairs:
    """`_pairs`, known by the tuple itself where many trusses share it: to compare it takes longer than to look."""
    held = _last.get(id(members))
    if held is not None and held[0] is members and held[1] is names:
        return held[2]
    if len(_last) >= _PAIRS_KEPT:
        _last.clear()
    _last[id(members)] = members, names, (found := _pairs(members, names))
    return found


@lru_cache(maxsize=_PAIRS_KEPT)
def _pairs(members: tuple[Member, ...], names: tuple[str, ...]) -> _Pairs:
    number = {name: i for i, name in enumerate(names)}
    ends = np.array([[number[name] for name in member.joints] for member in members]).T
    h = np.array([depth_of(member.lumber, member.flat) / 2 for member in members])
    web = np.array([not member.is_chord for member in members])
    count = len(members)
    # side and member by side and member: whether these ends are at one joint
    same = ends[:, :, None, None] == ends[None, None]
    same[:, range(count), :, range(count)] = False
    side, one, other_side, met = np.nonzero(same)
    end = side * count + one
    first_met = np.flatnonzero(np.diff(end, prepend=-1))
    a, b = np.nonzero(np.triu(~same.any(axis=(0, 2)), 1))
    i, j = np.where(web[a] | ~web[b], (a, b), (b, a))
    held = np.zeros(len(names), dtype=bool)
    held[ends[:, ~web]] = True
    loose = [(joint, k) for joint in np.flatnonzero(~held) for k in np.flatnonzero((ends != joint).all(axis=0))]
    return _Pairs(
        ends,
        h,
        web,
        one,
        met,
        np.where(side == other_side, 1.0, -1.0),
        h[one],
        h[met],
        np.where(web[one], 2 * (h[one] + h[met]), np.inf),
        ~web[one] & ~web[met],
        end[first_met],
        first_met,
        i,
        j,
        h[i],
        h[j],
        np.where(web[i], TOUCH_IN, np.minimum(h[i], h[j])),
        np.array(loose, dtype=np.intp).reshape(-1, 2).T,
    )


@lru_cache(maxsize=512)
def depth_of(lumber: str, flat: bool) -> float:
    """A piece's depth in the truss's plane, inches."""
    return section(lookup(lumber), flat).depth_in


def _reaches(pairs: _Pairs, xy: Floats) -> tuple[NDArray[np.complex128], NDArray[np.complex128], Floats, Floats]:
    """Points and directions as complex numbers, of which conj(u) v has the cosine and the sine from u to v: the joints,
    each piece from its first joint to its second, and of each pair at a joint the cosine between them and how far from
    the joint the wood of the one overlaps that of the other."""
    joints = xy[0] + 1j * xy[1]
    run = joints[pairs.ends[1]] - joints[pairs.ends[0]]
    u = run / np.abs(run)
    between = u.conj()[pairs.one] * u[pairs.met]
    cosine, sine = pairs.turned * between.real, np.abs(between.imag)
    reach = np.where(cosine > 0, (pairs.h_met + pairs.h_one * cosine) / np.maximum(sine, 1e-9), pairs.h_met * sine)
    return joints, run, cosine, reach


def _clashes(pairs: _Pairs, xy: Floats) -> Iterator[Clash]:
    joints, run, cosine, reach = _reaches(pairs, xy)
    start, length = joints[pairs.ends[0]], np.abs(run)
    u = run / length
    back = u.conj()
    along = (reach > pairs.web_reach) & (reach > MOST_ALONG * length[pairs.one])
    along |= pairs.chords & (cosine > _ONE_WAY)
    for pair in np.flatnonzero(along):
        one = int(pairs.one[pair])
        yield _clash("along", one, int(pairs.met[pair]), start[one] + run[one] / 2)
    # what is left of webs beyond their joints; chords stay whole, since webs are cut to them
    taken = np.zeros(2 * len(u))
    if len(reach):
        taken[pairs.ends_met] = np.maximum.reduceat(reach, pairs.first_met)
    first, last = taken.reshape(2, -1)
    more = np.minimum(2 * pairs.h, np.maximum(length - first - last, 0.0) / 4)
    first, last = (first + more) * pairs.web, (last + more) * pairs.web
    kept = np.maximum(length - first - last, 0.0) / 2
    middle = start + u * (first + kept)
    # only those whose upright boxes meet can meet
    wide, high = np.abs(u.real), np.abs(u.imag)
    wide, high = kept * wide + pairs.h * high, kept * high + pairs.h * wide
    close = np.flatnonzero(_meet(pairs, middle.real, wide) & _meet(pairs, middle.imag, high))
    # two rectangles overlap by the least of what they overlap by along the directions of their four sides
    i, j, h_i, h_j = pairs.i[close], pairs.j[close], pairs.h_i[close], pairs.h_j[close]
    off, back_i, u_j = middle[j] - middle[i], back[i], u[j]
    between, from_i, from_j = back_i * u_j, off * back_i, off * u_j.conj()
    cosine, sine = np.abs(between.real), np.abs(between.imag)
    kept_i, kept_j = kept[i], kept[j]
    over = np.minimum(
        np.minimum(
            h_i + kept_j * sine + h_j * cosine - np.abs(from_i.imag),
            h_j + kept_i * sine + h_i * cosine - np.abs(from_j.imag),
        ),
        np.minimum(
            kept_i + kept_j * cosine + h_j * sine - np.abs(from_i.real),
            kept_j + kept_i * cosine + h_i * sine - np.abs(from_j.real),
        ),
    )
    for pair in np.flatnonzero(over > pairs.into[close]):
        one, other = int(i[pair]), int(j[pair])
        if kept_i[pair] > 0 and kept_j[pair] > 0 and not _one_heel(pairs, u, one, other):
            yield _clash("through", one, other, _crossing(start[one], run[one], start[other], run[other]))
    if pairs.loose.size:
        joint, other = pairs.loose
        off = (joints[joint] - start[other]) * back[other]
        margin = 2 * pairs.h[other]
        inside = np.abs(off.imag) < pairs.h[other] - TOUCH_IN
        inside &= (off.real > margin) & (off.real < length[other] - margin)
        for pair in np.flatnonzero(inside):
            yield _clash("joint", int(joint[pair]), int(other[pair]), joints[joint[pair]])


def _meet(pairs: _Pairs, middle: Floats, half: Floats) -> NDArray[np.bool_]:
    """Whether the extents of two members along an axis overlap, of each pair that shares no joint."""
    i, j = pairs.i, pairs.j
    meets: NDArray[np.bool_] = np.abs(middle.take(j) - middle.take(i)) < half.take(i) + half.take(j)
    return meets


def _one_heel(pairs: _Pairs, u: NDArray[np.complex128], one: int, other: int) -> bool:
    """Whether two chords are pieces of straight runs that meet at a joint, as those beside a heel do."""
    if pairs.web[one] or abs((u[one].conj() * u[other]).real) > _ONE_WAY:
        return False
    return not _run(pairs, u, one).isdisjoint(_run(pairs, u, other))


def _run(pairs: _Pairs, u: NDArray[np.complex128], member: int) -> set[int]:
    """The joints of a chord and of the chords that go straight on from it."""
    found, waiting = {member}, [member]
    while waiting:
        here = waiting.pop()
        meeting = (pairs.one == here) & pairs.chords
        on = meeting & (pairs.turned * (u[pairs.one].conj() * u[pairs.met]).real < -_ONE_WAY)
        waiting += (new := set(pairs.met[on].tolist()) - found)
        found |= new
    return set(pairs.ends[:, sorted(found)].ravel().tolist())


def _clash(how: str, first: int, second: int, at: complex) -> Clash:
    return Clash(how, first, second, (float(at.real), float(at.imag)))


def _crossing(start: complex, run: complex, other: complex, other_run: complex) -> complex:
    """The point of one centreline that is nearest to where it crosses another one, or to the middle of that."""
    across = (run.conjugate() * other_run).imag
    if abs(across) > 1e-9 * abs(run) * abs(other_run):
        share = ((other - start).conjugate() * other_run).imag / across
    else:
        share = ((other + other_run / 2 - start) / run).real
    return start + run * min(max(share, 0.0), 1.0)
