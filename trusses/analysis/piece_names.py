"""What the sawn pieces of a truss are called by people: a letter and a number, panels numbered within the piece.

A truss document lists members, panel point to panel point, under names that its writer chose. Whoever cuts and sets a
truss handles pieces: a chord of one board is one piece, however many panels it has. Names are for eyes; documents,
analyses and programs go on using the members' ids.

A name never points at wood that an id of the same letters doesn't: a piece is called after the first of its own panels
whose id is a letter and a number, and else by a number that no member has. A web is one piece, called by its id.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from trusses.analysis.words.checks import short

_LETTER = {"top_chord": "T", "bottom_chord": "B", "web": "W"}
_PLAIN = re.compile(r"[A-Z]\d{1,3}")
_STRAIGHT = 1e-3
"""The sine of the angle by which two panels of one board may differ."""
Member = Mapping[str, Any]


@dataclass(frozen=True)
class SawnPiece:
    """One board, or a web. `panels` are the ids of its members from the left (from below where it stands plumb),
    `panel_names` what each is called; `length_in` runs from its first joint to its last, inches."""

    name: str
    role: str
    lumber: str
    flat: bool
    panels: tuple[str, ...]
    panel_names: tuple[str, ...]
    length_in: float


def sawn_pieces(document: Mapping[str, Any]) -> tuple[SawnPiece, ...]:
    """The pieces of a truss document that has been read, in the order of their first members there."""
    joints = document["joints"]
    at: dict[str, list[Member]] = {}
    for member in document["members"]:
        for joint in member["joints"]:
            at.setdefault(joint, []).append(member)
    boards = _boards(document, at)
    ids = {member["id"] for member in document["members"]}
    tails = _tails(document, at)
    found: list[SawnPiece] = []
    taken: set[str] = set()
    for board in boards:
        board = sorted(board, key=lambda member: sorted(tuple(joints[joint]) for joint in member["joints"]))
        name = _name(board, tails, ids, taken)
        names = _panel_names(name, board, tails, ids)
        taken.add(name)
        first = board[0]
        length = sum(math.dist(*(joints[joint] for joint in member["joints"])) for member in board)
        panels = tuple(member["id"] for member in board)
        found.append(
            SawnPiece(name, first["role"], first["lumber"], bool(first.get("flat", False)), panels, names, length)
        )
    return tuple(found)


def panel_names(document: Mapping[str, Any]) -> dict[str, str]:
    """What each member of a truss document is called: its piece, and which panel of it where it has several."""
    return {
        member: name
        for piece in sawn_pieces(document)
        for member, name in zip(piece.panels, piece.panel_names, strict=True)
    }


def checked(document: Mapping[str, Any] | None, kind: str, name: str) -> str:
    """What a check of an analysis is of, by its `of` and `id`: `member B1.2`, `bearing t0`, `the truss`. There is no
    document where nothing could be analysed, and nothing to name."""
    if document is None:
        return ""
    if kind == "member":
        return f"member {panel_names(document).get(name, name)}"
    return f"{kind} {name}".strip() if kind == "bearing" else "the truss"


def told(document: Mapping[str, Any] | None, check: Mapping[str, Any]) -> dict[str, Any]:
    """What sentences need of a check of an analysis document, what it is of among it as people call it."""
    return {**short(check), "object": checked(document, check["of"], check["id"])}


def _boards(document: Mapping[str, Any], at: Mapping[str, Sequence[Member]]) -> list[list[Member]]:
    """The members, those of one board together: chord panels of one lumber in a line, up to a hinge or a splice."""
    board = {member["id"]: [member] for member in document["members"]}
    hinges = set(document.get("hinges", ()))
    for joint, members in at.items():
        if joint in hinges:
            continue
        runs = [
            (one, other)
            for one, other in itertools.combinations(members, 2)
            if one["role"] == other["role"] != "web" and _one_board(document["joints"], joint, one, other)
        ]
        for one, other in runs if len(runs) == 1 else ():
            first, second = board[one["id"]], board[other["id"]]
            if first is not second:
                first += second
                for member in second:
                    board[member["id"]] = first
    return list({id(members): members for members in board.values()}.values())


def _one_board(joints: Mapping[str, Sequence[float]], joint: str, one: Member, other: Member) -> bool:
    if (one["lumber"], one.get("flat", False)) != (other["lumber"], other.get("flat", False)):
        return False
    (ax, ay), (bx, by) = _away(joints, one, joint), _away(joints, other, joint)
    return abs(ax * by - ay * bx) < _STRAIGHT and ax * bx + ay * by < 0


def _away(joints: Mapping[str, Sequence[float]], member: Member, joint: str) -> tuple[float, float]:
    """The unit vector from that joint into the member."""
    other = member["joints"][member["joints"][0] == joint]
    (x, y), (u, v) = joints[joint], joints[other]
    length = math.dist((x, y), (u, v))
    return (u - x) / length, (v - y) / length


def _tails(document: Mapping[str, Any], at: Mapping[str, Sequence[Member]]) -> set[str]:
    """Chord panels that run out beyond the outermost bearing to a free end."""
    walls = [document["joints"][bearing["joint"]][0] for bearing in document["bearings"]]
    found = set()
    for member in document["members"]:
        for joint in member["joints"]:
            x = document["joints"][joint][0]
            if member["role"] != "web" and len(at[joint]) == 1 and not min(walls) <= x <= max(walls):
                found.add(member["id"])
    return found


def _name(board: Sequence[Member], tails: set[str], ids: set[str], taken: set[str]) -> str:
    panels = [member["id"] for member in board if member["id"] not in tails]
    if len(board) == 1 and panels:
        return str(panels[0])
    own = next((panel for panel in panels if _PLAIN.fullmatch(panel)), None)
    letter = _LETTER[board[0]["role"]]
    numbered = (f"{letter}{number}" for number in itertools.count(1))
    return own or next(name for name in numbered if name not in ids | taken)


def _panel_names(name: str, board: Sequence[Member], tails: set[str], ids: set[str]) -> tuple[str, ...]:
    """`T1.2` for the second panel of T1, `T1 tail` for what hangs over the wall; a name that is another member's id
    is not given twice."""
    own = [member["id"] for member in board if member["id"] not in tails]
    if not own:
        return tuple(f"{name} tail" for _ in board)
    overhangs = [member["id"] for member in board if member["id"] in tails]
    sides = {overhangs[0]: "left tail", overhangs[-1]: "right tail"} if len(overhangs) > 1 else {}
    names = []
    for member in board:
        panel = member["id"]
        if panel in tails:
            called = f"{name} {sides.get(panel, 'tail')}"
        else:
            called = f"{name}.{own.index(panel) + 1}" if len(own) > 1 else name
        names.append(panel if called in ids and called != name else called)
    return tuple(names)
