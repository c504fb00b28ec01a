"""The one place where the codes of the set become sentences; nothing reads a sentence back.

A value `why` is another refusal, told with its place before it gets here.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from trusses.analysis.words import checks, refusal, refusals
from trusses.analysis.words.given import quoted
from trusses.analysis.words.lengths import feet_inches, tape_inches
from trusses.analysis.words.phrases import Coded, Says, counted, listed, say, stopped, tell
from trusses.words.copies import COPIES, COPY_EVENTS, runs


def closed(why: Coded | None) -> str:
    """Why a mark can't take an ordinary change any more; empty where it can."""
    return tell(CLOSED, [why]) if why else ""


def kept(refused: str | Coded | None) -> str:
    """What was kept of a refusal, without its place; what was kept as a sentence is told as it is."""
    if not refused:
        return ""
    if isinstance(refused, str):
        return refused
    return refusal.told({**refused, "place": ""}, REFUSALS)


def _toward(inches: float, one: str, other: str) -> str:
    return f"{feet_inches(abs(inches))} {other if inches < 0 else one}"


def _place_otherwise(
    mark: str,
    level: str,
    note: str,
    x_in: float,
    y_in: float,
    direction: str,
    spacing_in: float,
    count: int,
    turned: bool,
) -> str:
    now = [
        f"the first {_toward(x_in, 'right', 'left')} and {_toward(y_in, 'up', 'down')}",
        f"the span {'across' if direction == 'x' else 'up'} the plan",
        f"{tape_inches(spacing_in)} on center",
        *(["turned end for end"] if turned else []),
        f"with the note “{note}”" if note else "without a note",
    ]
    return (
        f"This place of {mark} is another one since the form was opened, by a decision or by somebody’s hand. It has"
        f" {counted(count, 'truss', 'trusses')} on {level or 'no level'} now, {', '.join(now)}. What you typed stands"
        " below: hold it against that before you send it again."
    )


def day(written: str) -> str:
    """Nov 3, 2026, of a date as ISO 8601 writes it."""
    at = date.fromisoformat(written)
    return f"{at:%b} {at.day}, {at.year}"


def _all_cut(mark: str, copies: int) -> str:
    many = "The one copy" if copies == 1 else f"All {copies} copies"
    return f"{many} of {mark} {'is' if copies == 1 else 'are'} cut already."


CLOSED: Mapping[str, Says] = {
    "past-last-day": lambda mark, last: f"The last day for changes to {mark} was {day(last)}.",
    "all-cut": _all_cut,
}
"""Why no copy of a mark can take an ordinary change any more."""


def mark_event(code: str, values: Mapping[str, Any]) -> str:
    """What happened to a mark and its copies beside requests, in one line without the person's own words."""
    return say(MARK_EVENTS, code, {"values": values})


def _shifted(values: Mapping[str, Any]) -> str:
    ways = [
        f"copy {number} by {tape_inches(abs(by))} {'up' if by > 0 else 'down'} the row"
        for number, by in sorted(values["moved"].items(), key=lambda one: int(one[0]))
    ]
    ways += [f"copy {number} left out" for number in values["out"]]
    return f"Moved on the plan: {'; '.join(ways)}"


def _sealed(what: str) -> Says:
    """What was attached or recorded of a sealed drawing, by whose name and day."""

    def says(values: Mapping[str, Any]) -> str:
        by = f" by {values['name']} on {day(values['on'])}" if "name" in values else ""
        by += f", as told by {values['told_by']}" if "told_by" in values else ""
        also = listed([f"{mark} revision {number}" for mark, number in values.get("also", ())])
        said = f"; its file is on record for {also} too, and was said to show this as well" if also else ""
        return f"{_sealed_of(values)} {what}{by} (SHA-256 {values['sha256']}…){said}"

    return says


def _sealed_of(values: Mapping[str, Any]) -> str:
    if copies := values["copies"]:
        return f"Sealed repair of cop{'y' if len(copies) == 1 else 'ies'} {runs(copies)}"
    return f"Sealed drawing of revision {values['revision']}"


def _placed(values: Mapping[str, Any]) -> str:
    before, after, level = values["before"], values["after"], values["level"]
    if before is None:
        return f"A place on {level}: {_row(after)}"
    return f"Taken from {level}: {_row(before)}" if after is None else f"On {level}: {_row(after)}, was {_row(before)}"


_RUNS = {"x": "across the plan", "y": "up the plan"}


def _row(row: Mapping[str, Any]) -> str:
    at = f"{feet_inches(row['x_in'])} right, {feet_inches(row['y_in'])} up"
    many = f"{row['count']} {_RUNS[row['direction']]}{', turned end for end,' if row.get('turned') else ''}"
    return f"{many} from {at}" + (f", {tape_inches(row['spacing_in'])} apart" if row["count"] > 1 else "")


def _those(values: Mapping[str, Any]) -> str:
    copies, turned = values["copies"], values["turned"]
    end = f", {runs(turned)} of them turned end for end" if turned and len(turned) < len(copies) else ""
    if turned and not end:
        end = ", turned end for end"
    return f"Cop{'y' if len(copies) == 1 else 'ies'} {runs(copies)}{end}"


COVERED = {"plates": "the plates", "restraint": "the restraint and bracing"}


def _covers(values: Mapping[str, Any]) -> str:
    by = f"by {values['name']} on {day(values['on'])}"
    return f"{_sealed_of(values)} said to cover {COVERED[values['what']]} as well, {by} (SHA-256 {values['sha256']}…)"


MARK_EVENTS: Mapping[str, Says] = {
    **COPY_EVENTS,
    "corrected": "Corrected: revision {values[after]} in place of revision {values[before]}",
    "withdrawn": "Withdrawn with its revision {values[revision]}",
    "counted": "{values[after]} copies in place of {values[before]}",
    "placed": _placed,
    "copies left": lambda values: f"{_those(values)}: {values['to']} now",
    "copies came": lambda values: f"{_those(values)}: came from {values['from']} revision {values['revision']}",
    "copies turned": lambda values: f"{_those(values)}: its design serves them so",
    "ended": "Without copies: it has ended, its record stays",
    "shifted": _shifted,
    "sealed": _sealed("attached, sealed"),
    "reviewed": _sealed("reviewed for the building designer"),
    "accepted": _sealed("accepted for the building department"),
    "carried out": _sealed("carried out, looked at"),
    "seal covers": _covers,
    "seal withdrawn": _sealed("withdrawn: it counts no more"),
}


def _fails(ratio: float, **check: Any) -> str:
    return f"The {checks.rule_of(check)} fails with {ratio:.2f} times what is allowed"


REVISIONS: Mapping[str, Says] = {
    "quantity": "The quantity must be a whole number from 1 to {most}.",
    "mark-too-long": "“{mark}” has {length} characters; a mark can have {most}.",
    "mark-taken": "This job has a mark {mark} already.",
    "copies-begun": (
        "{begun} copies of {mark} are released or further, or were looked at on site; the places hold {places}."
    ),
    "of-another-mark": "The document is of mark {mark}, not of {wanted}.",
    "superseded": "{mark} has revision {number} now; this was worked out from revision {expected}.",
    "fails-for-good": lambda source, **check: f"{_fails(**check)} ({source}); nobody can accept that.",
    "fails-unless-accepted": lambda **check: f"{_fails(**check)}; it can be accepted only with a reason.",
    "of-another-document": "The analysis belongs to another truss document.",
}
CORRECTING: Mapping[str, Says] = {
    "nothing-corrected": "This is {mark} as it is in revision {number}; nothing is corrected.",
    "carries-others": "{standing:names} stand on {mark}: say first what else they stand on.",
    "withdrawn-already": "{mark} is withdrawn already.",
    "corrected-meanwhile": "{mark} has revision {number} now; look at it first.",
    "revised-by-a-decision": "A decision has revised {mark}: start a revision, which is compared and decided.",
    "copy-begun": "Copy {copy} of {mark} is {stage}: start a revision, which is compared and decided.",
    "carrier-begun": (
        "{carrier} carries {mark} and is {stage} with what that puts on it: start a revision, which follows the load."
    ),
    "no-reason": "Say why; the record keeps it.",
    "reason-too-long": "The reason has {length:,} characters; it can have {most:,}.",
}
BEARINGS: Mapping[str, Says] = {
    "no-such-bearing": "{mark} has no bearing at joint {joint}.",
    "wall-or-mark": "A bearing stands on a wall line or on a mark, not on both: leave one of them empty.",
    "wall-name": "Name the wall in one line of up to {longest} characters that can be printed, as the plan does.",
    "top-plate": "Top plate: {why}.",
    "of-another-job": "A bearing can stand on a mark of its own job alone.",
    "too-many-places": "{places} places are more than the limit of {most}.",
    "nothing-behind": "The drawing of {mark} has all that stands on it.",
    "carrier-not-worked-out": lambda carrier, because, why: (
        f"{carrier}, which carries {' and '.join(because)}: {stopped(why)}"
    ),
    "taken-up-by-a-request": (
        "Copy {copy} of {mark} is {stage} already: what stands on it changes by a request from now on, decided by a"
        " designer."
    ),
    "with-what-stands-on-it": "{mark} with what stands on it: {why}",
}
PLAN: Mapping[str, Says] = {
    "places-begun": (
        "{begun} copies of {mark} are released or further, or were looked at on site, and the places would hold"
        " {places}: none of these can be taken away."
    ),
    "places-too-many": "The places would hold {places} copies; a mark can have {most}.",
    "last-place": (
        "This is the only place of {mark}: as many copies stand as its places count. Withdraw the mark instead."
    ),
    "apart": "{count} copies need a spacing: more than 0 in. from one to the next.",
    "level-name": "Name the level in up to {most} letters, such as Roof.",
    "wall-points": "A wall is a line of {least} to {most} points.",
    "wall-point-twice": "Point {n} is the one before it: a wall goes on from point to point.",
    "wall-taken": "This job has a wall line {label} already.",
    "wall-in-use": "{bearings:listed} stand on {label}: say first what else they stand on.",
    "place-otherwise": _place_otherwise,
    "place-gone": (
        "This place of {mark} is on the plan no more: a decision parted or joined its row, or somebody took it away,"
        " since the form was opened. Open the place where its copies stand now; what you typed would be one more."
    ),
    "wall-otherwise": lambda label, level, points: (
        f"The wall {label} is drawn otherwise since the form was opened{f', on {level}' if level else ''}: its line is"
        f" now {'; '.join(f'{feet_inches(x)}, {feet_inches(y)}' for x, y in points) or 'on no plan'}. What you typed"
        " stands below: hold it against that before you send it again."
    ),
    "wall-gone": "The wall {label} is on the plan no more: somebody took it down since the form was opened.",
    "row-moved-since": "The row stands otherwise on the plan by now: move the copies there by hand.",
    "shifted-cut": lambda mark, copies: (
        f"{mark}: cop{'y' if len(copies) == 1 else 'ies'} {runs(copies)} {'is' if len(copies) == 1 else 'are'} cut"
        " already, so that the plan is not changed for them here."
    ),
    "left-out-begun": lambda mark, copies: (
        f"{mark}: cop{'y' if len(copies) == 1 else 'ies'} {runs(copies)} {'is' if len(copies) == 1 else 'are'} released"
        f" or further, or {'was' if len(copies) == 1 else 'were'} looked at on site, and never taken away."
    ),
    "shifted-off-carrier": (
        "{carrier} carries {mark} and is {stage} with what stands on it today: nothing moves here until a designer has"
        " worked out what {carrier} gets then."
    ),
    "north": "North is 0 to 360 degrees, clockwise from up.",
}
"""Places and walls as they are drawn."""
_SEAL_RECORDS = {
    "reviewed": "Its review by the building designer",
    "accepted": "Its acceptance by the building department",
    "carried out": "That the repair is carried out",
    "withdrawn": "Its withdrawal",
    "plates": "That it covers the plates",
    "restraint": "That it covers the restraint",
}
_SEAL_FIRST = {
    "reviewed": "its review by the building designer",
    "accepted": "its acceptance by the building department",
}
_SEAL_NEEDS = {
    "sealed_by": "Say who sealed it: the name on the seal, in one line.",
    "licence": "Give the license number on the seal.",
    "name": "Give the name of who did it, in one line.",
    "told_by": "Say in one line what tells of it: a paper, an e-mail, a number; or leave it empty.",
    "reason": "Say why, in one line; the record keeps it.",
}


def _attached(mark: str, number: int, by: str, on: str) -> str:
    return f"{mark} revision {number} (attached by {by} on {day(on)})"


SEALING: Mapping[str, Says] = {
    "pdf-none": "That is no PDF: the file doesn't begin as one.",
    "pdf-broken": "The PDF can't be read to its end; save it anew from the program that made it.",
    "pdf-locked": "The PDF is locked with a password or against reading; attach one that opens without.",
    "pdf-runs": "The PDF holds something that runs, plays or carries another file ({what}); attach plain pages.",
    "pdf-too-large": "The PDF is larger than {most_mb} MB.",
    "pdf-too-many-pages": "The PDF has {pages} pages; attach those of this truss alone, {most} at most.",
    "pdf-too-much": "The PDF has more in it than is read here ({most:,} objects); save it anew, as plain pages.",
    "seal-needs": lambda what: _SEAL_NEEDS[what],
    "seal-unprintable": lambda given: f"{quoted(given)} holds a character that can't be printed; type it anew.",
    "seal-text-long": "That has {length} characters; there can be {most}.",
    "licence-state": "Give the state of the license by its two letters, such as CO.",
    "no-such-day": lambda on: f"{day(on)} can't be the day: give one that has been, not after today.",
    "covers-unknown": "A sealed drawing covers plates, restraint, both or neither beside the lumber.",
    "sealed-before-it": lambda number, issued, sealed_on: (
        f"Revision {number} was issued on {day(issued)}; a drawing sealed on {day(sealed_on)} is of an earlier one."
    ),
    "sealed-for-another": lambda mark, number, by, on: (
        f"That very file is on record for {mark} revision {number}, attached by {by} on {day(on)}: each revision needs"
        " one of its own."
    ),
    "sealed-elsewhere": lambda others, mark, number: (
        f"That very file is on record for {listed([_attached(**one) for one in others])}. It is taken only once you"
        f" looked into it and say that it shows {mark}, revision {number}, as well."
    ),
    "sealed-already": "Revision {number} of {mark} has a sealed drawing: correct it by replacing it, with the reason.",
    "sealed-late": (
        "{mark} has revision {current} now, so nothing was attached to revision {number}. What is drawn of revision"
        " {number} counts only for copies that are built to it."
    ),
    "sealed-withdrawn-mark": "{mark} is withdrawn: nothing was attached to it.",
    "sealed-by-another": (
        "The PDF chosen for {mark} revision {number} was not attached: another is, by {by}. If yours is right, it"
        " replaces that one, with the reason."
    ),
    "seal-stands-no-more": "What it would replace counts no more; look at it again.",
    "seal-unchanged": "That is the drawing which is attached already, with the same said of it.",
    "seal-withdrawn": "That drawing is withdrawn: nothing more is recorded of it.",
    "before-the-seal": lambda on, sealed_on: f"{day(on)} is before it was sealed, on {day(sealed_on)}.",
    "recorded-already": lambda kind: f"{_SEAL_RECORDS[kind]} is recorded already; look at it again.",
    "recorded-by-another": lambda mark, number, by, name, on: (
        f"What you typed of {mark} revision {number} was not recorded: {by} recorded {name}, {day(on)}, already."
    ),
    "record-late": (
        "{mark} has revision {current} now. What is decided of the drawing of revision {number}, which counts only for"
        " copies that are built to it, is recorded on its own page."
    ),
    "record-withdrawn": "The drawing of {mark} revision {number} is withdrawn: nothing more is recorded of it.",
    "record-withdrawn-mark": "{mark} is withdrawn: nothing was recorded of its drawing.",
    "carried-out-own": (
        "Whoever looked at the repair records it, in their own name: you are {own}. If somebody else looked at it, that"
        " person records it."
    ),
    "carried-out-early": lambda lacks: (
        f"Not before {listed([_SEAL_FIRST[one] for one in lacks])} {'is' if len(lacks) == 1 else 'are'} recorded: this"
        " job asks for that, and a repair is carried out by the drawing that has it. If it is carried out already, call"
        " the designer; the truss stays off limits."
    ),
    "carried-out-before": lambda on, since: (
        f"{day(on)} is before its drawing had the review and acceptance that this job asks for, on {day(since)}. If it"
        " was carried out then, call the designer; the truss stays off limits."
    ),
    "no-such-record": "Recorded are a review, an acceptance, and of a repair that it is carried out.",
    "seal-without": "Without a sealed drawing the job does one of these: {choices:listed}.",
    "paper-code-ended": "This code was withdrawn meanwhile; the papers printed since have another.",
    "paper-code-reason": "Say why the code is withdrawn.",
    "seal-altered": "The file on disk isn't the one that was attached; it is not handed out. Attach it anew.",
    "not-sealed": lambda mark, copies, to: (
        f"{mark}: cop{'y' if len(copies) == 1 else 'ies'} {runs(copies)} can't be {to}: no sealed drawing of"
        f" {'its' if len(copies) == 1 else 'their'} revision is on record, with all that this job asks of one and all"
        " that the sheet leaves to it."
    ),
}
"""Sealed drawings: their files, what is recorded of them, and what waits for them."""

DENIED: Mapping[str, Says] = {
    "role": lambda roles, verb: f"Only a {' or '.join(roles)} of this job can {verb}.",
    "stage-role": "Only a {role} of this job can say that a copy is {to}.",
}
"""What a person's role in the job doesn't allow."""

WORKER: Mapping[str, Says] = {
    "not-computed": "It could not be computed: {why}",
    "took-too-long": "the computation took longer than {seconds:g} seconds.",
    "broke": "the computation broke; what happened is in the worker's log.",
    "ended-its-worker": "the computation stopped without an answer {attempts} times.",
}
"""Why a computation came to nothing, kept in its row."""

SET: Mapping[str, Says] = {
    "because": "{why}",
    "as-it-was-told": "{says}",
    **REVISIONS,
    **CORRECTING,
    **BEARINGS,
    **PLAN,
    **COPIES,
    **SEALING,
    **DENIED,
}
REFUSALS: Mapping[str, Says] = {**refusals.REFUSALS, **SET, **WORKER}
"""For each code of a refusal of the set or of the core below it, its sentence."""
