"""The least way over places to try at one halt after another. What is weighed is up to the caller; nothing is kept that
grows with the square of the places.

A step takes what it weighs to come to each place here (`at`) and gives what it weighs to come to each place there, and
from which place here each of them is come to.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]
Step = Callable[[Floats], tuple[Floats, Indices]]
#: So many pairs of places are weighed at once.
_AT_ONCE = 250_000


def from_any(
    at: Floats, here: Floats, there: Floats, weighs: Callable[[Floats, Floats], Floats]
) -> tuple[Floats, Indices]:
    """A step that weighs each pair: `weighs(some of here, there)` gives (those here, there)."""
    best, back = np.full(len(there), np.inf), np.zeros(len(there), dtype=np.intp)
    rows = max(_AT_ONCE // max(len(there), 1), 1)
    for first in range(0, len(here), rows):
        total = at[first : first + rows, None] + weighs(here[first : first + rows], there)
        chosen = total.argmin(axis=0)
        found = total[chosen, np.arange(len(there))]
        better = found < best
        best[better], back[better] = found[better], chosen[better] + first
    return best, back


def along_a_line(at: Floats, stays: Floats, leaves: Floats, comes: Floats, height: Floats) -> tuple[Floats, Indices]:
    """A step among the same places: to stay at one weighs `stays`; to go from one to another `leaves` there, `comes`
    here, and the difference of their `height`, which never falls from one place to the next. So the best place to come
    from is the best of all before or of all behind, which one pass each way finds."""
    off, own = at + leaves, np.arange(len(at))
    before, from_before = _running(off - height)
    behind, from_behind = _running((off + height)[::-1])
    best, back = before + height + comes, from_before
    for total, source in ((at + stays, own), (behind[::-1] - height + comes, own[::-1][from_behind[::-1]])):
        better = total < best
        best, back = np.where(better, total, best), np.where(better, source, back)
    return best, back


def _running(values: Floats) -> tuple[Floats, Indices]:
    """The least of the values so far, and where it is."""
    least_so_far = np.minimum.accumulate(values)
    new = np.concatenate([[True], least_so_far[1:] < least_so_far[:-1]])
    return least_so_far, np.maximum.accumulate(np.where(new, np.arange(len(values)), 0))


def least(costs: Sequence[Floats], steps: Sequence[Step], places: Sequence[Floats]) -> list[float] | None:
    """The places of the least way, one of each of `places`, of which the first has one alone; `costs` are of all but
    the first, `steps` between two. None where there is no way."""
    at = np.zeros(1)
    backs: list[Indices] = []
    for cost, step in zip(costs, steps, strict=True):
        at, back = step(at)
        backs.append(back)
        at = at + cost
    if not np.isfinite(at).any():
        return None
    k, chosen = int(at.argmin()), []
    for back, there in zip(reversed(backs), reversed(places), strict=False):
        chosen.append(float(there[k]))
        k = int(back[k])
    return [float(places[0][0]), *reversed(chosen)]
