"""Splices of chords and open panels: where a splice may not stand, and where else it may go. Inches.

A panel without a diagonal carries its shear by the bending of its chords, so no splice and no hinge may stand in it or
in the panels beside it. A chord's own end is no splice.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

from trusses.analysis.format.model import CHORDS
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.layouts import faces

#: Lumber is stocked to this length; a piece may also be as long as the longest that the truss has already.
STOCK_IN = 240.0


def barred(draft: Draft, before: Draft) -> set[str]:
    """The joints where no splice may stand for the sake of panels that are open in `draft` but weren't in `before`."""
    was_open = [corners for corners in faces(before) if len(corners) > 3]
    # a hinge that stands beside an open panel today may go on to, also where a corner of the panel moves
    stays = {
        (name, before.at(name)) for corners in was_open for name in _beside(before, corners) if name in before.hinges
    }
    places = [{before.at(joint) for joint in corners} for corners in was_open]
    out: set[str] = set()
    for corners in faces(draft):
        if len(corners) > 3 and {draft.at(joint) for joint in corners} not in places:
            out |= {name for name in _beside(draft, corners) if (name, draft.at(name)) not in stays}
    return out


def _beside(draft: Draft, corners: list[str]) -> set[str]:
    """The joints of a panel's chords and of the panels beside it, but for the chords' own ends."""
    out: set[str] = set()
    for role in CHORDS:
        joints = draft.chord_joints(role)
        at = [joints.index(name) for name in corners if name in joints]
        if at:
            out |= set(joints[max(min(at) - 1, 1) : min(max(at) + 2, len(joints) - 1)])
    return out


def within_stock(draft: Draft, before: Draft, longest_in: float) -> bool:
    """Whether no piece of a chord is longer than the longest that is stocked, or that the truss has today."""
    for role in CHORDS:
        longest = max(longest_in, *_pieces(before, role, before.hinges))
        if max(_pieces(draft, role, draft.hinges)) > longest + 1e-3:
            return False
    return True


def elsewhere(draft: Draft, joint: str, not_at: set[str], longest_in: float = STOCK_IN) -> list[str]:
    """Panel points to which the splice at `joint` may move, the nearest first: on the same straight chord, pieces no
    longer than stock."""
    role = draft.chord_of(joint)
    if role is None or draft.straight_through(joint) is None:
        return []
    longest = max(longest_in, *_pieces(draft, role, draft.hinges))
    out = []
    for other in draft.chord_joints(role):
        fits = other not in not_at | draft.hinges and draft.straight_through(other) and draft.webs_at(other)
        if fits and max(_pieces(draft, role, draft.hinges - {joint} | {other})) <= longest + 1e-3:
            out.append(other)
    return sorted(out, key=lambda other: (math.dist(draft.at(other), draft.at(joint)), other))


def clear_of_splices(draft: Draft, before: Draft) -> tuple[Draft, list[dict[str, Any]]] | None:
    """The draft with every splice that an open panel bars moved, and the values of the moves; None where one can't
    be."""
    bars = barred(draft, before)
    moved, splices = draft.copy(), []
    for joint in sorted(bars & draft.hinges):
        places = elsewhere(moved, joint, bars)
        if not places:
            return None
        moved.move_splice(joint, places[0])
        splices.append(splice(moved, joint, places[0]))
    return moved, splices


def splice(draft: Draft, joint: str, to: str) -> dict[str, Any]:
    """The values of a splice's move."""
    return {"role": draft.chord_of(joint), "joint": joint, "to": to}


def _pieces(draft: Draft, role: str, hinges: set[str]) -> list[float]:
    """Lengths of a chord's pieces, cut at hinges, bends and ends."""
    joints = draft.chord_joints(role)
    lengths = [0.0]
    for a, b in pairwise(joints):
        lengths[-1] += math.dist(draft.at(a), draft.at(b))
        if b in hinges or not draft.straight_through(b):
            lengths.append(0.0)
    return lengths
