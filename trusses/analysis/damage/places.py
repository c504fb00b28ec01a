"""Where damage is: as people say it, along a piece that the drawing names, and as a computation has it, along a
member."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, NamedTuple

from trusses.analysis.damage.damaged import DamageError
from trusses.analysis.piece_names import SawnPiece, sawn_pieces

SLACK_IN = 1 / 8
"""A tape and a tap say quarters: what is typed for a piece's very end may lie so far beyond it."""


_LEVEL_IN = 1 / 8
"""Ends whose heights differ by less are neither upper nor lower."""
_CHORD = {"top_chord": "the top chord", "bottom_chord": "the bottom chord"}


class OnPiece(NamedTuple):
    """What the drawing calls the piece, and how far along it, inches, from its `end`, as `counted_from` says it."""

    name: str
    along_in: float
    end: str


def counted_from(document: Mapping[str, Any], piece: SawnPiece) -> str:
    """The end from which lengths along a piece count, so that it can't be taken for the other: the left one, which of a
    web that leans is the upper or the lower one, and the chord that it meets; the lower one where it is plumb."""
    ends = _ends(document)
    (ax, ay), (bx, by) = (end(point for panel in piece.panels for point in ends[panel]) for end in (min, max))
    called = "lower end" if ax == bx else "left end"
    if ax != bx and abs(ay - by) >= _LEVEL_IN:
        called += ", the upper one" if ay > by else ", the lower one"
    if piece.role != "web":
        return called
    met = {one["role"] for one in document["members"] if (ax, ay) in ends[one["id"]]} & _CHORD.keys()
    return f"{called}, at {_CHORD[met.pop()]}" if len(met) == 1 else called


def on_piece(document: Mapping[str, Any], member: str, at_in: float) -> OnPiece | None:
    """The place on a piece of a place on a member, inches from the member's first joint; None where the document has no
    such member."""
    ends = _ends(document)
    for piece in sawn_pieces(document):
        if member in piece.panels:
            before = sum(math.dist(*ends[panel]) for panel in piece.panels[: piece.panels.index(member)])
            a, b = ends[member]
            return OnPiece(
                piece.name, before + (at_in if a <= b else math.dist(a, b) - at_in), counted_from(document, piece)
            )
    return None


def on_member(document: Mapping[str, Any], piece: str, along_in: float) -> tuple[str, float]:
    """The other way: which member, and how far from its first joint, inches. Raises DamageError where the document has
    no such piece, or the piece is shorter; at a joint within a piece it is the member before it."""
    ends = _ends(document)
    found = next((one for one in sawn_pieces(document) if one.name == piece), None)
    if found is None:
        raise DamageError("damage-no-member", "member", mark=document["mark"], member=piece)
    if not 0 <= along_in <= found.length_in + SLACK_IN:
        raise DamageError("damage-beyond-member", "at_in", member=piece, at_in=along_in, length_in=found.length_in)
    left = min(along_in, found.length_in)
    for panel in found.panels:
        a, b = ends[panel]
        length = math.dist(a, b)
        if left <= length or panel == found.panels[-1]:
            left = min(left, length)
            break
        left -= length
    return panel, left if a <= b else length - left


def _ends(document: Mapping[str, Any]) -> dict[str, tuple[tuple[float, ...], tuple[float, ...]]]:
    """{member: the places of its first and its second joint}, inches."""
    joints = document["joints"]
    return {
        one["id"]: (tuple(joints[one["joints"][0]]), tuple(joints[one["joints"][1]])) for one in document["members"]
    }
