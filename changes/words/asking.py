"""What is refused of what is asked, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any

from changes.words import moment
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import Says, coded, in_quotes, listed, stopped, tell
from trusses.analysis.words.phrases import copies as told_copies
from trusses.analysis.words.runs import MEETING, corner_clear
from trusses.words import CLOSED, day


def one_of(names: Sequence[str]) -> str:
    return f"must be {', '.join(names[:-1])} or {names[-1]}."


def _too_large(size_in: float, across: str, clearance_in: float, mark: str, longest_in: float) -> str:
    clear = f" with {feet_inches(clearance_in)} of clearance" if clearance_in else ""
    return (
        f"{feet_inches(size_in)} {across}{clear} is more than the whole truss {mark}, which is"
        f" {feet_inches(longest_in)} long."
    )


def _copies_cut(mark: str, copies: Sequence[int]) -> str:
    are, them = ("is", "it") if len(copies) == 1 else ("are", "them")
    return (
        f"{told_copies(copies).capitalize()} of {mark} {are} cut already. What remains for {them} is a repair request"
        " or a new truss; call the truss designer."
    )


def _outside(away_in: float, mark: str) -> str:
    where = f"lies {feet_inches(away_in)} outside of" if away_in >= 1 / 32 else "lies just outside of"
    return f"{where} truss {mark}, which has nothing there; move it to where it crosses the truss."


def _run_corner(corner: int, name: str, needs_in: float, has_in: float, moves: Sequence[Sequence[float]] = ()) -> str:
    says = (
        f"corner {corner} stands in {name}: it needs {feet_inches(needs_in)} to the middle of that truss and has"
        f" {feet_inches(has_in)}."
    )
    return f"{says} {corner_clear(moves)}" if moves else f"{says} Move the corner into the bay."


def _run_in_cut(mark: str, copies: Sequence[int], how: str, **holds: Any) -> str:
    says = f"{_in_cut(mark, copies, how, 'already', **holds)} Move the run, or ask without {_them(copies)}"
    return f"{says}." if how == "taken" else f"{says}: what remains there is a repair or a new truss."


def run_in_cut_since(mark: str, copies: Sequence[int], how: str, **holds: Any) -> str:
    says = f"{_in_cut(mark, copies, how, 'by now', **holds)} The run has to be asked for anew, moved or without"
    return f"{says} {_them(copies)}" + ("." if how == "taken" else ": what remains there is a repair or a new truss.")


def run_made_anew_since(mark: str, copies: Sequence[int]) -> str:
    was, them = ("isn't", "it was") if len(copies) == 1 else ("aren't", "they were")
    return (
        f"{told_copies(copies).capitalize()} of {mark} {was} as when the run was asked for, which was to go through as"
        f" built: {them} made anew since, or went from that place. The run has to be asked for anew."
    )


def _them(copies: Sequence[int]) -> str:
    return "it" if len(copies) == 1 else "them"


def _in_cut(mark: str, copies: Sequence[int], how: str, since: str, **holds: Any) -> str:
    are, them = ("is", "it") if len(copies) == 1 else ("are", "them")
    why = "and the run doesn't get through as built"
    if how == "damaged":
        why = f"and damage was told of {them}, so that nobody knows by the drawing what is there"
    if how == "taken":
        why = f"and the run would lie in what goes through {them} already: {taken_by(**holds)}"
    return f"{told_copies(copies).capitalize()} of {mark} {are} cut {since}, {why}."


def taken_by(request: int | None, opening: str) -> str:
    """What goes through a cut copy already."""
    if opening:
        return f"opening {opening} of the drawing that it was built to"
    return "another run of this request" if request is None else f"the run of request {request}"


def _run_itself(code: str, **values: Any) -> str:
    """As the answer says it while it is drawn."""
    says = tell(MEETING, [coded(code, **values)])
    return says[0].lower() + says[1:]


def _run_beside(leg: int, names: Sequence[str], bay_in: float | None, needs_in: float) -> str:
    room = f", where {feet_inches(bay_in)} are clear between the trusses" if bay_in is not None else ""
    return (
        f"piece {leg} runs along {listed(names)} and lies in their wood: it needs {feet_inches(needs_in)}{room}. Move"
        " it into the middle of a bay, or make it narrower."
    )


def _run_level(level: str, levels: Sequence[str]) -> str:
    if not levels:
        return (
            "nothing stands on this job's plan yet, so that a run has nothing to cross; a designer sets where each"
            " truss stands."
        )
    return f"nothing stands on a level {in_quotes(level)}; the plan has {listed(levels)}."


ASKING: Mapping[str, Says] = {
    "no-ask": "A request needs at least one ask: a truss and an opening in it.",
    "too-many-asks": "{asks} asks are more than the limit of {most} in one request.",
    "asked-twice": "asks the same of {mark} as {other}.",
    "openings-overlap": (
        "opening {one} overlaps opening {two} of {other} in {mark} by {by_in:feet}, with the clear space of both; move"
        " one of the two, or ask for one opening."
    ),
    "ask-no-object": "must be an object with a truss, a kind and an opening, not {given:told}.",
    "copies-no-list": "must be a list of numbers of copies of {mark}, not {given:told}.",
    "no-such-copy": "{mark} has no copy {given:told}; it has {copies:copies}.",
    "copies-cut": _copies_cut,
    "carrier-apart": (
        "other trusses stand on {mark} ({standing:listed}), and which of them on which copy isn't known, so its copies"
        " change all or none. {why} Or ask for all copies."
    ),
    "answered-apart": (
        "a {kind} and what {other} asks of the same copies of {mark} are answered apart; send it as a request of its"
        " own."
    ),
    "no-such-kind": lambda kinds: one_of(kinds),
    "not-of-an-ask": "{key} is not something that an ask has.",
    "no-number-of-a-truss": "must be the number of a truss, not {given:told}.",
    "without-a-revision": "this mark has no revision yet.",
    "past-change": lambda closed: (
        f"{tell(CLOSED, [closed])} What remains is a repair request or a new truss; call the truss designer."
    ),
    "withdrawn-from-the-set": "{mark} is withdrawn from the set; call the truss designer.",
    "opening": lambda why: stopped(why),
    "wish": lambda why: stopped(why),
    "one-at-a-time": (
        "a {kind} is asked of the same copies of {mark} as in {other}: each is answered by itself, so send them one"
        " after the other."
    ),
    "weighs-nothing": "a weight is more than 0 lb.",
    "needs-a-length": lambda shape: f"a {shape} needs its length along the span.",
    "weight-both-ways": (
        "in plan {copies:copies-are} turned end for end to {others:copies} of {mark}, so one weight over all of them"
        " lies at two places of their drawing. Name the copies that stand one way alone."
    ),
    "row-too-short": "{mark} needs three copies in one row, some distance apart, for something to go between them.",
    "damaged-copies": "name the copies of {mark} that are damaged.",
    "photos-no-list": "must be the numbers of at most {most} photos that were sent for this job.",
    "no-such-photo": "no such photo was sent for this job.",
    "place-offered-no-more": "That place isn't offered any more: load the page anew.",
    "line-offered-no-more": "That line isn't asked about any more: load the page anew.",
    "lines-when-sent-back": "another line is asked about when a request is sent back, not with another decision.",
    "line-moves-only": (
        "another line lies elsewhere or at another height, and keeps all else of the run that was asked for; say in"
        " words what else is to be different."
    ),
    "line-as-asked": "that is the line that was asked for; give another one.",
    "moves-openings-only": (
        "Only openings and runs are moved by one tap; say in words what is to be different of the rest."
    ),
    "link-for-nobody": "Say for whom the link is.",
    "link-days": "A link is good for 1 to {most} days.",
    "link-ended": "This link has ended. Ask the builder or the truss designer for a new one.",
    "corrections-too-many": "{most} corrections are open; more are taken once some of them are accepted.",
    "correction-sent": "This form was sent already, with other words; those stand. Send these with a new one, from the "
    "page loaded anew.",
    "correction-answered": "Somebody answered it meanwhile; their answer stands.",
    "correction-moved": "Something was said of it meanwhile: read that first, then say it again.",
    "correction-of-another": "It came by another inspector’s link: what was done is accepted by that one.",
    "correction-has-an-inspector": (
        "It is closed without the inspector’s word only once it is answered and no link is left by which the inspector"
        " could accept that."
    ),
    "not-yet-because": "Say what is still to be done.",
    "photo-missing": "Choose a photo.",
    "asks-nothing": "ask something.",
    "drawing-has-no-level": "a place on a truss's drawing has no level; a place on the plan has.",
    "place-on-no-drawing": "a place on a drawing needs the mark whose drawing it is.",
    "say-the-answer": "Write your answer.",
    "say-what-was-done": (
        "Say what answers it: of a question your answer; of damage the number and the seal of the repair drawing, or"
        " which new truss takes its place; of a run that asks for no change, that you looked at it."
    ),
    "lies-outside": _outside,
    "larger-than-the-truss": _too_large,
    "run": lambda why: stopped(why),
    "run-level": _run_level,
    "run-crosses-nothing": "it crosses no truss on {level}: draw it through the trusses that it has to pass.",
    "run-asks-nothing": (
        "all that it crosses is cut already, and it goes through none of that, so that there is nothing to ask."
    ),
    "run-in-cut": _run_in_cut,
    "run-without": "must be a list of cut copies that it doesn't get through, such as R3-2, not {given:told}.",
    "run-without-other": "{given:told} is no cut copy that the run doesn't get through, so it isn't left out of it.",
    "run-together": "must be true or false, not {given:told}.",
    "run-corner": _run_corner,
    "run-beside": _run_beside,
    "run-meets-itself": partial(_run_itself, "run-meets-itself"),
    "run-shares-itself": partial(_run_itself, "run-shares-itself"),
    "no-such-date": "{typed!r} is not a date such as 2026-11-30.",
    "needs-a-date": "the request needs a date.",
    "date-past": lambda date, today: f"{day(date)} is past; today is {day(today)} at the building.",
    "date-far-off": lambda date: f"{day(date)} is more than a hundred years away.",
    "another-body": lambda request, at: (
        f"This Idempotency-Key made request {request} on {moment(at)} from another body."
    ),
    "asked-already": "You asked exactly this already: request {request} is {state}.",
    "nothing-moved": "Request {request} is computed from today's revisions; nothing changed since.",
    "no-revision-yet": "{mark} has no revision yet.",
    "no-such-state": lambda states: f"must be {', '.join(states)}.",
}
