"""The stiffness of a stack of trusses of one shape as a band, member by member, and its Cholesky factorisation.

Every member knows six displacements: u₁ u₂ v₁ v₂ (right and up) and the rotations ψ₁ ψ₂ of its ends. `Places` says
where each of them stands among the unknowns: in the solver's order, those that bearings hold after them, and last one
more, always zero, for the rotation that a pinned end doesn't share. So nothing here grows faster than the truss.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from trusses.analysis.solver.geometry import Geometry
from trusses.analysis.solver.topology import Topology

#: A member's three springs, pull, lean and kink, on its six displacements: which row of `Springs.rows` and what sign.
_SPRINGS: tuple[dict[int, tuple[int, float]], ...] = (
    {0: (0, -1.0), 1: (0, 1.0), 2: (1, -1.0), 3: (1, 1.0)},
    {0: (2, 1.0), 1: (2, -1.0), 2: (3, 1.0), 3: (3, -1.0), 4: (4, 1.0), 5: (4, 1.0)},
    {4: (5, -1.0), 5: (5, 1.0)},
)


@dataclass(frozen=True, eq=False)
class Places:
    """Where a shape's members, joints and entries stand; unknowns are numbered 0 … n - 1, in all N, and one more.

    `at` (6, m) the number of each member's displacements, `joints` (2 j,) of u and v of every joint, `bearings` (2, b)
    of those of every bearing, `shifts` which unknowns are not rotations. The products that make up the band, sorted by
    the entry (n × width) that they add to: `one` and `other` index `Springs.rows`; `starts`
    where each entry's begin, `entries` the entry. `ends` index 6 × m sorted by number, `end_starts` where each
    number's begin. `probe` (n,) is a load at random that no motion escapes.
    """

    free: int
    all: int
    width: int
    at: np.ndarray
    joints: np.ndarray
    bearings: np.ndarray
    shifts: np.ndarray
    one: np.ndarray
    other: np.ndarray
    starts: np.ndarray
    entries: np.ndarray
    ends: np.ndarray
    end_starts: np.ndarray
    probe: np.ndarray


@dataclass(frozen=True)
class Springs:
    """The members of a stack as springs: `stiff` (3, m, t) EA / L, EI / L where both ends are continuous and 3 EI / L
    where any is; `sway` (2, m, t) the lean that an inch to the right and one upward make.

    `rows` (12 m, t) are √C B but for signs, pull to the right and up, lean to the right, up and by turning, kink, then
    the same with the other sign.
    """

    stiff: np.ndarray
    sway: np.ndarray
    rows: np.ndarray


def springs(shape: Topology, place: Geometry) -> Springs:
    """The three ways in which each member deforms, as in `assembly`: pull, kink and lean."""
    count, times = _continuous(shape)
    m, t = place.length.shape
    stiff = (place.stiff / place.length).take(_PULL_KINK_LEAN, axis=0)
    stiff *= times
    sway = place.up * (count / place.length)
    rows, root = np.empty((12, m, t)), np.sqrt(stiff)
    np.multiply(place.along, root[0], out=rows[:2])
    np.multiply(sway, root[2], out=rows[2:4])
    np.multiply(place.hand, root[2], out=rows[4])
    rows[5] = root[1]
    np.negative(rows[:6], out=rows[6:])
    return Springs(stiff, sway, rows.reshape(12 * m, t))


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
    products = _products(shape, at)
    low, high = products[:2]
    inside = high < free
    width = int((high - low)[inside].max(initial=0)) + 1
    entry = (low * width + high - low)[inside].astype(int)
    order = np.argsort(entry, kind="stable")
    entries, starts = np.unique(entry[order], return_index=True)
    one, other = products[2:, inside][:, order].astype(int)
    ends = np.argsort(at.ravel(), kind="stable")[: int((at < unknowns).sum())]
    return Places(
        free=free,
        all=unknowns,
        width=width,
        at=at,
        joints=number[: 2 * shape.joints],
        bearings=number[(2 * shape.bearings[:, None] + (0, 1)).T],
        shifts=np.flatnonzero(shape.order < 2 * shape.joints),
        one=one,
        other=other,
        starts=starts,
        entries=entries,
        ends=ends,
        end_starts=np.searchsorted(at.ravel()[ends], np.arange(unknowns)),
        probe=np.random.default_rng(0).standard_normal(free),
    )


def _products(shape: Topology, at: np.ndarray) -> np.ndarray:
    """Every product of two entries of √C B that is not zero whatever the dimensions: the two unknowns, smaller first,
    the two places in `Springs.rows`; (4, products)."""
    m = len(shape.ends)
    count = 2 - shape.pinned.sum(axis=1)
    bends = (np.ones(m, dtype=bool), count > 0, count == 2)
    found = []
    for spring, moves in zip(_SPRINGS, bends, strict=True):
        for first, (row, sign) in spring.items():
            for second, (beside, its) in spring.items():
                if second < first:
                    continue
                there = moves.copy()
                for end in {first, second} & {4, 5}:
                    there &= ~shape.pinned[:, end - 4]
                which = np.flatnonzero(there)
                a, b = at[first, which], at[second, which]
                # the negative of every row stands after them all
                other = beside * m + which + (6 * m if sign * its < 0 else 0)
                found.append(np.stack([np.minimum(a, b), np.maximum(a, b), row * m + which, other]))
    return np.concatenate(found, axis=1)


def stiffness_band(where: Places, of: Springs) -> np.ndarray:
    """K (t, n, width): column j holds K[j, j], K[j + 1, j] …, the lower half of the band."""
    t = of.rows.shape[1]
    band = np.zeros((t, where.free * where.width))
    if len(where.starts):
        products = of.rows.take(where.one, axis=0)
        products *= of.rows.take(where.other, axis=0)
        band[:, where.entries] = np.add.reduceat(products, where.starts, axis=0).T
    return band.reshape(t, where.free, where.width)


def gather(where: Places, values: np.ndarray) -> np.ndarray:
    """Sums of the members' ends (r, 6, m, t) at each unknown, (r, N, t)."""
    r, six, m, t = values.shape
    return np.add.reduceat(values.reshape(r, six * m, t).take(where.ends, axis=1), where.end_starts, axis=1)


def solve_band(band: np.ndarray, sides: np.ndarray) -> np.ndarray:
    """Overwrites `sides` (t, r, n) with x in K x = sides, and K (t, n, width); whether there is a solution, (t,)."""
    # scipy takes a tenth of a second to import, which only those pay who solve
    from scipy.linalg.lapack import dpbsv

    found = np.ones(len(band), dtype=bool)
    for t, (matrix, side) in enumerate(zip(band, sides, strict=True)):
        if dpbsv(matrix.T, side.T, lower=1, overwrite_ab=1, overwrite_b=1)[2]:
            found[t], side[:] = False, 0.0
    return found
