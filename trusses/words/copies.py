"""Copies in words: what happened to them, and what is refused when they are moved on, taken back or looked at."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from trusses.analysis.words import checks
from trusses.analysis.words.phrases import Says, listed


def runs(numbers: Iterable[int]) -> str:
    """Numbers with their runs shortened: 1–3, 5."""
    held: list[list[int]] = []
    for number in sorted(numbers):
        if held and number == held[-1][-1] + 1:
            held[-1].append(number)
        else:
            held.append([number])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 1 else f"{run[0]}" for run in held)


def named(names: Sequence[str]) -> str:
    """Trusses by mark and number, their runs shortened: R1-1–11 and R2-b-4."""
    by_mark: dict[str, list[int]] = {}
    for name in names:
        mark, _, number = name.rpartition("-")
        by_mark.setdefault(mark, []).append(int(number))
    return listed([f"{mark}-{runs(numbers)}" for mark, numbers in by_mark.items()])


def letter_runs(letters: Sequence[str]) -> str:
    """Letters of a run in its order, three and more that follow one another shortened: A–C and F."""
    held: list[list[str]] = []
    for letter in letters:
        if held and _place(letter) == _place(held[-1][-1]) + 1:
            held[-1].append(letter)
        else:
            held.append([letter])
    parts = [[f"{those[0]}–{those[-1]}"] if len(those) > 2 else those for those in held]
    return listed([one for part in parts for one in part])


def _place(letter: str) -> int:
    """A: 1, Z: 26, AA: 27."""
    place = 0
    for one in letter:
        place = place * 26 + ord(one) - ord("A") + 1
    return place


def _to_revision(number: int | None) -> str:
    return "" if number is None else f" to revision {number}"


def _moved(values: Mapping[str, Any]) -> str:
    copies, start, end = values["copies"], values["from"], values["to"]
    to = "," + to if (to := _to_revision(values["revision"])) else ""
    step = "released anew" if start == end else f"{start} → {end}"
    bare = values.get("unsealed", ())
    without = (
        f", {'' if bare == copies else runs(bare) + ' of them '}without a sealed drawing that counts" if bare else ""
    )
    first = f", the designer asked first about the wall under {_those(of)}" if (of := values.get("asked_of")) else ""
    return f"Cop{'y' if len(copies) == 1 else 'ies'} {runs(copies)}: {step}{to}{without}{first}"


def _those(numbers: Sequence[int]) -> str:
    return f"{'copy' if len(numbers) == 1 else 'copies'} {runs(numbers)}"


EARLIER = {"stays": ("stays by it", "stay by it"), "waits": ("waits", "wait")}
"""What is to be done with a copy, and with copies, that are built to an earlier revision."""

DAMAGE = frozenset({"bow", "plates", "wood"})
"""Points that were found wrong in the truss itself; the others are put right where it stands."""

COPY_EVENTS: Mapping[str, Says] = {
    "moved": _moved,
    "taken back": lambda values: (
        f"Cop{'y' if len(values['copies']) == 1 else 'ies'} {runs(values['copies'])}: {values['from']} →"
        f" {values['to']}, taken back"
    ),
    "earlier": lambda values: (
        f"Cop{'y' if len(values['copies']) == 1 else 'ies'} {runs(values['copies'])}, built to an earlier revision than"
        f" {values['current']}: {EARLIER[values['what']][len(values['copies']) != 1]}"
    ),
    "looked at": lambda values: (
        f"Cop{'y' if len(values['copies']) == 1 else 'ies'} {runs(values['copies'])} looked at"
        f" {'when delivered' if values['when'] == 'delivered' else 'when set'}:"
        f" {', '.join(values['wrong']) + ' wrong' if values['wrong'] else 'nothing wrong'}"
    ),
    "may be set": lambda values: (
        f"Cop{'y' if len(values['copies']) == 1 else 'ies'} {runs(values['copies'])}: what was found"
        f" ({', '.join(values['wrong'])}) is closed by name"
    ),
    "made anew": lambda values: (
        f"Cop{'y' if len(values['copies']) == 1 else 'ies'} {runs(values['copies'])}: made anew to revision"
        f" {values['current']}; what was built{_to_revision(values['revision'])} is not used"
    ),
    "old one gone": lambda values: (
        f"The old truss{'' if len(values['copies']) == 1 else 'es'} of cop"
        f"{'y' if len(values['copies']) == 1 else 'ies'} {runs(values['copies'])}: destroyed or set apart"
    ),
}


def _never_built(mark: str, to: str, number: int, ratio: float, combination: str, **check: Any) -> str:
    return (
        f"{mark} can't be {to}: in revision {number} {checks.rule_of(check)} stands at {ratio:.0%} of what is allowed"
        f" ({combination}), and nobody can accept that."
    )


def _released_to_another(mark: str, copies: Sequence[int], number: int | None, current: int, of: str = "") -> str:
    to = f"revision {number}" if number is not None else "a revision that the record doesn't name"
    to += f" of {of}" if of else ""
    return (
        f"{'Copy' if len(copies) == 1 else 'Copies'} {', '.join(map(str, copies))} of {mark}"
        f" {'is' if len(copies) == 1 else 'are'} released to {to}, and revision {current} is current: release revision"
        f" {current} first, then cut."
    )


COPIES: Mapping[str, Says] = {
    "no-such-stage": "Say to which stage the copies go: released, cut, built, delivered or set.",
    "found-too-long": "What was found can have {most} characters; this has {length}.",
    "no-copy": "Choose at least one copy.",
    "too-early": lambda copies, stage, start, to: (
        f"Copy {', '.join(map(str, copies))} is {stage}, not {start} yet, so it can't be {to}."
    ),
    "found-late": lambda copies, to: (
        f"Cop{'y' if len(copies) == 1 else 'ies'} {runs(copies)} {'was' if len(copies) == 1 else 'were'} {to} already,"
        " by another hand, so what was found can't be added. Leave them out here and tell of it as damage."
    ),
    "withdrawn": "{mark} is withdrawn: nothing of it is released or cut.",
    "earlier-unsaid": lambda mark, copies, current: (
        f"{mark}: cop{'y' if len(copies) == 1 else 'ies'} {runs(copies)} {'is' if len(copies) == 1 else 'are'} built to"
        f" an earlier revision than {current}, and {'is' if len(copies) == 1 else 'are'} not set before a designer says"
        f" that {'it stays' if len(copies) == 1 else 'they stay'} by it."
    ),
    "gone-how": "Say what was done with it: destroyed, or where it stands and how it is marked.",
    "gone-of-none": "{mark} has no such old trusses; open its page once more and choose there.",
    "gone-not-anew": lambda mark, copies: (
        f"{mark}: cop{'y' if len(copies) == 1 else 'ies'} {runs(copies)} {'was' if len(copies) == 1 else 'were'} not"
        f" to be made anew then, so there is no such old truss of {'it' if len(copies) == 1 else 'them'}. Leave"
        f" {'it' if len(copies) == 1 else 'them'} out."
    ),
    "earlier-what": "Say what is to be done: they stay, they wait, or they are made anew.",
    "earlier-none": lambda mark, copies, current: (
        f"{mark}: cop{'y' if len(copies) == 1 else 'ies'} {runs(copies)} {'is' if len(copies) == 1 else 'are'} not"
        f" built to an earlier revision than {current}."
    ),
    "earlier-reason": "Say why; whoever stands before these trusses reads it.",
    "reason-long": "That has {length} characters; there can be {most}.",
    "no-such-move": "There is no such move of copies of this mark to take back.",
    "undo-late": "That was said more than {hours} hours ago, and is not taken back any more. Ask the designer.",
    "undo-overtaken": (
        "{mark} has got revision {number} since these copies were said to be cut, and that decision counted on it. What"
        " is to be done with them a designer says on the mark’s page."
    ),
    "undo-left": lambda mark, copies, of: (
        f"{mark}: cop{'y' if len(copies) == 1 else 'ies'} {runs(copies)} became {of} since these were said to be cut,"
        " and that decision counted on it: it is not taken back."
    ),
    "undo-moved-on": lambda mark, copies: (
        f"{mark}: cop{'y' if len(copies) == 1 else 'ies'} {runs(copies)} went on since; take that back first."
    ),
    "count-off": (
        "You counted {counted} and chose {chosen}: choose those that are here, or count again. Nothing was ticked."
    ),
    "count-none": "“{given}” is no number of trusses that came.",
    "point-unknown": "Say of {point} whether it is right or wrong.",
    "photo-of-all": "A photo is of the trusses that it shows: choose these, and send it with them.",
    "photos-too-many": "{sent} photos were sent; {most} can go with it.",
    "photo-too-large": "A photo can have {most_mb} MB at most.",
    "photo-too-many-pixels": "A photo can have {most} million pixels at most.",
    "photo-none": "That is no picture that can be read; send a JPEG, PNG or WebP.",
    "look-open": lambda mark, copies, what: (
        f"{mark}: cop{'y' if len(copies) == 1 else 'ies'} {runs(copies)} {'is' if len(copies) == 1 else 'are'} not set:"
        f" {'it was' if len(copies) == 1 else 'they were'} found with {', '.join(what)} wrong. "
        + (
            "Tell of the damage, so that its repair is sealed, or a designer says by name that it may be set."
            if set(what) & DAMAGE
            else "Put it right, and say so when it is."
        )
    ),
    "release-none": "Choose at least one mark to release.",
    "place-since": lambda mark, copies: (
        f"{mark}: {_those(copies)} got another place on the plan, or {'was' if len(copies) == 1 else 'were'} turned,"
        f" since the page was opened on which {'it was' if len(copies) == 1 else 'they were'} ticked. Nothing was"
        f" recorded as set. Look where {'it goes' if len(copies) == 1 else 'they go'} now, then tick; where"
        f" {'it stands' if len(copies) == 1 else 'they stand'} already as the page had it, call the designer."
    ),
    "wrong-since": lambda mark, copies, what: (
        f"{mark}: {_those(copies)} {'was' if len(copies) == 1 else 'were'} found with {listed(what)} wrong, by another"
        f" hand, since the page was opened on which {'it was' if len(copies) == 1 else 'they were'} ticked as it should"
        " be. Nothing was recorded: read what was found, look again, then tick."
    ),
    "open-since": lambda mark, copies: (
        f"{mark}: something was asked of {_those(copies)} since the page was opened on which"
        f" {'it was' if len(copies) == 1 else 'they were'} ticked. Nothing was recorded as set: read what is open, then"
        " tick."
    ),
    "wall-moves": lambda mark, copies, does: (
        f"{mark}: the wall under {_those(copies)} moves or may move. {does}, and nobody asked that for"
        f" {'it' if len(copies) == 1 else 'them'}. {'It is' if len(copies) == 1 else 'They are'} not set before the"
        " designer was asked: ask, then tick that you did, with whom you asked and what was said."
    ),
    "wall-comes": lambda mark, copies, does: (
        f"{mark}: a wall comes or may come under {_those(copies)}, which {'has' if len(copies) == 1 else 'have'} no"
        f" bearing there. {does}. {'It is' if len(copies) == 1 else 'They are'} not set before the designer was asked"
        f" how {'it is' if len(copies) == 1 else 'they are'} kept clear of it: ask, then tick that you did, with whom"
        " you asked and what was said."
    ),
    "asked-whom": "Say which designer you asked about the wall, and what was said: the record keeps it with your name.",
    "asked-tick": "Tick that you asked the designer, or empty what was said: the words alone don’t say that you did.",
    "asked-late": lambda copies: (
        f"{_those(copies).capitalize()} {'was' if len(copies) == 1 else 'were'} set already, by another hand, so what a"
        f" designer said can't be added. Leave {'it' if len(copies) == 1 else 'them'} out here, and call the designer"
        f" if {'it was' if len(copies) == 1 else 'they were'} not to be set."
    ),
    "look-of-hurt": lambda mark, copies: (
        f"{mark}: cop{'y' if len(copies) == 1 else 'ies'} {runs(copies)}: damage was told of, so"
        f" {'it isn' if len(copies) == 1 else 'they aren'}’t told as sound. Tick {'it' if len(copies) == 1 else 'them'}"
        " apart from the others, with what is wrong or that nobody looked."
    ),
    "look-nothing": "Nothing wrong was found there.",
    "look-closed": "That is closed already; look at it again.",
    "look-says": "Say why it may be set; the record keeps it with your name.",
    "no-item": "Choose at least one row, hanger or tie.",
    "item-waits": lambda waits: f"Not in place until {named(waits)} {'is' if len(waits) == 1 else 'are'} set.",
    "no-such-item": "There is no such row, hanger or tie of this mark today; look at the list again.",
    "anchored-where": "Say in up to {longest} letters to what it is anchored: a row holds nothing alone.",
    "key-long": "Idempotency-Key: has {length} characters; there can be {most}.",
    "move-key-empty": "Idempotency-Key: is empty.",
    "key-of-another-act": "This Idempotency-Key was used on {at} with another body.",
    "newer-revision": "{mark} has a newer revision than the one on your page. Look at it before the saw starts.",
    "never-built": _never_built,
    "released-to-another": _released_to_another,
    "not-taken-up": lambda mark, behind: (
        f"The drawing of {mark} doesn't have what {' and '.join(behind)} put on it today: the saw waits until it is"
        " written in."
    ),
}
