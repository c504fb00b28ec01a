"""Deflection of the chords against the limits of the codes: a lower bound, since slip in the joints isn't modelled."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trusses.analysis import nds
from trusses.analysis.loads import Combination
from trusses.analysis.model import Truss
from trusses.analysis.outcome import PASSES, Check, terms
from trusses.analysis.response import Response

Array = npt.NDArray[np.float64]

LIVE, TOTAL = "live deflection", "total deflection"
LOWER_BOUND = "a lower bound: slip in the joints is not modeled"

#: Span over this is the limit, of live and of total deflection. Roofs by ceiling (IBC Table 1604.3; its live column
#: stands for snow and wind too), floors (IRC Table R301.7: floors, and all other members).
ROOF_LIMITS: Mapping[str, tuple[int, int]] = {"plaster": (360, 240), "gypsum": (240, 180), "none": (180, 120)}
FLOOR_LIMITS = (360, 240)
_SOURCE = {"roof": "IBC Table 1604.3", "floor": "IRC Table R301.7"}

#: Places along each chord member, both ends among them.
_PLACES = np.linspace(0, 1, 17)
#: A span shorter than this is none, inches.
_NO_LENGTH = 1e-6


@dataclass(frozen=True)
class _Points:
    """Points of the chords: member index, x, the length that their limit is a share of, and whether on an overhang.
    One value a point, inches; `down` (r, points) how far each sinks under each combination, in."""

    member: npt.NDArray[np.int64]
    x: Array
    length: Array
    overhangs: npt.NDArray[np.bool_]
    down: Array


def deflection_checks(truss: Truss, combinations: Sequence[Combination], response: Response) -> list[Check]:
    """The governing live and total deflection of a truss, measured from the line between neighboring bearings.

    Live is each combination without its dead load. Total adds the dead load's part times Kcr (NDS 3.5.2), 1.5, or
    without creep where that is more, as it is in uplift.
    """
    points = _points(truss, response)
    if points is None:
        return []
    dead = _dead_part(combinations) @ points.down
    live = points.down - dead
    crept = live + nds.KCR_DRY * dead
    total = np.where(np.abs(crept) >= np.abs(points.down), crept, points.down)
    limits = FLOOR_LIMITS if truss.use == "floor" else ROOF_LIMITS[truss.ceiling]
    found = []
    if any(not _is_dead(case) for combination in combinations for case in combination.factors):
        found.append(_governing(truss, combinations, points, LIVE, live, limits[0]))
    check = _governing(truss, combinations, points, TOTAL, total, limits[1], green=live + nds.KCR_GREEN * dead)
    return [*found, check]


def _governing(
    truss: Truss,
    combinations: Sequence[Combination],
    points: _Points,
    rule: str,
    down: Array,
    limit: int,
    green: Array | None = None,
) -> Check:
    allowed = points.length / limit
    row, place = divmod(int((np.abs(down) / allowed).argmax()), down.shape[1])
    demand, capacity = abs(float(down[row, place])), float(allowed[place])
    shown: list[tuple[str, object]] = [
        ("span", points.length[place]),
        ("span over", limit),
        ("x", points.x[place]),
        ("member", truss.members[points.member[place]].id),
        ("direction", "down" if down[row, place] >= 0 else "up"),
    ]
    if points.overhangs[place]:
        shown.append(("overhang", "its span is taken twice"))
    if green is not None:
        shown += [("Kcr", nds.KCR_DRY), ("deflection with Kcr 2.0", abs(float(green[row, place])))]
    ratio = demand / capacity
    return Check(
        of="truss",
        id=truss.mark,
        rule=rule,
        source=_SOURCE[truss.use],
        combination=combinations[row].name,
        at_in=None,
        demand=demand,
        capacity=capacity,
        ratio=ratio,
        passes=ratio <= PASSES,
        terms=terms([*shown, ("means", LOWER_BOUND)]),
    )


def _points(truss: Truss, response: Response) -> _Points | None:
    """The points to look at; None where nothing holds the truss up or no chord spans anything, as in a column."""
    chords = np.array([i for i, member in enumerate(truss.members) if member.is_chord], dtype=int)
    holding = [bearing for bearing in truss.bearings if "y" in bearing.restrains]
    if not len(chords) or not holding:
        return None
    stations = response.length[:, None] * _PLACES
    down = -response.deflection(stations)[..., 1][:, chords]
    first = np.array([joint.x for joint in truss.joints])[response.ends[:, 0]]
    x = (first[:, None] + response.along[:, :1] * stations)[chords].ravel()
    length, overhangs = _spans(x, {truss.joint(b.joint).x: b.width_in / 2 for b in holding})
    # a chord that only stands on its bearing, a column, spans nothing
    spans = length > _NO_LENGTH
    if not spans.any():
        return None
    members = np.repeat(chords, len(_PLACES))
    down = down.reshape(len(down), -1)
    return _Points(members[spans], x[spans], length[spans], overhangs[spans], down[:, spans])


def _spans(x: Array, bearings: Mapping[float, float]) -> tuple[Array, npt.NDArray[np.bool_]]:
    """The length that each point's limit is a share of: its span, or twice its overhang (IRC Table R301.7).

    `bearings` are x and half width. A point over the half width beyond an outer bearing is in the span beside it.
    """
    at = np.array(sorted(bearings))
    left, right = at[0], at[-1]
    if len(at) == 1:
        beyond_left, beyond_right = x < left, x > right
    else:
        beyond_left, beyond_right = x < left - bearings[left], x > right + bearings[right]
    span = np.diff(at, append=right)[np.clip(np.searchsorted(at, x, side="right") - 1, 0, max(len(at) - 2, 0))]
    length = np.where(beyond_left, 2 * (left - x.min()), np.where(beyond_right, 2 * (x.max() - right), span))
    return length, beyond_left | beyond_right


def _is_dead(case: str) -> bool:
    return case.split("/")[0] == "dead"


def _dead_part(combinations: Sequence[Combination]) -> Array:
    """(r, r): what share of which combination of dead load alone is in each combination."""
    part = np.zeros((len(combinations), len(combinations)))
    for row, combination in enumerate(combinations):
        dead = {case: factor for case, factor in combination.factors.items() if _is_dead(case)}
        if not dead:
            continue
        alone = next(i for i, other in enumerate(combinations) if dead.keys() == other.factors.keys())
        case = next(iter(dead))
        part[row, alone] = dead[case] / combinations[alone].factors[case]
    return part
