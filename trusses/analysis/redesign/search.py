"""The search for trusses that answer an ask: candidates made, computed in full, sorted by how little they change.

What is offered passes every check and keeps every opening clear; last comes the best that fails, with what stops it.
The outside shape, the span and the bearings stay. Inches, pounds.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

from trusses.analysis.analysis import Analysis, analyse, analyse_many
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.clearance.openings import fit, space
from trusses.analysis.format.document import DocumentError, read
from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.format.shared_wood import clashes, refused
from trusses.analysis.frame.solve import Mechanism
from trusses.analysis.loads import arrangements, attic
from trusses.analysis.piece_names import panel_names
from trusses.analysis.redesign.changes import Change, measure, steps
from trusses.analysis.redesign.draft import Document, Draft, Illegal
from trusses.analysis.redesign.layouts import Note
from trusses.analysis.redesign.moves import layouts
from trusses.analysis.redesign.strengthen import stronger
from trusses.analysis.verdict import never_automatic, verdict
from trusses.analysis.words import options as words
from trusses.analysis.words.checks import short
from trusses.analysis.words.phrases import Coded, coded, tell, with_names
from trusses.analysis.words.refusal import Refusal

_FAR_OFF = 3.0
_FIRST_BATCH, _BATCH = 4, 12
Progress = Callable[[float, Coded], None]


class NoOptions(Refusal):
    """Why there is nothing to search: wood in one place, a chord or the outside in the way, arrangements missing."""


@dataclass(frozen=True, slots=True)
class Limits:
    """How far the search goes. With the same limits it finds the same options, unless `seconds` runs out first."""

    seconds: float = 20.0
    states: int = 600
    layouts: int = 40
    analyses: int = 240
    rounds: int = 4
    offered: int = 5
    alike: int = 2


LIMITS = Limits()


@dataclass(frozen=True)
class Candidate:
    """One truss that would answer the ask. `passes`: every check passes, every opening is clear, and it may be said.

    `steps` lead to it from today's truss, `told` is what decides about it; `words.options` says both.
    """

    steps: tuple[Coded, ...]
    document: Document
    analysis: Analysis
    clear: bool
    passes: bool
    told: tuple[Coded, ...]
    change: Change

    @cached_property
    def title(self) -> str:
        return words.title(self.steps)

    @property
    def says(self) -> str:
        return tell(words.TOLD, self.told)


@dataclass
class _Line:
    """One way being followed: a layout, the kinds of strengthening that it took, how often."""

    draft: Draft
    notes: tuple[Note, ...]
    kinds: tuple[str, ...] = ()


class _Search:
    def __init__(
        self,
        truss: Truss,
        openings: Sequence[Opening],
        progress: Progress | None,
        limits: Limits,
        surroundings: Surroundings,
    ) -> None:
        self.truss = truss
        self.surroundings = surroundings
        self.openings = openings
        self.progress = progress or (lambda fraction, says: None)
        self.limits = limits
        self.until = time.monotonic() + limits.seconds
        self.left = limits.analyses
        self.start = Draft(truss.document)
        # what stands in the document stays as it was written
        own = {
            opening.id: held for opening, held in zip(truss.openings, truss.document.get("openings", ()), strict=True)
        }
        kept = [opening in truss.openings for opening in openings]
        self.start.set_openings(
            [own[each.id] if stays else written(each) for each, stays in zip(openings, kept, strict=True)]
        )
        self.room = attic.lacking(truss)
        self.found: list[Candidate] = []

    def run(self) -> list[Candidate]:
        self.progress(0.05, coded("looking-for-ways"))
        found = layouts(self.start, self.openings, self.limits.layouts, self.limits.states, self.until)
        lines = [_Line(layout.draft, layout.notes) for layout in found]
        seen: set[str] = set()
        for turn in range(self.limits.rounds):
            lines = self._compute(lines, seen, turn)
            passing = sum(candidate.passes for candidate in self.found)
            if not lines or self.left <= 0 or time.monotonic() > self.until or passing >= 4 * self.limits.offered:
                break
        self.progress(1.0, coded("sorted"))
        return chosen(self.found, self.limits) or [self.today()]

    def today(self) -> Candidate:
        """Today's truss with the openings written in. Raises Mechanism."""
        line = _Line(self.start, ())
        truss = read(self.start.document())
        return self._candidate(line, truss, analyse(truss, self.surroundings))

    def _compute(self, lines: list[_Line], seen: set[str], turn: int) -> list[_Line]:
        """Computes each line's truss; the lines to follow up those that failed, what came closest first."""
        failed: list[tuple[float, _Line, Analysis]] = []
        waiting, size, done = list(lines), _FIRST_BATCH, 0
        while waiting and self.left > 0 and time.monotonic() < self.until:
            batch, waiting = waiting[:size], waiting[size:]
            ready = [pair for line in batch if (pair := self._ready(line, seen)) is not None][: self.left]
            share = (turn + done / len(lines)) / self.limits.rounds
            self.progress(0.1 + 0.85 * share, coded("computing-trusses", trusses=len(lines), turn=turn))
            started = time.monotonic()
            results = analyse_many([truss for _, truss in ready], self.surroundings)
            for (line, truss), result in zip(ready, results, strict=True):
                if isinstance(result, Mechanism):
                    continue
                self.found.append(self._candidate(line, truss, result))
                if not result.passes:
                    failed.append((result.worst_ratio, line, result))
            self.left -= len(ready)
            done += len(batch)
            # a truss of hundreds of members takes its time: no batch may run far past the end
            each = (time.monotonic() - started) / max(len(ready), 1)
            size = max(1, min(_BATCH, int((self.until - time.monotonic()) / 2 / max(each, 1e-6))))
        return self._following(failed)

    def _following(self, failed: list[tuple[float, _Line, Analysis]]) -> list[_Line]:
        out: list[_Line] = []
        for _, line, analysis in sorted(failed, key=lambda one: one[0]):
            if len(out) >= self.left or time.monotonic() > self.until:
                break
            out += self._follow(line, analysis)
        return out

    def _ready(self, line: _Line, seen: set[str]) -> tuple[_Line, Truss] | None:
        """The line's truss with the loads that its open panels and room for storage call for; None where it was had,
        where its loads can't be arranged, and where a document of it is refused."""
        try:
            document = line.draft.document()
            truss = read(document)
            if arrangements.missing(truss):
                document = arrangements.arrange(document)
                line.draft, truss = Draft(document, line.draft.names), read(document)
        except (Illegal, DocumentError):
            return None
        if windows := attic.opened(truss, self.room):
            # not in the draft: a step that follows may close the room again
            document = attic.with_storage(document, windows)
            truss = read(document)
        identity = json.dumps(document, sort_keys=True)
        if identity in seen:
            return None
        seen.add(identity)
        return line, truss

    def _follow(self, line: _Line, analysis: Analysis) -> list[_Line]:
        failing = [check for check in analysis.checks if not check.passes]
        out = []
        for step in stronger(line.draft, failing, self.openings):
            if step.kind in ("web", "plies", "rows") and step.kind in line.kinds:
                continue
            notes = (*line.notes, step.note) if step.note else line.notes
            out.append(_Line(step.draft, notes, (*line.kinds, step.kind)))
        return out

    def _candidate(self, line: _Line, truss: Truss, analysis: Analysis) -> Candidate:
        clear = all(answer.fits for answer in analysis.openings)
        passes = verdict(truss, analysis).may_be_called_passing
        change = measure(self.truss.document, truss.document, line.notes)
        told = [*(_decides(analysis) if clear else _stands(analysis)), *_rows_in_line(change, truss)]
        told += [raised] if (raised := attic.rises_told(self.truss, truss)) else []
        called = panel_names(truss.document)
        ways = tuple(with_names(one, called) for one in steps(change, truss.document))
        told = [with_names(one, called) for one in told]
        return Candidate(ways, truss.document, analysis, clear, passes, tuple(told), change)


def search(
    truss: Truss,
    openings: Sequence[Opening],
    progress: Progress | None = None,
    limits: Limits = LIMITS,
    surroundings: Surroundings = NOTHING_SAID,
) -> list[Candidate]:
    """Trusses in which every one of `openings`, and of the truss's own, is clear: passing ones first, least change
    first, and last the best that fails. Raises NoOptions where none may be offered, OpeningError for bad sizes."""
    wanted = _together(truss, openings)
    _refuse(truss, wanted)
    work = _Search(truss, wanted, progress, limits, surroundings)
    room = space(truss)
    if all(fit(room, opening).fits for opening in wanted):
        return [work.today()]
    if lacking := arrangements.missing(truss):
        raise NoOptions("arrangements-missing", lacking=list(lacking))
    return work.run()


def chosen(found: Sequence[Candidate], limits: Limits = LIMITS) -> list[Candidate]:
    """What is shown: a few that pass, the least change first and no two alike, then the best that fails."""
    passing = sorted((c for c in found if c.passes), key=_order)
    shown: list[Candidate] = []
    for candidate in passing:
        alike = sum(other.change.layout == candidate.change.layout for other in shown)
        more = any(candidate.change.holds(other.change) for other in shown)
        if not more and alike < limits.alike and len(shown) < limits.offered:
            shown.append(candidate)
    failing = [c for c in found if not c.passes]
    if not failing:
        return shown
    # beside options that pass, the smallest change that doesn't says why more is needed; alone, what comes closest
    near = [c for c in failing if c.analysis.worst_ratio < _FAR_OFF] if shown else []
    return [*shown, min(near, key=_order) if near else min(failing, key=_shortfall)]


def _order(candidate: Candidate) -> tuple[object, ...]:
    return *candidate.change.size, round(candidate.analysis.worst_ratio, 6), candidate.title


def _shortfall(candidate: Candidate) -> tuple[object, ...]:
    return not candidate.clear, round(candidate.analysis.worst_ratio, 2), *_order(candidate)


def written(opening: Opening) -> Document:
    """An opening as a truss document holds it."""
    sizes: Document = {"diameter_in": opening.diameter_in}
    if opening.shape == "rectangle":
        sizes = {"width_in": opening.width_in, "height_in": opening.height_in}
    out = {"id": opening.id, "shape": opening.shape, "centre_in": list(opening.centre), **sizes}
    out |= {"clearance_in": opening.clearance_in} if opening.clearance_in else {}
    return out | ({"note": opening.note} if opening.note else {})


def _together(truss: Truss, openings: Sequence[Opening]) -> list[Opening]:
    """The truss's own openings and the wanted ones, a wanted one in the place of its namesake."""
    wanted = {opening.id: opening for opening in truss.openings}
    wanted |= {opening.id: opening for opening in openings}
    return list(wanted.values())


def _refuse(truss: Truss, openings: Sequence[Opening]) -> None:
    for clash in clashes(truss.members, truss.names, truss.xy):
        # a revision from before the rule: whatever keeps these two members would be refused
        raise NoOptions("today-shares-wood", why=refused(clash, truss).coded)
    room = space(truss)
    for opening in openings:
        answer = fit(room, opening)
        if answer.cuts_chord or answer.outside:
            raise NoOptions("opening-impossible", opening=opening.id, fit=answer.told)


def _decides(analysis: Analysis) -> list[Coded]:
    """What decides about a candidate whose openings are clear."""
    worst = max(analysis.checks, key=lambda check: check.ratio, default=None)
    if worst is None:
        return [coded("unloaded")]
    highest = short(worst)
    if not analysis.passes:
        others = len({check.id for check in analysis.checks if not check.passes} - {worst.id})
        return [coded("fails", others=others, **highest)]
    kinds = [coded(one.code, **one.values) for one in never_automatic(analysis.truss)]
    return [coded("numbers-only" if kinds else "lumber-passes", **highest), *kinds]


def _stands(analysis: Analysis) -> list[Coded]:
    """Why nothing better than today's truss was found."""
    blocked = [coded("opening", opening=fit.id, fit=fit.told) for fit in analysis.openings if not fit.fits]
    return [coded("no-layout"), *blocked]


def _rows_in_line(change: Change, truss: Truss) -> list[Coded]:
    """A restraint row runs through like webs of neighbouring trusses: one that is new or moved concerns them too."""
    held = [web for web in change.touched if truss.lateral_restraint.webs.get(web)]
    return [coded("rows-in-line", webs=held)] if held else []
