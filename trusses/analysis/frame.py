"""The plane frame: assemble, condense, solve, recover, for one truss or a stack of trusses of one shape.

Direct stiffness, linear elastic, small displacements. The letters are those of any text on matrix structural
analysis: B compatibility, C member stiffness, K = BᵀCB stiffness, d displacements, s member forces, F loads; see
`assembly`. All cases are right-hand sides of one factorisation.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from typing import Any

import numpy as np

from trusses.analysis.loads import Case, cases
from trusses.analysis.model import Truss
from trusses.analysis.solver.assembly import compatibility, stiffness
from trusses.analysis.solver.band import Places, Springs, gather, places, solve_band, springs, stiffness_band
from trusses.analysis.solver.geometry import Geometry, geometry
from trusses.analysis.solver.mechanism import Mechanism, free_motion
from trusses.analysis.solver.member_loads import Layout, joint_loads, layout, member_loads, others
from trusses.analysis.solver.nodal_loads import nodal_loads
from trusses.analysis.solver.response import Response
from trusses.analysis.solver.solution import Solution
from trusses.analysis.solver.topology import Topology, of_structure, structure, topology

__all__ = ["STACK", "Mechanism", "solve", "solve_stack", "stacks"]

#: Where the inverse of the stiffness, scaled to a diagonal of ones, is larger, the slower, orthogonal way is taken.
_WELL_CONDITIONED = 1e6
#: So it is where some joint is this much softer, one way, than the stiffest: the square root of a stiffness ratio, for
#: a joint held by members almost square to the motion alone about their slope.
_SOFT = 1e-4
#: Trusses solved together; more gain nothing and take memory.
STACK = 64


def solve(truss: Truss, cases: Sequence[Case]) -> Response:
    """One truss under each of its cases. Raises Mechanism where it can move freely."""
    return _solve([truss], tuple(cases), topology(truss), layout(truss)).response(0)


def solve_stack(trusses: Sequence[Truss], cases: Sequence[Case]) -> list[Response | Mechanism]:
    """Trusses of one shape, all under the same cases; where one can move freely, a Mechanism stands in its place.

    One shape is: members of the same roles between the same joints, hinges and bearings at the same joints, all in
    the same order. Coordinates, lumber, plies, spacing and loads may differ. Raises ValueError for different shapes.
    """
    if len({topology(truss) for truss in trusses}) > 1:
        raise ValueError("the trusses of a stack must have one shape")
    outcomes: dict[int, Response | Mechanism] = {}
    for which, solution in _stacks(trusses, layout, tuple(cases)):
        outcomes |= {i: solution.moving.get(t) or solution.response(t) for t, i in enumerate(which)}
    return [outcomes[i] for i in range(len(trusses))]


def stacks(
    trusses: Sequence[Truss], alike: Callable[[Truss], object] = lambda truss: ()
) -> Iterator[tuple[list[int], Solution]]:
    """Any trusses, each under its own cases, solved in stacks of one shape and of the same cases: the indices of a
    stack and its solution. Trusses in one stack also give the same value of `alike`."""
    return _stacks(trusses, lambda truss: (layout(truss), others(truss), alike(truss)))


def _stacks(
    trusses: Sequence[Truss], alike: Callable[[Truss], object], its_cases: tuple[Case, ...] | None = None
) -> Iterator[tuple[list[int], Solution]]:
    groups: dict[Any, list[int]] = {}
    before: Any = None
    for i, truss in enumerate(trusses):
        of = structure(truss), alike(truss)
        # trusses that come one after the other are mostly alike: to compare is quicker than to look up
        if of != before:
            before, group = of, groups.setdefault(of, [])
        group.append(i)
    for (of_one, _), group in groups.items():
        first = trusses[group[0]]
        its = cases(first) if its_cases is None else its_cases
        for start in range(0, len(group), STACK):
            which = group[start : start + STACK]
            yield which, _solve([trusses[i] for i in which], its, of_structure(of_one), layout(first))


def _solve(trusses: Sequence[Truss], cases: tuple[Case, ...], shape: Topology, laid: Layout) -> Solution:
    place = geometry(trusses, shape)
    loads = member_loads(trusses, cases, shape, place, laid)
    where, of = places(shape), springs(shape, place)
    nodal = nodal_loads(shape, place, loads)
    f = gather(where, _global(place, nodal))
    standing = joint_loads(trusses, cases)
    if standing is not None:
        f[:, :, where.joints] += standing.reshape(*standing.shape[:2], 2 * shape.joints)
    d, doubtful = _displacements(where, stiffness_band(where, of), f)
    s = _forces(where, place, of, d)
    moving: dict[int, Mechanism] = {}
    for t in map(int, np.flatnonzero(doubtful)):
        motion = free_motion(trusses[t])
        if motion is None:
            d[t], s[t] = _carefully(shape, where, place.only(t), f[t])
        else:
            moving[t] = motion
    reactions = _reactions(shape, where, place, of, s, f)
    u = d.take(where.joints, axis=2).reshape(*d.shape[:2], shape.joints, 2)
    return Solution(shape, cases, place, loads, u, reactions, _ends(shape, place, s, nodal), moving)


def _global(place: Geometry, nodal: np.ndarray) -> np.ndarray:
    """Loads at the members' ends, (t, r, 6, m), on u₁ u₂ v₁ v₂ ψ₁ ψ₂ as `band` numbers them."""
    out = np.empty_like(nodal)
    pull, push = nodal[:, :, None, :2], nodal[:, :, None, 2:4]
    t, r, _, m = nodal.shape
    both = out[:, :, :4].reshape(t, r, 2, 2, m)
    np.multiply(pull, place.along[:, None, :, None], out=both)
    both += push * place.up[:, None, :, None]
    np.multiply(nodal[:, :, 4:], place.hand[:, None, None], out=out[:, :, 4:])
    return out


def _displacements(where: Places, band: np.ndarray, f: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """d (t, r, N + 1), zero where a bearing holds, and whose stiffness is not to be trusted (t,).

    How large the inverse of the stiffness is, scaled to a diagonal of ones, is seen from what it makes of two loads at
    random beside the cases.
    """
    t, r = f.shape[:2]
    d = np.zeros((t, r, where.all + 1))
    if not where.free:
        return d, np.zeros(t, dtype=bool)
    scale = np.sqrt(band[:, :, 0])
    shifts = scale.take(where.shifts, axis=1)
    soft = shifts.min(axis=1, initial=np.inf) < _SOFT * shifts.max(axis=1, initial=0.0)
    sides = np.empty((t, r + 2, where.free))
    sides[:, :r] = f[:, :, : where.free]
    np.multiply(where.probes, scale[:, None], out=sides[:, r:])
    found = solve_band(band, sides)
    d[:, :, : where.free] = sides[:, :r]
    sides[:, r:] *= scale[:, None]
    norm = np.abs(sides[:, r:]).max(axis=(1, 2))
    return d, soft | ~found | ~(norm < _WELL_CONDITIONED)


def _forces(where: Places, place: Geometry, of: Springs, d: np.ndarray) -> np.ndarray:
    """(t, r, 3, m): what the springs of each member carry, its pull, kink and lean."""
    u = d.take(where.at, axis=2)
    step = u[:, :, 1:4:2] - u[:, :, 0:4:2]
    turn = u[:, :, 4:] * place.hand[:, None, None]
    s = np.empty((*u.shape[:2], 3, u.shape[3]))
    np.add.reduce(step * place.along[:, None], axis=2, out=s[:, :, 0])
    np.subtract(turn[:, :, 1], turn[:, :, 0], out=s[:, :, 1])
    np.add(turn[:, :, 0], turn[:, :, 1], out=s[:, :, 2])
    s[:, :, 2] -= np.add.reduce(step * of.sway[:, None], axis=2)
    s *= of.stiff[:, None]
    return s


def _carefully(shape: Topology, where: Places, place: Geometry, f: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """d (r, N + 1) and the springs' forces (r, 3, m) of one truss whose stiffness is ill-conditioned (a stub beside a
    long chord, a joint that hardly anything holds), through √C B = QR, which keeps half of the digits that the
    stiffness itself would lose."""
    root = np.sqrt(stiffness(shape, place)[0])
    a = root[:, None] * compatibility(shape, place)[0][:, shape.order]
    scale = np.sqrt((a * a).sum(axis=0))
    x, s = _orthogonal(a / scale, root, f[:, : where.free] / scale)
    d = np.zeros((len(f), where.all + 1))
    d[:, : where.free] = x / scale
    m, both = len(shape.ends), len(shape.both)
    forces = np.zeros((len(f), 3, m))
    forces[:, 0] = s[:, :m]
    forces[:, 1, shape.both] = s[:, m : m + both]
    forces[:, 2, shape.both] = s[:, m + both : m + 2 * both]
    forces[:, 2, shape.one] = s[:, m + 2 * both :]
    return d, forces


def _orthogonal(a: np.ndarray, root: np.ndarray, load: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """x (r, n) and s (r, rows) with aᵀa x = load and s = √C a x, without forming aᵀa. Stiffest rows first: the
    reflections lose the soft ones otherwise."""
    order = np.argsort(-(a * a).sum(axis=1))
    q, upper = np.linalg.qr(a[order])
    y = np.linalg.solve(upper.T, load.T)
    s = np.empty((load.shape[0], len(root)))
    s[:, order] = (q @ y).T * root[order]
    return np.linalg.solve(upper, y).T, s


@lru_cache(maxsize=256)
def _touching(shape: Topology) -> tuple[np.ndarray, np.ndarray]:
    """The members that end at bearings (e,), and which end each bearing takes (e, b): +1 a second one, -1 a first."""
    found = [(b, m, end) for b, joint in enumerate(shape.bearings) for m, end in np.argwhere(shape.ends == joint)]
    b, m, end = np.array(found, dtype=int).reshape(-1, 3).T
    return m, (b[:, None] == np.arange(len(shape.bearings))) * np.where(end == 0, -1.0, 1.0)[:, None]


def _reactions(
    shape: Topology, where: Places, place: Geometry, of: Springs, s: np.ndarray, f: np.ndarray
) -> np.ndarray:
    """(t, r, b, 2): what the members bring to each bearing beyond the loads there, in the directions that it holds."""
    m, to_bearing = _touching(shape)
    its = s.take(m, axis=3)
    brought = its[:, :, :1] * place.along.take(m, axis=2)[:, None]
    brought -= its[:, :, 2:] * of.sway.take(m, axis=2)[:, None]
    held = brought @ to_bearing
    held -= f.take(where.bearings, axis=2)
    held *= shape.held.T
    return held.transpose(0, 1, 3, 2)


def _ends(shape: Topology, place: Geometry, s: np.ndarray, nodal: np.ndarray) -> np.ndarray:
    """Axial forces, shears and moments at the first and the second end, (t, r, 6, m), with the signs of `Response`."""
    ends = nodal * _END_SIGNS
    ends[:, :, :2] += s[:, :, :1]
    moments = s[:, :, 2:] * _FIRST_SECOND
    moments += s[:, :, 1:2]
    moments *= ~shape.pinned.T
    across = moments[:, :, 1] - moments[:, :, 0]
    across /= place.length[:, None]
    ends[:, :, 2] += across
    ends[:, :, 3] -= across
    ends[:, :, 4:] += moments
    return ends


#: A load at a member's end is part of the force there with this sign: axial, shear, moment, first and second end each.
_END_SIGNS = np.array([1.0, -1.0, -1.0, -1.0, 1.0, -1.0])[:, None]
_FIRST_SECOND = np.array([-1.0, 1.0])[:, None]
