"""Candidates as records in stacks: computed, judged by their worst ratio, and made stronger where they fail.

A layout becomes a record once; what only changes its lumber, restraint or plies is the same record with other columns,
so that a candidate costs its solution and little else. What is shown is a document that is read anew.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from trusses.analysis.analysis import Analysis, analyse_many
from trusses.analysis.checks.check import PASSES
from trusses.analysis.checks.surroundings import Surroundings
from trusses.analysis.format.document import DocumentError, read
from trusses.analysis.format.model import LateralRestraint, Member, Opening, Truss, shared
from trusses.analysis.frame.solve import Mechanism
from trusses.analysis.loads import arrangements, attic
from trusses.analysis.loads.windows import Window
from trusses.analysis.redesign.building import USUAL, Building, Rates, keeps_off
from trusses.analysis.redesign.changes import Change, measured, touched
from trusses.analysis.redesign.draft import Document, Draft, Illegal
from trusses.analysis.redesign.layouts import Note, blocked, buildable, crossings
from trusses.analysis.redesign.splices import within_stock
from trusses.analysis.redesign.stock import stocked
from trusses.analysis.redesign.strengthen import stronger
from trusses.analysis.redesign.twins import Mirror, mirror, twin
from trusses.analysis.redesign.weaker import weaker
from trusses.analysis.requirements.joints import plated_joints

#: Ways of strengthening that change no more than lumber, restraint and plies.
_SAME_SHAPE = ("lumber", "rows", "plies")


@dataclass
class Line:
    """One way being followed: a draft, the steps of its layout, the kinds of strengthening that it took. `truss` is its
    record, or one of the same shape and loads; `storage` where the attic's load was added."""

    draft: Draft
    notes: tuple[Note, ...]
    kinds: tuple[str, ...] = ()
    truss: Truss | None = None
    storage: tuple[Window, ...] = ()


@dataclass(frozen=True, eq=False)
class Tried:
    """A line with its largest ratio and how much it changes from `start`."""

    line: Line
    truss: Truss
    analysis: Analysis
    worst: float
    start: Draft
    rates: Rates | None = None
    joints: int = 0
    """How many joints today's truss has pressed, where the rates ask for it."""

    @cached_property
    def costs(self) -> float:
        """How much more one truss costs than today's, at the job's rates; 0 without any."""
        if self.rates is None:
            return 0.0
        joints = plated_joints(self.truss) - self.joints
        return round(self.rates.of(self.change.board_feet, self.change.pieces, joints), 2)

    @cached_property
    def change(self) -> Change:
        return measured(self.start, self.line.draft, self.line.notes)

    @cached_property
    def extent(self) -> int:
        """How many members it touches."""
        return len(touched(self.start, self.line.draft))

    def document(self) -> Document:
        """The whole document. Raises Illegal or DocumentError."""
        document = self.line.draft.document()
        return attic.with_storage(document, self.line.storage) if self.line.storage else document


class Trials:
    def __init__(self, truss: Truss, start: Draft, surroundings: Surroundings, building: Building = USUAL) -> None:
        self.today, self.start, self.surroundings, self.building = truss, start, surroundings, building
        self._joints = plated_joints(truss) if building.rates else 0
        self.count = 0
        self._room: tuple[Window, ...] | None = None
        self._opened: dict[Any, tuple[Window, ...]] = {}
        self._seen: set[Any] = set()

    def computed(self, lines: Sequence[Line]) -> Iterator[Tried]:
        """Each line's truss with its largest ratio; without those that were had, are no documents or can move."""
        ready = [(line, truss) for line in lines if (truss := self._record(line)) is not None]
        self.count += len(ready)
        for (line, truss), found in zip(ready, analyse_many([one for _, one in ready], self.surroundings), strict=True):
            if not isinstance(found, Mechanism):
                # what fails as it is loaded isn't asked what it would do without its weights
                worst = found.as_loaded_ratio if found.as_loaded_ratio > PASSES else found.worst_ratio
                yield Tried(line, truss, found, worst, self.start, self.building.rates, self._joints)

    def promise(self, tried: Tried) -> float:
        """About how many members it will touch once it passes."""
        short = tried.worst - 1
        more = 0.5 if short < 0.15 else 1.5 if short < 0.5 else 3 if short < 1.5 else 6
        return tried.extent + more

    def stored(self, tried: Tried) -> Line | None:
        """The line again with the load of the room for storage that it opens; None where it needs none."""
        if tried.line.storage:
            return None
        if self._room is None:
            self._room = attic.lacking(self.today)
        key = _places(tried.truss)
        if key not in self._opened:
            self._opened[key] = attic.opened(tried.truss, self._room)
        windows = self._opened[key]
        if not windows:
            return None
        line = tried.line
        return Line(line.draft, line.notes, line.kinds, None, windows)

    def stronger(self, tried: Tried, openings: Sequence[Opening]) -> Iterator[Line]:
        """Ways to answer the checks that fail, each as a line."""
        line = tried.line
        for step in stronger(line.draft, tried.analysis.failing(), openings, self.building):
            # a web more beside each opening; a row on all that need one
            most = len(openings) if step.kind == "web" else 1
            if step.kind in ("web", "rows") and line.kinds.count(step.kind) >= most:
                continue
            notes = (*line.notes, step.note) if step.note else line.notes
            same = tried.truss if step.kind in _SAME_SHAPE else None
            yield Line(step.draft, notes, (*line.kinds, step.kind), same, line.storage)

    def lighter(self, tried: Tried) -> Iterator[Line]:
        """The line without each of the things that made it stronger."""
        line = tried.line
        if not line.kinds:
            return
        for draft in weaker(line.draft, self.start):
            yield Line(draft, line.notes, line.kinds, tried.truss, line.storage)

    def twins(self, those: Sequence[Tried], openings: Sequence[Opening]) -> Iterator[Line]:
        """Their symmetric twins, as far as the openings stay clear and they can be built."""
        if (about := self._mirror) is None:
            return
        for line in (one.line for one in those):
            found = None if any(note.kind == "twin" for note in line.notes) else twin(line.draft, about)
            if found is None or blocked(found[0], openings):
                continue
            draft, note = found
            if not buildable(draft, self.start, self._crossed) or not keeps_off(
                draft, self.start, openings, self.building
            ):
                continue
            if within_stock(draft, self.start, self.building.longest_piece_in):
                yield Line(draft, (*line.notes, note), line.kinds)

    @cached_property
    def _mirror(self) -> Mirror | None:
        return mirror(self.start)

    @cached_property
    def _crossed(self) -> frozenset[frozenset[str]]:
        return crossings(self.start)

    def _record(self, line: Line) -> Truss | None:
        found = stocked(line.draft, self.start, self.building)
        if found is None:
            return None
        line.draft = found
        identity = _identity(line)
        if identity in self._seen:
            return None
        self._seen.add(identity)
        if line.truss is not None:
            line.truss = _restated(line.truss, line.draft)
            return line.truss
        try:
            document = line.draft.document()
            truss = read(document)
            if arrangements.missing(truss):
                document = arrangements.arrange(document)
                line.draft, truss = Draft(document, line.draft.names), read(document)
            if line.storage:
                truss = read(attic.with_storage(document, line.storage))
        except (Illegal, DocumentError):
            return None
        line.truss = truss
        return truss


def _restated(truss: Truss, draft: Draft) -> Truss:
    """The record of a draft that differs from the truss's in lumber, restraint and plies alone."""
    members = tuple(
        Member(name, held["role"], (held["joints"][0], held["joints"][1]), held["lumber"], held.get("flat", False))
        for name, held in draft.members.items()
    )
    top, bottom = (draft.restraint.get(key) for key in ("top_chord_in", "bottom_chord_in"))
    restraint = LateralRestraint(
        None if top is None else float(top), None if bottom is None else float(bottom), dict(draft.rows)
    )
    return replace(truss, members=shared(members), lateral_restraint=restraint, plies=draft.plies)


def _places(truss: Truss) -> tuple[Any, ...]:
    """The same for trusses with wood in the same places, whatever its grade."""
    at = {joint.name: (round(joint.x, 3), round(joint.y, 3)) for joint in truss.joints}
    rows = (
        (member.role, *sorted(at[joint] for joint in member.joints), member.lumber.split(" ")[0], member.flat)
        for member in truss.members
    )
    return tuple(sorted(rows))


def _identity(line: Line) -> str:
    draft = line.draft
    members = sorted(
        (
            member["role"],
            sorted(draft.at(joint) for joint in member["joints"]),
            member["lumber"],
            draft.rows.get(name, 0),
        )
        for name, member in draft.members.items()
    )
    held = sorted((key, value) for key, value in draft.restraint.items() if key != "webs")
    hinges = sorted(draft.at(joint) for joint in draft.hinges)
    return json.dumps([members, held, hinges, draft.plies, line.storage])
