"""What a request is refused with, in words. A value `why` is another refusal, told before it gets here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from changes.words import moment, told
from trusses.analysis.words import checks
from trusses.analysis.words.departures import DEPARTURES
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import Coded, Says, listed, stopped, tell
from trusses.analysis.words.phrases import copies as told_copies
from trusses.analysis.words.runs import corner_clear
from trusses.words import CLOSED, day, runs
from trusses.words import REFUSALS as OF_THE_SET

_LOOK_AGAIN = "Look at the request again, then decide."
_COMPUTE_AGAIN = "Have the request computed again."
_BUILT_SINCE = (
    "{mark}: this was worked out from another revision than {copies:copies-are} recorded as built to by now. "
)


def _one_of(names: Sequence[str]) -> str:
    return f"must be {', '.join(names[:-1])} or {names[-1]}."


TYPED: Mapping[str, Says] = {
    "not-text": "must be text.",
    "too-many-characters": "{length:,} characters are more than the limit of {most:,}.",
    "unprintable": "holds a character that can't be printed.",
    "say-what-for": "Say in a sentence what it is for; the designer decides by it.",
    "answer-needed": "Answer the designer's question in a sentence.",
    "key-empty": "Idempotency-Key: is empty.",
    "say-why-revised": "Say why the truss is revised; the record keeps it.",
    "ask-the-builder": "Ask a question; sending back needs one.",
    "say-why-declined": "Say why; declining needs a reason.",
    "say-why-no-hold": "Say why the saw can't wait; who asked for the hold reads it.",
    "leaving-needs-a-reason": "Say why some of what was asked is left as it is.",
    "accepting-needs-a-reason": "Accepting a failed check needs a reason; the sheet repeats it.",
}
"""What a person wrote, or didn't."""


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


def _run_in_cut_since(mark: str, copies: Sequence[int], how: str, **holds: Any) -> str:
    says = f"{_in_cut(mark, copies, how, 'by now', **holds)} The run has to be asked for anew, moved or without"
    return f"{says} {_them(copies)}" + ("." if how == "taken" else ": what remains there is a repair or a new truss.")


def _run_made_anew_since(mark: str, copies: Sequence[int]) -> str:
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


def _run_beside(leg: int, names: Sequence[str], bay_in: float | None, needs_in: float) -> str:
    room = f", where {feet_inches(bay_in)} are clear between the trusses" if bay_in is not None else ""
    return (
        f"piece {leg} runs along {listed(names)} and lies in their wood: it needs {feet_inches(needs_in)}{room}. Move"
        " it into the middle of a bay, or make it narrower."
    )


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
    "no-such-kind": lambda kinds: _one_of(kinds),
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
    "corrections-too-many": "{most} corrections wait for an answer; more are taken once some of them are answered.",
    "correction-sent": "This form was sent already, with other words; those stand. Send these with a new one, from the "
    "page loaded anew.",
    "correction-answered": "Somebody answered it meanwhile; their answer stands.",
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
    "run-level": "nothing stands on a level {level:text}; the plan has {levels:listed}.",
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


def _since(mark: str, number: int, at: Sequence[str], by: str) -> str:
    return f"{mark} has revision {number} since {moment(at)}{f' by {by}' if by else ''}"


def _overtaken(option: int, computed_from: int, **since: Any) -> str:
    return f"{_since(**since)}; option {option} was computed from revision {computed_from}. {_COMPUTE_AGAIN}"


def _carrier_revised(option: int, carried: str, computed_from: int, **since: Any) -> str:
    return (
        f"{_since(**since)}. What option {option} of {carried} does to it was worked out from revision"
        f" {computed_from}. {_COMPUTE_AGAIN}"
    )


def _asks_less(mark: str, option: int, first: Coded, more: int) -> str:
    others = f" (and {more} more)" if more else ""
    return (
        f"{mark}: option {option} is designed for less than today's truss: {tell(DEPARTURES, [first])}{others}"
        " Approving it needs a reason."
    )


def _carrier_cut(mark: str, copies: Sequence[int], because: Sequence[str]) -> str:
    many = f"copy {copies[0]} is" if len(copies) == 1 else f"copies {listed([str(one) for one in copies])} are"
    return (
        f"{mark}: {many} cut already and would carry the changed load of {listed(because)}; no revision reaches what is"
        " cut. What remains is a repair or another way above it; call the truss designer."
    )


def _on(carrier: str, because: Sequence[str]) -> str:
    return f"{carrier}, which carries {' and '.join(because)}"


def _fails(ratio: float, combination: str, **check: Any) -> str:
    says = f"{checks.rule_of(check)} fails at {ratio:,.0%} of what is allowed"
    return f"{says} ({combination}); nobody can accept that."


def _together(carrier: str, why: str = "") -> str:
    failed = f"A first try failed: {stopped(why)} " if why else ""
    return (
        f"What these options together put on {carrier} is not worked out yet. {failed}The worker does it now:"
        " look at it in a few seconds, then decide the same."
    )


DECIDING: Mapping[str, Says] = {
    "no-such-verdict": lambda choices: _one_of(choices),
    "nobody-accepts": lambda rule, can: f"{rule} can't be accepted by anyone; only {listed(can)} can.",
    "leaves-all": "decide at least one; where all is left as it is, decline with the reason.",
    "left-together": (
        "{mark}, {copies:copies}: the option that was chosen has what is to be left too; leave both, or neither."
    ),
    "two-options": "{mark}: its asks share one option; two were chosen.",
    "nothing-to-draw": "ask {ask} ({kind}) is answered in words; no truss is drawn for it.",
    "no-option": "choose an option that answers ask {ask} ({mark}).",
    "option-of-another-ask": "option {option} does not answer ask {ask} ({mark}).",
    "option-overtaken": _overtaken,
    "option-stale": "{mark}: option {option} is of an earlier computation; choose from the current one.",
    "option-unsound": lambda mark, option, found: f"{mark}: option {option} can't be approved. {told(found)}",
    "option-not-computed": "{mark}: option {option} can't be approved. It is not computed yet.",
    "option-of-another-document": (
        "{mark}: the analysis of option {option} belongs to another truss document; nothing is approved on it."
    ),
    "option-unchanged": "{mark}: option {option} is today's truss, unchanged; there is nothing to issue.",
    "option-lacks": "{mark}: option {option} lacks the {kind} {name} that was asked for.",
    "option-blocked": "{mark}: in option {option} the opening {openings:listed} is not clear.",
    "option-asks-less": _asks_less,
    "option-not-passing": lambda mark, option, found: (
        f"{mark}: option {option} is not offered as passing. {told(found)}"
    ),
    "option-barred": lambda mark, option, found: f"{mark}: option {option} can't be approved. {told(found)}",
    "option-fails": lambda mark, **check: f"{mark}: {_fails(**check)}",
    "damage-ends-by": lambda choices: f"say what ends the damage: {_one_of(choices)}",
    "repair-without-drawing": "attach the sealed repair first, as a PDF; without it the truss is not set.",
    "repairs-no-damage": "a repair is attached to damage that was told of in this request.",
    "repairs-several": (
        "{mark}: {copies:copies-are} recorded as built to more than one revision by now. " + _COMPUTE_AGAIN
    ),
    "damaged-built-since": _BUILT_SINCE + _COMPUTE_AGAIN,
    "repairs-other": _BUILT_SINCE + _COMPUTE_AGAIN,
    "repairs-other-decided": (
        _BUILT_SINCE + "Keep off again with the reason, then compute again: its repair is another one."
    ),
    "repairs-left-out": (
        "the damage was told of before the answer to the question, which tells of none, so no repair can be attached"
        " to it. Keep off, and have the damage told of again in a request of its own."
    ),
    "repairs-nothing-withdrawn": "this request was withdrawn; nothing is attached to it.",
    "keep-off-alone": (
        "what stays off limits is said of damage alone; this request also asks for another design, which isn't decided"
        " yet. Decide that first, in a request of its own."
    ),
    "ends-no-damage": "no damage is ended here, so nothing is attached to it.",
    "accept-by-name": "{mark}: {rule} fails; accept it by name with a reason, or choose another.",
    "revised-since": lambda **since: f"{_since(**since)}. {_LOOK_AGAIN}",
    "copies-moved": ("{mark} lost {copies:copies} to another mark since. " + _COMPUTE_AGAIN),
    "copies-cut-since": ("{mark}: {copies:copies} cut since, so the design stays there. " + _COMPUTE_AGAIN),
    "run-in-cut-since": _run_in_cut_since,
    "run-made-anew-since": _run_made_anew_since,
    "carrier-revised": _carrier_revised,
    "basis-moved": (
        "What {mark} stands on, what stands beside it there, or its sheathing is not as it was computed. "
        + _COMPUTE_AGAIN
    ),
    "chain-moved": "What the marks stand on changed just now. " + _LOOK_AGAIN,
    "carrier-unknown": lambda carrier, because, why: (
        f"What that does to {_on(carrier, because)}, can't be worked out: {stopped(why)}"
    ),
    "not-worked-out-together": _together,
    "carrier-fails": lambda carrier, because, **check: f"{_on(carrier, because)}: {_fails(**check)}",
    "carrier-cut": _carrier_cut,
    "overtaken-while-drawing": "{mark} got a new revision since; have the request computed again, then draw.",
    "not-written-in": "the {kind} {name} that was asked for is not written in.",
    "drawn-of-another-mark": "it is of mark {mark}; the ask is about {wanted}.",
}

_DONE = {
    "file": "filed",
    "start": "started",
    "begin computing": "being computed",
    "finish computing": "computed",
    "fail": "not computed",
    "draw": "given another option",
    "approve": "answered with a new revision",
    "send back": "sent back",
    "decline": "declined",
    "answer": "answered",
    "compute": "sent to be computed again",
    "withdraw": "withdrawn",
}


def _too_late(request: int, last: str, by: str, at: Sequence[str], verb: str) -> str:
    who = f" by {by}" if by else ""
    return f"Request {request} was {_DONE[last]}{who} on {moment(at)}; it can't be {_DONE[verb]} now."


def _moved_since(request: int, state: str, last: str = "", by: str = "", at: Sequence[str] = ()) -> str:
    what = f"Request {request} was {_DONE[last]} by {by} on {moment(at)}" if last else f"Request {request} went on"
    return f"{what}, after this decision was begun; it is {state} now. {_LOOK_AGAIN}"


def _hold_answered(mark: str, standing: str, by: str, at: Sequence[str] | None) -> str:
    return f"The hold on {mark} was {standing}{f' by {by}' if by else ''}{f' on {moment(at)}' if at else ''}."


def _hold(request: int, asked: bool, copies: Sequence[int]) -> str:
    those = f"cop{'y' if len(copies) == 1 else 'ies'} {runs(copies)}"
    if asked:
        return f"Request {request} asks for a hold on {those}: acknowledge or refuse it first."
    return f"C{those[1:]} {'is' if len(copies) == 1 else 'are'} held for request {request} until it is decided."


_REPAIR_LACKS = {
    "reviewed": "the building designer's review",
    "accepted": "the building department's acceptance",
    "carried out": "who looked at it, carried out as drawn,",
}
MOVING: Mapping[str, Says] = {
    "too-late": _too_late,
    "moved-since": _moved_since,
    "not-now": lambda request, state, verb: f"Request {request} is {state}; it can't be {_DONE[verb]} now.",
    "hold-released": lambda mark, at: (
        f"The hold on {mark} was lifted{f' on {moment(at)}' if at else ''}; there is nothing to answer."
    ),
    "hold-answered": _hold_answered,
    "hold-of-an-end": "Request {request} is {state}: the saw has nothing to wait for on {mark}.",
    "hold-of-cut": "All copies of {mark} that request {request} asks a hold on are cut: no saw can wait for them.",
    "copy-damaged": lambda mark, copies, request: (
        f"{mark}: cop{'y' if len(copies) == 1 else 'ies'} {listed([str(one) for one in copies])} can't be set: damage"
        f" was told of in request {request}, and no sealed repair or new truss ended it."
    ),
    "undo-damaged": lambda mark, copies, request: (
        f"{mark}: cop{'y' if len(copies) == 1 else 'ies'} {listed([str(one) for one in copies])}: damage was told of in"
        f" request {request}, so the cut isn't taken back: a repair counts for this wood alone. Where another is cut in"
        " its place, a designer ends the damage by a new truss."
    ),
    "damage-stays": (
        "The damage that request {request} tells of isn't taken back: a designer ends it, who declines where the truss"
        " isn't damaged."
    ),
    "nothing-to-move": "Request {request} asks for nothing on the plan, or somebody moved it already.",
    "repair-lacks": lambda mark, copies, request, lacks: (
        f"{mark}: cop{'y' if len(copies) == 1 else 'ies'} {listed([str(one) for one in copies])} can't be set: of the"
        f" sealed repair of request {request} {_REPAIR_LACKS[lacks[0]]} isn't recorded. If it can't be"
        " carried out, tell of the damage again: a designer ends it by a new truss."
    ),
    "held": lambda holds: "The saw waits. " + " ".join(_hold(**one) for one in holds),
}

_DOING = {
    "see": "see this request",
    "fit": "try an opening",
    "file": "ask for a change",
    "tell": "tell of damage or ask a question",
    "repair": "attach a sealed repair",
    "start": "start a revision",
    "answer": "answer what was sent back",
    "withdraw": "withdraw a request",
    "compute": "have a request computed again",
    "decide": "decide on a request",
    "draw": "draw an option",
    "hold": "answer a hold",
}


def _denied(who: Sequence[Sequence[str]], verb: str) -> str:
    those = [f"the {role} who filed it" if whose == "own" else f"a {role}" for role, whose in who]
    return f"Only {' or '.join(those)} of this job can {_DOING[verb]}."


DENIED: Mapping[str, Says] = {
    "verb": _denied,
    "no-role-for-it": "A {role} can't {verb} a request.",
    "edit-option": "Only a designer of this job can edit an option, while the request awaits a decision.",
}

CHANGE: Mapping[str, Says] = {**TYPED, **ASKING, **DECIDING, **MOVING, **DENIED}
REFUSALS: Mapping[str, Says] = {**OF_THE_SET, **CHANGE}
"""For each code of a refusal of the change, or of what is below it, its sentence."""
