"""The answer to the asks on one truss: does it fit, where would it, which redesigns are there, in words for a builder.

Computes from a truss document alone and touches no database; the worker calls it and `results` writes it down.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from changes.asks.documents import lacks, with_openings
from changes.models import Verdict
from trusses.analysis.analysis import Analysis, analyse
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.clearance.apart import overlap_says
from trusses.analysis.clearance.openings import Fit, Nearest, Space, fit, nearest, space
from trusses.analysis.compare import compare
from trusses.analysis.format.document import DocumentError, read, read_opening, read_stored, sha256
from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.load_path.chain import Step
from trusses.analysis.loads.arrangements import missing
from trusses.analysis.loads.attic import opens_say
from trusses.analysis.piece_names import checked
from trusses.analysis.redesign.search import LIMITS, Candidate, NoOptions, search
from trusses.analysis.verdict import never_automatic, verdict
from trusses.analysis.words import verdict as words
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import stopped

Tell = Callable[[float, str], None]
Document = dict[str, Any]

AS_IT_IS = "As it is, with the opening written in"


@dataclass(frozen=True)
class Found:
    """One option: a truss document with its analysis and comparison documents; both None where it can't be analysed."""

    title: str
    document: Document
    sha256: str
    analysis: Document | None
    comparison: Document | None
    passes: bool
    worst_ratio: float | None
    says: str
    steps: tuple[Step, ...] = ()
    """What it makes of the marks that carry its truss."""


Judge = Callable[[Found], Found]
"""Looks at an option beyond its own truss; an option that fails there doesn't pass."""


@dataclass(frozen=True)
class Answer:
    """The answer to one ask; `opening` is as it stands in the options, under an id that was free in the truss."""

    opening: Document
    verdict: Verdict
    says: str
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
        return _no_answer(openings, f"Today's truss document can't be read: {refused}.")
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
        return _no_answer(openings, f"Today's truss can't be analysed: {loose}.")
    # what passes stays before what doesn't, also where it is another truss that fails
    options = _Options(sorted(map(judge, options.found), key=lambda found: not found.passes), options.instead)
    answers = [
        _beside(_answer(room, opening, found, options), wanted, truss)
        for opening, (wanted, found) in zip(openings, met, strict=True)
    ]
    return Answered(answers, options.found)


def _beside(answer: Answer, wanted: Opening, truss: Truss) -> Answer:
    """The answer, with a sentence where another opening stands in the same place already."""
    says = overlap_says(wanted, truss.openings)
    return replace(answer, says=f"{answer.says} {says}") if says else answer


@dataclass(frozen=True)
class _Options:
    found: list[Found]
    instead: str = ""
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
        says = f"Its loads lack {_listed(lacking)}; no redesign is offered until a designer writes them in."
        return _Options([], says)
    wanted = [read_opening(opening) for opening in openings]
    try:
        limits = replace(LIMITS, seconds=min(seconds, LIMITS.seconds))
        candidates = search(truss, wanted, progress=tell, limits=limits, surroundings=surroundings)
    except NoOptions as none:
        return _Options([], str(none))
    return _Options([_found(truss, before, candidate) for candidate in candidates])


def _as_it_is(truss: Truss, before: Document, openings: Sequence[Document], surroundings: Surroundings) -> Found:
    analysis = analyse(read(with_openings(truss.document, openings)), surroundings)
    says = "Nothing on the truss changes."
    if not analysis.passes:
        says = f"Nothing on the truss changes, but today's truss fails its checks at {analysis.worst_ratio:.2f}."
    if lacking := missing(truss):
        says += f" Its loads lack {_listed(lacking)}."
    if kinds := words.why(never_automatic(truss)):
        says += f" {kinds}"
    return described(truss.document, before, analysis, AS_IT_IS, says)


def _found(truss: Truss, before: Document, candidate: Candidate) -> Found:
    if lost := lacks(candidate.document, truss.document.get("openings", ())):
        raise RuntimeError(f"the search lost opening {lost} of {truss.mark}")
    return described(truss.document, before, candidate.analysis, candidate.title, candidate.says)


def described(before_truss: Document, before: Document, analysis: Analysis, title: str, says: str) -> Found:
    """An option with its documents."""
    document = analysis.truss.document
    written = analysis.document()
    return Found(
        title=title[:300],
        document=document,
        sha256=sha256(document),
        analysis=written,
        comparison=compare(before, written, before_truss, document),
        passes=verdict(analysis.truss, analysis).may_be_called_passing,
        worst_ratio=written["worst_ratio"],
        says=says,
    )


def drawn(
    before_truss: Document,
    before: Document,
    document: Document,
    title: str,
    differs: str,
    surroundings: Surroundings = NOTHING_SAID,
) -> Found:
    """A designer's own option, computed. One that can move freely doesn't pass and says why."""
    try:
        analysis = analyse(read(document), surroundings)
    except (Mechanism, DocumentError) as trouble:
        says = f"It can't be analysed: {trouble}. {differs}".strip()
        return Found(title, document, sha256(document), None, None, False, None, says)
    failing = [check for check in analysis.checks if not check.passes]
    blocked = [opening for opening in analysis.openings if not opening.fits]
    told = [f"Opening {opening.id}: {opening.says}" for opening in blocked]
    if failing:
        worst = max(failing, key=lambda check: check.ratio)
        failed = checked(document, worst.of, worst.id)
        told.append(f"{worst.rule.capitalize()} of {failed} is {worst.ratio:.2f} times what is allowed.")
    if not told:
        told.append(
            words.why(never_automatic(analysis.truss))
            or "Its lumber checks pass and its openings are clear. Plates are not checked."
        )
    if opens := opens_say(read_stored(before_truss), analysis.truss):
        told.append(opens)
    return described(before_truss, before, analysis, title, " ".join([*told, differs]).strip())


def _answer(room: Space, opening: Document, found: Fit, options: _Options) -> Answer:
    wanted = read_opening(opening)
    near = None if found.fits else nearest(room, wanted)
    place = _place(near, wanted)
    beside = None if near is None else {"centre_in": list(near.centre_in), "moved_in": near.moved_in}
    if _never(found):
        return Answer(opening, Verdict.NEVER, f"{found.says} {place}", beside)
    passing = [option for option in options.found if option.passes]
    if found.fits:
        says = [found.says]
        if [option.title for option in options.found] != [AS_IT_IS]:
            says.append("What else is asked of this truss needs a redesign.")
        elif not passing:
            says.append(options.found[0].says)
        return Answer(opening, Verdict.FITS, " ".join(says), beside)
    if passing:
        many = "One redesign passes" if len(passing) == 1 else f"{len(passing)} redesigns pass"
        many += " the lumber checks (plates are not checked)"
        least = stopped(passing[0].title)
        return Answer(opening, Verdict.OPTIONS, f"{found.says} {many}; the least change: {least} {place}", beside)
    stops = options.instead or "No redesign was found."
    if options.found:
        stops = f"No redesign passes. What stops the best: {options.found[-1].says}"
    return Answer(opening, Verdict.NONE_PASS, f"{found.says} {stopped(stops)} {place}", beside)


def _never(found: Fit) -> bool:
    """A chord is never cut and an opening never leaves the truss; no redesign helps."""
    return found.cuts_chord or found.outside


def _place(near: Nearest | None, opening: Opening) -> str:
    """Where the same opening would fit in today's truss."""
    if near is None:
        return "It fits nowhere in today's truss."
    along, up = (near.centre_in[i] - opening.centre[i] for i in (0, 1))
    steps = [
        f"{feet_inches(abs(by))} {there if by > 0 else back}"
        for by, there, back in ((along, "to the right", "to the left"), (up, "up", "down"))
        if abs(by) >= 1 / 32
    ]
    return f"Moved {' and '.join(steps)}, it fits as it is." if steps else "A hair beside that place it fits as it is."


def _no_answer(openings: Sequence[Document], says: str) -> Answered:
    return Answered(
        [
            Answer(opening, Verdict.NONE_PASS, f"{says} A designer has to look at it first.", None)
            for opening in openings
        ]
    )


def _listed(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
