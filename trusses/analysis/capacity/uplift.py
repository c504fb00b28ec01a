"""What is hung or set on a truss doesn't hold it down: it may not be there yet, lie on another truss that shares it,
or be gone again. ASCE 7-16 §3.1.3 (from memory) says so of the variable parts of equipment; here it is all of it.
"""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from trusses.analysis.analysis import analyse
from trusses.analysis.checks.check import PASSES
from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.format.document import read, read_stored
from trusses.analysis.format.model import Truss
from trusses.analysis.frame.solve import solve
from trusses.analysis.loads.combinations import cases
from trusses.analysis.loads.weights import without_weights
from trusses.analysis.redesign.draft import Document, Draft, Illegal
from trusses.analysis.words.phrases import Coded, coded

_THOUSANDTH = 1000
_LEAST_LB = 1e-6


def held_down_without(bare: Truss, loaded: Truss) -> Truss:
    """`loaded` counting on so much less of its dead load against wind (`uplift_dead_share`) that none of its bearings
    is held down by more than it is in `bare`, the same truss without what was put on it; `loaded` itself where they
    bear elsewhere. Of wind alone: what dead load or snow lifts off a bearing is as `loaded` has it, and told by a
    finding (`findings.weights`); a member's force under wind lies between those of both (`fails_without`). Raises
    Mechanism."""
    if not any(load.case == "wind" for load in loaded.loads) or _stand_at(bare) != _stand_at(loaded):
        return loaded
    before, after = _dead_lb(bare), _dead_lb(loaded)
    if not (after > before + _LEAST_LB).any():
        return loaded
    share = float(sure_share(share_counted_on(bare), before[:, None], after[:, None])[0])
    return read({**loaded.document, "uplift_dead_share": share})


def sure_share(today: float, before: np.ndarray, after: np.ndarray) -> np.ndarray:
    """(t,): the share of their dead load that trusses may count on which press on bearings by `after` (b, t) with
    weights and by `before` without, where they count on `today`'s share of that; to a thousandth below."""
    more = after > before + _LEAST_LB
    part = np.divide(before, after, out=np.ones_like(after), where=more & (after != 0.0))
    sure = np.clip(np.where(more & (after == 0.0), 0.0, part), 0.0, 1.0).min(axis=0)
    return np.where(more.any(axis=0), np.floor(today * sure * _THOUSANDTH) / _THOUSANDTH, today)


def fails_without(
    loaded: Truss, today: Truss, surroundings: Surroundings = NOTHING_SAID, failing: Collection[str] = ()
) -> Coded | None:
    """That a truss is over a limit once the weights are gone that `today`'s doesn't have, counting on the share of its
    dead load that `today`'s counts on; None where it passes. `failing` are the rules of which it is over the limit with
    them: of deflection alone, which may be accepted, its strength still has to be its own; of another, it is None.
    Raises Mechanism, DocumentError."""
    if not SERVICEABILITY.issuperset(failing):
        return None
    document = _loaded_as(today, loaded)
    document.pop("uplift_dead_share", None)
    if today.uplift_dead_share is not None:
        document["uplift_dead_share"] = today.uplift_dead_share
    alone = analyse(read_stored(document), surroundings)
    ratio = alone.worst_ratio
    if failing:
        ratio = max((check.ratio for check in alone.checks if check.rule not in SERVICEABILITY), default=0.0)
    return None if ratio <= PASSES else coded("fails-without-weight", ratio=ratio)


def _loaded_as(today: Truss, loaded: Truss) -> Document:
    """The document of `loaded` with the loads of today's truss at their places. Where its chords lie elsewhere, so that
    they have none, it is its own but what look like weights."""
    try:
        return Draft(loaded.document).loaded_as(today.document).document()
    except Illegal:
        return without_weights(loaded)


def share_counted_on(truss: Truss) -> float:
    """The share of its dead load that holds it down: all of it where none is stated."""
    return 1.0 if truss.uplift_dead_share is None else truss.uplift_dead_share


def _stand_at(truss: Truss) -> list[tuple[float, float]]:
    return [(round(at.x, 3), round(at.y, 3)) for at in (truss.joint(bearing.joint) for bearing in truss.bearings)]


def _dead_lb(truss: Truss) -> np.ndarray:
    """What dead load presses on each bearing, (b,) lb."""
    dead = [case for case in cases(truss) if case.case == "dead"]
    return np.asarray(solve(truss, dead).reactions[:, :, 1].sum(axis=0))
