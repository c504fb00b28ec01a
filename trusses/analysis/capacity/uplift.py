"""What is hung or set on a truss doesn't hold it down: it may not be there yet, lie on another truss that shares it,
or be gone again. ASCE 7-16 §3.1.3 (from memory) says so of the variable parts of equipment; here it is all of it.
"""

from __future__ import annotations

from collections.abc import Collection

from trusses.analysis.analysis import analyse
from trusses.analysis.checks.check import PASSES
from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.checks.weights_gone import dead_lb, share_counted_on, sure_share
from trusses.analysis.format.document import read, read_stored
from trusses.analysis.format.model import Truss
from trusses.analysis.loads.weights import without_weights
from trusses.analysis.redesign.draft import Document, Draft, Illegal
from trusses.analysis.words.phrases import Coded, coded

_LEAST_LB = 1e-6


def held_down_without(bare: Truss, loaded: Truss) -> Truss:
    """`loaded` counting on so much less of its dead load against wind (`uplift_dead_share`) that none of its bearings
    is held down by more than it is in `bare`, the same truss without what was put on it; `loaded` itself where they
    bear elsewhere. Of wind alone: what dead load or snow lifts off a bearing is as `loaded` has it, and told by a
    finding (`findings.weights`); a member's force under wind lies between those of both (`fails_without`). Raises
    Mechanism."""
    if not any(load.case == "wind" for load in loaded.loads) or _stand_at(bare) != _stand_at(loaded):
        return loaded
    before, after = (dead_lb([one])[:, 0] for one in (bare, loaded))
    if not (after > before + _LEAST_LB).any():
        return loaded
    share = float(sure_share(share_counted_on(bare), before[:, None], after[:, None])[0])
    return read({**loaded.document, "uplift_dead_share": share})


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


def _stand_at(truss: Truss) -> list[tuple[float, float]]:
    return [(round(at.x, 3), round(at.y, 3)) for at in (truss.joint(bearing.joint) for bearing in truss.bearings)]
