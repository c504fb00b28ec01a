"""What stands or hangs on a truss may not be there yet, lie on another truss that shares it, or be gone again: each
weight by itself, and any of them together. ASCE 7-16 §2.4.1 (from memory) asks for the most unfavorable effects also
where one or more of the loads aren't acting; here it is all of a weight that isn't.

Up to four weights are taken off in every way that there is. Of more each by itself, all of them, and for every check
those that relieve it, each found by itself: forces are linear in the weights, and so nearly are most ratios.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import chain, combinations

import numpy as np

from trusses.analysis.format.model import Truss
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.frame.solve import solve_stack
from trusses.analysis.loads.combinations import cases
from trusses.analysis.loads.weights import Weight, taken_off
from trusses.analysis.words.loads import weights_called

#: So many weights are taken off in every way.
EVERY_WAY = 4
Choice = tuple[Weight, ...]
Ratios = Mapping[tuple[str, str, str], float]
"""By what a check is of, its name and its rule."""
_NOISE = 1e-9
_THOUSANDTH = 1000
_LEAST_LB = 1e-6


def left(truss: Truss, weights: Sequence[Weight], choices: Sequence[Choice]) -> list[tuple[str, Truss]]:
    """What is left of the truss where each choice of its weights is gone, and what those are called. Raises
    Mechanism."""
    called = [weights_called([(one.pounds, one.note, one.on) for one in gone]) for gone in choices]
    without = [taken_off(truss, gone) for gone in choices]
    return list(zip(called, _counting(truss, taken_off(truss, weights), without), strict=True))


def share_counted_on(truss: Truss) -> float:
    """The share of its dead load that holds it down: all of it where none is stated."""
    return 1.0 if truss.uplift_dead_share is None else truss.uplift_dead_share


def sure_share(today: float, before: np.ndarray, after: np.ndarray) -> np.ndarray:
    """(t,): the share of their dead load that trusses may count on which press on bearings by `after` (b, t) with
    weights and by `before` without, where they count on `today`'s share of that; to a thousandth below."""
    more = after > before + _LEAST_LB
    part = np.divide(before, after, out=np.ones_like(after), where=more & (after != 0.0))
    sure = np.clip(np.where(more & (after == 0.0), 0.0, part), 0.0, 1.0).min(axis=0)
    return np.where(more.any(axis=0), np.floor(today * sure * _THOUSANDTH) / _THOUSANDTH, today)


def dead_lb(trusses: Sequence[Truss]) -> np.ndarray:
    """What dead load presses on each bearing of trusses that differ in loads alone, (b, t) lb. Raises Mechanism."""
    found = solve_stack(trusses, [case for case in cases(trusses[0]) if case.case == "dead"])
    for one in found:
        if isinstance(one, Mechanism):
            raise one
    return np.array([one.reactions[:, :, 1].sum(axis=0) for one in found if not isinstance(one, Mechanism)]).T


def _counting(truss: Truss, bare: Truss, left: Sequence[Truss]) -> list[Truss]:
    """What is left of the truss, each counting against wind on no more of its dead load than the bare truss: where the
    share of the truss leaves its weights out, that is more than the same share of what is left."""
    share = truss.uplift_dead_share
    if share is None or not any(load.case == "wind" for load in truss.loads):
        return list(left)
    pressing = dead_lb([truss, bare, *left])
    full, without = pressing[:, 0], pressing[:, 1]
    more = (full > without + _LEAST_LB) & (without > _LEAST_LB)
    today = min(1.0, float((share * full[more] / without[more]).max(initial=share)))
    shares = sure_share(today, without[:, None], pressing[:, 2:])
    return [replace(one, uplift_dead_share=float(each)) for one, each in zip(left, shares, strict=True)]


def first(weights: Sequence[Weight]) -> list[Choice]:
    """The choices that are looked at of any truss: every one of a few weights; of many each by itself, all, and all but
    one."""
    many = range(1, len(weights) + 1) if len(weights) <= EVERY_WAY else (1, len(weights) - 1, len(weights))
    return list(chain.from_iterable(combinations(weights, n) for n in many))


def further(weights: Sequence[Weight], loaded: Ratios, found: Mapping[Choice, Ratios]) -> list[Choice]:
    """Of many weights, for each check those that relieve it: the ones by which it grows as they go from among all of
    them (`loaded` has its ratios with all), and the ones by which it shrinks as they come to none."""
    if len(weights) <= EVERY_WAY:
        return []
    every = tuple(weights)
    bare, those = found[every], set[Choice]()
    pairs = [(one, found[(one,)], found[tuple(other for other in every if other is not one)]) for one in every]
    for key in {key for ratios in (loaded, *found.values()) for key in ratios}:
        most, least = loaded.get(key, 0.0) + _NOISE, bare.get(key, 0.0) + _NOISE
        those.add(tuple(one for one, gone, _ in pairs if gone.get(key, 0.0) > most))
        those.add(tuple(one for one, _, alone in pairs if alone.get(key, 0.0) <= least))
    return sorted(those - found.keys() - {()}, key=lambda gone: [weights.index(one) for one in gone])
