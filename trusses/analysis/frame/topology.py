"""How a truss hangs together, whatever its dimensions: joints, continuity, supports, and the unknowns that follow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from trusses.analysis.format.model import CHORDS, ROLES, Bearing, Member, Role, Truss

_Key = tuple[int, tuple[tuple[Role, int, int], ...], frozenset[int], tuple[tuple[int, str], ...]]


@dataclass(frozen=True, eq=False)
class Topology:
    """Unknowns are numbered u of joint 0, v of joint 0, u of joint 1 … (right and up), then the g rotations.

    `ends` (m, 2) joint indices; `turn` (m, 2) the rotation, 0 … g - 1, that each member end shares, -1 where it is
    pinned. `both` lists the members continuous at both ends, `one` those continuous at one, `one_end` which.
    `free` are the unknowns that no bearing holds; `bearings` (b,) joint indices and `held` (b, 2) whether right-left
    and up-down are held. `order` lists `free` as the solver takes them, so that what a member joins stands close.
    `roles` (m,) indices of `model.ROLES`; `pinned` (m, 2) whether a member's end carries no moment, and `turns`
    (2, m, 1) the moments there of a lean spring that carries one: -1 at the first end, +1 at the other, 0 where pinned.
    """

    joints: int
    rotations: int
    ends: np.ndarray
    turn: np.ndarray
    both: np.ndarray
    one: np.ndarray
    one_end: np.ndarray
    free: np.ndarray
    bearings: np.ndarray
    held: np.ndarray
    order: np.ndarray
    roles: np.ndarray
    pinned: np.ndarray
    turns: np.ndarray


def topology(truss: Truss) -> Topology:
    """The topology of a truss: one object for all trusses of one shape, whatever their joints are called."""
    return topology_of(truss.names, truss.members, truss.hinges, truss.bearings)


def topology_of(
    joints: tuple[str, ...], members: Sequence[Member], hinges: frozenset[str], bearings: Sequence[Bearing]
) -> Topology:
    """The same from its parts, `joints` their names."""
    return _named(
        joints,
        tuple([(member.role, member.joints) for member in members]),
        hinges,
        tuple([(bearing.joint, bearing.restrains) for bearing in bearings]),
    )


@lru_cache(maxsize=1024)
def _named(
    joints: tuple[str, ...],
    members: tuple[tuple[Role, tuple[str, str]], ...],
    hinges: frozenset[str],
    bearings: tuple[tuple[str, str], ...],
) -> Topology:
    index = {name: i for i, name in enumerate(joints)}
    return _topology(
        (
            len(joints),
            tuple((role, index[first], index[second]) for role, (first, second) in members),
            frozenset(index[name] for name in hinges),
            tuple((index[joint], restrains) for joint, restrains in bearings),
        )
    )


@lru_cache(maxsize=256)
def _topology(key: _Key) -> Topology:
    joints, members, hinges, supports = key
    # taken by columns most often
    ends = np.asfortranarray(np.array([(first, second) for _, first, second in members], dtype=int).reshape(-1, 2))
    turn = _rotations(members, hinges)
    rotations = int(turn.max(initial=-1)) + 1
    continuous = (turn >= 0).sum(axis=1)
    one = np.flatnonzero(continuous == 1)
    bearings = np.array([joint for joint, _ in supports], dtype=int)
    held = np.array([("x" in restrains, "y" in restrains) for _, restrains in supports], dtype=bool).reshape(-1, 2)
    fixed = (2 * bearings[:, None] + (0, 1))[held]
    free = np.setdiff1d(np.arange(2 * joints + rotations), fixed)
    return Topology(
        joints=joints,
        rotations=rotations,
        ends=ends,
        turn=turn,
        both=np.flatnonzero(continuous == 2),
        one=one,
        one_end=(turn[one, 1] >= 0).astype(int),
        free=free,
        bearings=bearings,
        held=held,
        order=free[np.argsort(_rank(joints, ends, turn)[free], kind="stable")],
        roles=np.array([ROLES.index(role) for role, *_ in members], dtype=int),
        pinned=turn < 0,
        turns=(turn >= 0).T[..., None] * np.array([-1.0, 1.0])[:, None, None],
    )


def _rank(joints: int, ends: np.ndarray, turn: np.ndarray) -> np.ndarray:
    """(2 j + g,) where each unknown's joint comes when joints are taken breadth-first (Cuthill and McKee), starting
    from one that is farthest from another: a band as narrow as sorting by x gives, without asking for dimensions."""
    beside: list[set[int]] = [set() for _ in range(joints)]
    for first, second in ends.tolist():
        beside[first].add(second)
        beside[second].add(first)
    row: dict[int, int] = {}
    for joint in range(joints):
        if joint not in row:
            far = _breadth_first(beside, _breadth_first(beside, joint)[-1])
            row |= {there: len(row) + i for i, there in enumerate(far)}
    of_joint = np.array([row[joint] for joint in range(joints)], dtype=int)
    of_turn = np.zeros(int(turn.max(initial=-1)) + 1, dtype=int)
    of_turn[turn[turn >= 0]] = of_joint[ends[turn >= 0]]
    return np.concatenate([np.repeat(of_joint, 2), of_turn])


def _breadth_first(beside: Sequence[set[int]], start: int) -> list[int]:
    found, seen = [start], {start}
    for joint in found:
        new = sorted(beside[joint] - seen, key=lambda other: (len(beside[other]), other))
        seen.update(new)
        found += new
    return found


def _rotations(members: Sequence[tuple[Role, int, int]], hinges: frozenset[int]) -> np.ndarray:
    """(m, 2): the chord members of one role that meet at a joint share one rotation; a chord's end is pinned."""
    meet: dict[tuple[str, int], list[tuple[int, int]]] = {}
    for m, (role, *joints) in enumerate(members):
        for end, joint in enumerate(joints):
            if role in CHORDS and joint not in hinges:
                meet.setdefault((role, joint), []).append((m, end))
    turn = np.full((len(members), 2), -1)
    for number, group in enumerate(group for group in meet.values() if len(group) > 1):
        for m, end in group:
            turn[m, end] = number
    return turn
