"""The stiffness of a stack of trusses of one shape as a band, member by member, and its Cholesky factorisation.

Every member knows six displacements: u₁ u₂ v₁ v₂ (right and up) and the rotations ψ₁ ψ₂ of its ends. `Places` says
where each of them stands among the unknowns: in the solver's order, those that bearings hold after them, and last one
more, always zero, for the rotation that a pinned end doesn't share. So nothing here grows faster than the truss.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple, cast

import numpy as np

from trusses.analysis.frame.geometry import Geometry
from trusses.analysis.frame.member_loads import Loaded
from trusses.analysis.frame.topology import Topology

#: A member's own stiffness on its six displacements, the upper half: what stands where, by the names of `_ROWS`.
_OWN = """
    +uu -uu +uv -uv +uψ +uψ
        +uu -uv +uv -uψ -uψ
            +vv -vv +vψ +vψ
                +vv -vψ -vψ
                    +ψψ +ψφ
                        +ψψ
"""
#: What `Springs.rows` are: these, then the first five with the other sign.
_ROWS = ("uu", "uv", "vv", "uψ", "vψ", "ψψ", "ψφ")


@dataclass(frozen=True, eq=False)
class Places:
    """Where a shape's members, joints and entries stand; unknowns are numbered 0 … n - 1, in all N, and one more.

    `at` (6, m) the number of each member's displacements, `joints` (2 j,) of u and v of every joint, `bearings` (2, b)
    of those of every bearing, `shifts` which unknowns are not rotations. What makes up the band, sorted by the entry
    (n × width) that it adds to: `terms` index `Springs.rows`, `starts` say where each entry's begin, `entries` the
    entry. `probe` (n,) is a load at random that no motion escapes.
    """

    free: int
    all: int
    width: int
    at: np.ndarray
    joints: np.ndarray
    bearings: np.ndarray
    shifts: np.ndarray
    terms: np.ndarray
    starts: np.ndarray
    entries: np.ndarray
    probe: np.ndarray


class Springs(NamedTuple):
    """The members of a stack as springs: `stiff` (3, m, t) EA / L, EI / L where both ends are continuous and 3 EI / L
    where any is. `ways` (2, 2, m, t) are the stretch and the lean where the second end is an inch to the right and an
    inch up of where it was, and `per_inch` (m, t) the lean of an inch toward the upper face.

    `rows` (12 m, t) are what the stiffness is put together from: `_ROWS` of every member, ψφ that of its two rotations.
    """

    stiff: np.ndarray
    ways: np.ndarray
    per_inch: np.ndarray
    rows: np.ndarray


def springs(shape: Topology, place: Geometry) -> Springs:
    """The three ways in which each member deforms, as in `assembly`: pull, kink and lean."""
    count, times = _continuous(shape)
    m, t = place.length.shape
    stiff = (place.stiff / place.length).take(_PULL_KINK_LEAN, axis=0)
    stiff *= times
    pull, kink, lean = stiff
    per_inch = count / place.length
    ways = np.empty((2, 2, m, t))
    ways[0] = place.along
    sway = np.multiply(place.up, per_inch, out=ways[1])
    across = lean * per_inch
    across *= per_inch
    rows = np.empty((12, m, t))
    # the upper face is square to the length, so its unit vector's squares are the other one's
    square = place.along * place.along
    np.multiply(square, pull, out=rows[0:3:2])
    square *= across
    rows[0:3:2] += square[::-1]
    np.multiply(place.along[0], place.along[1], out=rows[1])
    rows[1] *= np.subtract(pull, across, out=across)
    np.multiply(sway, lean * place.hand, out=rows[3:5])
    np.add(lean, kink, out=rows[5])
    np.subtract(lean, kink, out=rows[6])
    np.negative(rows[:5], out=rows[7:])
    return Springs(stiff, ways, per_inch, rows.reshape(12 * m, t))


_PULL_KINK_LEAN = np.array([0, 1, 1])


@lru_cache(maxsize=256)
def _continuous(shape: Topology) -> tuple[np.ndarray, np.ndarray]:
    """At how many ends each member is continuous (m, 1), and how many times EA / L and EI / L its springs are
    (3, m, 1)."""
    count = 2.0 - shape.pinned.sum(axis=1, keepdims=True)
    return count, np.stack([np.ones_like(count), count == 2, 3.0 * (count > 0)])


@lru_cache(maxsize=256)
def places(shape: Topology) -> Places:
    """The places of a shape, remembered with it."""
    unknowns, free = 2 * shape.joints + shape.rotations, len(shape.order)
    number = np.full(unknowns + 1, unknowns)
    number[shape.order] = np.arange(free)
    number[np.setdiff1d(np.arange(unknowns), shape.order)] = np.arange(free, unknowns)
    turn = np.where(shape.turn < 0, unknowns, 2 * shape.joints + shape.turn)
    u = 2 * shape.ends
    at = number[np.stack([u[:, 0], u[:, 1], u[:, 0] + 1, u[:, 1] + 1, turn[:, 0], turn[:, 1]])]
    low, high, terms = _terms(shape, at)
    inside = high < free
    width = int((high - low)[inside].max(initial=0)) + 1
    entry = (low * width + high - low)[inside]
    order = np.argsort(entry, kind="stable")
    entries, starts = np.unique(entry[order], return_index=True)
    return Places(
        free=free,
        all=unknowns,
        width=width,
        at=at,
        joints=number[: 2 * shape.joints],
        bearings=number[(2 * shape.bearings[:, None] + (0, 1)).T],
        shifts=np.flatnonzero(shape.order < 2 * shape.joints),
        terms=terms[inside][order],
        starts=starts,
        entries=entries,
        probe=np.random.default_rng(0).standard_normal(free),
    )


def _terms(shape: Topology, at: np.ndarray) -> np.ndarray:
    """Every entry of the members' own stiffness: the two unknowns, smaller first, and the place in `Springs.rows`;
    (3, terms)."""
    m, found = len(shape.ends), []
    for first, line in enumerate(_OWN.split("\n")[1:7]):
        for second, entry in enumerate(line.split(), first):
            counts = np.ones(m, dtype=bool)
            for end in {first, second} & {4, 5}:
                counts &= ~shape.pinned[:, end - 4]
            which = np.flatnonzero(counts)
            a, b = at[first, which], at[second, which]
            row = _ROWS.index(entry[1:]) + (0 if entry[0] == "+" else len(_ROWS))
            found.append(np.stack([np.minimum(a, b), np.maximum(a, b), row * m + which]))
    return np.concatenate(found, axis=1)


def stiffness_band(unknowns: Places, bars: Springs) -> np.ndarray:
    """K (t, n, width): column j holds K[j, j], K[j + 1, j] …, the lower half of the band."""
    t = bars.rows.shape[1]
    band = np.zeros((t, unknowns.free * unknowns.width))
    if len(unknowns.starts):
        band[:, unknowns.entries] = np.add.reduceat(bars.rows.take(unknowns.terms, axis=0), unknowns.starts, axis=0).T
    return band.reshape(t, unknowns.free, unknowns.width)


@lru_cache(maxsize=256)
def _ends(shape: Topology, on: Loaded) -> tuple[np.ndarray, np.ndarray]:
    """Ends of loaded members as indices of 6 × c sorted by the unknown there, and where each unknown's begin; one that
    no such end is at has the place after them all."""
    unknowns = places(shape)
    at = unknowns.at[:, on.members].ravel()
    none = np.setdiff1d(np.arange(unknowns.all), at)
    number = np.concatenate([at, none])
    order = np.argsort(number, kind="stable")[: int((number < unknowns.all).sum())]
    return np.minimum(order, len(at)), np.searchsorted(number[order], np.arange(unknowns.all))


def gather(shape: Topology, on: Loaded, values: np.ndarray) -> np.ndarray:
    """Sums at each unknown of what stands at the ends of loaded members, (r, 6 c + 1, t) with nothing after them, to
    (r, N, t)."""
    ends, starts = _ends(shape, on)
    return np.add.reduceat(values.take(ends, axis=1), starts, axis=1)


def solve_band(band: np.ndarray, sides: np.ndarray) -> list[int]:
    """Overwrites `sides` (t, r, n) with x in K x = sides, and K (t, n, width); those that have no solution, with 0."""
    dpbsv, unsolved = _dpbsv(), []
    for t, (matrix, side) in enumerate(zip(band.transpose(0, 2, 1), sides.transpose(0, 2, 1), strict=True)):
        if dpbsv(matrix, side, lower=1, overwrite_ab=1, overwrite_b=1)[2]:
            unsolved.append(t)
            side[:] = 0.0
    return unsolved


@lru_cache(maxsize=1)
def _dpbsv() -> Callable[..., tuple[np.ndarray, np.ndarray, int]]:
    # scipy takes a tenth of a second to import, which only those pay who solve
    from scipy.linalg.lapack import dpbsv

    return cast(Callable[..., tuple[np.ndarray, np.ndarray, int]], dpbsv)
