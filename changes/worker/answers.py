"""The answer to the asks on one truss: does it fit, where would it, which redesigns are there, in words for a builder.

Computes from a truss document alone and touches no database; the worker calls it and `results` writes it down.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from changes.asks.documents import lacks, with_openings
from changes.models import Verdict
from changes.words import Titled
from trusses.analysis.analysis import Analysis, analyse
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.clearance.apart import overlap
from trusses.analysis.clearance.openings import Fit, Nearest, Space, fit, nearest, space
from trusses.analysis.compare import compare
from trusses.analysis.format.document import DocumentError, read, read_opening, read_stored, sha256
from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.load_path.chain import Step
from trusses.analysis.loads.arrangements import missing
from trusses.analysis.loads.attic import opens_told
from trusses.analysis.redesign.search import LIMITS, Candidate, NoOptions, search
from trusses.analysis.verdict import Reason, never_automatic, verdict
from trusses.analysis.words.checks import short
from trusses.analysis.words.phrases import Coded, coded
from trusses.refusals import because

Tell = Callable[[float, str], None]
Document = dict[str, Any]

AS_IT_IS = [coded("as-it-is")]
DESIGNER_FIRST = coded("designer-first")


@dataclass(frozen=True)
class Found:
    """One option: a truss document with its analysis and comparison documents; both None where it can't be analysed."""

    titled: Titled
    document: Document
    sha256: str
    analysis: Document | None
    comparison: Document | None
    passes: bool
    worst_ratio: float | None
    told: list[Coded]
    steps: tuple[Step, ...] = ()
    """What it makes of the marks that carry its truss."""


Judge = Callable[[Found], Found]
"""Looks at an option beyond its own truss; an option that fails there doesn't pass."""


@dataclass(frozen=True)
class Answer:
    """The answer to one ask; `opening` is as it stands in the options, under an id that was free in the truss."""

    opening: Document
    verdict: Verdict
    told: list[Coded]
    nearest: dict[str, Any] | None


@dataclass(frozen=True)
class Answered:
    """The asks on one truss, answered in their order, and the options that they share."""

    answers: list[Answer]
    options: list[Found] = field(default_factory=list)


def answer(
    document: Document,
    before: Document,
    openings: Sequence[Document],
    tell: Tell,
    seconds: float = LIMITS.seconds,
    judge: Judge = lambda found: found,
    surroundings: Surroundings = NOTHING_SAID,
) -> Answered:
    """Answers what is asked of one truss. `before` is the analysis document of `document`, told the same `surroundings`
    as the options.

    `tell(fraction, words)` is called as it goes; the search ends after `seconds` with what it has. A truss that
    can't be analysed gets a sentence, not an exception.
    """
    tell(0.0, "looking for the clear space")
    try:
        truss = read(document)
    except DocumentError as refused:
        return _no_answer(openings, coded("today-unread", trouble=because(refused)))
    # the search takes a namesake for the same opening moved, and one that was approved before must stay
    openings = with_openings(document, openings)["openings"][-len(openings) :]
    room = space(truss)
    wanted = [read_opening(opening) for opening in openings]
    met = [(opening, fit(room, opening)) for opening in wanted]
    possible = [
        document for document, (_, found) in zip(openings, met, strict=True) if not (found.cuts_chord or found.outside)
    ]
    try:
        if all(found.fits for _, found in met if not _never(found)):
            options = _Options([_as_it_is(truss, before, possible, surroundings)] if possible else [])
        else:
            options = _redesigns(truss, before, possible, tell, seconds, surroundings)
    except Mechanism as loose:
        return _no_answer(openings, _moves("today-moves", loose))
    # what passes stays before what doesn't, also where it is another truss that fails
    options = _Options(sorted(map(judge, options.found), key=lambda found: not found.passes), options.instead)
    answers = [
        _beside(_answer(room, opening, found, options), wanted, truss)
        for opening, (wanted, found) in zip(openings, met, strict=True)
    ]
    return Answered(answers, options.found)


def _beside(answer: Answer, wanted: Opening, truss: Truss) -> Answer:
    """The answer, with a sentence where another opening stands in the same place already."""
    met = overlap(wanted, truss.openings)
    return replace(answer, told=[*answer.told, coded("overlaps", **met._asdict())]) if met else answer


@dataclass(frozen=True)
class _Options:
    found: list[Found]
    instead: Coded | None = None
    """Why there are none, where that isn't the search's answer."""


def _redesigns(
    truss: Truss,
    before: Document,
    openings: Sequence[Document],
    tell: Tell,
    seconds: float,
    surroundings: Surroundings,
) -> _Options:
    if lacking := missing(truss):
        return _Options([], coded("loads-lack-first", names=list(lacking)))
    wanted = [read_opening(opening) for opening in openings]
    try:
        limits = replace(LIMITS, seconds=min(seconds, LIMITS.seconds))
        candidates = search(truss, wanted, progress=tell, limits=limits, surroundings=surroundings)
    except NoOptions as none:
        return _Options([], coded("not-searched", trouble=because(none)))
    return _Options([_found(truss, before, candidate) for candidate in candidates])


def _as_it_is(truss: Truss, before: Document, openings: Sequence[Document], surroundings: Surroundings) -> Found:
    analysis = analyse(read(with_openings(truss.document, openings)), surroundings)
    told = [coded("nothing-changes")]
    if not analysis.passes:
        told = [coded("nothing-changes-fails", ratio=analysis.worst_ratio)]
    if lacking := missing(truss):
        told.append(coded("loads-lack", names=list(lacking)))
    return described(truss.document, before, analysis, AS_IT_IS, [*told, *reasons(never_automatic(truss))])


def _found(truss: Truss, before: Document, candidate: Candidate) -> Found:
    if lost := lacks(candidate.document, truss.document.get("openings", ())):
        raise RuntimeError(f"the search lost opening {lost} of {truss.mark}")
    return described(truss.document, before, candidate.analysis, list(candidate.steps), list(candidate.told))


def reasons(those: Iterable[Reason]) -> list[Coded]:
    """Reasons of a verdict among the sentences of an option."""
    return [coded(one.code, **one.values) for one in those]


def described(before_truss: Document, before: Document, analysis: Analysis, titled: Titled, told: list[Coded]) -> Found:
    """An option with its documents."""
    document = analysis.truss.document
    written = analysis.document()
    return Found(
        titled=titled,
        document=document,
        sha256=sha256(document),
        analysis=written,
        comparison=compare(before, written, before_truss, document),
        passes=verdict(analysis.truss, analysis).may_be_called_passing,
        worst_ratio=written["worst_ratio"],
        told=told,
    )


def drawn(
    before_truss: Document,
    before: Document,
    document: Document,
    titled: Titled,
    differs: list[Coded],
    surroundings: Surroundings = NOTHING_SAID,
) -> Found:
    """A designer's own option, computed. One that can move freely doesn't pass and says why."""
    try:
        analysis = analyse(read(document), surroundings)
    except (Mechanism, DocumentError) as trouble:
        told = [coded("not-analysed", trouble=because(trouble)), *differs]
        return Found(titled, document, sha256(document), None, None, False, None, told)
    failing = [check for check in analysis.checks if not check.passes]
    blocked = [opening for opening in analysis.openings if not opening.fits]
    told = [coded("opening", opening=opening.id, fit=opening.told) for opening in blocked]
    if failing:
        worst = max(failing, key=lambda check: check.ratio)
        told.append(coded("exceeds", **short(worst)))
    if not told:
        told = reasons(never_automatic(analysis.truss)) or [coded("drawn-passes")]
    if opens := opens_told(read_stored(before_truss), analysis.truss):
        told.append(opens)
    return described(before_truss, before, analysis, titled, [*told, *differs])


def _answer(room: Space, opening: Document, found: Fit, options: _Options) -> Answer:
    wanted = read_opening(opening)
    near = None if found.fits else nearest(room, wanted)
    place = _place(near, wanted)
    beside = None if near is None else {"centre_in": list(near.centre_in), "moved_in": near.moved_in}
    if _never(found):
        return Answer(opening, Verdict.NEVER, [found.told, place], beside)
    passing = [option for option in options.found if option.passes]
    if found.fits:
        told = [found.told]
        if [option.titled for option in options.found] != [AS_IT_IS]:
            told.append(coded("more-asked"))
        elif not passing:
            told += options.found[0].told
        return Answer(opening, Verdict.FITS, told, beside)
    if passing:
        pass_ = coded("redesigns-pass", count=len(passing), least=passing[0].titled)
        return Answer(opening, Verdict.OPTIONS, [found.told, pass_, place], beside)
    stops = options.instead or coded("none-found")
    if options.found:
        stops = coded("none-passes", stops=options.found[-1].told)
    return Answer(opening, Verdict.NONE_PASS, [found.told, stops, place], beside)


def _never(found: Fit) -> bool:
    """A chord is never cut and an opening never leaves the truss; no redesign helps."""
    return found.cuts_chord or found.outside


def _place(near: Nearest | None, opening: Opening) -> Coded:
    """Where the same opening would fit in today's truss."""
    if near is None:
        return coded("fits-nowhere")
    right_in, up_in = (near.centre_in[i] - opening.centre[i] for i in (0, 1))
    return coded("fits-moved", right_in=right_in, up_in=up_in)


def _moves(code: str, loose: Mechanism) -> Coded:
    because = {"code": loose.code, "values": loose.values}
    return coded(code, joint=loose.joint, direction=loose.direction, almost=loose.almost, **because)


def _no_answer(openings: Sequence[Document], why: Coded) -> Answered:
    return Answered([Answer(opening, Verdict.NONE_PASS, [why, DESIGNER_FIRST], None) for opening in openings])
