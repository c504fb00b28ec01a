"""The plane frame: assemble, condense, solve, recover, for one truss or a stack of trusses of one shape.

Direct stiffness, linear elastic, small displacements. The letters are those of any text on matrix structural
analysis: B compatibility, C member stiffness, K = BᵀCB stiffness, d displacements, s member forces, F loads; see
`assembly`. All cases are right-hand sides of one factorisation.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from trusses.analysis.loads import Case
from trusses.analysis.lumber import lookup, section
from trusses.analysis.model import Truss
from trusses.analysis.solver.assembly import compatibility, stiffness
from trusses.analysis.solver.band import Places, Springs, gather, places, solve_band, springs, stiffness_band
from trusses.analysis.solver.mechanism import Mechanism, free_motion
from trusses.analysis.solver.member_loads import Geometry, Held, MemberLoads, geometry, joint_loads, member_loads
from trusses.analysis.solver.nodal_loads import nodal_loads
from trusses.analysis.solver.response import Response
from trusses.analysis.solver.topology import Topology, key, topology

__all__ = ["Mechanism", "solve", "solve_stack"]

#: Where the inverse of the stiffness, scaled to a diagonal of ones, is larger, the slower, orthogonal way is taken.
_WELL_CONDITIONED = 1e6
#: So it is where some joint is this much softer, one way, than the stiffest: the square root of a stiffness ratio, for
#: a joint held by members almost square to the motion alone about their slope.
_SOFT = 1e-4
#: Trusses solved together; more gain nothing and take memory.
STACK = 64


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
    for at in range(0, len(trusses), STACK):
        outcomes += _solve(trusses[at : at + STACK], cases, shape)
    return outcomes


def _solve(trusses: Sequence[Truss], cases: Sequence[Case], shape: Topology) -> list[Response | Mechanism]:
    held = Held(cases)
    place = geometry(trusses, shape.ends)
    loads = member_loads(trusses, held, place)
    ea, ei = _rigidities(trusses)
    where, of = places(shape), springs(shape, place, ea, ei)
    axial, transverse = nodal_loads(shape, place, loads)
    f = gather(where, _global(place, axial, transverse))
    standing = joint_loads(trusses, held)
    if standing is not None:
        f[:, :, where.joints] += standing.reshape(*standing.shape[:2], 2 * shape.joints)
    d, doubtful = _displacements(where, stiffness_band(where, place, of), f)
    s = _forces(where, place, of, d)
    moving: dict[int, Mechanism] = {}
    for t in map(int, np.flatnonzero(doubtful)):
        motion = free_motion(trusses[t])
        if motion is None:
            d[t], s[:, t] = _carefully(shape, where, _one(place, t), ea[t : t + 1], ei[t : t + 1], f[t])
        else:
            moving[t] = motion
    reactions = _reactions(shape, where, place, s, f)
    ends = _ends(shape, place.length, s, axial, transverse)
    along = _along(loads, *ends)
    u = d[:, :, where.joints].reshape(*d.shape[:2], shape.joints, 2)
    return [
        moving.get(t)
        or Response(
            displacements=u[t],
            reactions=reactions[t],
            axial=along[0][t].transpose(0, 2, 1),
            shear=along[1][t].transpose(0, 2, 1),
            moment=along[2][t].transpose(0, 2, 1),
            axial_load=loads.axial[t].transpose(0, 2, 1),
            transverse_load=loads.transverse[t].transpose(0, 2, 1),
            end_axial=ends[0][t].transpose(0, 2, 1),
            end_shear=ends[1][t].transpose(0, 2, 1),
            end_moment=ends[2][t].transpose(0, 2, 1),
            segment_start=loads.nodes[t, :-1].T,
            segment_length=np.diff(loads.nodes[t], axis=0).T,
            ends=shape.ends,
            length=place.length[t],
            along=place.along[t],
            up=place.up[t],
            ea=ea[t],
            ei=ei[t],
        )
        for t in range(len(trusses))
    ]


def _global(place: Geometry, axial: np.ndarray, transverse: np.ndarray) -> np.ndarray:
    """Loads at the members' ends, (t, r, 6, m), on u₁ v₁ u₂ v₂ ψ₁ ψ₂ as `band` numbers them."""
    out = np.empty((*axial.shape[:2], 6, axial.shape[3]))
    for end in (0, 1):
        for way in (0, 1):
            pull, push = axial[:, :, end], transverse[:, :, 2 * end]
            out[:, :, 2 * end + way] = pull * place.along[:, None, :, way] + push * place.up[:, None, :, way]
        out[:, :, 4 + end] = transverse[:, :, 2 * end + 1] * place.hand[:, None]
    return out


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


def _displacements(where: Places, band: np.ndarray, f: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """d (t, r, N + 1), zero where a bearing holds, and whose stiffness is not to be trusted (t,)."""
    t, r = f.shape[:2]
    scale = np.sqrt(band[:, :, 0])
    shifts = scale[:, where.shifts]
    soft = shifts.min(axis=1, initial=np.inf) < _SOFT * shifts.max(axis=1, initial=0.0)
    scale[scale == 0] = 1.0
    beside = np.ones((t, where.free + where.width))
    beside[:, : where.free] = scale
    band /= scale[:, :, None] * sliding_window_view(beside, where.width, axis=1)[:, : where.free]
    x, norm = solve_band(band, f[:, :, : where.free] / scale[:, None])
    d = np.zeros((t, r, where.all + 1))
    d[:, :, : where.free] = x / scale[:, None]
    return d, soft | ~(norm < _WELL_CONDITIONED)


def _forces(where: Places, place: Geometry, of: Springs, d: np.ndarray) -> np.ndarray:
    """(3, t, r, m): what the springs of each member carry, its pull, kink and lean."""
    u = np.take(d, where.at, axis=2)
    right, up = u[:, :, 2] - u[:, :, 0], u[:, :, 3] - u[:, :, 1]
    hand = place.hand[:, None]
    one, two = hand * u[:, :, 4], hand * u[:, :, 5]
    x, y = place.along[:, None, :, 0], place.along[:, None, :, 1]
    rise = (place.up[..., 0] * of.count / place.length)[:, None] * right
    rise += (place.up[..., 1] * of.count / place.length)[:, None] * up
    return np.stack(
        [of.pull[:, None] * (x * right + y * up), of.kink[:, None] * (two - one), of.lean[:, None] * (one + two - rise)]
    )


def _one(place: Geometry, t: int) -> Geometry:
    """One truss's geometry out of a stack's, as a stack of one."""
    rest = (getattr(place, name)[t : t + 1] for name in ("length", "along", "up", "hand"))
    return Geometry(place.joints[t : t + 1], place.ends, *rest)


def _carefully(
    shape: Topology, where: Places, place: Geometry, ea: np.ndarray, ei: np.ndarray, f: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """d (r, N + 1) and the springs' forces (3, r, m) of one truss whose stiffness is ill-conditioned (a stub beside a
    long chord, a joint that hardly anything holds), through √C B = QR, which keeps half of the digits that the
    stiffness itself would lose."""
    root = np.sqrt(stiffness(shape, place, ea, ei)[0])
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


def _reactions(shape: Topology, where: Places, place: Geometry, s: np.ndarray, f: np.ndarray) -> np.ndarray:
    """(t, r, b, 2): what the members bring to each bearing beyond the loads there, in the directions that it holds."""
    touching = [(b, m, end) for b, joint in enumerate(shape.bearings) for m, end in np.argwhere(shape.ends == joint)]
    b, m, end = np.array(touching, dtype=int).reshape(-1, 3).T
    sign = np.where(end == 0, -1.0, 1.0)
    count = 2 - shape.pinned[m].sum(axis=1)
    across = s[2][..., m] * (-sign * count / place.length[:, None, m])
    brought = (sign * s[0][..., m])[..., None] * place.along[:, None, m] + across[..., None] * place.up[:, None, m]
    to_bearing = (np.arange(len(shape.bearings))[:, None] == b).astype(float)
    held = to_bearing @ brought
    held -= f[:, :, where.joints.reshape(-1, 2)[shape.bearings]]
    return np.where(shape.held, held, 0.0)


def _ends(
    shape: Topology, length: np.ndarray, s: np.ndarray, axial: np.ndarray, transverse: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """End axial forces, shears and moments, (t, r, 2, m) each, with the signs of `Response`."""
    pull, kink, lean = s
    first = (kink - lean) * ~shape.pinned[:, 0]
    second = (kink + lean) * ~shape.pinned[:, 1]
    shear = (second - first) / length[:, None]
    ends_axial = np.stack([pull + axial[:, :, 0], pull - axial[:, :, 1]], axis=2)
    ends_shear = np.stack([shear - transverse[:, :, 0], -shear - transverse[:, :, 2]], axis=2)
    ends_moment = np.stack([first + transverse[:, :, 1], second - transverse[:, :, 3]], axis=2)
    return ends_axial, ends_shear, ends_moment


def _along(
    loads: MemberLoads, axial: np.ndarray, shear: np.ndarray, moment: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Axial force, shear and moment at each segment's start, (t, r, k, m), by statics from the first end."""
    h = np.diff(loads.nodes, axis=1)[:, None]

    def before(steps: np.ndarray) -> np.ndarray:
        out = np.zeros_like(steps)
        np.cumsum(steps[:, :, :-1], axis=2, out=out[:, :, 1:])
        return out

    n = axial[:, :, :1] - before(loads.axial * h)
    v = shear[:, :, :1] - before(loads.transverse * h)
    if loads.axial_at is not None and loads.transverse_at is not None:
        n -= np.cumsum(loads.axial_at, axis=2)[:, :, :-1]
        v -= np.cumsum(loads.transverse_at, axis=2)[:, :, :-1]
    return n, v, moment[:, :, :1] + before((v - loads.transverse * h / 2) * h)
