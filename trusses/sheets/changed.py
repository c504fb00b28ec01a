"""What differs between two revisions of a mark, in sentences for a sheet: first where it bears and what it carries,
then its wood. Distances are level along the span from the middle of the left bearing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from trusses.analysis.format.document import read_stored
from trusses.analysis.piece_names import panel_names
from trusses.analysis.words.lengths import feet_inches, tape_inches
from trusses.analysis.words.phrases import pounds
from trusses.sheets import words

_SAME_IN = 1 / 16
_FAR_IN = 120.0
"""A bearing that is gone and one that is new are one that moved where they are no farther apart."""
_MOST_LOADS = 6
_LEAST_LB = 1.0

Document = dict[str, Any]


def changes(
    compared: dict[str, Any],
    before: Document,
    after: Document,
    *,
    stands_on: Mapping[str, str] | None = None,
    asked: Sequence[tuple[str, str]] = (),
    lists: str = "on this sheet",
) -> list[str]:
    """From `compare` and the two truss documents. `stands_on`: what each bearing of `after` stands on, where that is
    known; `asked`: (name, sentence) of each weight that this revision was issued for; `lists`: where its lists are."""
    called = panel_names(before) | panel_names(after)
    said, carry = _bearings(compared, before, after, stands_on or {})
    said += [f"New: {says}." for _, says in asked]
    said += _loads(before, after, [name for name, _ in asked], lists)
    said += carry
    said += [line for member in compared["members"] if (line := _member(member, called[member["id"]]))]
    said += _openings(before, after)
    plies = [document.get("plies", 1) for document in (before, after)]
    if plies[0] != plies[1]:
        said.append(f"Plies: {plies[1]}, were {plies[0]}.")
    if before.get("lateral_restraint") != after.get("lateral_restraint"):
        said.append(f"The lateral restraint to install is different; see the list {lists}.")
    return said


def _places(document: Document) -> dict[str, float]:
    """{joint: x} of each bearing, from the left."""
    found = {one["joint"]: float(document["joints"][one["joint"]][0]) for one in document["bearings"]}
    return dict(sorted(found.items(), key=lambda one: one[1]))


def _bearings(
    compared: dict[str, Any], before: Document, after: Document, on: Mapping[str, str]
) -> tuple[list[str], list[str]]:
    """What moved, is gone or new, each with what is below it then; and what those carry that stay."""
    was, now = _places(before), _places(after)
    left = min(was.values())
    down = {one["joint"]: one["down_lb"] for one in compared["reactions"]}

    def carries(old: str, new: str) -> tuple[float | None, float | None]:
        return (down.get(old, (None, None))[0], down.get(new, (None, None))[1])

    def wall(joint: str) -> str:
        return f" ({on[joint]})" if on.get(joint) else ""

    stay = [(old, new) for old, x in was.items() for new, at in now.items() if abs(x - at) < _SAME_IN]
    gone = [joint for joint in was if joint not in {old for old, _ in stay}]
    new = [joint for joint in now if joint not in {one for _, one in stay}]
    said = []
    while gone and new:
        far, old, one = min((abs(was[a] - now[b]), a, b) for a in gone for b in new)
        if far > _FAR_IN:
            break
        gone.remove(old)
        new.remove(one)
        by = now[one] - was[old]
        way = "right" if by > 0 else "left"
        if was[old] == left:
            place = ""
        else:
            place = (
                f": it was {feet_inches(was[old] - left)}, and is {feet_inches(now[one] - left)}, from the left bearing"
            )
            place += " as that was" if left not in now.values() else ""
        which = "The left bearing" if was[old] == left else "A bearing"
        said.append(f"{which} moved {tape_inches(abs(by))} to the {way}{place}{wall(one)}.{_down(*carries(old, one))}")
    said += [f"The bearing {feet_inches(was[one] - left)} from the left bearing is gone." for one in gone]
    for one in new:
        at = feet_inches(now[one] - left)
        said.append(f"A bearing is new, {at} from the left bearing{wall(one)}.{_down(None, carries('', one)[1])}")
    carry = []
    for old, one in stay:
        was_lb, now_lb = carries(old, one)
        if was_lb is not None and now_lb is not None and abs(now_lb - was_lb) >= _LEAST_LB:
            carry.append(f"Bearing {one}{wall(one)}: {pounds(now_lb)} down, was {pounds(was_lb)}.")
    return said, carry


def _down(was: float | None, now: float | None) -> str:
    """What presses there at most, for whoever sizes what is below."""
    if now is None:
        return ""
    before = f", {pounds(was)} before" if was is not None else ""
    return f" What is below it carries {pounds(now)} down at most{before}."


def _loads(before: Document, after: Document, asked: Sequence[str], lists: str) -> list[str]:
    """Loads that are new or gone; a weight that was `asked` for is told by whoever asked. Too many are counted."""
    if before.get("loads") == after.get("loads"):
        return []
    was, now = (Counter(words.loads(read_stored(one), by_piece=False)) for one in (before, after))
    new, gone = list((now - was).elements()), list((was - now).elements())
    new = [one for one in new if not any(f"({name}" in one for name in asked)]
    if len(new) + len(gone) > _MOST_LOADS:
        return [f"The loads that it is designed for are different; see the list {lists}."]
    return [f"Load new: {one}." for one in new] + [f"Load gone: {one}." for one in gone]


def _member(member: dict[str, Any], called: str) -> str:
    name = f"{words.ROLE[member['role']].capitalize()} {called}"
    was, now = member["lumber"]
    before, after = (feet_inches(length) if length is not None else "" for length in member["length_in"])
    long = f"{after} between joints"
    # a part of a chord stays where the chord is: a joint at its end stands elsewhere
    if member["change"] == "moved" and member["role"] != "web" and before != after:
        return f"{name} is {long} now, was {before}: a joint at its end has moved."
    return {
        "added": f"{name} is new: {now}, {long}.",
        "removed": f"{name} is gone.",
        "moved": f"{name} has moved: {long} now.",
        "resized": f"{name} is {now} now, was {was}.",
        "regraded": f"{name} is of the same size and other wood: {now} now, was {was}.",
    }.get(member["change"], "")


def _openings(before: Document, after: Document) -> list[str]:
    was, now = ({o["id"]: o for o in document.get("openings", ())} for document in (before, after))
    said = [f"Opening {name} is new: {words.opening(now[name])}." for name in now if name not in was]
    said += [f"Opening {name} is gone." for name in was if name not in now]
    said += [
        f"Opening {name} is different: {words.opening(now[name])}."
        for name in now
        if was.get(name, now[name]) != now[name]
    ]
    return said
