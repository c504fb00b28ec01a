"""How much one truss document differs from another, and the steps that lead there.

A member is the same one where its name is; a piece of chord keeps its lumber where the chord there keeps it, however
its panel points move. Inches, board feet.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from trusses.analysis.compare import board_feet, pieces
from trusses.analysis.format.model import CHORDS
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.layouts import Note
from trusses.analysis.words.phrases import Coded, coded

_HELD = (("top_chord", "top_chord_in"), ("bottom_chord", "bottom_chord_in"))


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
    set_ups: int = 0

    @property
    def size(self) -> tuple[int, int, int, float]:
        """For sorting, the least change first: members touched, set-ups of the saw, pieces more or less, board feet."""
        return len(self.touched) + len(self.held), self.set_ups, abs(self.pieces), round(self.board_feet, 2)

    @property
    def layout(self) -> tuple[tuple[object, ...], ...]:
        """The same for layouts that differ by inches only."""
        return tuple(note.alike for note in self.notes)

    @property
    def notes_key(self) -> tuple[object, ...]:
        """An order for changes that are of one size."""
        return tuple((note.kind, note.webs, note.shift_in) for note in self.notes)

    @property
    def kind(self) -> tuple[object, ...]:
        """What sort of change it is: which steps, on which webs, and what is made stronger how, whatever the inches."""
        ways = (bool(self.lumber), bool(self.rows), bool(self.held), self.plies)
        return frozenset((note.kind, note.webs) for note in self.notes), ways

    def holds(self, other: Change) -> bool:
        """Whether this is the other change over again, an inch or a grade apart, or the other change and more."""
        return (
            set(other.layout) <= set(self.layout)
            and set(other.touched) <= set(self.touched)
            and other.plies <= self.plies
            and set(other.rows) <= set(self.rows)
            and {role for role, _ in other.held} <= {role for role, _ in self.held}
        )


def measure(before: dict[str, Any], after: dict[str, Any], notes: Sequence[Note]) -> Change:
    """The change from one document to another that was made of it by `notes`."""
    return measured(Draft(before), Draft(after), notes)


def measured(old: Draft, new: Draft, notes: Sequence[Note]) -> Change:
    """The change from one draft to another."""
    before, after = old.wood(), new.wood()
    held = [(role, new.restraint[key]) for role, key in _HELD if new.restraint.get(key) != old.restraint.get(key)]
    return Change(
        touched=tuple(sorted(touched(old, new))),
        board_feet=board_feet(after) - board_feet(before),
        pieces=pieces(after) - pieces(before),
        plies=new.plies - old.plies,
        rows=tuple(sorted(_rows(old, new))),
        held=tuple(held),
        lumber=_lumber(old, new),
        notes=tuple(notes),
        set_ups=len({_cut(new, name) for name in moved(old, new)}),
    )


def touched(old: Draft, new: Draft) -> set[str]:
    """The members that a change touches, as `Change` has them."""
    out = moved(old, new) | (set(old.webs()) - set(new.webs()))
    out |= _rows(old, new) | {name for name, _ in _lumber(old, new)}
    for joint in {old.at(name) for name in old.hinges} ^ {new.at(name) for name in new.hinges}:
        out |= {name for name in new.members if new.role(name) != "web" and joint in new.ends(name)}
    if old.plies != new.plies:
        out |= set(new.members)
    return out


def _rows(old: Draft, new: Draft) -> set[str]:
    rows = {web for web in old.rows.keys() | new.rows.keys() if old.rows.get(web, 0) != new.rows.get(web, 0)}
    return rows & new.members.keys()


def moved(old: Draft, new: Draft) -> set[str]:
    """The webs that are new or stand elsewhere."""
    return {web for web in new.webs() if web not in old.members or _ends(old, web) != _ends(new, web)}


def _cut(draft: Draft, web: str) -> tuple[float, float, str]:
    """What the saw is set to for a web: the same for one that is turned end for end or mirrored."""
    (ax, ay), (bx, by) = draft.ends(web)
    return round(abs(bx - ax), 2), round(abs(by - ay), 2), draft.members[web]["lumber"]


def steps(change: Change, after: dict[str, Any]) -> tuple[Coded, ...]:
    """What changes, as codes with values: the steps of the layout, then lumber, rows, restraint and plies."""
    found = [coded(note.kind, **note.values, **_told_at(note, after)) for note in change.notes]
    found += _lumber_steps(change.lumber, after)
    found += [coded("rows", webs=change.rows)] if change.rows else []
    found += [coded("held", role=role, spacing_in=spacing) for role, spacing in change.held]
    found += [coded("plies", plies=change.plies)] if change.plies else []
    return tuple(found)


_JOINTS: dict[str, Callable[[Mapping[str, Any]], Sequence[str]]] = {
    "splice": lambda values: (values["joint"], values["to"]),
    "aim": lambda values: (values["joint"],),
    "swap": lambda values: values["joints"],
    "brace": lambda values: values["joints"],
}


def _told_at(note: Note, after: dict[str, Any]) -> dict[str, Any]:
    """`at`: for each panel point that a step names its chord ("" where webs meet), and inches from the left bearing,
    since no drawing shows the names of joints. Nothing where one of them is gone."""
    joints = _JOINTS[note.kind](note.values) if note.kind in _JOINTS else ()
    if not joints or any(joint not in after["joints"] for joint in joints):
        return {}
    draft = Draft(after)
    left, seat = min(draft.at(joint) for joint in draft.bearings)
    places = [(draft.chord_of(joint) or "", *draft.at(joint)) for joint in joints]
    return {"at": [[role, x - left, y - seat] for role, x, y in places]}


def _ends(draft: Draft, member: str) -> tuple[Any, ...]:
    return tuple(sorted((round(x, 4), round(y, 4)) for x, y in draft.ends(member)))


def _lumber(old: Draft, new: Draft) -> tuple[tuple[str, str], ...]:
    out = []
    for name, member in new.members.items():
        before = was(old, new, name)
        if before is not None and before["lumber"] != member["lumber"]:
            out.append((name, member["lumber"]))
    return tuple(sorted(out))


def was(old: Draft, new: Draft, name: str) -> dict[str, Any] | None:
    """What stood in the old draft where a member stands in the new one; None for a web that is new."""
    return old.members.get(name) if new.role(name) == "web" else _chord_at(old, new, name)


def _chord_at(old: Draft, new: Draft, name: str) -> dict[str, Any] | None:
    """The old chord member where the middle of a new one is."""
    (ax, _), (bx, _) = new.ends(name)
    found = old.chord_under(new.role(name), (ax + bx) / 2)
    return old.members[found[0]] if found else old.members.get(name)


def _lumber_steps(lumber: Iterable[tuple[str, str]], after: dict[str, Any]) -> Iterator[Coded]:
    """One step for each key: whole chords by name, other members by their ids."""
    roles = {member["id"]: member["role"] for member in after["members"]}
    whole = {role: {name for name, r in roles.items() if r == role} for role in CHORDS}
    by_key: dict[str, set[str]] = {}
    for name, key in lumber:
        by_key.setdefault(key, set()).add(name)
    for key, names in sorted(by_key.items()):
        chords = tuple(role for role in CHORDS if whole[role] and whole[role] <= names)
        rest = tuple(sorted(names - {name for role in chords for name in whole[role]}))
        yield coded("lumber", chords=chords, members=rest, key=key)
