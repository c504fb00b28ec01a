"""What the plates of each joint must carry: the force that each piece of wood hands to them, its angle to the grain.

A chord that runs on through a joint carries its own force past it in the wood; its plates there take only what the
webs hand over. At a hinge the chord is cut, and the plates carry all of it. A bearing presses on the chord and not on
the plates, and so does a load that stands on a joint; where several chords end on one bearing or under one such load,
they are taken to share it equally. Pounds, for one ply: each ply has its own plates, two at a joint, one on each face.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.format.model import Member, Truss
from trusses.analysis.frame.results import Results
from trusses.analysis.loads.combinations import Combination, cases

Array = NDArray[np.float64]

#: What plates must also be good for, and what nothing here computes.
UNCHECKED = (
    "the heel reduction of tooth holding",
    "the moment that a splice or a stiff joint hands to its plates",
    "tension across the grain of the chords",
    "end and edge distances, gaps, and where the plates are pressed in",
)
# what is left of cancelling forces of this size, or of so many pounds, is arithmetic, not force
_NOISE = 1e-7
_LEAST_LB = 1e-3
_STRAIGHT = 1e-4


@dataclass(frozen=True)
class Piece:
    """One piece of wood under a joint's plates: one member's end, or the two of a chord that runs on through it.

    `ends` are (member index, 0 or 1); `grain` the unit vector along it, from the joint into its first member.
    """

    joint: str
    members: tuple[str, ...]
    ends: tuple[tuple[int, int], ...]
    role: str
    grain: tuple[float, float]

    @property
    def runs_through(self) -> bool:
        return len(self.ends) > 1


@dataclass(frozen=True)
class Governing:
    """The most that the plates must carry on one piece, pounds a ply.

    `holding_lb` is the largest force divided by its combination's load duration factor, for the teeth, with that
    combination, the force itself, its factor and its angle to the grain in degrees, 0 to 90; `steel_lb` the largest
    force undivided, for the plate's steel. None for the combinations where there is no force. `sense` is tension or
    compression where the force runs within 45 degrees of the grain of a piece that ends here, else across.
    """

    piece: Piece
    holding_lb: float
    holding_by: str | None
    force_lb: float
    load_duration: float
    angle_deg: float
    sense: Literal["tension", "compression", "across", ""]
    steel_lb: float
    steel_by: str | None
    steel_angle_deg: float


@dataclass(frozen=True)
class Splice:
    """A chord cut at a joint between two pieces in a line: what must cross it at most, pounds a ply, and by which."""

    joint: str
    members: tuple[str, str]
    tension_lb: float
    tension_by: str | None
    compression_lb: float
    compression_by: str | None


@dataclass(frozen=True)
class JointDemand:
    """The demands of all joints. `force` (r, p, 2) is what the plates do to each of p pieces under each of r
    combinations, right and up positive, lb a ply; at every joint its pieces' forces are in equilibrium."""

    pieces: tuple[Piece, ...]
    combinations: tuple[Combination, ...]
    force: Array

    @cached_property
    def size(self) -> Array:
        """The resultant, (r, p) lb; what is mere arithmetic is zero."""
        size: Array = np.hypot(self.force[..., 0], self.force[..., 1])
        least = max(_NOISE * float(size.max(initial=0.0)), _LEAST_LB)
        return np.where(size > least, size, 0.0)

    @cached_property
    def along(self) -> Array:
        """The part along the grain, (r, p) lb, positive where the plates push into a piece that ends here."""
        return np.einsum("rpc,pc->rp", self.force, self._grain)

    @cached_property
    def angle(self) -> Array:
        """The angle between force and grain, (r, p) degrees from 0 to 90; 0 where there is no force."""
        grain = self._grain
        across = np.abs(self.force[..., 0] * grain[:, 1] - self.force[..., 1] * grain[:, 0])
        return np.where(self.size > 0, np.degrees(np.arctan2(across, np.abs(self.along))), 0.0)

    @cached_property
    def holding(self) -> Array:
        """The resultant divided by each combination's load duration factor, (r, p) lb."""
        return self.size / np.array([c.load_duration for c in self.combinations])[:, None]

    @property
    def _grain(self) -> Array:
        return np.array([piece.grain for piece in self.pieces], dtype=float).reshape(-1, 2)

    def governing(self) -> tuple[Governing, ...]:
        """The governing demand on each piece, in the joints' order."""
        teeth, steel = self.holding.argmax(axis=0).tolist(), self.size.argmax(axis=0).tolist()
        return tuple(
            Governing(
                piece=piece,
                holding_lb=float(self.holding[t, i]),
                holding_by=self._name(t, i),
                force_lb=float(self.size[t, i]),
                load_duration=self.combinations[t].load_duration,
                angle_deg=float(self.angle[t, i]),
                sense=self._sense(t, i),
                steel_lb=float(self.size[s, i]),
                steel_by=self._name(s, i),
                steel_angle_deg=float(self.angle[s, i]),
            )
            for i, (piece, t, s) in enumerate(zip(self.pieces, teeth, steel, strict=True))
        )

    def _name(self, row: int, piece: int) -> str | None:
        return self.combinations[row].name if self.size[row, piece] else None

    def _sense(self, row: int, piece: int) -> Literal["tension", "compression", "across", ""]:
        if not self.size[row, piece]:
            return ""
        if self.pieces[piece].runs_through or self.angle[row, piece] > 45:
            return "across"
        return "compression" if self.along[row, piece] > 0 else "tension"


def joint_demand(results: Results) -> JointDemand:
    """What the plates of every joint must carry under every combination. Joints where one piece only is, have none."""
    truss, combined = results.truss, results.combined
    found = pieces(truss)
    on_end = _on_ends(combined)
    force = np.zeros((len(combined.combinations), len(found), 2))
    for i, piece in enumerate(found):
        for member, end in piece.ends:
            force[:, i] += on_end[:, member, end]
    _leave_out_what_the_chord_takes(combined, found, force)
    return JointDemand(found, combined.combinations, force / truss.plies)


def pieces(truss: Truss) -> tuple[Piece, ...]:
    """The pieces that meet at each joint, in the joints' order; a joint where one piece only is, is left out."""
    found: list[Piece] = []
    for joint in truss.joints:
        through = _through(truss, joint.name)
        paired = {member.id for pair in through for member in pair}
        groups = [*through, *((m,) for m in truss.members_at[joint.name] if m.id not in paired)]
        if len(groups) > 1:
            found += [_piece(truss, joint.name, group) for group in groups]
    return tuple(found)


def plated_joints(truss: Truss) -> int:
    """How many joints are pressed: those where pieces meet, once for each ply."""
    return len({piece.joint for piece in pieces(truss)}) * truss.plies


def splices(results: Results) -> tuple[Splice, ...]:
    """Every joint where one chord's pieces end on both sides in a straight line: the axial force that must cross.

    The larger of the two sides counts, wood is not taken to press on wood.
    """
    truss, end_axial = results.truss, results.combined.end_axial
    names = [combination.name for combination in results.combinations]
    found = []
    for joint in truss.joints:
        through = {m.id for pair in _through(truss, joint.name) for m in pair}
        chords = [m for m in truss.members_at[joint.name] if m.is_chord and m.id not in through]
        for one, other in itertools.combinations(chords, 2):
            if one.role != other.role or not _straight(truss, joint.name, one, other):
                continue
            ends = [end_axial[:, truss.member_index[m.id], m.joints.index(joint.name)] for m in (one, other)]
            axial = np.stack(ends, axis=1) / truss.plies
            pull, push = axial.max(axis=1), -axial.min(axis=1)
            found.append(Splice(joint.name, (one.id, other.id), *_most(pull, names), *_most(push, names)))
    return tuple(found)


def _most(values: Array, names: list[str]) -> tuple[float, str | None]:
    at = int(values.argmax())
    most = float(values[at])
    return (most, names[at]) if most > _LEAST_LB else (0.0, None)


def _on_ends(combined: Results) -> Array:
    """The force on each member's end from whatever holds it there, (r, m, 2 ends, 2), right and up positive."""
    along, up = _axes(combined.truss)
    # tension pulls the first end back against the member's direction and the second one forward
    outward = np.array([-1.0, 1.0])[:, None] * along[:, None, :]
    return combined.end_axial[..., None] * outward + combined.end_shear[..., None] * up[:, None, :]


def _axes(truss: Truss) -> tuple[Array, Array]:
    """Unit vectors along each member and toward its upper face, a vertical one's left, (m, 2) each."""
    along = np.array([_direction(truss, member, member.joints[0]) for member in truss.members])
    turn = np.where(along[:, 0] != 0, np.sign(along[:, 0]), np.sign(along[:, 1]))
    return along, turn[:, None] * np.stack([-along[:, 1], along[:, 0]], axis=1)


def _direction(truss: Truss, member: Member, joint: str) -> tuple[float, float]:
    """Unit vector from the joint along the member."""
    near, far = truss.joint(joint), truss.joint(next(name for name in member.joints if name != joint))
    length = truss.length(member)
    return (far.x - near.x) / length, (far.y - near.y) / length


def _through(truss: Truss, joint: str) -> list[tuple[Member, Member]]:
    """The pairs of chord members that are one piece of wood through the joint."""
    if joint in truss.hinges:
        return []
    chords = [member for member in truss.members_at[joint] if member.is_chord]
    found: list[tuple[Member, Member]] = []
    for one, other in itertools.combinations(chords, 2):
        taken = any(member in pair for pair in found for member in (one, other))
        alike = (one.role, one.lumber, one.flat) == (other.role, other.lumber, other.flat)
        if alike and not taken and _straight(truss, joint, one, other):
            found.append((one, other))
    return found


def _straight(truss: Truss, joint: str, one: Member, other: Member) -> bool:
    (ax, ay), (bx, by) = _direction(truss, one, joint), _direction(truss, other, joint)
    return abs(ax * by - ay * bx) < _STRAIGHT and ax * bx + ay * by < 0


def _piece(truss: Truss, joint: str, members: tuple[Member, ...]) -> Piece:
    ends = tuple((truss.member_index[m.id], m.joints.index(joint)) for m in members)
    return Piece(joint, tuple(m.id for m in members), ends, members[0].role, _direction(truss, members[0], joint))


def _leave_out_what_the_chord_takes(combined: Results, found: Sequence[Piece], force: Array) -> None:
    """Take the reactions and the loads on joints off the chord on which they stand: they don't pass the plates.

    What the joints do to the members' ends adds up to reaction and load, so what remains at a joint is in equilibrium.
    """
    held = {bearing.joint: combined.reactions[:, i] for i, bearing in enumerate(combined.truss.bearings)}
    loaded = _loads_on_joints(combined)
    for joint in dict.fromkeys(piece.joint for piece in found):
        here = [i for i, piece in enumerate(found) if piece.joint == joint]
        if joint in held:
            _take(found, force, here, held[joint], "bottom_chord")
        if joint in loaded:
            _take(found, force, here, loaded[joint], "top_chord")


def _loads_on_joints(combined: Results) -> dict[str, Array]:
    """The load that stands on each loaded joint under each combination, (r, 2) lb, right and up positive."""
    truss, found = combined.truss, dict[str, Array]()
    for case in cases(truss):
        factor = np.array([combination.factors.get(case.name, 0.0) for combination in combined.combinations])
        for load in truss.point_loads:
            joint = truss.joint_under(load)
            if joint is not None and case.holds(load):
                force = factor[:, None] * np.array([load.right_lb, -load.down_lb])
                found[joint] = found.get(joint, 0.0) + force
    return found


def _take(found: Sequence[Piece], force: Array, here: list[int], what: Array, first: str) -> None:
    """Off the chord of the role that is meant, or the other chord, or what there is: in equal shares."""
    chords = [i for i in here if found[i].role != "web"]
    on = [i for i in chords if found[i].role == first] or chords or here
    for i in on:
        force[:, i] -= what / len(on)
