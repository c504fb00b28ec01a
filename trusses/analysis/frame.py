"""The plane frame: assemble, condense, solve, recover, for one truss or a stack of trusses of one shape.

Direct stiffness, linear elastic, small displacements. The letters are those of any text on matrix structural
analysis: B compatibility, C member stiffness, K = BᵀCB stiffness, d displacements, s member forces, F loads; see
`assembly`. All cases are right-hand sides of one factorisation.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from operator import attrgetter
from typing import Any

import numpy as np

from trusses.analysis.loads import Case, cases
from trusses.analysis.model import Truss
from trusses.analysis.solver.assembly import compatibility, stiffness
from trusses.analysis.solver.band import Places, Springs, gather, places, solve_band, springs, stiffness_band
from trusses.analysis.solver.geometry import Geometry, geometry, rigidities
from trusses.analysis.solver.mechanism import Mechanism, free_motion
from trusses.analysis.solver.member_loads import Layout, joint_loads, layout, member_loads, others
from trusses.analysis.solver.nodal_loads import nodal_loads
from trusses.analysis.solver.response import Response
from trusses.analysis.solver.solution import Solution
from trusses.analysis.solver.topology import Topology, topology

__all__ = ["STACK", "Mechanism", "solve", "solve_stack", "stacks"]

#: Where the inverse of the stiffness, scaled to a diagonal of ones, is larger, the slower, orthogonal way is taken.
#: Ordinary trusses stay under 200, one of 160 panels under 10,000; what is lost here is no more than five digits.
_WELL_CONDITIONED = 1e5
#: So it is where some joint is this much softer, one way, than the stiffest: the square root of a stiffness ratio, for
#: a joint held by members almost square to the motion alone about their slope.
_SOFT = 1e-4
#: Trusses solved together; more gain nothing and take memory.
STACK = 64


def solve(truss: Truss, cases: Sequence[Case]) -> Response:
    """One truss under each of its cases. Raises Mechanism where it can move freely."""
    shape = topology(truss)
    return _solve([truss], tuple(cases), shape, layout(truss), geometry([truss], shape)).response(0)


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
    groups: dict[Any, list[tuple[int, int]]] = {}
    before: Any = None
    for i, truss in enumerate(trusses):
        of = _pieces(truss), alike(truss)
        # trusses that come one after the other are mostly alike: to compare is quicker than to look up
        if of != before:
            before, same, group = of, i, groups.setdefault((topology(truss), of[1]), [])
        group.append((i, same))
    for (shape, _), members in groups.items():
        first = trusses[members[0][0]]
        its, laid = cases(first) if its_cases is None else its_cases, layout(first)
        for start in range(0, len(members), STACK):
            which, of_pieces = zip(*members[start : start + STACK], strict=True)
            stiff = {i: rigidities(trusses[i]) for i in set(of_pieces)}
            place = geometry([trusses[i] for i in which], shape, [stiff[i] for i in of_pieces])
            yield list(which), _solve([trusses[i] for i in which], its, shape, laid, place)


def _pieces(truss: Truss) -> tuple[Any, ...]:
    """What trusses share that have one topology and the same pieces of lumber, quick to compare."""
    return (
        truss.plies,
        truss.hinges,
        tuple(map(_NAME, truss.joints)),
        tuple(map(_PIECE, truss.members)),
        tuple(map(_HELD, truss.bearings)),
    )


_NAME, _HELD, _PIECE = (
    attrgetter("name"),
    attrgetter("joint", "restrains"),
    attrgetter("role", "joints", "lumber", "flat"),
)


def _solve(
    trusses: Sequence[Truss], cases: tuple[Case, ...], shape: Topology, laid: Layout, place: Geometry
) -> Solution:
    loads = member_loads(trusses, cases, shape, place, laid)
    where, of = places(shape), springs(shape, place)
    nodal = nodal_loads(shape, place, loads)
    f = gather(where, _global(place, nodal))
    standing = joint_loads(trusses, cases)
    if standing is not None:
        f[:, where.joints] += standing.reshape(len(cases), 2 * shape.joints, len(trusses))
    d, doubtful = _displacements(where, stiffness_band(where, of), f)
    s = _forces(where, place, of, d)
    moving: dict[int, Mechanism] = {}
    for t in map(int, np.flatnonzero(doubtful)):
        motion = free_motion(trusses[t])
        if motion is None:
            d[..., t], s[..., t] = _carefully(shape, where, place.only(t), f[..., t])
        else:
            moving[t] = motion
    reactions = _reactions(shape, where, place, of, s, f)
    u = d.take(where.joints, axis=1)
    return Solution(shape, cases, place, loads, u, reactions, _ends(shape, place, s, nodal), moving)


def _global(place: Geometry, nodal: np.ndarray) -> np.ndarray:
    """Loads at the members' ends, (r, 6, m, t), on u₁ u₂ v₁ v₂ ψ₁ ψ₂ as `band` numbers them."""
    out = np.empty_like(nodal)
    r, _, m, t = nodal.shape
    shifts = out[:, :4].reshape(r, 2, 2, m, t)
    np.multiply(nodal[:, None, :2], place.along[:, None], out=shifts)
    shifts += nodal[:, None, 2:4] * place.up[:, None]
    np.multiply(nodal[:, 4:], place.hand, out=out[:, 4:])
    return out


def _displacements(where: Places, band: np.ndarray, f: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """d (r, N + 1, t), zero where a bearing holds, and whose stiffness is not to be trusted (t,).

    How large the inverse of the stiffness is, scaled to a diagonal of ones, is seen from what it makes of a load at
    random beside the cases.
    """
    r, _, t = f.shape
    d = np.zeros((r, where.all + 1, t))
    if not where.free:
        return d, np.zeros(t, dtype=bool)
    scale = np.sqrt(band[:, :, 0])
    shifts = scale.take(where.shifts, axis=1)
    soft = shifts.min(axis=1, initial=np.inf) < _SOFT * shifts.max(axis=1, initial=0.0)
    sides = np.empty((t, r + 1, where.free))
    sides[:, :r] = f[:, : where.free].transpose(2, 0, 1)
    np.multiply(where.probe, scale, out=sides[:, r])
    found = solve_band(band, sides)
    d[:, : where.free] = sides[:, :r].transpose(1, 2, 0)
    scale *= sides[:, r]
    norm = np.abs(scale, out=scale).max(axis=1)
    return d, soft | ~found | ~(norm < _WELL_CONDITIONED)


def _forces(where: Places, place: Geometry, of: Springs, d: np.ndarray) -> np.ndarray:
    """(r, 3, m, t): what the springs of each member carry, its pull, kink and lean."""
    u = d.take(where.at, axis=1)
    step, turn = u[:, 1:4:2] - u[:, 0:4:2], u[:, 4:] * place.hand
    s = np.empty((len(u), 3, *u.shape[2:]))
    pull, kink, lean = s[:, 0], s[:, 1], s[:, 2]
    part = step * place.along
    np.add(part[:, 0], part[:, 1], out=pull)
    np.subtract(turn[:, 1], turn[:, 0], out=kink)
    np.add(turn[:, 0], turn[:, 1], out=lean)
    step *= of.sway
    lean -= step[:, 0]
    lean -= step[:, 1]
    s *= of.stiff
    return s


def _carefully(shape: Topology, where: Places, place: Geometry, f: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """d (r, N + 1) and the springs' forces (r, 3, m) of one truss whose stiffness is ill-conditioned (a stub beside a
    long chord, a joint that hardly anything holds), through √C B = QR, which keeps half of the digits that the
    stiffness itself would lose."""
    root = np.sqrt(stiffness(shape, place))
    a = root[:, None] * compatibility(shape, place)[:, shape.order]
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
    """The members that end at bearings (e,), and which end each bearing takes (b, e): +1 a second one, -1 a first."""
    found = [(b, m, end) for b, joint in enumerate(shape.bearings) for m, end in np.argwhere(shape.ends == joint)]
    b, m, end = np.array(found, dtype=int).reshape(-1, 3).T
    return m, (np.arange(len(shape.bearings))[:, None] == b) * np.where(end == 0, -1.0, 1.0)


def _reactions(
    shape: Topology, where: Places, place: Geometry, of: Springs, s: np.ndarray, f: np.ndarray
) -> np.ndarray:
    """(r, 2, b, t): what the members bring to each bearing beyond the loads there, in the directions that it holds."""
    m, to_bearing = _touching(shape)
    its = s.take(m, axis=2)
    brought = its[:, :1] * place.along.take(m, axis=1)
    brought -= its[:, 2:] * of.sway.take(m, axis=1)
    held = to_bearing @ brought
    held -= f.take(where.bearings, axis=1)
    held *= shape.held.T[..., None]
    return held


def _ends(shape: Topology, place: Geometry, s: np.ndarray, nodal: np.ndarray) -> np.ndarray:
    """Axial forces, shears and moments at the first and the second end, (r, 6, m, t), with the signs of `Response`."""
    ends = nodal * _END_SIGNS
    ends[:, :2] += s[:, :1]
    moments = np.empty((len(s), 2, *s.shape[2:]))
    np.subtract(s[:, 1], s[:, 2], out=moments[:, 0])
    np.add(s[:, 1], s[:, 2], out=moments[:, 1])
    moments *= shape.runs_on
    across = moments[:, 1] - moments[:, 0]
    across /= place.length
    ends[:, 2] += across
    ends[:, 3] -= across
    ends[:, 4:] += moments
    return ends


#: A load at a member's end is part of the force there with this sign: axial, shear, moment, first and second end each.
_END_SIGNS = np.array([1.0, -1.0, -1.0, -1.0, 1.0, -1.0])[:, None, None]
