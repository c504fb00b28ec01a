"""The width that the chord needs at each bearing of a truss, before and after a change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from trusses.analysis.format.document import read_stored
from trusses.analysis.requirements import supports
from trusses.analysis.words.phrases import moved
from trusses.job import surroundings
from trusses.models import Truss
from trusses.sheets.sheet_facts import facts


@dataclass(frozen=True)
class Width:
    """A bearing's width, given and needed, before and after; None where that side has no such bearing. `moved`: how far
    and where to, empty where it stays."""

    joint: str
    sides: list[supports.Support | None]
    moved: str = ""

    @property
    def given_in(self) -> float:
        return next(side.width_in for side in reversed(self.sides) if side)

    @property
    def needed_in(self) -> list[float | None]:
        return [side.required_width_in if side else None for side in self.sides]

    @property
    def changed(self) -> bool:
        return self.needed_in[0] != self.needed_in[1]

    @property
    def too_narrow(self) -> bool:
        after = self.sides[1]
        return after is not None and not after.wide_enough


def widths(truss: Truss, before: Any, after: Any) -> list[Width]:
    """`before` and `after` have a document and its analysis each."""
    said = surroundings.of_mark(truss)
    told = [facts(read_stored(one.document), one.analysis or {}, None, said).supports for one in (before, after)]
    then, now = ({one.joint: one for one in side} for side in told)
    stood, stands = (supports.places(one.document) for one in (before, after))
    same = supports.paired(stood, stands)
    found = [(stood[joint], Width(joint, [then[joint], None])) for joint in then if joint not in same.values()]
    for joint, side in now.items():
        was = same.get(joint, "")
        by = stands[joint][0] - stood[was][0] if was else 0.0
        found.append((stands[joint], Width(joint, [then.get(was), side], moved(by, 0.0))))
    return [width for _, width in sorted(found, key=lambda one: one[0])]
