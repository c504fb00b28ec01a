"""What comes next of a mark, as pages say it: what each step is called once it is done, and what is to be done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from trusses.analysis.words.phrases import listed
from trusses.words.copies import runs

DONE: Mapping[str, str] = {
    "sealed": "sealed drawing attached",
    "reviewed": "reviewed",
    "accepted": "accepted",
    "plates": "plates covered",
    "restraint": "restraint covered",
    "sheet": "its sheet says yes",
    "released": "released",
    "cut": "cut",
    "built": "built",
    "delivered": "delivered",
    "set": "set",
}
TO_DO: Mapping[str, str] = {
    "sealed": "attach the sealed drawing",
    "reviewed": "record the building designer’s review",
    "accepted": "record the building department’s acceptance",
    "plates": "say whether the sealed drawing covers the plates",
    "restraint": "say whether the sealed drawing covers the restraint",
    "sheet": "see why its sheet says “No”",
    "released": "release {copies}",
    "cut": "once the saw has cut {copies}, say so",
    "built": "once {copies} {are} built, say so",
    "delivered": "look at {copies} when {they} {come}, and say so",
    "set": "once {copies} {are} set, say so",
}


KEPT: Mapping[str, str] = {
    "cut": "see what holds {copies} from the saw",
    "set": "see what keeps {copies} from being set",
}


def to_do(name: str, copies: Sequence[int], stopped: Sequence[int] = ()) -> str:
    """“release copies 1–4”, without a capital. `stopped` are those of them that something keeps from it."""
    free = [one for one in copies if one not in stopped]
    told = [_told(TO_DO[name], free)] if free or not stopped else []
    return "; ".join([*told, *([_told(KEPT[name], stopped)] if stopped else [])])


def what_keeps(name: str, marks: Sequence[str]) -> str:
    """The same of marks none of whose copies is free."""
    return KEPT[name].format(copies=f"the copies of {listed(marks)}")


def _told(template: str, copies: Sequence[int]) -> str:
    one = len(copies) == 1
    words = {"are": "is", "they": "it", "come": "comes"} if one else {}
    told = {"are": "are", "they": "they", "come": "come", **words}
    those = f"cop{'y' if one else 'ies'} {runs(copies)}" if copies else "its copies"
    return template.format(copies=those, **told)
