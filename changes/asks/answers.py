"""What an answer to asks is made of: options with their analyses, and a verdict for each ask.

Computed from truss documents alone; the worker writes it down.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from changes import words
from changes.asks.wishes import Document, Wish
from changes.models import Verdict
from changes.words import Titled
from trusses.analysis.analysis import Analysis, analyse
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.compare import compare
from trusses.analysis.format.document import DocumentError, read, read_stored, sha256
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.load_path.chain import Step
from trusses.analysis.loads.attic import opens_told
from trusses.analysis.piece_names import panel_names
from trusses.analysis.requirements import supports
from trusses.analysis.verdict import Reason, never_automatic, verdict
from trusses.analysis.words.checks import short
from trusses.analysis.words.phrases import Coded, coded, with_names
from trusses.models import Job, Revision, Truss
from trusses.refusals import because

Tell = Callable[[float, Coded], None]


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
    elsewhere: list[Document] = field(default_factory=list)
    """The openings that it has elsewhere than asked, as `Option` keeps them."""
    bars: list[Coded] = field(default_factory=list)
    """Why nobody approves it, whatever failing deflection is accepted by name."""
    joins: tuple[int, ...] = ()
    """The marks, by id, that its copies would join."""
    basis: str = ""
    """What was followed for it, as `Chain.basis_with` has it."""


Judge = Callable[[Found], Found]
"""Looks at an option beyond its own truss; an option that fails there doesn't pass."""


@dataclass(frozen=True)
class Case:
    """What is to be answered together: wishes for the same copies of one mark, or of none. `before` is the analysis
    document of `document`, today's truss, told the same `surroundings` as the options are; both are empty without one.
    `revision` is where the document stands.

    `tell(fraction, doing)` is called as it goes; after `seconds` the answer is what was found. Each option goes through
    `judge` before it is answered with.
    """

    job: Job
    wishes: Sequence[Wish]
    tell: Tell
    seconds: float
    truss: Truss | None = None
    document: Document = field(default_factory=dict)
    before: Document = field(default_factory=dict)
    judge: Judge = lambda found: found
    surroundings: Surroundings = NOTHING_SAID
    revision: Revision | None = None


@dataclass(frozen=True)
class Answer:
    """The answer to one ask. `verdict` is None for what has none; `opening` is as it stands in the options, under an id
    that was free in the truss, where it asks for one; `figures` is what its kind wants shown besides."""

    verdict: Verdict | None
    told: list[Coded]
    opening: Document | None = None
    nearest: dict[str, Any] | None = None
    figures: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Answered:
    """The wishes of a case, answered in their order, and the options that they share."""

    answers: list[Answer]
    options: list[Found] = field(default_factory=list)


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
        told=[*more_below(before_truss, before, document, written), *told],
    )


def more_below(before_truss: Document, before: Document, document: Document, analysis: Document) -> list[Coded]:
    """What more a truss puts on what is below it, ties that are needed first: that is for others to build, and the
    truss passing says nothing of it."""
    stood, stands = supports.places(before_truss), supports.places(document)
    rows = [row for row in supports.changes(before, analysis, stood, stands) if row.more]
    xs = {joint: x for joint, (x, _) in stands.items()}
    left, right = min(xs.values()), max(xs.values())
    each = [
        {
            "along_in": xs[row.joint] - left,
            "end": {left: "left", right: "right"}.get(xs[row.joint], ""),
            "up": row.what == supports.UPLIFT,
            "lb": list(row.lb),
        }
        for row in sorted(rows, key=lambda row: (not row.new_uplift, row.what != supports.UPLIFT))
    ]
    return [coded("more-below", rows=each)] if each else []


def redesigns_pass(passing: Sequence[Found]) -> Coded:
    """How many redesigns pass, the least change first, and what that asks of what is below."""
    below = words.below(passing[0].told)
    return coded("redesigns-pass", count=len(passing), least=passing[0].titled, **({"below": below} if below else {}))


def stops(option: Found) -> list[Coded]:
    """What stands against an option that doesn't pass."""
    return [one for one in option.told if one["code"] != "more-below"]


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
        told.append(with_names(coded("exceeds", **short(worst)), panel_names(document)))
    if not told:
        told = reasons(never_automatic(analysis.truss)) or [coded("drawn-passes")]
    if opens := opens_told(read_stored(before_truss), analysis.truss):
        told.append(opens)
    return described(before_truss, before, analysis, titled, [*told, *differs])


def moves(code: str, loose: Mechanism) -> Coded:
    return coded(code, **loose.coded)
