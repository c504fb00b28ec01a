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

from trusses.analysis.format.model import Bearing, Member, Service, Truss
from trusses.analysis.frame.assembly import compatibility, stiffness
from trusses.analysis.frame.band import Places, Springs, gather, places, solve_band, springs, stiffness_band
from trusses.analysis.frame.geometry import Geometry, geometry, located, rigidities
from trusses.analysis.frame.mechanism import Mechanism, free_motion
from trusses.analysis.frame.member_loads import Layout, Loaded, joint_loads, layout, member_loads, others
from trusses.analysis.frame.nodal_loads import nodal_loads
from trusses.analysis.frame.results import Results, of_solution
from trusses.analysis.frame.solution import Solution, blank
from trusses.analysis.frame.topology import Topology, topology, topology_of
from trusses.analysis.loads.combinations import Case, cases

__all__ = ["STACK", "Mechanism", "solve", "solve_stack", "stacks"]

#: Where the inverse of the stiffness, scaled to a diagonal of ones, is larger, the slower, orthogonal way is taken.
#: Ordinary trusses stay under 200, one of 160 panels under 10,000; what is lost here is no more than five digits.
_WELL_CONDITIONED = 1e5
#: So it is where some joint is this much softer, one way, than the stiffest: the square root of a stiffness ratio, for
#: a joint held by members almost square to the motion alone about their slope.
_SOFT = 1e-4
#: Trusses solved together; more gain nothing and take memory.
STACK = 64


def solve(truss: Truss, cases: Sequence[Case]) -> Results:
    """One truss under each of its cases. Raises Mechanism where it can move freely."""
    shape = topology(truss)
    return of_solution(truss, _solve([truss], tuple(cases), shape, layout(truss), geometry([truss], shape)), 0)


def solve_stack(trusses: Sequence[Truss], cases: Sequence[Case]) -> list[Results | Mechanism]:
    """Trusses of one shape, all under the same cases; where one can move freely, a Mechanism stands in its place.

    One shape is: members of the same roles between the same joints, hinges and bearings at the same joints, all in
    the same order. Coordinates, lumber, plies, spacing and loads may differ. Raises ValueError for different shapes.
    """
    if len({topology(truss) for truss in trusses}) > 1:
        raise ValueError("the trusses of a stack must have one shape")
    outcomes: dict[int, Results | Mechanism] = {}
    for which, solution in _stacks(trusses, lambda truss: (), tuple(cases)):
        outcomes |= {i: solution.moving.get(t) or of_solution(trusses[i], solution, t) for t, i in enumerate(which)}
    return [outcomes[i] for i in range(len(trusses))]


def stacks(
    trusses: Sequence[Truss], alike: Callable[[Truss], object] = lambda truss: ()
) -> Iterator[tuple[list[int], Solution]]:
    """Any trusses, each under its own cases, solved in stacks of one shape and of the same cases: the indices of a
    stack and its solution. Trusses in one stack also give the same value of `alike`."""
    return _stacks(trusses, lambda truss: (others(truss), alike(truss)))


def _stacks(
    trusses: Sequence[Truss], alike: Callable[[Truss], object], given: tuple[Case, ...] | None = None
) -> Iterator[tuple[list[int], Solution]]:
    groups: dict[Any, list[tuple[int, np.ndarray]]] = {}
    before: Any = None
    for i, truss in enumerate(trusses):
        key = (
            (truss.names, truss.members, truss.hinges, truss.bearings, truss.plies, truss.service),
            (layout(truss), alike(truss)),
        )
        # trusses that come one after the other are mostly alike: to compare is quicker than to look up
        if key != before:
            before, (shape, stiff) = key, _known(*key[0])
            group = groups.setdefault((shape, *key[1]), [])
        group.append((i, stiff))
    for (shape, laid, _), members in groups.items():
        rows = cases(trusses[members[0][0]]) if given is None else given
        for start in range(0, len(members), STACK):
            which, stiff_of = zip(*members[start : start + STACK], strict=True)
            stacked = [trusses[i] for i in which]
            yield list(which), _solve(stacked, rows, shape, laid, located(stacked, stiff_of, shape))


@lru_cache(maxsize=256)
def _known(
    joints: tuple[str, ...],
    members: tuple[Member, ...],
    hinges: frozenset[str],
    bearings: tuple[Bearing, ...],
    plies: int,
    service: Service,
) -> tuple[Topology, np.ndarray]:
    return topology_of(joints, members, hinges, bearings), rigidities(plies, members, service)


def _solve(
    trusses: Sequence[Truss], cases: tuple[Case, ...], shape: Topology, laid: Layout, place: Geometry
) -> Solution:
    loads = member_loads(trusses, cases, shape, place, laid)
    unknowns, bars = places(shape), springs(shape, place)
    nodal = nodal_loads(shape, place, loads)
    f = gather(shape, loads.on, _global(place, loads.on, nodal))
    standing = joint_loads(trusses, cases)
    if standing is not None:
        f[:, unknowns.joints] += standing.reshape(len(cases), 2 * shape.joints, len(trusses))
    d, doubtful = _displacements(unknowns, stiffness_band(unknowns, bars), f)
    s = _forces(unknowns, place, bars, d)
    moving: dict[int, Mechanism] = {}
    for t in doubtful.nonzero()[0].tolist():
        motion = free_motion(trusses[t])
        if motion is None:
            d[..., t], s[..., t] = _carefully(shape, unknowns, place.only(t), f[..., t])
        else:
            moving[t] = motion
    solution = Solution(shape, cases, place, loads, blank(shape, len(cases), len(trusses)), moving)
    solution.displacements[:] = d.take(unknowns.joints, axis=1)
    _reactions(solution.reactions, shape, unknowns, bars, s, f)
    ends = solution.ends
    _ends(ends, shape, bars, s)
    nodal *= _END_SIGNS
    ends[:, :, loads.on.part] += nodal
    return solution


def _global(place: Geometry, on: Loaded, nodal: np.ndarray) -> np.ndarray:
    """Loads at the ends of loaded members, (r, 6 c + 1, t), on u₁ u₂ v₁ v₂ ψ₁ ψ₂ as `band` numbers them, and nothing
    after them."""
    r, _, c, t = nodal.shape
    out = np.empty((r, 6 * c + 1, t))
    out[:, -1] = 0.0
    ends = out[:, :-1].reshape(r, 3, 2, c, t)
    np.multiply(nodal[:, None, :2], on.of(place.along)[:, None], out=ends[:, :2])
    ends[:, :2] += nodal[:, None, 2:4] * on.of(place.up)[:, None]
    np.multiply(nodal[:, 4:], on.of(place.hand), out=ends[:, 2])
    return out


def _displacements(unknowns: Places, band: np.ndarray, f: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """d (r, N + 1, t), zero where a bearing holds, and whose stiffness is not to be trusted (t,).

    How large the inverse of the stiffness is, scaled to a diagonal of ones, is seen from what it makes of a load at
    random beside the cases.
    """
    r, _, t = f.shape
    d = np.zeros((r, unknowns.all + 1, t))
    if not unknowns.free:
        return d, np.zeros(t, dtype=bool)
    scale = np.sqrt(band[:, :, 0])
    shifts = scale.take(unknowns.shifts, axis=1)
    soft = np.minimum.reduce(shifts, axis=1, initial=np.inf) < _SOFT * np.maximum.reduce(shifts, axis=1, initial=0.0)
    sides = np.empty((t, r + 1, unknowns.free))
    sides[:, :r] = f[:, : unknowns.free].transpose(2, 0, 1)
    np.multiply(unknowns.probe, scale, out=sides[:, r])
    unsolved = solve_band(band, sides)
    d[:, : unknowns.free] = sides[:, :r].transpose(1, 2, 0)
    scale *= sides[:, r]
    trusted = np.maximum.reduce(np.abs(scale, out=scale), axis=1) < _WELL_CONDITIONED
    trusted[unsolved] = False
    return d, soft >= trusted


def _forces(unknowns: Places, place: Geometry, bars: Springs, d: np.ndarray) -> np.ndarray:
    """(r, 3, m, t): what the springs of each member carry, its pull, kink and lean."""
    u = d.take(unknowns.at, axis=1)
    step, turn = u[:, 1:4:2] - u[:, 0:4:2], u[:, 4:] * place.hand
    s = np.empty((len(u), 3, *u.shape[2:]))
    part = step[:, None] * bars.ways
    np.add(part[:, :, 0], part[:, :, 1], out=s[:, 0::2])
    np.subtract(turn[:, 1], turn[:, 0], out=s[:, 1])
    turn = np.add(turn[:, 0], turn[:, 1], out=turn[:, 0])
    np.subtract(turn, s[:, 2], out=s[:, 2])
    s *= bars.stiff
    return s


def _carefully(shape: Topology, unknowns: Places, place: Geometry, f: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """d (r, N + 1) and the springs' forces (r, 3, m) of one truss whose stiffness is ill-conditioned (a stub beside a
    long chord, a joint that hardly anything holds), through √C B = QR, which keeps half of the digits that the
    stiffness itself would lose."""
    root = np.sqrt(stiffness(shape, place))
    a = root[:, None] * compatibility(shape, place)[:, shape.order]
    scale = np.sqrt((a * a).sum(axis=0))
    x, s = _orthogonal(a / scale, root, f[:, : unknowns.free] / scale)
    d = np.zeros((len(f), unknowns.all + 1))
    d[:, : unknowns.free] = x / scale
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
def _touching(shape: Topology) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The members that end at bearings (e,), which end each bearing takes (b, e): +1 a second one, -1 a first, and
    which way each holds (2, b, 1)."""
    found = [(b, m, end) for b, joint in enumerate(shape.bearings) for m, end in np.argwhere(shape.ends == joint)]
    b, m, end = np.array(found, dtype=int).reshape(-1, 3).T
    takes = (np.arange(len(shape.bearings))[:, None] == b) * np.where(end == 0, -1.0, 1.0)
    return m, takes, shape.held.T[..., None].astype(float)


def _reactions(out: np.ndarray, shape: Topology, unknowns: Places, bars: Springs, s: np.ndarray, f: np.ndarray) -> None:
    """(r, 2, b, t): what the members bring to each bearing beyond the loads there, in the directions that it holds."""
    m, to_bearing, held = _touching(shape)
    brought = s.take(m, axis=2)[:, 0::2, None] * bars.ways.take(m, axis=2)
    np.matmul(to_bearing, brought[:, 0] - brought[:, 1], out=out)
    out -= f.take(unknowns.bearings, axis=1)
    out *= held


def _ends(out: np.ndarray, shape: Topology, bars: Springs, s: np.ndarray) -> None:
    """What the springs do at the ends, (r, 6, m, t): axial forces, shears and moments at the first and the second one,
    with the signs of `Results`."""
    out[:, :2] = s[:, :1]
    np.multiply(s[:, 2:], shape.turns, out=out[:, 4:])
    out[:, 4:] += s[:, 1:2]
    np.multiply(s[:, 2], bars.per_inch, out=out[:, 2])
    np.negative(out[:, 2], out=out[:, 3])


#: A load at a member's end is part of the force there with this sign: axial, shear, moment, first and second end each.
_END_SIGNS = np.array([1.0, -1.0, -1.0, -1.0, 1.0, -1.0])[:, None, None]
