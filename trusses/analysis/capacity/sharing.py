"""How several trusses side by side share one weight: by a rule that is stated, since what carries it across is theirs.

Places are inches across the row of trusses, from the first that shares. `stiff`: a beam or a platform that doesn't
bend, on trusses that give alike: each takes W (1/n + e y / Σ y²), with y from the middle of them and e the weight's own
distance from it. `continuous`: a platform that bends over trusses that don't give, as a continuous beam of equal spans;
the middle one of three takes 10/16 of an even weight. `one`: no rule, all of it on the nearest.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

import numpy as np

from trusses.analysis.capacity.placing import CapacityError
from trusses.analysis.format.document import read
from trusses.analysis.frame.solve import solve
from trusses.analysis.loads.combinations import cases

Rule = Literal["stiff", "continuous", "one"]
RULES: tuple[Rule, ...] = ("stiff", "continuous", "one")
_NOTHING = 1e-9
#: Any lumber: spans of one section share by their lengths alone.
_BEAM = "2x4 SPF No.1/No.2"


def shares(rule: Rule, places: Sequence[float], low: float, high: float) -> tuple[float, ...]:
    """What part of a weight, even from `low` to `high` across the row (equal for one at a point), each truss takes.

    Raises CapacityError where the weight lies beyond the trusses, or would lift one of them.
    """
    if not places[0] - _NOTHING <= low <= high <= places[-1] + _NOTHING:
        raise CapacityError("weight-beyond-trusses", "across_in", low_in=low, high_in=high, row_in=places[-1])
    if rule == "one" or len(places) == 1:
        middle = (low + high) / 2
        nearest = min(range(len(places)), key=lambda i: abs(places[i] - middle))
        return tuple(float(i == nearest) for i in range(len(places)))
    found = _stiff(places, (low + high) / 2) if rule == "stiff" else _continuous(places, low, high)
    if min(found) < -_NOTHING:
        raise CapacityError("weight-lifts-a-truss", "across_in", rule=rule, truss=int(np.argmin(found)) + 1)
    return tuple(max(float(each), 0.0) for each in found)


def _stiff(places: Sequence[float], at: float) -> np.ndarray:
    y = np.array(places) - np.mean(places)
    return 1 / len(y) + (at - np.mean(places)) * y / (y @ y)


def _continuous(places: Sequence[float], low: float, high: float) -> np.ndarray:
    """Reactions of a beam over the trusses, under one pound."""
    names = [f"J{i}" for i in range(len(places))]
    members = [f"M{i}" for i in range(1, len(places))]
    lines: list[dict[str, Any]] = []
    points: list[dict[str, Any]] = []
    for name, start, end in zip(members, places[:-1], places[1:], strict=True):
        a, b = max(low, start), min(high, end)
        if b - a > _NOTHING:
            lines.append(
                {"case": "dead", "member": name, "plf": 12 / (high - low), "from_in": a - start, "to_in": b - start}
            )
        elif high - low <= _NOTHING and start <= low <= end and not points:
            points.append({"case": "dead", "member": name, "at_in": low - start, "down_lb": 1.0})
    beam = read(
        {
            "format": "chordchange.truss",
            "version": 1,
            "mark": "platform",
            "spacing_in": 12,
            "joints": {name: [place, 0] for name, place in zip(names, places, strict=True)},
            "members": [
                {"id": name, "role": "bottom_chord", "joints": [names[i], names[i + 1]], "lumber": _BEAM}
                for i, name in enumerate(members)
            ],
            "bearings": [
                {"joint": name, "restrains": "y" if i else "xy", "width_in": 1.5} for i, name in enumerate(names)
            ],
            "loads": {"line": lines, "point": points},
        }
    )
    return np.asarray(solve(beam, cases(beam)).reactions[0, :, 1])
