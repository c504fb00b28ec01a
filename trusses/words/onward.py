"""What comes next of a mark, as pages say it: what each step is called once it is done, and what is to be done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from trusses.analysis.words.phrases import listed
from trusses.words.copies import runs


class Said(NamedTuple):
    """One step: what it is called once it is `done`, what is `to_do`, and what is to be seen where something keeps
    copies from it."""

    done: str
    to_do: str
    kept: str = ""


STEPS: Mapping[str, Said] = {
    "sealed": Said("sealed drawing attached", "attach the sealed drawing"),
    "reviewed": Said("reviewed", "record the building designer’s review"),
    "accepted": Said("accepted", "record the building department’s acceptance"),
    "plates": Said("plates covered", "say whether the sealed drawing covers the plates"),
    "restraint": Said("restraint covered", "say whether the sealed drawing covers the restraint"),
    "sheet": Said("its sheet says yes", "see why its sheet says “No”"),
    "released": Said("released", "release {copies}"),
    "cut": Said("cut", "once the saw has cut {copies}, say so", "see what holds {copies} from the saw"),
    "built": Said("built", "once {copies} {are} built, say so"),
    "delivered": Said("delivered", "look at {copies} when {they} {come}, and say so"),
    "set": Said("set", "once {copies} {are} set, say so", "see what keeps {copies} from being set"),
    "fixed": Said("restraint, hangers, ties in place", "tick each row, hanger and tie once it is in place"),
    "looks": Said("what was found closed", "see what was found of {copies}, and close it"),
}


def to_do(name: str, copies: Sequence[int], stopped: Sequence[int] = ()) -> str:
    """“release copies 1–4”, without a capital. `stopped` are those of them that something keeps from it."""
    free = [one for one in copies if one not in stopped]
    told = [_told(STEPS[name].to_do, free)] if free or not stopped else []
    return "; ".join([*told, *([_told(STEPS[name].kept, stopped)] if stopped else [])])


def what_keeps(name: str, marks: Sequence[str]) -> str:
    """The same of marks none of whose copies is free."""
    return STEPS[name].kept.format(copies=f"the copies of {listed(marks)}")


def _told(template: str, copies: Sequence[int]) -> str:
    one = len(copies) == 1
    words = {"are": "is", "they": "it", "come": "comes"} if one else {}
    told = {"are": "are", "they": "they", "come": "come", **words}
    those = f"cop{'y' if one else 'ies'} {runs(copies)}" if copies else "its copies"
    return template.format(copies=those, **told)
