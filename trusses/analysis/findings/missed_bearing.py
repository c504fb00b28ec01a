"""What becomes of a truss on three bearings or more where one between the outer ones is missed, or built off level.

All of it is superposition. With U what a unit force up at that bearing does to the truss without it, f of that at the
bearing itself, and R what the bearing carries under a combination, the combination is

    without the bearing               itself - R U
    on a bearing that is δ too high   itself + (δ / f) U
    on one that is δ too low          itself - min(δ / f, R) U

since a truss that doesn't come down to a low bearing stands as if it weren't there; what is lifted off it already (R
less than nothing, held down by a connection) stays as it was.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from trusses.analysis.checks.check import Check, Finding
from trusses.analysis.checks.stack import SERVICEABILITY, failing
from trusses.analysis.checks.surroundings import Surroundings
from trusses.analysis.format.model import Bearing, PointLoad, Truss
from trusses.analysis.frame import solve as frame
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.frame.member_loads import MemberLoads
from trusses.analysis.frame.solution import Solution
from trusses.analysis.loads.combinations import Combination
from trusses.analysis.words.checks import short

Array = npt.NDArray[np.float64]

#: How far off level a bearing is looked at, either way, inches. This project's choice, not a code's.
OFF_LEVEL_IN = 0.25
#: A ratio that grows by a smaller share than this doesn't grow.
_GROWS = 1e-6
#: Uplift below this is none, lb.
_LIFTS_LB = 0.5
_SOFTEST = 1e-12


@dataclass(frozen=True)
class Movement:
    """What moving one bearing of a truss by itself does: `solution` has the rows of the truss's cases and after them
    that of one pound up at the bearing, which the others hold; `per_inch` is how many pounds move it up by an inch."""

    solution: Solution
    bearing: int
    per_inch: float


@dataclass(frozen=True)
class _Analysed:
    """One truss as it is, with one solution of its cases."""

    truss: Truss
    solution: Solution
    combinations: tuple[Combination, ...]
    factors: Array
    surroundings: Surroundings


def missed_bearings(
    truss: Truss,
    solution: Solution,
    combinations: tuple[Combination, ...],
    factors: Array,
    surroundings: Surroundings,
    own: Sequence[Check],
) -> Iterator[Finding]:
    """A finding for every bearing between the outer ones without which, or with which 1/4 in. off level, the truss goes
    over a limit that it keeps. `solution` is of this truss alone, `own` are its checks as it stands."""
    between = interior(truss)
    if not between:
        return
    its = _Analysed(truss, solution, combinations, factors, surroundings)
    were = {(check.id, check.rule): check.ratio for check in own}
    for bearing in between:
        states = [_told(state, outcome, were) for state, outcome in _states(its, bearing)]
        if any("moves" in state or "worst" in state for state in states):
            yield Finding("missed-bearing", f"bearing {bearing.joint}", {"joint": bearing.joint, "states": states})


def interior(truss: Truss) -> list[Bearing]:
    """The bearings that hold up between two others, from left to right."""
    up = sorted((b for b in truss.bearings if "y" in b.restrains), key=lambda b: truss.joint(b.joint).x)
    if len(up) < 3:
        return []
    left, right = (truss.joint(up[end].joint).x for end in (0, -1))
    return [bearing for bearing in up if left < truss.joint(bearing.joint).x < right]


def without(truss: Truss, bearing: Bearing) -> Truss:
    """The truss without that bearing; what held sideways there still does. It was read already, and holds what is left
    of it: to read it anew for each bearing took a quarter of the time that all of this takes."""
    sideways = [bearing._replace(restrains="x")] if "x" in bearing.restrains else []
    bearings = [one for other in truss.bearings for one in (sideways if other is bearing else [other])]
    return replace(truss, bearings=tuple(bearings))


def movement(truss: Truss, solution: Solution, bearing: Bearing) -> Movement | Mechanism:
    """How the truss answers when that bearing moves. A Mechanism where it can move freely without it: such a truss lets
    a bearing move without any force."""
    free = without(truss, bearing)
    push = PointLoad("dead", down_lb=-1, joint=bearing.joint)
    unit = _solved(replace(free, area_loads=(), line_loads=(), point_loads=(push,)))
    if isinstance(unit, Mechanism):
        return unit
    b = truss.bearings.index(bearing)
    reactions = (
        unit.reactions if len(free.bearings) == len(truss.bearings) else np.insert(unit.reactions, b, 0.0, axis=2)
    )
    reactions[:, 1, b] = 1.0
    up = float(unit.displacements[0, 2 * truss.joint_index[bearing.joint] + 1, 0])
    values = np.concatenate([part.reshape(1, -1, 1) for part in (unit.displacements, reactions, unit.ends)], axis=1)
    loads = solution.loads
    pieces = (one and replace(one, rows=np.pad(one.rows, ((0, 0), (0, 1)))) for one in (loads.strips, loads.points))
    both = solution._replace(
        loads=MemberLoads(loads.on, _and_none(loads.axial), _and_none(loads.transverse), *pieces),
        values=np.concatenate([solution.values, values]),
    )
    return Movement(both, b, 1 / max(up, _SOFTEST))


def _and_none(values: Array) -> Array:
    """The rows, and one more of zeros."""
    return np.concatenate([values, np.zeros((1, *values.shape[1:]))])


def _solved(truss: Truss) -> Solution | Mechanism:
    _, solution = next(iter(frame.stacks([truss])))
    return solution.moving.get(0, solution)


@dataclass(frozen=True)
class _Outcome:
    """The failing checks of a state, the bearings that it lifts though nothing lifts them otherwise, in pounds."""

    checks: tuple[Check, ...]
    lifted: Mapping[str, float]


def _states(its: _Analysed, bearing: Bearing) -> Iterator[tuple[str, _Outcome | Mechanism]]:
    """What to look at (the bearing missed, built too high, too low), and what comes of it."""
    free = without(its.truss, bearing)
    gone = _solved(free)
    if isinstance(gone, Mechanism):
        # then the truss follows the bearing without any force, wherever that is built
        yield "missed", gone
        return
    yield "missed", _outcome(its, free, gone, its.factors)
    moves = movement(its.truss, its.solution, bearing)
    if isinstance(moves, Mechanism):
        return
    force = OFF_LEVEL_IN * moves.per_inch
    carries = its.factors @ its.solution.reactions[:, 1, moves.bearing, 0]
    for state, of_unit in (("high", np.full_like(carries, force)), ("low", _lowered(force, carries))):
        outcome = _outcome(its, its.truss, moves.solution, np.column_stack([its.factors, of_unit]))
        # a limit on deflection speaks of loads, and isn't measured from a bearing that was built elsewhere
        yield (
            state,
            replace(outcome, checks=tuple(check for check in outcome.checks if check.rule not in SERVICEABILITY)),
        )


def _lowered(force: float, carries: Array) -> Array:
    return -np.minimum(force, np.maximum(carries, 0.0))


def _outcome(its: _Analysed, truss: Truss, solution: Solution, factors: Array) -> _Outcome:
    checks = failing(truss, its.combinations, solution, factors, its.surroundings)
    up = (factors @ solution.reactions[:, 1, :, 0]).min(axis=0)
    was = dict(
        zip(
            (bearing.joint for bearing in its.truss.bearings),
            (its.factors @ its.solution.reactions[:, 1, :, 0]).min(axis=0).tolist(),
            strict=True,
        )
    )
    lifted = {
        bearing.joint: -least
        for bearing, least in zip(truss.bearings, up.tolist(), strict=True)
        if least < min(was[bearing.joint], 0.0) - _LIFTS_LB
    }
    return _Outcome(checks, lifted)


def _told(state: str, outcome: _Outcome | Mechanism, were: Mapping[tuple[str, str], float]) -> dict[str, Any]:
    """A state and what a person is told of it: how the truss `moves`, or the `worst` check that exceeds its limit, how
    many other objects exceed theirs, and the bearings that lift, in pounds; neither where everything holds."""
    told: dict[str, Any] = {"state": state, "off_in": OFF_LEVEL_IN}
    if isinstance(outcome, Mechanism):
        return told | {"moves": outcome.coded}
    grown = [check for check in outcome.checks if check.ratio > (1 + _GROWS) * were.get((check.id, check.rule), 0.0)]
    if not grown:
        return told
    worst = max(grown, key=lambda check: check.ratio)
    return told | {
        "worst": short(worst),
        "others": len({check.id for check in grown} - {worst.id}),
        "lifted_lb": dict(outcome.lifted),
    }
