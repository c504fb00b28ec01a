"""The stiffness of a stack of trusses of one shape as a band, member by member, and its Cholesky factorisation.

Every member knows six displacements: u₁ v₁ u₂ v₂ (right and up) and the rotations ψ₁ ψ₂ of its ends. `Places` says
where each of them stands among the unknowns: in the solver's order, those that bearings hold after them, and last one
more, always zero, for the rotation that a pinned end doesn't share. So nothing here grows faster than the truss.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from trusses.analysis.solver.member_loads import Geometry
from trusses.analysis.solver.topology import Topology

#: The pairs of a member's displacements, each once.
_FIRST, _SECOND = np.triu_indices(6)


@dataclass(frozen=True)
class Places:
    """Where a shape's members, joints and entries stand; unknowns are numbered 0 … n - 1, in all N, and one more.

    `at` (6, m) the number of each member's displacements, `joints` (2 j,) of u and v of every joint, `shifts` (n,)
    which unknowns are not rotations. `pairs` index a member's 21 pairs × m, sorted by the entry of the band that they
    add to, with `starts` where each entry's begin and `entries` the entry; the band is stored (n, width).
    `ends` index 6 × m sorted by number, `end_starts` where each number's begin.
    """

    free: int
    all: int
    width: int
    at: np.ndarray
    joints: np.ndarray
    shifts: np.ndarray
    pairs: np.ndarray
    starts: np.ndarray
    entries: np.ndarray
    ends: np.ndarray
    end_starts: np.ndarray


@dataclass(frozen=True)
class Springs:
    """The members of a stack as springs, (t, m) each: `pull` EA / L, `kink` EI / L where both ends are continuous,
    `lean` 3 EI / L where any is; `count` (m,) how many are."""

    pull: np.ndarray
    kink: np.ndarray
    lean: np.ndarray
    count: np.ndarray


def springs(shape: Topology, place: Geometry, ea: np.ndarray, ei: np.ndarray) -> Springs:
    """The three ways in which each member deforms, as in `assembly`."""
    count = 2 - shape.pinned.sum(axis=1)
    bend = ei / place.length
    return Springs(ea / place.length, bend * (count == 2), 3 * bend * (count > 0), count)


@lru_cache(maxsize=256)
def places(shape: Topology) -> Places:
    """The places of a shape, remembered with it."""
    unknowns, free = 2 * shape.joints + shape.rotations, len(shape.order)
    number = np.full(unknowns + 1, unknowns)
    number[shape.order] = np.arange(free)
    number[np.setdiff1d(np.arange(unknowns), shape.order)] = np.arange(free, unknowns)
    turn = np.where(shape.turn < 0, unknowns, 2 * shape.joints + shape.turn)
    u = 2 * shape.ends
    at = number[np.stack([u[:, 0], u[:, 0] + 1, u[:, 1], u[:, 1] + 1, turn[:, 0], turn[:, 1]])]
    low, high = np.minimum(at[_FIRST], at[_SECOND]).ravel(), np.maximum(at[_FIRST], at[_SECOND]).ravel()
    inside = np.flatnonzero(high < free)
    width = int((high - low)[inside].max(initial=0)) + 1
    entry = (low * width + high - low)[inside]
    order = np.argsort(entry, kind="stable")
    entries, starts = np.unique(entry[order], return_index=True)
    ends = np.argsort(at.ravel(), kind="stable")[: int((at < unknowns).sum())]
    return Places(
        free=free,
        all=unknowns,
        width=width,
        at=at,
        joints=number[: 2 * shape.joints],
        shifts=shape.order < 2 * shape.joints,
        pairs=inside[order],
        starts=starts,
        entries=entries,
        ends=ends,
        end_starts=np.searchsorted(at.ravel()[ends], np.arange(unknowns)),
    )


def stiffness_band(where: Places, place: Geometry, of: Springs) -> np.ndarray:
    """K (t, n, width): column j holds K[j, j], K[j + 1, j] …, the lower half of the band."""
    t = len(place.length)
    sway = of.count * place.up.transpose(2, 0, 1) / place.length
    along, hand = place.along.transpose(2, 0, 1), place.hand
    pull = np.stack([-along[0], -along[1], along[0], along[1]], axis=1)
    one, two = (np.where(where.at[end] == where.all, 0.0, hand) for end in (4, 5))
    lean = np.stack([sway[0], sway[1], -sway[0], -sway[1], one, two], axis=1)
    kink = np.stack([-one, two], axis=1)
    values = np.take(lean * of.lean[:, None], _FIRST, axis=1) * np.take(lean, _SECOND, axis=1)
    shift = _SECOND < 4
    stretched = pull * of.pull[:, None]
    values[:, shift] += np.take(stretched, _FIRST[shift], axis=1) * np.take(pull, _SECOND[shift], axis=1)
    turn = _FIRST >= 4
    bent = kink * of.kink[:, None]
    values[:, turn] += np.take(bent, _FIRST[turn] - 4, axis=1) * np.take(kink, _SECOND[turn] - 4, axis=1)
    band = np.zeros((t, where.free * where.width))
    if len(where.starts):
        sorted_ = np.take(values.reshape(t, -1), where.pairs, axis=1)
        band[:, where.entries] = np.add.reduceat(sorted_, where.starts, axis=1)
    return band.reshape(t, where.free, where.width)


def gather(where: Places, values: np.ndarray) -> np.ndarray:
    """Sums of the members' ends (t, r, 6, m) at each unknown, (t, r, N)."""
    t, r, six, m = values.shape
    return np.add.reduceat(np.take(values.reshape(t, r, six * m), where.ends, axis=2), where.end_starts, axis=2)


def solve_band(band: np.ndarray, load: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """x (t, r, n) with K x = load (t, r, n), and the least that the norm of K⁻¹ is (t,), infinite without a solution.

    K (t, n, width) has a diagonal of ones; it is overwritten. The norm is estimated as by Hager and Higham: two
    right-hand sides more, and one more solution with the signs of what they gave.
    """
    # scipy takes a tenth of a second to import, which only those pay who solve
    from scipy.linalg.lapack import dpbsv, dpbtrs

    t, r, n = load.shape
    if not n:
        return load, np.zeros(t)
    steps = np.arange(n)
    every = np.full(n, 1.0 / n)
    waves = (1 - 2.0 * (steps % 2)) * (1 + steps / max(n - 1, 1))
    sides = np.empty((t, r + 2, n))
    sides[:, :r], sides[:, r], sides[:, r + 1] = load, every, waves
    norm = np.full(t, np.inf)
    for i in range(t):
        factor, _, trouble = dpbsv(band[i].T, sides[i].T, lower=1, overwrite_ab=1, overwrite_b=1)
        if trouble:
            sides[i] = 0.0
            continue
        guess = sides[i, r:]
        signs, _ = dpbtrs(factor, np.copysign(1.0, guess).T, lower=1)
        sizes = np.abs(guess).sum(axis=1)
        norm[i] = max(sizes[0], 2 * sizes[1] / (3 * n), np.abs(signs).max(initial=0.0))
    return sides[:, :r], norm
