"""The largest weight that a truss takes at each place along a chord, as it is: a curve.

Every place is a right-hand side of its own: the truss without the weight and with a unit of it are solved once, in a
stack of as many trusses as there are places, and what any other weight does follows by superposition. Ratios are no
linear functions of it, so the largest that passes every check is found by bisection, all places at once. A weight of
dead load holds nothing down against wind (`uplift`): the dead load that does is a case of its own there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from trusses.analysis.analysis import analyse
from trusses.analysis.capacity.placing import Placement, along, loaded
from trusses.analysis.checks.check import PASSES
from trusses.analysis.checks.stack import check_stack
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.checks.weights_gone import share_counted_on, sure_share
from trusses.analysis.format.model import Role, Truss
from trusses.analysis.frame import solve as frame
from trusses.analysis.frame.member_loads import Pieces
from trusses.analysis.frame.solution import Solution
from trusses.analysis.loads.combinations import (
    DURATION,
    Case,
    Combination,
    factors_of,
    helps_against_wind,
    superposition,
)

Array = npt.NDArray[np.float64]
#: No weight that somebody hangs is looked for beyond this, lb.
MOST_LB = 10_000.0
#: How close the largest weight is found, lb.
_WITHIN_LB = 1.0
_UNIT_LB = 1_000.0
#: What is sure to be there of the dead load with a weight in it, as a case of its own.
_SURE = Case("dead/sure", "dead", "sure", False)
#: Places of a curve are no farther apart than this along the span, inches.
_STEP_IN = 12.0


@dataclass(frozen=True)
class Curve:
    """`pounds` (n,) is the largest weight at each of `xs` (n,) inches along the span, at one place at a time."""

    chord: Role
    case: str
    xs: tuple[float, ...]
    pounds: tuple[float, ...]


def curve(truss: Truss, chord: Role, case: str = "dead", surroundings: Surroundings = NOTHING_SAID) -> Curve:
    """What one point of the chord takes, at its panel points and in between. Raises Mechanism."""
    xs = places(truss, chord)
    most = most_lb(truss, [Placement(chord, "point", x) for x in xs], case, surroundings)
    return Curve(chord, case, tuple(xs), tuple(np.floor(most).tolist()))


def places(truss: Truss, chord: Role) -> list[float]:
    """Where a curve is worked out: each panel point of the chord, its panels in equal parts of a foot at most."""
    xs: set[float] = set()
    for _, low, high in along(truss, chord):
        parts = max(2 * int(np.ceil((high - low) / 2 / _STEP_IN)), 2)
        xs |= {round(float(x), 3) for x in np.linspace(low, high, parts + 1)}
    return sorted(xs)


def most_lb(
    truss: Truss,
    placements: Sequence[Placement],
    case: str = "dead",
    surroundings: Surroundings = NOTHING_SAID,
) -> Array:
    """The largest weight at each of some placements alone, (n,) lb, to a pound and none over MOST_LB; 0 where the truss
    is over a limit without it. What lies on the truss already may be gone: the least with it and without. Where a
    heavier weight would pass again that isn't looked for. Raises Mechanism, and CapacityError for a place beside the
    chord."""
    those = [truss, *(one.truss for _, one in analyse(truss, surroundings).without)]
    most = np.zeros(len(those) * len(placements))
    bare, unit = ([loaded(one, each, lb, case) for one in those for each in placements] for lb in (0.0, _UNIT_LB))
    for (which, without), (_, with_unit) in zip(
        frame.stacks(bare, share_counted_on), frame.stacks(unit, share_counted_on), strict=True
    ):
        for moving in without.moving.values():
            raise moving
        most[which] = _bisected([bare[i] for i in which], without, with_unit, surroundings, case)
    return np.asarray(most.reshape(len(those), len(placements)).min(axis=0))


def _bisected(trusses: Sequence[Truss], bare: Solution, unit: Solution, surroundings: Surroundings, case: str) -> Array:
    combinations, factors = superposition(trusses[0], bare.cases)
    dead = next((i for i, each in enumerate(bare.cases) if each.case == case == "dead"), None)
    if dead is not None and any(map(helps_against_wind, combinations)):
        combinations = (*map(_on_what_is_sure, combinations), Combination("D/sure", {_SURE.name: 1.0}, DURATION["D"]))
        factors = factors_of(combinations, (*bare.cases, _SURE))
    else:
        dead = None

    def passes(pounds: Array) -> npt.NDArray[np.bool_]:
        solution = _with(bare, unit, pounds / _UNIT_LB)
        if dead is not None:
            solution = _besides(solution, dead, _sure(trusses[0], bare, solution, dead))
        found = check_stack(trusses, combinations, solution, factors, surroundings)
        return np.asarray(found.worst <= PASSES)

    low, high = np.zeros(len(trusses)), np.full(len(trusses), MOST_LB)
    whole, none = passes(high), ~passes(low)
    while (high - low).max() > _WITHIN_LB:
        middle = (low + high) / 2
        held = passes(middle)
        low, high = np.where(held, middle, low), np.where(held, high, middle)
    return np.where(none, 0.0, np.where(whole, MOST_LB, low))


def _with(bare: Solution, unit: Solution, share: Array) -> Solution:
    """The solution with `share` (t,) of the unit weight on each truss."""
    loads = bare.loads._replace(
        strips=_part(bare.loads.strips, unit.loads.strips, share),
        points=_part(bare.loads.points, unit.loads.points, share),
    )
    return bare._replace(values=bare.values + share * (unit.values - bare.values), loads=loads)


def _sure(truss: Truss, bare: Solution, solution: Solution, dead: int) -> Array:
    """(t,): how much less of its dead load each truss may count on against wind with the weight on it, as a part of
    what it counts on today."""
    today = share_counted_on(truss)
    shares = sure_share(today, bare.reactions[dead, 1], solution.reactions[dead, 1])
    return shares / today if today else np.zeros_like(shares)


def _on_what_is_sure(combination: Combination) -> Combination:
    """A combination with the dead load that is sure where dead load is there to help."""
    if not helps_against_wind(combination):
        return combination
    factors = {_SURE.name if name == "dead" else name: factor for name, factor in combination.factors.items()}
    return Combination(combination.name, factors, combination.load_duration)


def _besides(solution: Solution, dead: int, part: Array) -> Solution:
    """The solution with what is sure of its dead load, `part` (t,) of it, as one more case."""
    loads, row = solution.loads, slice(dead, dead + 1)
    loads = loads._replace(
        axial=np.concatenate([loads.axial, loads.axial[row] * part]),
        transverse=np.concatenate([loads.transverse, loads.transverse[row] * part]),
        strips=_pieces_besides(loads.strips, dead, part),
        points=_pieces_besides(loads.points, dead, part),
    )
    values = np.concatenate([solution.values, solution.values[row] * part])
    return solution._replace(cases=(*solution.cases, _SURE), loads=loads, values=values)


def _pieces_besides(pieces: Pieces | None, row: int, part: Array) -> Pieces | None:
    if pieces is None:
        return None
    more = pieces.rows[:, row] * part[pieces.truss]
    return replace(pieces, rows=np.column_stack([pieces.rows, more]))


def _part(bare: Pieces | None, unit: Pieces | None, share: Array) -> Pieces | None:
    if bare is None or unit is None:
        return bare
    of = share[bare.truss]
    return replace(
        bare,
        axial=bare.axial + of * (unit.axial - bare.axial),
        transverse=bare.transverse + of * (unit.transverse - bare.transverse),
    )
