"""How much one truss document differs from another, and a title that says so in words.

A member is the same one where its name is; a piece of chord keeps its lumber where the chord there keeps it, however
its panel points move. Inches, board feet.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from trusses.analysis.compare import board_feet, pieces
from trusses.analysis.format.lengths import feet_inches
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.layouts import Note

_HELD = (("top_chord", "top_chord_in"), ("bottom_chord", "bottom_chord_in"))
_CHORD_WORDS = {"top_chord": "top chord", "bottom_chord": "bottom chord"}


@dataclass(frozen=True, slots=True)
class Change:
    """From one truss to another.

    `touched`: webs taken out, added, moved or of other lumber or restraint, and chord members of other lumber or
    beside a splice that moved. `rows` are webs with another number of restraint rows, `held` chords with another
    spacing of restraint (inches), `notes` the steps of the layout; `lumber` says what became which key.
    """

    touched: tuple[str, ...]
    board_feet: float
    pieces: int
    plies: int
    rows: tuple[str, ...]
    held: tuple[tuple[str, float], ...]
    lumber: tuple[tuple[str, str], ...]
    notes: tuple[Note, ...]

    @property
    def size(self) -> tuple[int, float, int]:
        """For sorting, the least change first: members touched, board feet more or less, pieces more or less."""
        return len(self.touched) + len(self.held), round(abs(self.board_feet), 2), abs(self.pieces)

    @property
    def layout(self) -> tuple[str, ...]:
        """The same for layouts that differ by inches only."""
        return tuple(f"{note.kind} {re.sub(_DISTANCE, '…', note.says)}" for note in self.notes)

    def holds(self, other: Change) -> bool:
        """Whether this is the other change over again, an inch or a grade apart, or the other change and more."""
        return (
            set(other.layout) <= set(self.layout)
            and set(other.touched) <= set(self.touched)
            and other.plies <= self.plies
            and set(other.rows) <= set(self.rows)
            and {role for role, _ in other.held} <= {role for role, _ in self.held}
        )


_DISTANCE = re.compile(r"\d[\d'\-/ \"]*\"")


def measure(before: dict[str, Any], after: dict[str, Any], notes: Sequence[Note]) -> Change:
    """The change from one document to another that was made of it by `notes`."""
    old, new = Draft(before), Draft(after)
    lumber = _lumber(old, new)
    rows = {web for web in old.rows.keys() | new.rows.keys() if old.rows.get(web, 0) != new.rows.get(web, 0)}
    rows &= new.members.keys()
    moved = {web for web in new.webs() if web in old.members and _ends(old, web) != _ends(new, web)}
    swapped = set(old.webs()) ^ set(new.webs())
    held = [(role, new.restraint[key]) for role, key in _HELD if new.restraint.get(key) != old.restraint.get(key)]
    touched = moved | swapped | rows | {name for name, _ in lumber}
    for joint in {old.at(name) for name in old.hinges} ^ {new.at(name) for name in new.hinges}:
        touched |= {name for name in new.members if new.role(name) != "web" and joint in new.ends(name)}
    if old.plies != new.plies:
        touched |= set(new.members)
    return Change(
        touched=tuple(sorted(touched)),
        board_feet=board_feet(after) - board_feet(before),
        pieces=pieces(after) - pieces(before),
        plies=new.plies - old.plies,
        rows=tuple(sorted(rows)),
        held=tuple(held),
        lumber=lumber,
        notes=tuple(notes),
    )


def title(change: Change, after: dict[str, Any]) -> str:
    """What changes, as one heading: "Move the foot of W2 1'-2" toward the left bearing; bottom chord to 2x4 …"."""
    parts = [note.says for note in change.notes]
    parts = _take_out_together(parts)
    parts += _lumber_says(change.lumber, after)
    parts += [f"one more restraint row on {_listed(change.rows)}"] if change.rows else []
    parts += [f"{_CHORD_WORDS[role]} held every {feet_inches(spacing)}" for role, spacing in change.held]
    parts += ["one more ply" if change.plies == 1 else f"{change.plies} more plies"] if change.plies else []
    if not parts:
        return "Today's truss, with the opening drawn in"
    text = "; ".join(parts)
    return text[0].upper() + text[1:]


def _take_out_together(parts: list[str]) -> list[str]:
    """Several webs taken out, one after the other, said at once."""
    out = [part.removeprefix("take out ") for part in parts if re.fullmatch(r"take out [^,;]+", part)]
    rest = [part for part in parts if not re.fullmatch(r"take out [^,;]+", part)]
    return [f"take out {_listed(out)}", *rest] if out else rest


def _ends(draft: Draft, member: str) -> tuple[Any, ...]:
    return tuple(sorted((round(x, 4), round(y, 4)) for x, y in draft.ends(member)))


def _lumber(old: Draft, new: Draft) -> tuple[tuple[str, str], ...]:
    out = []
    for name, member in new.members.items():
        was = old.members.get(name) if member["role"] == "web" else _chord_at(old, new, name)
        if was is not None and was["lumber"] != member["lumber"]:
            out.append((name, member["lumber"]))
    return tuple(sorted(out))


def _chord_at(old: Draft, new: Draft, name: str) -> dict[str, Any] | None:
    """The old chord member where the middle of a new one is."""
    (ax, _), (bx, _) = new.ends(name)
    found = old.chord_under(new.role(name), (ax + bx) / 2)
    return old.members[found[0]] if found else old.members.get(name)


def _lumber_says(lumber: Iterable[tuple[str, str]], after: dict[str, Any]) -> list[str]:
    """One phrase for each key: whole chords by name, other members by their ids."""
    roles = {member["id"]: member["role"] for member in after["members"]}
    whole = {role: {name for name, r in roles.items() if r == role} for role in _CHORD_WORDS}
    by_key: dict[str, set[str]] = {}
    for name, key in lumber:
        by_key.setdefault(key, set()).add(name)
    out = []
    for key, names in sorted(by_key.items()):
        said = [role for role in _CHORD_WORDS if whole[role] and whole[role] <= names]
        rest = sorted(names - {name for role in said for name in whole[role]})
        words = ["chords"] if len(said) == 2 else [_CHORD_WORDS[role] for role in said]
        out.append(f"{_listed([*words, *rest])} to {key}")
    return out


def _listed(names: Sequence[str]) -> str:
    names = list(names) if len(names) <= 6 else [*names[:5], f"{len(names) - 5} more"]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
