"""The one place where the codes of a request become sentences; nothing reads a sentence back.

What was stored before codes were is a sentence already, and told as it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from changes.words import kinds
from trusses.analysis.words import checks, loads, mechanism, options, refusal
from trusses.analysis.words.findings import FINDINGS
from trusses.analysis.words.lengths import tape_inches
from trusses.analysis.words.openings import FITS
from trusses.analysis.words.phrases import Coded, Says, as_counted, counted, listed, moved, say, sentence, stopped, tell
from trusses.analysis.words.phrases import copies as told_copies
from trusses.analysis.words.runs import VERDICT_WORDS
from trusses.words import REFUSALS
from trusses.words.copies import letter_runs

Titled = str | Sequence[Coded]
"""What an option is called: a person's own words, or codes."""


def doing(stored: str | Coded | None) -> str:
    """What the worker is doing."""
    return tell(DOING, [stored]) if stored else ""


def trouble(stored: str | Coded | None) -> str:
    """Why what an option makes of a carrier can't be worked out: a sentence, with its place."""
    return stopped(_refusal(stored)) if stored else ""


def finding(stored: str | Coded) -> str:
    """What a person has to look at in a mark that carries others."""
    return tell(FINDINGS, [stored])


def told(stored: str | Iterable[str | Coded], *, plainly: bool = False) -> str:
    """What is said of an ask or an option; `plainly` to whoever doesn't read an engineer's letters."""
    if isinstance(stored, str):
        return stored
    return tell(TOLD, loads.plainly(stored) if plainly else stored)


def called(stored: Titled) -> str:
    """What an option is called."""
    if isinstance(stored, str):
        return stored
    return tell(TITLES, stored) if stored and stored[0]["code"] in TITLES else options.title(stored)


def event(verb: str, values: Coded, own: str) -> str:
    """What an event of a request is told as: by its verb and values, then the person's own words. Without values it is
    one from before there were any, or one that its verb says all of."""
    said = say(EVENTS, verb, values) if values else ""
    return " ".join(filter(None, [said, own]))


def moment(at: Sequence[str]) -> str:
    """A moment on the building's clock, such as `Nov 3, 2026 at 2:05 PM MST`; of it as ISO 8601 and the time zone."""
    there = datetime.fromisoformat(at[0]).astimezone(ZoneInfo(at[1]))
    return f"{there:%b} {there.day}, {there.year} at {there:%I:%M %p %Z}".replace(" at 0", " at ")


def holders(requests: Sequence[int]) -> str:
    """`request 7 holds it`, `requests 7 and 9 hold it`."""
    many = len(requests) > 1
    return f"request{'s' if many else ''} {listed([str(pk) for pk in sorted(requests)])} hold{'' if many else 's'} it"


def saw_waits(mark: str, request: int, asked: bool, copies: Sequence[int]) -> str:
    """That a request's hold keeps copies of a mark from the saw, whatever else is decided or sealed of them."""
    those = "it" if len(copies) == 1 else "them"
    why = f"asks for a hold on {those}, not answered yet" if asked else f"holds {those} until it is decided"
    return f"{mark}: the saw waits for {told_copies(list(copies))}: request {request} {why}."


def open_says(request: int) -> str:
    """Of one copy, before it is moved on."""
    return f"request {request} is open on it"


def asks_there(marks: Mapping[str, Iterable[int]]) -> str:
    """`R2, copies 4 to 6; R3, copy 1`: of which copies, by mark."""
    return "; ".join(f"{mark}, {told_copies(sorted(marks[mark]))}" for mark in sorted(marks, key=as_counted))


def in_the_way_of(letters: Sequence[str]) -> str:
    """That a run lies in an opening that another request asks for, and at which of its crossings."""
    return f"This run lies in the opening that it asks for, at {letter_runs(letters)}."


BELOW = {"more": "what it stands on or is tied to takes more", "tie": "it needs a tie against uplift"}
"""What a truss that passes asks of what is below it, in a few words: `below`."""
VERDICTS = {
    "fits": "fits as it is",
    "more": f"the wood passes, but {BELOW['more']}",
    "tie": f"the wood passes, but {BELOW['tie']}",
    "unsure": "no wood has to change, but it can't be called passing",
    "options": "takes a redesign",
    "none pass": "no redesign passes",
    "never": "not possible here",
}
"""The answer to one ask, in a few words."""
_OF_RUNS = {"options": VERDICT_WORDS["redesign"], "never": VERDICT_WORDS["never"]}


_WITH_IT = {
    "more": "; with the least change, what it stands on or is tied to takes more",
    "tie": "; the least change needs a tie against uplift",
    "drawn more": "; with the one that a designer drew, what it stands on or is tied to takes more",
    "drawn tie": "; the one that a designer drew needs a tie against uplift",
}


def verdict(answered: str, *, of_run: bool = False, near: bool = False, below: str = "") -> str:
    """The same; `of_run`: in the words that stand beside each truss which a run crosses, `near`: which it would go
    through as they are if it were moved a little. `below`: what the redesign that is told of asks of what is below it,
    by `asks_below`."""
    if not of_run:
        return VERDICTS[answered] + _WITH_IT.get(below, "")
    says = _OF_RUNS.get(answered, VERDICTS[answered]) + _WITH_IT.get(below, "")
    return f"{VERDICT_WORDS['moves']}, else {says}" if near else says


def below(told: Iterable[str | Coded]) -> str:
    """What an option asks of what is below it, by what is told of it: `tie` where it is lifted and wasn't, `more` where
    something has to carry or hold more, else nothing."""
    rows = [
        row for one in told if isinstance(one, dict) and one["code"] == "more-below" for row in one["values"]["rows"]
    ]
    return "tie" if any(map(kinds.needs_tie, rows)) else "more" if rows else ""


def asks_below(told: Iterable[str | Coded]) -> str:
    """The same of the redesign that is told of an ask, the least change or the one that a designer drew."""
    which = {"redesigns-pass": "", "designer-drew": "drawn "}
    found = [one for one in told if isinstance(one, dict) and one["code"] in which and one["values"].get("below")]
    return f"{which[found[0]['code']]}{found[0]['values']['below']}" if found else ""


def at_once(fits: bool, never: bool, called: Sequence[str]) -> str:
    """What is said first of an opening that nobody sent yet: its answer where no search can change that, else which
    members it touches, as the drawing calls them."""
    if fits or never:
        return VERDICTS["fits" if fits else "never"].capitalize()
    return f"Touches {', '.join(called)}"


def _unseen(unseen: bool) -> str:
    return "Decided by a program that did not say what it had seen of the request." if unseen else ""


def _asked_to_hold(mark: str, copies: int) -> str:
    return f"The saw should wait for {counted(copies, 'copy', 'copies')} of {mark} not yet cut."


def _released(free: Sequence[str], held: Mapping[str, Sequence[int]]) -> str:
    told = [f"No request holds {', '.join(free)} from the saw any more."] if free else []
    told += [f"The saw still waits for {mark}: {holders(requests)}." for mark, requests in held.items()]
    return " ".join(told)


def _refused_to_hold(mark: str, requests: Sequence[int]) -> str:
    if not requests:
        return f"The saw does not wait for {mark}."
    return f"The saw does not wait for this request, and still for {mark}: {holders(requests)}."


def _those(copies: Sequence[int]) -> str:
    return told_copies(copies).capitalize()


def _split(mark: str, variant: str, copies: Sequence[int], stays: Sequence[int], turned: Sequence[int]) -> str:
    become = "becomes" if len(copies) == 1 else "become"
    return f"{_those(copies)} of {mark} {become} {variant}{_turned(turned)}. {_kept(mark, stays)}"


def _joins(mark: str, variant: str, copies: Sequence[int], stays: Sequence[int], turned: Sequence[int]) -> str:
    join = "joins" if len(copies) == 1 else "join"
    such = f"{_those(copies)} of {mark} {join} {variant}, which has such a design already{_turned(turned)}."
    return f"{such} {_kept(mark, stays)}"


def _kept(mark: str, stays: Sequence[int]) -> str:
    return f"{mark} keeps {told_copies(stays)}." if stays else f"{mark} ends without copies."


def _turned(turned: Sequence[int]) -> str:
    return f", {told_copies(turned)} turned end for end" if turned else ""


def _overtaken(mark: str, number: int, request: int | None) -> str:
    why = f", from request {request}." if request else ": its designer corrected it."
    return f"{mark} has revision {number} now{why} This request is computed again before it is approved."


def _of_copies(answer: Coded) -> str:
    """Which copies, where several answers are of one mark; what was stored before that was names none."""
    return f", {told_copies(answer['copies'])}" if answer.get("copies") else ""


def _computed(answers: Sequence[Coded], anew: Sequence[Coded], lost: Sequence[Titled]) -> str:
    told = [
        f"{one['mark']} revision {one['number']}{_of_copies(one)}:"
        f" {verdict(one['verdict'], **{key: one[key] for key in ('of_run', 'near', 'below') if key in one})}"
        for one in answers
    ]
    for one in anew:
        drawn = counted(one["options"], "drawn option", "drawn options")
        told.append(f"{one['mark']} revision {one['number']}: {drawn} computed anew")
    told += [f"“{called(one)}” doesn't hold what is asked now and is not carried over" for one in lost]
    return "; ".join(told)


def _failed(trouble: str | Coded, option: bool) -> str:
    return f"A drawn option could not be computed: {_refusal(trouble)}" if option else _refusal(trouble)


def _moved_on_the_plan(mark: str, moved: Sequence[tuple[int, float]], out: Sequence[int]) -> str:
    ways = [f"copy {n} by {tape_inches(abs(by))} {'up' if by > 0 else 'down'} the row" for n, by in moved]
    return f"Of {mark} on the plan: {'; '.join([*ways, *(f'copy {n} left out' for n in out)])}."


EVENTS: Mapping[str, Says] = {
    **dict.fromkeys(("approve", "send back", "decline", "keep off"), _unseen),
    "ask for a hold": _asked_to_hold,
    "release the hold": _released,
    "acknowledge the hold": "The saw waits for {mark}.",
    "refuse the hold": _refused_to_hold,
    "overtaken": _overtaken,
    "revise": lambda mark, variant, copies, stays, turned: (
        f"{mark} gets a new revision, for {told_copies(copies)}{_turned(turned)}."
    ),
    "split": _split,
    "join": _joins,
    "copies moved": lambda mark, to, copies, request: (
        f"{_those(copies)} of {mark} {'is' if len(copies) == 1 else 'are'} {to} now, from request {request}. This"
        " request is computed again before it is decided."
    ),
    "copies cut": lambda mark, copies: (
        f"{_those(copies)} of {mark} {'was' if len(copies) == 1 else 'were'} cut meanwhile and"
        f" keep{'s its' if len(copies) == 1 else ' their'} design; this request is about the others."
    ),
    "asks turned": lambda mark, copies: (
        f"{_those(copies)} of {mark} {'was' if len(copies) == 1 else 'were'} turned end for end for another design."
        f" What is asked of {'it' if len(copies) == 1 else 'them'} stands at the same place of the wood, which today's"
        " drawing has at its other end."
    ),
    "move on the plan": _moved_on_the_plan,
    "attach a repair": lambda mark, copies, sealed_by: stopped(
        f"Of {mark}, {told_copies(copies)}: the drawing of the repair, sealed by {sealed_by}"
    ),
    "draw": lambda mark, title: f"{mark}: {called(title)}",
    "compute an option": lambda mark, title, found: f"{mark}: {called(title)}. {told(found)}",
    "finish computing": _computed,
    "fail": _failed,
}


def _shifted(openings: Sequence[Mapping[str, Any]]) -> str:
    """Openings that stand elsewhere than asked, each by how far."""
    return listed(
        f"opening {one['opening']} {moved(one['right_in'], one['up_in']) or 'a hair aside'}" for one in openings
    )


def _elsewhere(moved: Sequence[Mapping[str, Any]]) -> str:
    many = len(moved) > 1
    stands = (
        "The openings don't stand where they were asked" if many else "The opening doesn't stand where it was asked"
    )
    return f"{stands}, but elsewhere: {_shifted(moved)}."


TITLES: Mapping[str, Says] = {
    **kinds.TITLES,
    "as-it-is": "As it is, with the opening written in",
    "to-start-from": "Today's truss, to start from",
    "as-sent": "The revision as sent",
    "drawn-by": "Drawn by {person}",
    "stands-elsewhere": lambda moved: f"Leave the truss as it is and move {_shifted(moved)}",
}
"""What options are called that no step leads to and nobody gave a name; the steps are `words.options`."""


def _none_passes(stops: Sequence[Coded]) -> str:
    """Where no check of the best is over its limit, something else keeps it from being called passing."""
    if any(one["code"] == "numbers-only" for one in stops):
        return stopped(f"No redesign is called passing. The least change: {told(stops)}")
    return stopped(f"No redesign passes. What stops the best: {told(stops)}")


def _redesigns(count: int, least: Titled, below: str = "") -> str:
    many = "One redesign passes" if count == 1 else f"{count} redesigns pass"
    return f"{many} the lumber checks (plates are not checked); the least change: {stopped(called(least))}"


def _fits_moved(right_in: float, up_in: float) -> str:
    steps = moved(right_in, up_in)
    return f"Moved {steps}, it fits as it is." if steps else "A hair beside that place it fits as it is."


def _largest(as_it_is: bool, **sizes: float) -> str:
    if "diameter_in" in sizes:
        size = f"{tape_inches(sizes['diameter_in'])} round"
    else:
        size = f"{tape_inches(sizes['width_in'])} wide × {tape_inches(sizes['height_in'])} high"
    how = (
        "in the truss as it is"
        if as_it_is
        else "with a redesign that passes the lumber checks (plates are not checked)"
    )
    return f"The largest of this shape that works there: {size}, {how}."


_DIFFERS = {
    "outside": "its outside shape",
    "bearings": "its bearings",
    "loads": "its loads",
    "spacing": "the spacing",
    "use": "its use or ceiling",
    "uplift-dead-share": "the dead load counted on against uplift",
}


def _differs(parts: Sequence[str], gone: Sequence[str]) -> str:
    names = [_DIFFERS[part] for part in parts] + [f"opening {name}, which is not there any more" for name in gone]
    return f"Differs from today's truss also in {listed(names)}."


def _carrier(
    carrier: str,
    because: Sequence[str],
    trouble: str | Coded | None,
    worst_ratio: Sequence[float] | None,
    fails: Coded | None,
) -> str:
    who = f"{carrier} carries {', '.join(because)}"
    if trouble or worst_ratio is None:
        return f"{who}, and what that does to it can't be worked out. {stopped(_refusal(trouble or ''))}"
    before, after = worst_ratio
    now = f"{who}: worst ratio {before:.0%} → {after:.0%}"
    if not fails:
        return f"{now}, no check over its limit."
    return f"{now}; {checks.rule_of(fails)} fails at {fails['ratio']:,.0%} of what is allowed."


def _refusal(trouble: str | Coded) -> str:
    """What was refused underneath; text where that has no code."""
    return trouble if isinstance(trouble, str) else refusal.told(trouble, REFUSALS)


_BOTH = "by {by_in:feet} with the clear space of both: say which of the two is needed, or move it."


def _likely(webs: int, how: str, stronger: bool, plies: int) -> str:
    done = {"out": "taken out"}.get(how, how)
    more = [counted(webs, "web", "webs") + f" {done}"] if webs else []
    more += ["stronger lumber or more restraint"] if stronger else []
    more += [counted(plies, "ply", "plies") + " more"] if plies else []
    return f"Likely with {listed(more)}; to be computed."


TOLD: Mapping[str, Says] = {
    **FITS,
    **options.TOLD,
    **kinds.TOLD,
    "bearing-not-today": lambda trouble: f"Today's truss can't bear so. {stopped(_refusal(trouble))}",
    "today-unread": lambda trouble: f"Today's truss document can't be read: {_refusal(trouble)}.",
    "today-moves": lambda **moves: f"Today's truss can't be analysed: {mechanism.moves(**moves)}.",
    "designer-first": "A designer has to look at it first.",
    "elsewhere-than-asked": _elsewhere,
    "there-instead": lambda mark, moved: (
        f"{mark} needs no other design if it stands elsewhere: {_shifted(moved)}. Will that place do?"
    ),
    "largest-here": _largest,
    "nothing-changes": "Nothing on the truss changes.",
    "nothing-changes-fails": "Nothing on the truss changes, but today's truss fails, at {ratio:.0%} of what's allowed.",
    "loads-lack": "Its loads lack {names:listed}.",
    "loads-lack-first": "Its loads lack {names:listed}; no redesign is offered until a designer writes them in.",
    "fits-nowhere": "It fits nowhere in today's truss.",
    "fits-moved": _fits_moved,
    "more-asked": "What else is asked of this truss needs a redesign.",
    "redesigns-pass": _redesigns,
    "none-passes": _none_passes,
    "none-found": "No redesign was found.",
    "not-searched": lambda trouble: stopped(_refusal(trouble)),
    "overlaps": "It overlaps opening {opening}, which this truss has already, " + _BOTH,
    "overlaps-request": "It overlaps opening {opening}, which request {request} asks for, " + _BOTH,
    "overlaps-here": "It overlaps opening {opening}, which is asked here, " + _BOTH,
    "likely": _likely,
    "holds-all": lambda copies: (
        f"It holds the openings of all of {told_copies(copies)}; through each of them goes what crosses that one."
    ),
    "designer-drew": "A designer drew a redesign that is clear and passes.",
    "not-analysed": lambda trouble: f"It can't be analysed: {_refusal(trouble)}.",
    "not-computed": lambda trouble: f"It could not be computed: {_refusal(trouble)}",
    "exceeds": lambda **check: sentence(f"{checks.rule_of(check)} is {check['ratio']:.2f} times what is allowed"),
    "drawn-passes": "Its lumber checks pass and its openings are clear. Plates are not checked.",
    "differs": _differs,
    "carrier": _carrier,
}
"""What is said to a builder of an ask, and to both of an option."""

DOING: Mapping[str, Says] = {
    "analysing-new-mark": "{mark}: analysing the truss that was sent",
    "analysing-correction": "{mark}: analysing the corrected design",
    "analysing-loads": "{mark}: analysing it, and what carries it, with what stands on it",
    "analysing-drawn": "{mark}: computing the drawn option",
    "analysing-together": "{marks:listed}: working out what the chosen options make of what carries them",
    "for-a-mark": lambda mark, doing: f"{mark}: {tell(DOING, [doing])}",
    "looking-for-space": "looking for the clear space",
    "trying-other-bearings": "looking at the truss on other bearings",
    "looking-for-smaller": "looking for the largest that would work there",
    "looking-between": "looking for ways between the trusses",
    "looking-at-damage": "looking at the truss as it is damaged",
    "looking-for-what-it-takes": "looking for what it takes",
    "looking-for-carrying": "looking for ways to carry it",
    **options.PROGRESS,
}
"""What the worker is doing, for who waits."""
