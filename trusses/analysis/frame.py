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
from trusses.analysis.solver.member_loads import Layout, joint_loads, layout, member_loads
from trusses.analysis.solver.nodal_loads import nodal_loads
from trusses.analysis.solver.response import Response
from trusses.analysis.solver.solution import Solution
from trusses.analysis.solver.topology import Topology, topology

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
    outcomes: dict[int, Response | Mechanism] = {}
    if len({topology(truss) for truss in trusses}) > 1:
        raise ValueError("the trusses of a stack must have one shape")
    for which, solution in _stacks(trusses, lambda truss: (), lambda truss: tuple(cases)):
        outcomes |= {i: solution.moving.get(t) or solution.response(t) for t, i in enumerate(which)}
    return [outcomes[i] for i in range(len(trusses))]


def stacks(
    trusses: Sequence[Truss], alike: Callable[[Truss], object] = lambda truss: ()
) -> Iterator[tuple[list[int], Solution]]:
    """Any trusses, each under its own cases, solved in stacks of one shape and of the same cases: the indices of a
    stack and its solution. Trusses in one stack also give the same value of `alike`."""
    return _stacks(trusses, alike, cases)


def _stacks(
    trusses: Sequence[Truss], alike: Callable[[Truss], object], cases_of: Callable[[Truss], tuple[Case, ...]]
) -> Iterator[tuple[list[int], Solution]]:
    groups: dict[Any, list[int]] = {}
    for i, truss in enumerate(trusses):
        groups.setdefault((topology(truss), layout(truss), cases_of(truss), alike(truss)), []).append(i)
    for (shape, laid, its_cases, _), group in groups.items():
        for start in range(0, len(group), STACK):
            which = group[start : start + STACK]
            yield which, _solve([trusses[i] for i in which], its_cases, shape, laid)


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
            d[t], s[:, t] = _carefully(shape, where, place.only(t), f[t])
        else:
            moving[t] = motion
    reactions = _reactions(shape, where, place, of, s, f)
    u = d.take(where.joints, axis=2).reshape(*d.shape[:2], shape.joints, 2)
    return Solution(shape, place, loads, u, reactions, *_ends(shape, place, s, nodal), moving)


def _global(place: Geometry, nodal: np.ndarray) -> np.ndarray:
    """Loads at the members' ends, (t, r, 6, m), on u₁ v₁ u₂ v₂ ψ₁ ψ₂ as `band` numbers them."""
    out = np.empty_like(nodal)
    pull, push = nodal[:, :, :2], nodal[:, :, 2::2]
    cos, sin, hand = (values[:, None, None] for values in (place.cos, place.sin, place.hand))
    np.subtract(pull * cos, push * (hand * sin), out=out[:, :, 0:4:2])
    np.add(pull * sin, push * (hand * cos), out=out[:, :, 1:4:2])
    np.multiply(nodal[:, :, 3::2], hand, out=out[:, :, 4:])
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
    shifts = scale[:, where.shifts]
    soft = shifts.min(axis=1, initial=np.inf) < _SOFT * shifts.max(axis=1, initial=0.0)
    sides = np.empty((t, r + 2, where.free))
    sides[:, :r] = f[:, :, : where.free]
    np.multiply(where.probes, scale[:, None], out=sides[:, r:])
    found = solve_band(band, sides)
    d[:, :, : where.free] = sides[:, :r]
    answer = sides[:, r:] * scale[:, None]
    answer *= answer
    return d, soft | ~found | ~(answer.sum(axis=2).max(axis=1) < _WELL_CONDITIONED**2)


def _forces(where: Places, place: Geometry, of: Springs, d: np.ndarray) -> np.ndarray:
    """(3, t, r, m): what the springs of each member carry, its pull, kink and lean."""
    u = d.take(where.at, axis=2)
    step = u[:, :, 2:4] - u[:, :, :2]
    right, up = step[:, :, 0], step[:, :, 1]
    turn = u[:, :, 4:] * place.hand[:, None, None]
    s = np.empty((3, *right.shape))
    np.multiply(right * place.cos[:, None] + up * place.sin[:, None], of.pull[:, None], out=s[0])
    np.multiply(turn[:, :, 1] - turn[:, :, 0], of.kink[:, None], out=s[1])
    lean = turn[:, :, 0] + turn[:, :, 1]
    lean -= right * of.sway[0][:, None]
    lean -= up * of.sway[1][:, None]
    np.multiply(lean, of.lean[:, None], out=s[2])
    return s


def _carefully(shape: Topology, where: Places, place: Geometry, f: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """d (r, N + 1) and the springs' forces (3, r, m) of one truss whose stiffness is ill-conditioned (a stub beside a
    long chord, a joint that hardly anything holds), through √C B = QR, which keeps half of the digits that the
    stiffness itself would lose."""
    root = np.sqrt(stiffness(shape, place)[0])
    a = root[:, None] * compatibility(shape, place)[0][:, shape.order]
    scale = np.sqrt((a * a).sum(axis=0))
    x, s = _orthogonal(a / scale, root, f[:, : where.free] / scale)
    d = np.zeros((len(f), where.all + 1))
    d[:, : where.free] = x / scale
    m, both = len(shape.ends), len(shape.both)
    forces = np.zeros((3, len(f), m))
    forces[0] = s[:, :m]
    forces[1][:, shape.both] = s[:, m : m + both]
    forces[2][:, shape.both] = s[:, m + both : m + 2 * both]
    forces[2][:, shape.one] = s[:, m + 2 * both :]
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
    """The member ends at bearings: the members (e,), +1 at a second end and -1 at a first (e,), and which of them each
    bearing takes (b, e)."""
    found = [(b, m, end) for b, joint in enumerate(shape.bearings) for m, end in np.argwhere(shape.ends == joint)]
    b, m, end = np.array(found, dtype=int).reshape(-1, 3).T
    return m, np.where(end == 0, -1.0, 1.0), (np.arange(len(shape.bearings))[:, None] == b).astype(float)


def _reactions(
    shape: Topology, where: Places, place: Geometry, of: Springs, s: np.ndarray, f: np.ndarray
) -> np.ndarray:
    """(t, r, b, 2): what the members bring to each bearing beyond the loads there, in the directions that it holds."""
    m, sign, to_bearing = _touching(shape)
    pull, lean = s[0][..., m] * sign, s[2][..., m] * sign
    brought = np.empty((*pull.shape, 2))
    np.subtract(pull * place.cos[:, None, m], lean * of.sway[0][:, None, m], out=brought[..., 0])
    np.subtract(pull * place.sin[:, None, m], lean * of.sway[1][:, None, m], out=brought[..., 1])
    held = to_bearing @ brought
    held -= f[:, :, where.joints.reshape(-1, 2)[shape.bearings]]
    held *= shape.held
    return held


def _ends(
    shape: Topology, place: Geometry, s: np.ndarray, nodal: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """End axial forces, shears and moments, (t, r, 2, m) each, with the signs of `Response`."""
    pull, kink, lean = s
    axial, shear, moment = (np.empty((*pull.shape[:2], 2, pull.shape[2])) for _ in range(3))
    np.add(pull, nodal[:, :, 0], out=axial[:, :, 0])
    np.subtract(pull, nodal[:, :, 1], out=axial[:, :, 1])
    first, second = moment[:, :, 0], moment[:, :, 1]
    np.multiply(kink - lean, ~shape.pinned[:, 0], out=first)
    np.multiply(kink + lean, ~shape.pinned[:, 1], out=second)
    across = (second - first) / place.length[:, None]
    np.subtract(across, nodal[:, :, 2], out=shear[:, :, 0])
    np.subtract(-across, nodal[:, :, 4], out=shear[:, :, 1])
    first += nodal[:, :, 3]
    second -= nodal[:, :, 5]
    return axial, shear, moment
