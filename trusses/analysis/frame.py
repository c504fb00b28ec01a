"""The plane frame: assemble, condense, solve, recover, for one truss or a stack of trusses of one shape.

Direct stiffness, linear elastic, small displacements. The letters are those of any text on matrix structural
analysis: B compatibility, C member stiffness, K = BᵀCB stiffness, d displacements, s member forces, F loads; see
`assembly`. All cases are right-hand sides of one factorisation.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from trusses.analysis.assembly import assemble, compatibility, nodal_loads, stiffness
from trusses.analysis.loads import Case
from trusses.analysis.lumber import lookup, section
from trusses.analysis.mechanism import Mechanism, free_motion
from trusses.analysis.member_loads import Geometry, MemberLoads, geometry, joint_loads, member_loads
from trusses.analysis.model import Truss
from trusses.analysis.response import Response
from trusses.analysis.topology import Topology, key, topology

__all__ = ["Mechanism", "solve", "solve_stack"]

#: Where the inverse of the stiffness, scaled to a diagonal of ones, is larger, the slower, orthogonal way is taken.
_WELL_CONDITIONED = 1e6
#: So it is where some joint is this much softer, one way, than the stiffest: the square root of a stiffness ratio, for
#: a joint held by members almost square to the motion alone about their slope.
_SOFT = 1e-4
#: Trusses solved together; more gain nothing and take memory.
_STACK = 32


def solve(truss: Truss, cases: Sequence[Case]) -> Response:
    """One truss under each of its cases. Raises Mechanism where it can move freely."""
    outcome = solve_stack([truss], cases)[0]
    if isinstance(outcome, Mechanism):
        raise outcome
    return outcome


def solve_stack(trusses: Sequence[Truss], cases: Sequence[Case]) -> list[Response | Mechanism]:
    """Trusses of one shape, all under the same cases; where one can move freely, a Mechanism stands in its place.

    One shape is: members of the same roles between the same joints, hinges and bearings at the same joints, all in
    the same order. Coordinates, lumber, plies, spacing and loads may differ. Raises ValueError for different shapes.
    """
    if not trusses:
        return []
    shape, its_key = topology(trusses[0]), key(trusses[0])
    if any(key(truss) != its_key for truss in trusses[1:]):
        raise ValueError("the trusses of a stack must have one shape")
    outcomes: list[Response | Mechanism] = []
    for at in range(0, len(trusses), _STACK):
        outcomes += _solve(trusses[at : at + _STACK], cases, shape)
    return outcomes


def _solve(trusses: Sequence[Truss], cases: Sequence[Case], shape: Topology) -> list[Response | Mechanism]:
    place = geometry(trusses, shape.ends)
    loads = member_loads(trusses, cases, place)
    ea, ei = _rigidities(trusses)
    b = compatibility(shape, place)
    c = stiffness(shape, place, ea, ei)
    axial, transverse = nodal_loads(shape, place, loads)
    f = assemble(shape, place, joint_loads(trusses, cases), axial, transverse)
    d, s, moving = _displacements(trusses, shape, b, c, f)
    at_bearings = 2 * shape.bearings[:, None] + (0, 1)
    held = s @ b[:, :, at_bearings.ravel()] - f[:, :, at_bearings.ravel()]
    reactions = np.where(shape.held, held.reshape(*held.shape[:2], *shape.held.shape), 0.0)
    ends = _ends(shape, place, s, axial, transverse)
    along = _along(loads, *ends)
    u = d[:, :, : 2 * shape.joints].reshape(*d.shape[:2], shape.joints, 2)
    return [
        moving.get(t)
        or Response(
            displacements=u[t],
            reactions=reactions[t],
            axial=along[0][t],
            shear=along[1][t],
            moment=along[2][t],
            axial_load=loads.axial[t],
            transverse_load=loads.transverse[t],
            end_axial=ends[0][t],
            end_shear=ends[1][t],
            end_moment=ends[2][t],
            segment_start=loads.nodes[t, :, :-1],
            segment_length=np.diff(loads.nodes[t], axis=1),
            ends=shape.ends,
            length=place.length[t],
            along=place.along[t],
            up=place.up[t],
            ea=ea[t],
            ei=ei[t],
        )
        for t in range(len(trusses))
    ]


def _rigidities(trusses: Sequence[Truss]) -> tuple[np.ndarray, np.ndarray]:
    """EA (lb) and EI (lb-in²) of every member, all plies together, (t, m)."""
    known: dict[tuple[str, bool, int], tuple[float, float]] = {}
    for truss in trusses:
        for wood in {(member.lumber, member.flat, truss.plies) for member in truss.members} - known.keys():
            lumber = lookup(wood[0])
            shape = section(lumber, *wood[1:])
            known[wood] = lumber.e * shape.area, lumber.e * shape.inertia
    both = np.array([[known[m.lumber, m.flat, truss.plies] for m in truss.members] for truss in trusses])
    return both[..., 0], both[..., 1]


def _displacements(
    trusses: Sequence[Truss], shape: Topology, b: np.ndarray, c: np.ndarray, f: np.ndarray
) -> tuple[np.ndarray, np.ndarray, dict[int, Mechanism]]:
    """d (t, r, 2 j + g) and s (t, r, rows) with BᵀCB d = F where no bearing holds; and which trusses can move freely.

    Where the stiffness is ill-conditioned (a stub beside a long chord, a joint that hardly anything holds) the truss
    is first asked whether it can move, and then solved through √C B = QR, which keeps half of the digits that the
    stiffness itself would lose.
    """
    root = np.sqrt(c)
    a = root[..., None] * b[:, :, shape.free]
    scale = np.sqrt((a * a).sum(axis=1, keepdims=True))
    shifts = scale[:, 0, shape.free < 2 * shape.joints]
    soft = shifts.min(axis=1, initial=np.inf) < _SOFT * shifts.max(axis=1, initial=0.0)
    scale[scale == 0] = 1.0
    a /= scale
    load = f[:, :, shape.free] / scale
    flexibility, doubtful = _flexibility(a.transpose(0, 2, 1) @ a, soft)
    x = load @ flexibility
    s = (x @ a.transpose(0, 2, 1)) * root[:, None]
    moving: dict[int, Mechanism] = {}
    for t in map(int, np.flatnonzero(doubtful)):
        motion = free_motion(trusses[t])
        if motion is None:
            x[t], s[t] = _orthogonal(a[t], root[t], load[t])
        else:
            moving[t] = motion
    d = np.zeros_like(f)
    d[:, :, shape.free] = x / scale
    return d, s, moving


def _flexibility(k: np.ndarray, soft: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """K⁻¹ (t, n, n), and where it is not to be trusted (t,), zeros standing there. K has a diagonal of ones."""
    try:
        inverse = np.linalg.inv(k)
        doubtful = soft | ~(np.abs(inverse).sum(axis=2).max(axis=1, initial=0.0) < _WELL_CONDITIONED)
    except np.linalg.LinAlgError:
        # one singular matrix spoils the stack: each goes the slower way
        return np.zeros_like(k), np.ones(len(k), dtype=bool)
    inverse[doubtful] = 0.0
    return inverse, doubtful


def _orthogonal(a: np.ndarray, root: np.ndarray, load: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """x (r, n) and s (r, rows) with aᵀa x = load and s = √C a x, without forming aᵀa. Stiffest rows first: the
    reflections lose the soft ones otherwise."""
    order = np.argsort(-(a * a).sum(axis=1))
    q, upper = np.linalg.qr(a[order])
    y = np.linalg.solve(upper.T, load.T)
    s = np.empty((load.shape[0], len(root)))
    s[:, order] = (q @ y).T * root[order]
    return np.linalg.solve(upper, y).T, s


def _ends(
    shape: Topology, place: Geometry, s: np.ndarray, axial: np.ndarray, transverse: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """End axial forces, shears and moments, (t, r, m, 2) each, with the signs of `Response`."""
    m = len(shape.ends)
    stretch, bent = s[..., :m], s[..., m:]
    both, one = len(shape.both), shape.one
    moment = np.zeros((*stretch.shape, 2))
    moment[..., shape.both, 0] = bent[..., :both] - bent[..., both : 2 * both]
    moment[..., shape.both, 1] = bent[..., :both] + bent[..., both : 2 * both]
    moment[..., one, shape.one_end] = bent[..., 2 * both :] * np.where(shape.one_end == 0, -1, 1)
    shear = (moment[..., 1] - moment[..., 0]) / place.length[:, None]
    ends_axial = np.stack([stretch + axial[..., 0], stretch - axial[..., 1]], axis=-1)
    ends_shear = np.stack([shear - transverse[..., 0], -shear - transverse[..., 2]], axis=-1)
    ends_moment = np.stack([moment[..., 0] + transverse[..., 1], moment[..., 1] - transverse[..., 3]], axis=-1)
    return ends_axial, ends_shear, ends_moment


def _along(
    loads: MemberLoads, axial: np.ndarray, shear: np.ndarray, moment: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Axial force, shear and moment at each segment's start, (t, r, m, k), by statics from the first end."""
    h = np.diff(loads.nodes, axis=2)[:, None]

    def before(steps: np.ndarray) -> np.ndarray:
        return np.cumsum(steps, axis=3) - steps

    n = axial[..., :1] - before(loads.axial * h) - np.cumsum(loads.axial_at, axis=3)[..., :-1]
    v = shear[..., :1] - before(loads.transverse * h) - np.cumsum(loads.transverse_at, axis=3)[..., :-1]
    m = moment[..., :1] + before((v - loads.transverse * h / 2) * h)
    return n, v, m
