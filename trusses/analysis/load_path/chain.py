"""The chain of carriers: which trusses a change reaches, in which order, and what it makes of each.

Nothing is decided here. The marks are given with their documents and analyses as they are, the changed ones as they
would be; out come the carriers' documents, analyses and comparisons, each after all that it carries.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from trusses.analysis.analysis import Mechanism, analyse
from trusses.analysis.checks.check import Finding
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.compare import compare
from trusses.analysis.format.document import DocumentError, read, read_stored
from trusses.analysis.format.model import Truss
from trusses.analysis.load_path.landing import CarryingError, Hung, Landing, Placed, Stand, landings
from trusses.analysis.load_path.taken_up import NOTHING_TAKEN, TakenUp
from trusses.analysis.load_path.transfer import Carried, carry, changed, lent, sideways, stand_ins, without
from trusses.analysis.loads.combinations import LoadError

Document = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Link:
    """That the bearing at `joint` of the mark `carried` stands on the mark `carrier`; `hung` where somebody said it.
    `beside` are the other marks that copies of `carried` stand on there: each copy on what is nearest in plan."""

    carried: str
    joint: str
    carrier: str
    hung: tuple[Hung, ...] = ()
    beside: tuple[str, ...] = ()


@dataclass(frozen=True)
class Mark:
    """One mark as it is or would be: its truss document, its analysis document, its copies, where they stand, and what
    is said of what is around them."""

    document: Document
    analysis: Document
    copies: int
    stands: tuple[Stand, ...] = ()
    surroundings: Surroundings = NOTHING_SAID
    taken: TakenUp = NOTHING_TAKEN
    """Which loads of its document stand there for what it carries."""

    @property
    def placed(self) -> Placed:
        return Placed(read_stored(self.document), self.copies, self.stands)


@dataclass(frozen=True)
class Step:
    """What the change makes of one carrier. `because` are the marks on it whose loads changed.

    Where it can't be worked out, `trouble` says why, as `Refusal.coded` does, and there is no document.
    """

    carrier: str
    because: tuple[str, ...]
    document: Document | None = None
    analysis: Document | None = None
    comparison: Document | None = None
    findings: tuple[Finding, ...] = ()
    taken: TakenUp = NOTHING_TAKEN
    trouble: Document | None = None


def upward(marks: Iterable[str], links: Iterable[Link]) -> list[str]:
    """The carriers above `marks`, each once and after all that it carries. Raises CarryingError for a circle."""
    above: dict[str, list[str]] = {}
    for link in links:
        above.setdefault(link.carried, []).append(link.carrier)
    done: list[str] = []
    trail: list[str] = []

    def visit(mark: str) -> None:
        if mark in trail:
            circle = [*trail[trail.index(mark) :], mark]
            if len(circle) == 2:
                raise CarryingError("stands-on-itself", mark=mark)
            raise CarryingError("carries-in-a-circle", marks=circle)
        if mark in done:
            return
        trail.append(mark)
        for carrier in above.get(mark, ()):
            visit(carrier)
        trail.pop()
        done.append(mark)

    start = list(dict.fromkeys(marks))
    for mark in start:
        visit(mark)
    carriers = {carrier for each in done for carrier in above.get(each, ())}
    return [mark for mark in reversed(done) if mark in carriers]


def beside_each_other(links: Iterable[Link]) -> list[Link]:
    """The same links, each told which other marks the same bearing stands on."""
    every = list(links)
    on: dict[tuple[str, str], list[str]] = {}
    for link in every:
        on.setdefault((link.carried, link.joint), []).append(link.carrier)
    return [
        replace(link, beside=tuple(mark for mark in on[link.carried, link.joint] if mark != link.carrier))
        for link in every
    ]


def land(marks: Mapping[str, Mark], link: Link) -> tuple[Landing, ...]:
    """Where the link's bearings land; none where all stand on marks beside. Raises CarryingError where something
    doesn't meet."""
    beside = [marks[mark].placed for mark in link.beside]
    return landings(marks[link.carrier].placed, marks[link.carried].placed, link.joint, link.hung, beside)


def lands(marks: Mapping[str, Mark], link: Link) -> bool:
    """Whether a copy stands there; also where that can't be seen."""
    try:
        return not link.beside or bool(land(marks, link))
    except CarryingError:
        return True


def carried_by(marks: Mapping[str, Mark], links: Iterable[Link], carrier: str) -> list[Carried]:
    """All that stands on a carrier, mark by mark, with where it lands. Raises CarryingError."""
    landed: dict[str, list[Landing]] = {}
    for link in links:
        if link.carrier == carrier and (there := land(marks, link)):
            landed.setdefault(link.carried, []).extend(there)
    return [Carried(read_stored(marks[mark].document), marks[mark].analysis, tuple(on)) for mark, on in landed.items()]


def loaded(marks: Mapping[str, Mark], links: Sequence[Link], carrier: str) -> tuple[Document, TakenUp]:
    """The carrier's document with what stands on it today, and the record of it. What used to stand on it, and now
    stands on marks beside it alone, goes. Raises CarryingError."""
    carried = carried_by(marks, links, carrier)
    linked = {link.carried for link in links if link.carrier == carrier}
    gone = linked - {each.truss.mark for each in carried}
    document, taken = without(marks[carrier].document, gone, marks[carrier].taken)
    return carry(document, carried, taken)


Analysed = Callable[[Truss, Surroundings], Document]


def anew(truss: Truss, surroundings: Surroundings) -> Document:
    """The analysis document of a truss, computed."""
    return analyse(truss, surroundings).document()


def follow(
    marks: Mapping[str, Mark], links: Sequence[Link], changes: Mapping[str, Mark], analysed: Analysed = anew
) -> list[Step]:
    """What `changes` make of every carrier above them whose load changes, in the order of `upward`. `analysed` gives
    the analysis document of a carrier's; what else it raises is the caller's.

    `marks` are all marks of the chain as they are today, `changes` those that would be otherwise. A carrier that is
    changed itself takes its new loads in its changed form. A chain that breaks says where, and ends there.
    """
    then = {**marks, **changes}
    moved = set(changes)
    lost: set[str] = set()
    steps = []
    for carrier in upward(changes, links):
        here = [link for link in links if link.carrier == carrier]
        on = list(dict.fromkeys(link.carried for link in here if lands(marks, link) or lands(then, link)))
        because = tuple(
            mark for mark in on if mark in lost or (mark in moved and _bears_otherwise(marks, then, here, mark))
        )
        if not because:
            continue
        unknown = [mark for mark in on if mark in lost]
        if unknown:
            why = CarryingError("carried-unknown", mark=unknown[0], carrier=carrier)
            step = Step(carrier, because, trouble=why.coded)
        else:
            step = _step(marks, then, links, carrier, because, analysed)
        steps.append(step)
        if step.document is None or step.analysis is None:
            lost.add(carrier)
            continue
        was = then[carrier]
        then[carrier] = replace(was, document=step.document, analysis=step.analysis, taken=step.taken)
        moved.add(carrier)
    return steps


def _bears_otherwise(before: Mapping[str, Mark], after: Mapping[str, Mark], links: Sequence[Link], mark: str) -> bool:
    """Whether a mark puts something else on what these links tell that it stands on, or lands elsewhere there."""
    mine = [link for link in links if link.carried == mark]
    if changed(before[mark].analysis, after[mark].analysis, [link.joint for link in mine]):
        return True
    return any(_landed(before, link) != _landed(after, link) for link in mine)


def _landed(marks: Mapping[str, Mark], link: Link) -> Any:
    try:
        return [landing.along_in for landing in land(marks, link)]
    except CarryingError as trouble:
        return trouble.coded


def _step(
    marks: Mapping[str, Mark],
    then: Mapping[str, Mark],
    links: Sequence[Link],
    carrier: str,
    because: tuple[str, ...],
    analysed: Analysed,
) -> Step:
    try:
        carried = carried_by(then, links, carrier)
        document, taken = loaded(then, links, carrier)
        analysis = analysed(read(document), then[carrier].surroundings)
    except Mechanism as loose:
        why = CarryingError(
            "carrier-loose",
            joint=loose.joint,
            direction=loose.direction,
            almost=loose.almost,
            code=loose.code,
            values=loose.values,
        )
        return Step(carrier, because, trouble=why.coded)
    except (CarryingError, DocumentError, LoadError) as trouble:
        return Step(carrier, because, trouble=trouble.coded)
    return Step(
        carrier,
        because,
        document,
        analysis,
        compare(marks[carrier].analysis, analysis, marks[carrier].document, document),
        (
            *stand_ins(taken, carrier),
            *lent(then[carrier].document, then[carrier].taken, document, taken),
            *(found for each in carried for found in sideways(each)),
        ),
        taken,
    )
