"""The search for trusses that answer an ask: candidates made, computed in full, sorted by how little they change.

What is offered passes every check and keeps every opening clear; last comes the best that fails, with what stops it.
The outside shape, the span and the bearings stay. Inches, pounds.
"""

from __future__ import annotations

import heapq
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from trusses.analysis.analysis import Analysis, analyse
from trusses.analysis.checks.check import PASSES
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.clearance.openings import fit, space
from trusses.analysis.format.document import DocumentError, read
from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.format.shared_wood import clashes, refused
from trusses.analysis.frame.solve import Mechanism
from trusses.analysis.loads import arrangements, attic
from trusses.analysis.piece_names import panel_names
from trusses.analysis.redesign.building import USUAL, Building
from trusses.analysis.redesign.changes import Change, measure, steps
from trusses.analysis.redesign.choosing import chosen, order
from trusses.analysis.redesign.draft import Document, Draft, Illegal
from trusses.analysis.redesign.layouts import Layout
from trusses.analysis.redesign.moves import NEAR, Reach, layouts
from trusses.analysis.redesign.trials import Line, Trials, Tried
from trusses.analysis.verdict import never_automatic
from trusses.analysis.words import options as words
from trusses.analysis.words.checks import short
from trusses.analysis.words.phrases import Coded, coded, tell, with_names
from trusses.analysis.words.refusal import Refusal

_FIRST_BATCH, _BATCH, _FOLLOWED = 16, 48, 6
Progress = Callable[[float, Coded], None]


class NoOptions(Refusal):
    """Why there is nothing to search: wood in one place, a chord or the outside in the way, arrangements missing."""


@dataclass(frozen=True, slots=True)
class Limits:
    """How far the search goes. With the same limits it finds the same options, unless `seconds` runs out first; with
    `any_one` it ends at the first truss that passes, for who only asks whether one does. `further` analyses are spent
    besides where nothing passes."""

    seconds: float = 20.0
    states: int = 600
    layouts: int = 60
    analyses: int = 240
    further: int = 240
    rounds: int = 4
    follow: int = 10
    enough: int = 8
    offered: int = 5
    reach: Reach = NEAR
    any_one: bool = False


LIMITS = Limits()


@dataclass(frozen=True)
class Candidate:
    """One truss that would answer the ask. `passes`: every check passes, every opening is clear, and it may be said.

    `steps` lead to it from today's truss, `told` is what decides about it; `words.options` says both.
    """

    today: Truss
    document: Document
    analysis: Analysis
    clear: bool
    passes: bool
    change: Change
    building: Building

    @cached_property
    def steps(self) -> tuple[Coded, ...]:
        return tuple(with_names(one, self._called) for one in steps(self.change, self.document))

    @cached_property
    def told(self) -> tuple[Coded, ...]:
        told = [*(_decides(self.analysis) if self.clear else _stands(self.analysis))]
        told += _rows_in_line(self.change, self.analysis.truss)
        told += [raised] if (raised := attic.rises_told(self.today, self.analysis.truss)) else []
        told += [self.building.told] if self.clear and self.change.touched else []
        return tuple(with_names(one, self._called) for one in told)

    @cached_property
    def _called(self) -> Mapping[str, str]:
        return panel_names(self.document)

    @cached_property
    def title(self) -> str:
        return words.title(self.steps)

    @property
    def says(self) -> str:
        return tell(words.TOLD, self.told)


class _Search:
    """One search: layouts as they come, the least change first; then those that fail, made stronger."""

    def __init__(
        self,
        truss: Truss,
        openings: Sequence[Opening],
        progress: Progress | None,
        limits: Limits,
        surroundings: Surroundings,
        building: Building,
    ) -> None:
        self.truss, self.openings, self.limits, self.building = truss, openings, limits, building
        self._tell, self._far = progress or (lambda fraction, says: None), 0.0
        self.until = time.monotonic() + limits.seconds
        self.start = Draft(truss.document)
        # what stands in the document stays as it was written
        own = {
            opening.id: held for opening, held in zip(truss.openings, truss.document.get("openings", ()), strict=True)
        }
        kept = [opening in truss.openings for opening in openings]
        self.start.set_openings(
            [own[each.id] if stays else written(each) for each, stays in zip(openings, kept, strict=True)]
        )
        self.trials = Trials(truss, self.start, surroundings, building)
        self.surroundings = surroundings
        self.passing: list[Tried] = []
        self.failing: list[Tried] = []
        self._followed: set[Tried] = set()
        self._further = 0

    def run(self) -> list[Candidate]:
        self.progress(0.05, coded("looking-for-ways"))
        limits = self.limits
        found = layouts(
            self.start,
            self.openings,
            limits.layouts,
            limits.states,
            self.until,
            self.building,
            limits.reach,
            self._promising,
        )
        self._try([Line(layout.draft, layout.notes) for layout in found], 0.1, 0.4)
        self._twins(0.4, 0.5)
        self._strengthen()
        for _ in range(limits.rounds):
            self._trim()
            self._twins(0.9, 0.95)
            if not self._fill():
                break
            self._strengthen()
        self.progress(1.0, coded("sorted"))
        those = [one for one in chosen(self.passing, self.failing, limits.offered) if self.trials.stored(one) is None]
        shown = [self._candidate(one) for one in those]
        return [one for one in shown if one is not None] or [self.today()]

    def _promising(self, those: Sequence[Layout]) -> list[Layout]:
        """Layouts that clear some of several openings, those first that promise to pass with the least change: what is
        cheapest alone often leaves a panel open, and two of these rarely carry."""
        trials = Trials(self.truss, self.start, self.surroundings, self.building)
        tried = trials.computed([Line(one.draft, one.notes) for one in those])
        by = {id(one.line.draft): (trials.promise(one), one.worst) for one in tried}
        return sorted((one for one in those if id(one.draft) in by), key=lambda one: by[id(one.draft)])

    def progress(self, fraction: float, says: Coded) -> None:
        """Tells how far it is; what is done once more doesn't go back."""
        self._far = max(self._far, fraction)
        self._tell(self._far, says)

    def today(self) -> Candidate:
        """Today's truss with the openings written in. Raises Mechanism."""
        truss = read(self.start.document())
        return self._shown(Line(self.start, ()), analyse(truss, self.surroundings))

    @property
    def _over(self) -> bool:
        answered = self.limits.any_one and bool(self.passing)
        return answered or self._left <= 0 or time.monotonic() > self.until

    @property
    def _left(self) -> int:
        """How many analyses may still be made."""
        return self.limits.analyses + self._further - self.trials.count

    def _try(self, lines: Sequence[Line], start: float, end: float) -> list[Tried]:
        """Computes each line's truss, so far as there is time, and sorts it to those that pass or that fail."""
        waiting, done, size, out = list(lines), 0, _FIRST_BATCH, []
        while waiting and not self._over:
            batch, waiting = waiting[:size], waiting[size:]
            told = coded("computing-trusses", trusses=len(lines), turn=int(start >= 0.5))
            self.progress(start + (end - start) * done / len(lines), told)
            began = time.monotonic()
            for tried in self.trials.computed(batch[: self._left]):
                (self.passing if tried.worst <= PASSES else self.failing).append(tried)
                out.append(tried)
            done += len(batch)
            # a truss of hundreds of members takes its time: no batch may run far past the end
            each = (time.monotonic() - began) / max(len(batch), 1)
            size = max(1, min(_BATCH, int((self.until - time.monotonic()) / 2 / max(each, 1e-6))))
        return out

    def _twins(self, start: float, end: float) -> None:
        """Tries the symmetric twins of what would be shown, of what changes least and of what promises that."""
        few = 2 * self.limits.offered
        near = sorted(self.failing, key=lambda one: (self.trials.promise(one), round(one.worst, 6)))[:few]
        those = [*chosen(self.passing, (), self.limits.offered), *sorted(self.passing, key=order)[:few], *near]
        self._try(list(self.trials.twins(those, self.openings)), start, end)

    def _strengthen(self) -> None:
        """Follows up what fails, what promises the least change first, until enough is known; where nothing passes by
        then, what comes closest, whatever it changes."""
        self._follow(self.trials.promise)
        if not self.passing and self.limits.further:
            self._further = self.limits.further
            self._follow(lambda one: one.worst, until_one=True)

    def _follow(self, first: Callable[[Tried], float], until_one: bool = False) -> None:
        # a second time would only find what was had already
        left = [one for one in self.failing if one not in self._followed]
        waiting = [(first(one), i, one) for i, one in enumerate(left)]
        heapq.heapify(waiting)
        number = len(waiting)
        for turn in range(self.limits.follow):
            if not waiting or self._over or (bool(self.passing) if until_one else self._enough(waiting[0][0])):
                return
            those = [heapq.heappop(waiting)[2] for _ in range(min(_FOLLOWED, len(waiting)))]
            self._followed |= set(those)
            lines = [line for one in those for line in self.trials.stronger(one, self.openings)]
            share = 0.5 + 0.4 * turn / self.limits.follow
            for one in self._try(lines, share, share + 0.4 / self.limits.follow):
                if one.worst > PASSES and len(one.line.kinds) < self.limits.rounds:
                    heapq.heappush(waiting, (first(one), number, one))
                    number += 1

    def _enough(self, promised: float) -> bool:
        """Whether nothing that waits could change less than what passes, of which there is a choice."""
        if len({one.change.kind for one in self.passing}) < self.limits.enough:
            return False
        return promised >= min(one.change.size[0] for one in self.passing)

    def _trim(self) -> None:
        """Takes back what those that change least were made stronger with and don't need."""
        best = sorted(self.passing, key=order)[: self.limits.offered]
        while best:
            lines = [line for one in best for line in self.trials.lighter(one)]
            best = [one for one in self._try(lines, 0.9, 0.95) if one.worst <= PASSES]

    def _fill(self) -> bool:
        """Adds the storage load where what would be shown opens room for it; whether any had to be computed anew."""
        lines = []
        for one in chosen(self.passing, self.failing, self.limits.offered):
            if (stored := self.trials.stored(one)) is not None:
                (self.passing if one.worst <= PASSES else self.failing).remove(one)
                lines.append(stored)
        self._try(lines, 0.95, 1.0)
        return bool(lines)

    def _candidate(self, tried: Tried) -> Candidate | None:
        """As it is shown: its document, read and computed anew."""
        try:
            return self._shown(tried.line, analyse(read(tried.document()), self.surroundings))
        except (DocumentError, Illegal, Mechanism):
            return None

    def _shown(self, line: Line, analysis: Analysis) -> Candidate:
        truss = analysis.truss
        clear = all(answer.fits for answer in analysis.openings)
        passes = analysis.passes and clear and not list(never_automatic(truss))
        change = measure(self.truss.document, truss.document, line.notes)
        return Candidate(self.truss, truss.document, analysis, clear, passes, change, self.building)


def search(
    truss: Truss,
    openings: Sequence[Opening],
    progress: Progress | None = None,
    limits: Limits = LIMITS,
    surroundings: Surroundings = NOTHING_SAID,
    building: Building = USUAL,
) -> list[Candidate]:
    """Trusses in which every one of `openings`, and of the truss's own, is clear: passing ones first, least change
    first, and last the best that fails. Raises NoOptions where none may be offered, OpeningError for bad sizes."""
    wanted = _together(truss, openings)
    _refuse(truss, wanted)
    work = _Search(truss, wanted, progress, limits, surroundings, building)
    room = space(truss)
    if all(fit(room, opening).fits for opening in wanted):
        return [work.today()]
    if lacking := arrangements.missing(truss):
        raise NoOptions("arrangements-missing", lacking=list(lacking))
    return work.run()


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
        if answer.never:
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
