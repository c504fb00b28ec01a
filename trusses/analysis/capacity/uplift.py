"""What is hung or set on a truss doesn't hold it down: it may not be there yet, lie on another truss that shares it,
or be gone again. ASCE 7-16 §3.1.3 (from memory) says so of the variable parts of equipment; here it is all of it.
"""

from __future__ import annotations

import math

import numpy as np

from trusses.analysis.format.document import read
from trusses.analysis.format.model import Truss
from trusses.analysis.frame.solve import solve
from trusses.analysis.loads.combinations import cases

_THOUSANDTH = 1000
_LEAST_LB = 1e-6


def held_down_without(bare: Truss, loaded: Truss) -> Truss:
    """`loaded` counting on so much less of its dead load against wind (`uplift_dead_share`) that none of its bearings
    is held down by more than it is in `bare`, the same truss without what was put on it; `loaded` itself where they
    bear elsewhere. Of wind alone: what dead load or snow lifts off a bearing elsewhere is as `loaded` has it, and a
    member's force under wind lies between those of both. Raises Mechanism."""
    if not any(load.case == "wind" for load in loaded.loads) or _stand_at(bare) != _stand_at(loaded):
        return loaded
    before, after = _dead_lb(bare), _dead_lb(loaded)
    more = after > before + _LEAST_LB
    if not more.any():
        return loaded
    today = share_counted_on(bare)
    sure = float(np.clip(before[more] / after[more], 0.0, 1.0).min())
    share = math.floor(today * sure * _THOUSANDTH) / _THOUSANDTH
    return read({**loaded.document, "uplift_dead_share": share})


def share_counted_on(truss: Truss) -> float:
    """The share of its dead load that holds it down: all of it where none is stated."""
    return 1.0 if truss.uplift_dead_share is None else truss.uplift_dead_share


def _stand_at(truss: Truss) -> list[tuple[float, float]]:
    return [(round(at.x, 3), round(at.y, 3)) for at in (truss.joint(bearing.joint) for bearing in truss.bearings)]


def _dead_lb(truss: Truss) -> np.ndarray:
    """What dead load presses on each bearing, (b,) lb."""
    dead = [case for case in cases(truss) if case.case == "dead"]
    return np.asarray(solve(truss, dead).reactions[:, :, 1].sum(axis=0))
