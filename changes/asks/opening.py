"""An opening: how it is read, what of it is refused, how it is answered, what a document lacks of it.

What is answered follows from truss documents alone: does it fit, where would it, which redesigns are there. Other kinds
that come to an opening answer by `answer` too.
"""

from __future__ import annotations

import contextlib
import copy
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from changes.asks import elsewhere, smaller
from changes.asks.answers import (
    AS_IT_IS,
    DESIGNER_FIRST,
    Answer,
    Answered,
    Case,
    Found,
    Judge,
    Tell,
    described,
    moves,
    reasons,
    redesigns_pass,
    stops,
)
from changes.asks.elsewhere import stood_elsewhere
from changes.asks.smaller import largest_here
from changes.asks.wishes import Document, Over, Wish, read_copies, read_truss, refuse_what_is_over
from changes.models import Kind, Verdict
from changes.refusals import Refused
from trusses.analysis.analysis import analyse
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.clearance.apart import beyond, gap, overlap
from trusses.analysis.clearance.free_space import TOUCH_IN
from trusses.analysis.clearance.openings import Fit, Nearest, Space, fit, nearest, space
from trusses.analysis.format.document import DocumentError, read_opening, read_stored
from trusses.analysis.format.document import read as read_document
from trusses.analysis.format.model import Opening
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.format.strict import place as named
from trusses.analysis.format.strict import plain
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.loads.arrangements import missing
from trusses.analysis.redesign.building import USUAL, Building
from trusses.analysis.redesign.largest import Largest
from trusses.analysis.redesign.search import LIMITS, Candidate, NoOptions, search, written
from trusses.analysis.verdict import never_automatic
from trusses.analysis.words.phrases import Coded, coded
from trusses.job.building import of_job
from trusses.models import Job, Truss
from trusses.refusals import because

KEYS = ("truss", "copies", "opening")
ANSWERED_AS = Kind.OPENING.value
DESIGNS = True


def answer(case: Case) -> Answered:
    """Whether the openings fit today's truss, where they would, and which redesigns make them fit."""
    openings = [wish.opening for wish in case.wishes if wish.opening]
    # a run meets many trusses in one line: one of its openings alone can't stand elsewhere
    alone = all(wish.kind == Kind.OPENING for wish in case.wishes)
    those = (case.document, case.before, openings, case.tell, case.seconds, case.judge, case.surroundings)
    return answer_openings(*those, building=of_job(case.job), may_move=alone)


def answer_openings(
    document: Document,
    before: Document,
    openings: Sequence[Document],
    tell: Tell,
    seconds: float = LIMITS.seconds,
    judge: Judge = lambda found: found,
    surroundings: Surroundings = NOTHING_SAID,
    building: Building = USUAL,
    may_move: bool = True,
) -> Answered:
    """Answers `openings` in one truss, by the names of `Case`. The search ends after `seconds` with what it has. Where
    they fit elsewhere in today's truss and `may_move`, that is an option too, after those that pass where asked."""
    tell(0.0, coded("looking-for-space"))
    until = time.monotonic() + seconds
    try:
        truss = read_document(document)
    except DocumentError as refused:
        return _no_answer(openings, coded("today-unread", trouble=because(refused)))
    # the search takes a namesake for the same opening moved, and one that was approved before must stay
    openings = with_openings(document, openings)["openings"][-len(openings) :]
    room = space(truss)
    wanted = [read_opening(opening) for opening in openings]
    met = [(opening, fit(room, opening)) for opening in wanted]
    near = {opening.id: nearest(room, opening) for opening, found in met if not found.fits}
    possible = [document for document, (_, found) in zip(openings, met, strict=True) if not found.never]
    try:
        if all(found.fits for _, found in met if not found.never):
            options = _Options([_as_it_is(truss, before, possible, surroundings)] if possible else [])
        else:
            options = _redesigns(truss, before, possible, tell, seconds, surroundings, building)
        there = stood_elsewhere(truss, openings, near) if may_move and not missing(truss) else None
        if there is not None:
            options = replace(options, found=[*options.found, _elsewhere(truss, before, *there, surroundings)])
    except Mechanism as loose:
        return _no_answer(openings, moves("today-moves", loose))
    # what passes stays before what doesn't, also where it is another truss that fails
    in_order = sorted(map(judge, options.found), key=lambda found: (not found.passes, bool(found.elsewhere)))
    options = replace(options, found=in_order)
    if len(near) == 1 and not missing(truss) and not any(one.passes for one in options.where_asked):
        tell(0.95, coded("looking-for-smaller"))
        (stuck,) = (opening for opening in wanted if opening.id in near)
        others = [each for each in possible if each["id"] != stuck.id]
        rest = [read_opening(each) for each in others]
        with contextlib.suppress(Mechanism):
            today = judge(_as_it_is(truss, before, others, surroundings)).passes
            those = (truss, room, stuck, rest, until, surroundings, building, today)
            found = largest_here(*those, lambda one: judge(_found(truss, before, one)).passes)
            options = replace(options, smaller=found)
    answers = [
        _beside(_answer(opening, found, near.get(wanted.id), options), wanted, truss)
        for opening, (wanted, found) in zip(openings, met, strict=True)
    ]
    return Answered(answers, options.found)


def _beside(answer: Answer, wanted: Opening, truss: Design) -> Answer:
    """The answer, with a sentence where another opening stands in the same place already."""
    met = overlap(wanted, truss.openings)
    return replace(answer, told=[*answer.told, coded("overlaps", **met._asdict())]) if met else answer


@dataclass(frozen=True)
class _Options:
    found: list[Found]
    instead: Coded | None = None
    """Why there are none, where that isn't the search's answer."""
    smaller: Largest | None = None
    """The largest that would work where it is asked, where nothing passes."""

    @property
    def where_asked(self) -> list[Found]:
        return [found for found in self.found if not found.elsewhere]


def _redesigns(
    truss: Design,
    before: Document,
    openings: Sequence[Document],
    tell: Tell,
    seconds: float,
    surroundings: Surroundings,
    building: Building,
) -> _Options:
    if lacking := missing(truss):
        return _Options([], coded("loads-lack-first", names=list(lacking)))
    wanted = [read_opening(opening) for opening in openings]
    try:
        limits = replace(LIMITS, seconds=min(seconds, LIMITS.seconds))
        candidates = search(truss, wanted, tell, limits, surroundings, building)
    except NoOptions as none:
        return _Options([], coded("not-searched", trouble=because(none)))
    return _Options([_found(truss, before, candidate) for candidate in candidates])


def _as_it_is(truss: Design, before: Document, openings: Sequence[Document], surroundings: Surroundings) -> Found:
    return _unchanged(truss, before, openings, surroundings, AS_IT_IS, [])


def _elsewhere(
    truss: Design, before: Document, openings: Sequence[Document], moved: list[Document], surroundings: Surroundings
) -> Found:
    found = _unchanged(truss, before, openings, surroundings, elsewhere.titled(moved), elsewhere.told(moved))
    return replace(found, elsewhere=moved)


def _unchanged(
    truss: Design,
    before: Document,
    openings: Sequence[Document],
    surroundings: Surroundings,
    titled: list[Coded],
    first: list[Coded],
) -> Found:
    """Today's truss with openings written in."""
    analysis = analyse(read_document(with_openings(truss.document, openings)), surroundings)
    told = [*first, coded("nothing-changes")]
    if not analysis.passes:
        told = [*first, coded("nothing-changes-fails", ratio=analysis.worst_ratio)]
    if lacking := missing(truss):
        told.append(coded("loads-lack", names=list(lacking)))
    return described(truss.document, before, analysis, titled, [*told, *reasons(never_automatic(truss))])


def _found(truss: Design, before: Document, candidate: Candidate) -> Found:
    if lost := lacks_opening(candidate.document, truss.document.get("openings", ())):
        raise RuntimeError(f"the search lost opening {lost} of {truss.mark}")
    return described(truss.document, before, candidate.analysis, list(candidate.steps), list(candidate.told))


def _answer(opening: Document, found: Fit, near: Nearest | None, options: _Options) -> Answer:
    place = _place(near, read_opening(opening))
    beside = None if near is None else {"centre_in": list(near.centre_in), "moved_in": near.moved_in}
    if found.never:
        return _smaller(Answer(Verdict.NEVER, [found.told, place], opening, beside), options)
    there = options.where_asked
    passing = [option for option in there if option.passes]
    if found.fits:
        told = [found.told]
        if [option.titled for option in there] != [AS_IT_IS]:
            told.append(coded("more-asked"))
        elif not passing:
            return Answer(Verdict.UNSURE, [*told, *there[0].told], opening, beside)
        return Answer(Verdict.FITS, told, opening, beside)
    if passing:
        return Answer(Verdict.OPTIONS, [found.told, redesigns_pass(passing), place], opening, beside)
    against = options.instead or coded("none-found")
    if there:
        against = coded("none-passes", stops=stops(best_of_none(there)))
    return _smaller(Answer(Verdict.NONE_PASS, [found.told, against, place], opening, beside), options)


def best_of_none(there: Sequence[Found]) -> Found:
    """Of options of which none passes the best: the first that is over no limit, which something else keeps from being
    called passing, as what stands on a girder does; else the last one tried."""
    within = [option for option in there if any(one["code"] == "numbers-only" for one in option.told)]
    return within[0] if within else there[-1]


def _smaller(answer: Answer, options: _Options) -> Answer:
    """The answer with the largest that would work there."""
    if options.smaller is None:
        return answer
    figures = {"largest": written(options.smaller.opening)}
    return replace(answer, told=[*answer.told, smaller.told(options.smaller)], figures=figures)


def _place(near: Nearest | None, opening: Opening) -> Coded:
    """Where the same opening would fit in today's truss."""
    if near is None:
        return coded("fits-nowhere")
    right_in, up_in = (near.centre_in[i] - opening.centre[i] for i in (0, 1))
    return coded("fits-moved", right_in=right_in, up_in=up_in)


def _no_answer(openings: Sequence[Document], why: Coded) -> Answered:
    return Answered([Answer(Verdict.NONE_PASS, [why, DESIGNER_FIRST], opening) for opening in openings])


SAME_IN = 1e-6
"""Lengths closer than this are the same, inches."""


def with_openings(document: Document, openings: Iterable[Document]) -> Document:
    """The document with the openings written in besides its own, which are copies; all else is the document's, not to
    be changed. A taken id becomes the next free one."""
    held = copy.deepcopy(document.get("openings", []))
    for opening in openings:
        taken = {each["id"] for each in held}
        fresh = copy.deepcopy(opening)
        if fresh["id"] in taken:
            fresh["id"] = next(name for n in range(1, len(held) + 2) if (name := f"O{n}") not in taken)
        held.append(fresh)
    return {**document, "openings": held}


def lacks(document: Document, wishes: Iterable[Wish]) -> str:
    """The id of the first wish whose opening the document doesn't hold; empty if none."""
    return lacks_opening(document, [wish.opening for wish in wishes if wish.opening])


def lacks_opening(document: Document, openings: Iterable[Document]) -> str:
    """The id of the first of `openings` that the document doesn't hold at that place in that size; empty if none."""
    held = [read_opening(each) for each in document.get("openings", ())]
    for wanted in map(read_opening, openings):
        if not any(_covers(each, wanted) for each in held):
            return wanted.id
    return ""


def _covers(held: Opening, wanted: Opening) -> bool:
    """The same shape at the same place, with at least the clearance that was asked for."""
    sizes = zip((*held.size, *held.centre), (*wanted.size, *wanted.centre), strict=True)
    same = held.shape == wanted.shape and all(abs(a - b) <= SAME_IN for a, b in sizes)
    return same and held.clearance_in >= wanted.clearance_in - SAME_IN


def refuse_both(wish: Wish, other: Wish, at: str, at_other: str) -> None:
    """Two openings in one place are a slip: whoever builds could not tell which of the two is meant. Raises Refused."""
    if not wish.opening or not other.opening or wish.truss is None:
        return
    one, two = read_opening(wish.opening), read_opening(other.opening)
    free = gap(one, two)
    if free < -TOUCH_IN:
        both = {"one": one.id, "two": two.id, "other": at_other}
        raise Refused("openings-overlap", "asks", at, **both, mark=wish.truss.mark, by_in=-free)


def read(job: Job, ask: Mapping[str, Any], path: tuple[str | int, ...], before: Sequence[Wish]) -> list[Wish]:
    """An opening in some copies of a mark. Raises Refused; Http404 for a mark that isn't this job's."""
    at = named(path)
    truss = read_truss(job, ask, at)
    refuse_what_is_over(truss, f"{at} ({truss.mark})")
    copies = read_copies(truss, ask, at)
    return [Wish(Kind.OPENING.value, truss, copies, named_free(truss, ask.get("opening"), (*path, "opening"), before))]


def named_free(truss: Truss, value: Any, path: tuple[str | int, ...], before: Sequence[Wish]) -> Document:
    """The opening as a truss document would hold it. An id that is missing or taken, by the truss or in the same
    request, becomes the next free one. Raises Refused, with its place under `path`."""
    taken = [held["id"] for held in truss.current.document.get("openings", ())]
    taken += [wish.opening["id"] for wish in before if wish.opening and wish.truss and wish.truss.pk == truss.pk]
    try:
        held = plain(value, path)
        if isinstance(held, dict) and ("id" not in held or held["id"] in taken):
            held["id"] = next(name for n in range(1, 10_000) if (name := f"O{n}") not in taken)
        read_opening(held, named(path))
    except DocumentError as refused:
        raise Refused("opening", "asks", refused.place, why=because(refused, placed=False)) from refused
    return held


def refuse(wish: Wish, at: str) -> None:
    """Raises Refused for an opening that asks nothing of the truss, or can only be a slip."""
    if wish.truss and wish.opening:
        opening = read_opening(wish.opening)
        _refuse_beyond(wish.truss, opening, f"{at}.opening ({opening.id})")
        _refuse_outside(wish.truss, opening, f"{at}.opening ({opening.id})")


def _refuse_outside(truss: Truss, opening: Opening, at: str) -> None:
    """What lies wholly beside the truss asks nothing of it, and the saw must not wait for it."""
    away = beyond(_room(truss), opening)
    if away is None:
        return
    raise Refused("lies-outside", "asks", at, away_in=away, mark=truss.mark)


def _room(truss: Truss) -> Space:
    return space(read_stored(truss.current.document))


def _refuse_beyond(truss: Truss, opening: Opening, at: str) -> None:
    """What is larger than the whole truss is a slip of the finger; what merely doesn't fit gets an answer."""
    xs, ys = zip(*truss.current.document["joints"].values(), strict=True)
    longest = max(max(xs) - min(xs), max(ys) - min(ys))
    for name, size in zip(("across", "") if opening.shape == "circle" else ("wide", "high"), opening.size, strict=True):
        if size + 2 * opening.clearance_in > longest:
            sizes = {"size_in": size, "across": name, "clearance_in": opening.clearance_in, "longest_in": longest}
            raise Refused("larger-than-the-truss", "asks", at, mark=truss.mark, **sizes)


def turned(wanted: Document, over: Over) -> Document:
    """Nothing but its opening has a place."""
    return wanted
