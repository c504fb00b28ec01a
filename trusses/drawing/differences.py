"""What tells one truss document from another, member by member, for marks on a drawing."""

from __future__ import annotations

import math
from dataclasses import dataclass

from trusses.drawing.shape import Piece, Point, Shape

_SAME_PLACE_IN = 1e-6


@dataclass(frozen=True)
class Differences:
    """Member ids. `slid` are chord pieces whose panel points moved along the same stick, or whose stick has more or
    fewer of them: the wood didn't change."""

    added: frozenset[str] = frozenset()
    removed: frozenset[str] = frozenset()
    moved: frozenset[str] = frozenset()
    relumbered: frozenset[str] = frozenset()
    slid: frozenset[str] = frozenset()

    @property
    def changed(self) -> frozenset[str]:
        return self.moved | self.relumbered

    @property
    def any(self) -> bool:
        return bool(self.added or self.removed or self.changed)

    def kind(self, member: str) -> str:
        """Class names for a member of the later truss."""
        if member in self.added:
            return "added"
        names = [name for name, ids in (("moved", self.moved), ("relumbered", self.relumbered)) if member in ids]
        if names:
            return " ".join(["changed", *names])
        return "slid" if member in self.slid else ""


def differences(before: Shape, after: Shape) -> Differences:
    both = before.pieces.keys() & after.pieces.keys()
    shifted = {name for name in both if not _same_place(before.pieces[name], after.pieces[name])}
    new, gone = after.pieces.keys() - before.pieces.keys(), before.pieces.keys() - after.pieces.keys()
    slid = {name for name in shifted if _on_the_same_stick(before, after.pieces[name])}
    parted = {name for name in new if _on_the_same_stick(before, after.pieces[name], as_sawn=True)}
    joined = {name for name in gone if _on_the_same_stick(after, before.pieces[name], as_sawn=True)}
    return Differences(
        added=frozenset(new - parted),
        removed=frozenset(gone - joined),
        moved=frozenset(shifted - slid),
        relumbered=frozenset(name for name in both if not _same_wood(before.pieces[name], after.pieces[name])),
        slid=frozenset(slid | parted),
    )


def _same_place(one: Piece, other: Piece) -> bool:
    straight = math.dist(one.a, other.a) + math.dist(one.b, other.b)
    turned = math.dist(one.a, other.b) + math.dist(one.b, other.a)
    return min(straight, turned) < _SAME_PLACE_IN


def _same_wood(one: Piece, other: Piece) -> bool:
    return (one.lumber, one.flat, one.role) == (other.lumber, other.flat, other.role)


def _on_the_same_stick(before: Shape, piece: Piece, *, as_sawn: bool = False) -> bool:
    """Whether a chord piece lies on chords of its role that were there before; `as_sawn`, of the same lumber."""
    sticks = [] if piece.is_web else before.chords(piece.role)
    if as_sawn:
        sticks = [stick for stick in sticks if _same_wood(stick, piece)]
    return all(any(_lies_on(end, stick) for stick in sticks) for end in (piece.a, piece.b, _middle(piece)))


def _middle(piece: Piece) -> Point:
    return ((piece.a[0] + piece.b[0]) / 2, (piece.a[1] + piece.b[1]) / 2)


def _lies_on(point: Point, stick: Piece) -> bool:
    return abs(math.dist(stick.a, point) + math.dist(point, stick.b) - stick.length) < _SAME_PLACE_IN
