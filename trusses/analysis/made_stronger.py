"""Trusses made to carry what a document asks of them: starting points, each made stronger until it passes.

The loop of every ask that is no opening: what is asked is written into the document already (a weight, a bearing that
moved, a neighbour's share), and `redesign.strengthen` answers the checks that fail. All candidates of a round are
computed in one stack. What the job builds with holds as for openings: nothing new but of its stock, no web too near to
an opening of the truss, no piece of a chord longer than it may be.
"""

from __future__ import annotations

import json
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from trusses.analysis.analysis import Analysis, analyse_many
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.format.document import DocumentError, read
from trusses.analysis.format.model import Truss
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.loads import arrangements
from trusses.analysis.piece_names import panel_names
from trusses.analysis.redesign.building import USUAL, Building, keeps_off
from trusses.analysis.redesign.changes import Change, measure, steps
from trusses.analysis.redesign.draft import Document, Draft, Illegal
from trusses.analysis.redesign.layouts import Note, buildable, crossings
from trusses.analysis.redesign.search import Limits
from trusses.analysis.redesign.splices import within_stock
from trusses.analysis.redesign.stock import stocked
from trusses.analysis.redesign.strengthen import stronger
from trusses.analysis.verdict import never_automatic, verdict
from trusses.analysis.words.checks import short
from trusses.analysis.words.phrases import Coded, coded, with_names

LIMITS = Limits(seconds=8.0, analyses=120, rounds=4)
_ONCE = ("web", "plies", "rows")
#: A panel point is at x where it is no farther than this, inches.
_THERE_IN = 1e-3
#: So many panel points of the other chord are tried as the head of a new web; instead of one, a new one across.
_HEADS, _POST = 3, ""


@dataclass(frozen=True)
class Start:
    """A document in which what is asked stands, as a draft, with the steps that led to it and what is to be said of
    it besides."""

    draft: Draft
    notes: tuple[Note, ...] = ()
    told: tuple[Coded, ...] = ()


@dataclass(frozen=True)
class Strengthened:
    """One truss that would carry what is asked. `passes`: every check passes, every opening is clear, and it may be
    said. `steps` lead to it from today's truss, `told` is what decides about it."""

    steps: tuple[Coded, ...]
    document: Document
    analysis: Analysis
    passes: bool
    told: tuple[Coded, ...]
    change: Change
    bars: tuple[Coded, ...] = ()
    """Why nobody may have it, whatever failing deflection is accepted."""

    @property
    def extent(self) -> tuple[float, ...]:
        """How much it changes, then how close it comes to a limit."""
        return *self.change.size, round(self.analysis.worst_ratio, 6)


@dataclass
class _Line:
    start: Start
    draft: Draft
    notes: tuple[Note, ...]
    kinds: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Shop:
    """What the job builds, beside today's truss."""

    before: Truss
    today: Draft
    building: Building

    def cut(self, draft: Draft) -> Draft | None:
        """The draft of the job's stock; None where it can't be that, or isn't built so."""
        found = stocked(draft, self.today, self.building)
        if found is None or not within_stock(found, self.today, self.building.longest_piece_in):
            return None
        return found if keeps_off(found, self.today, self.before.openings, self.building) else None


def made_stronger(
    before: Truss,
    starts: Sequence[Start],
    surroundings: Surroundings = NOTHING_SAID,
    building: Building = USUAL,
    limits: Limits = LIMITS,
) -> list[Strengthened]:
    """What is shown of all that was found: what passes, the least change to `before` first, then the best that fails.
    Empty where no start can be analysed."""
    until, left = time.monotonic() + limits.seconds, limits.analyses
    found: list[Strengthened] = []
    seen: set[str] = set()
    shop = _Shop(before, Draft(before.document), building)
    lines = [_Line(start, start.draft, start.notes) for start in starts]
    for _ in range(limits.rounds):
        ready = [pair for line in lines if (pair := _ready(line, shop, seen))][: max(left, 0)]
        if not ready or time.monotonic() > until:
            break
        left -= len(ready)
        failed = []
        for (line, truss), outcome in zip(ready, analyse_many([t for _, t in ready], surroundings), strict=True):
            if isinstance(outcome, Mechanism):
                continue
            found.append(candidate(before, truss, outcome, building, line.notes, line.start.told))
            if not outcome.passes:
                failed.append((outcome.worst_ratio, line, outcome))
        failed.sort(key=lambda one: one[0])
        lines = [following for _, line, outcome in failed for following in _following(line, outcome, building)]
    return _shown(found, limits)


def _shown(found: Sequence[Strengthened], limits: Limits) -> list[Strengthened]:
    """A few that pass and differ in kind, the least change first; then the best that fails."""
    shown: list[Strengthened] = []
    for one in sorted((one for one in found if one.passes), key=lambda one: one.extent):
        if len(shown) < limits.offered and not any(one.change.kind == other.change.kind for other in shown):
            shown.append(one)
    failing = [one for one in found if not one.passes]
    return [*shown, *([min(failing, key=lambda one: (one.analysis.worst_ratio, one.extent))] if failing else [])]


def candidate(
    before: Truss,
    truss: Truss,
    analysis: Analysis,
    building: Building = USUAL,
    notes: Sequence[Note] = (),
    told: Sequence[Coded] = (),
) -> Strengthened:
    """One truss as it is shown, however it was come by."""
    change, called = measure(before.document, truss.document, notes), panel_names(truss.document)
    limits = [building.told] if change.touched or change.plies else []
    return Strengthened(
        steps=tuple(with_names(one, called) for one in steps(change, truss.document)),
        document=truss.document,
        analysis=analysis,
        passes=verdict(truss, analysis).may_be_called_passing,
        told=tuple(with_names(one, called) for one in (*_decides(analysis), *told, *limits)),
        change=change,
    )


def upright(draft: Draft, before: Draft, role: str, x: float) -> Iterator[tuple[Draft, Note]]:
    """The draft with a panel point of a chord at x and webs from it to the other chord: one or two to panel points
    there, or a post to a new one straight across, alone or with one of them. Nothing where webs meet there already, or
    none can be built."""
    if any(abs(draft.at(joint)[0] - x) < _THERE_IN and draft.webs_at(joint) for joint in draft.chord_joints(role)):
        return
    like = next(iter(draft.webs()), None) or next(iter(draft.members))
    other = "top_chord" if role == "bottom_chord" else "bottom_chord"
    crossed = crossings(before)
    joints = sorted(draft.chord_joints(other), key=lambda joint: abs(draft.at(joint)[0] - x))[:_HEADS]
    across = [(a, b) for a, b in combinations(joints, 2) if (draft.at(a)[0] - x) * (draft.at(b)[0] - x) < 0]
    for heads in (*((joint,) for joint in joints), *across[:2], (_POST,), *((_POST, joint) for joint in joints)):
        propped = draft.copy()
        try:
            foot = point_at(propped, role, x)
            ends = [point_at(propped, other, x) if head == _POST else head for head in heads]
            webs = tuple(propped.add_web(foot, head, like) for head in ends)
        except Illegal:
            continue
        if buildable(propped, before, crossed):
            yield propped, Note("upright", webs, {"webs": webs, "role": role})


def point_at(draft: Draft, role: str, x: float) -> str:
    """The joint of a chord at x, split there where there is none. Raises Illegal where the chord isn't there."""
    for joint in draft.chord_joints(role):
        if abs(draft.at(joint)[0] - x) < _THERE_IN:
            return joint
    return draft.split(role, x)


def _ready(line: _Line, shop: _Shop, seen: set[str]) -> tuple[_Line, Truss] | None:
    """The line's truss, with the arrangements that its loads lack; None where it was had, can't be written, or isn't
    what the job builds."""
    draft = shop.cut(line.draft)
    if draft is None:
        return None
    line.draft = draft
    try:
        document: Document = line.draft.document()
        truss = read(document)
        if arrangements.missing(truss):
            truss = read(arrangements.arrange(document))
    except (Illegal, DocumentError):
        return None
    identity = json.dumps(truss.document, sort_keys=True)
    if identity in seen:
        return None
    seen.add(identity)
    return line, truss


def _following(line: _Line, analysis: Analysis, building: Building) -> Iterator[_Line]:
    failing = [check for check in analysis.checks if not check.passes]
    for step in stronger(line.draft, failing, analysis.truss.openings, building):
        if step.kind not in _ONCE or step.kind not in line.kinds:
            notes = (*line.notes, step.note) if step.note else line.notes
            yield _Line(line.start, step.draft, notes, (*line.kinds, step.kind))


def _decides(analysis: Analysis) -> list[Coded]:
    """What decides about a candidate."""
    blocked = [coded("opening", opening=fit.id, fit=fit.told) for fit in analysis.openings if not fit.fits]
    worst = max(analysis.checks, key=lambda check: check.ratio, default=None)
    if worst is None:
        return [*blocked, coded("unloaded")]
    if not analysis.passes:
        others = len({check.id for check in analysis.checks if not check.passes} - {worst.id})
        return [*blocked, coded("fails", others=others, **short(worst))]
    kinds = [coded(one.code, **one.values) for one in never_automatic(analysis.truss)]
    return [*blocked, coded("numbers-only" if kinds else "lumber-passes", **short(worst)), *kinds]
