"""What is under a bearing of a copy. What was said of a mark's bearings before a copy of it was turned end for end for
another design holds for that copy with the ends of its drawing changed over; so does what is said later, while others
of the mark's copies stand as they did: that is of these."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import datetime
from functools import cached_property
from typing import Any

from django.db.models import prefetch_related_objects

from trusses.analysis.alike import middle_in
from trusses.bearings.standing import called
from trusses.job.surroundings import stands_on
from trusses.models import BearingLink, Job, Truss, WallLine
from trusses.plan.on_walls import Number
from trusses.plan.where import drawn_under
from trusses.variants.homes import root
from trusses.variants.moving import Turn, turns_of

Document = Mapping[str, Any]
_ACROSS_IN = 1.0
"""Two bearings change places with each other where they stand within this of each other's mirrored place, inches."""


class Walls:
    """What is under the bearings of a mark by one of its documents: by what was said of them, or as the plan draws it;
    nothing under what stands on another truss."""

    def __init__(self, truss: Truss, document: Document, links: Iterable[BearingLink], turns: Iterable[Turn]) -> None:
        self._truss, self._document, self._root = truss, document, root(truss)
        self._turned: dict[int, list[datetime]] = {}
        for turn in turns:
            if turn.root == self._root:
                self._turned.setdefault(turn.number, []).append(turn.at)
        self._said = {link.joint: link for link in links}
        self._across = across(document) if self._turned else {}
        self._numbers = list(truss.copies.values_list("number", flat=True)) if self._turned and self._said else []

    @cached_property
    def _drawn(self) -> dict[str, WallLine]:
        every = [one["joint"] for one in self._document["bearings"]]
        if not (unsaid := [joint for joint in every if joint not in self._said or self._turned]):
            return {}
        walls = {wall.label: wall for wall in self._truss.job.wall_lines.all()}
        found = drawn_under(self._truss, self._document, unsaid)
        return {joint: walls[label] for joint, label in found.items()}

    def under(self, joint: str, copy: Number, *, turned: bool = False) -> WallLine | None:
        """The wall under a bearing of one of the mark's copies; `turned`: that was turned since the drawing by which
        the joint is named."""
        said = self._of(joint, copy, turned)
        return said.wall if said else self._drawn.get(joint)

    def said(self, joint: str, copy: Number, *, turned: bool = False) -> WallLine | None:
        """The same where somebody said so."""
        said = self._of(joint, copy, turned)
        return said.wall if said else None

    def called(self, joint: str, copy: Number) -> str:
        """What was said to be under it, as pages call it: “north wall”, “on G1”; empty where nobody said anything."""
        said = self._of(joint, copy, turned=False)
        return called(said) if said else ""

    def _of(self, joint: str, copy: Number, turned: bool) -> BearingLink | None:
        """What was said of it, by whichever name it had then."""
        for name, other_end in ((self._across.get(joint, ""), True), (joint, False)):
            one = self._said.get(name)
            if one and (self._otherwise(copy, one.said_at) != turned) == other_end:
                return one
        return None

    def _otherwise(self, copy: Number, at: datetime) -> bool:
        """Whether a copy stands the other way round than those of which something was said."""
        return self._flipped(copy.number) != self._all_turned(at)

    def _all_turned(self, at: datetime) -> bool:
        """Whether every copy that the mark has stood turned then: of those that stand both ways the unturned ones are
        meant, whose ends are where the drawing has them."""
        return bool(self._numbers) and all(self._flipped(number, at) for number in self._numbers)

    def _flipped(self, number: int, until: datetime | None = None) -> bool:
        turns = self._turned.get(number, ())
        return sum(until is None or then <= until for then in turns) % 2 == 1


def across(document: Document) -> dict[str, str]:
    """{joint of a bearing: that of the bearing at its mirrored place}, of those that have such a fellow."""
    xs = {one["joint"]: float(document["joints"][one["joint"]][0]) for one in document["bearings"]}
    middle = middle_in(dict(document))
    found = {}
    for joint, x in xs.items():
        fellow = min(xs, key=lambda other: abs(xs[other] - (2 * middle - x)))
        if abs(xs[fellow] - (2 * middle - x)) <= _ACROSS_IN:
            found[joint] = fellow
    return found


def walls_of(job: Job, those: Collection[tuple[Truss, Document]]) -> list[Walls]:
    """Of some marks of a job, each by a document; all read at once."""
    prefetch_related_objects([job], "wall_lines")
    links = stands_on({truss.pk for truss, _ in those})
    turns = turns_of({root(truss) for truss, _ in those}) if those else []
    found = []
    for truss, document in those:
        truss.job = job
        found.append(Walls(truss, document, links[truss.pk], turns))
    return found
