"""What a request is refused with, in words. A value `why` is another refusal, told before it gets here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from changes.words import event, moment, told
from changes.words.asking import ASKING, one_of, run_in_cut_since, run_made_anew_since
from trusses.analysis.words import checks
from trusses.analysis.words.departures import DEPARTURES
from trusses.analysis.words.phrases import Coded, Says, listed, stopped, tell
from trusses.words import REFUSALS as OF_THE_SET
from trusses.words import runs

_LOOK_AGAIN = "Look at the request again, then decide."
_COMPUTE_AGAIN = "Have the request computed again."
_BUILT_SINCE = (
    "{mark}: this was worked out from another revision than {copies:copies-are} recorded as built to by now. "
)


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
        " Issuing it needs a reason."
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
    "no-such-verdict": lambda choices: one_of(choices),
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
    "damage-ends-by": lambda choices: f"say what ends the damage: {one_of(choices)}",
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
    "run-in-cut-since": run_in_cut_since,
    "run-made-anew-since": run_made_anew_since,
    "carrier-revised": _carrier_revised,
    "basis-moved": (
        "What {mark} stands on, what stands beside it there, or its sheathing is not as it was computed. "
        + _COMPUTE_AGAIN
    ),
    "goes-elsewhere": lambda goes: (
        "Another decision came between: this one makes something else by now than the page showed."
        f" {' '.join(event(verb, told, '') for verb, told in goes)} {_LOOK_AGAIN}"
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
