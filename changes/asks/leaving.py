"""A wall that the bearings of some copies leave, and what is kept of it with their ask: the plan is redrawn where the
wall goes, copies become those of another mark, and neither says anything of what else stood on it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from changes.models import Ask
from trusses.models import WallLine
from trusses.plan.on_walls import Number, Stood
from trusses.plan.ways import Goes
from trusses.variants.homes import root


@dataclass(frozen=True)
class Leaving:
    """A wall that the bearings of some copies leave: `by` which way in plan, None where it is taken away. Of the copies
    `asked_with` the same ask is; how they go beside these isn't known, only because one of the two have no place there.
    `joint` is the bearing by the drawing of the ask; `stood` is what else is known to have stood on the wall.
    """

    wall: WallLine
    by: Goes | None
    copies: frozenset[Number]
    north_deg: float | None = None
    asked_with: frozenset[Number] = frozenset()
    joint: str = ""
    stood: tuple[Stood, ...] = ()

    @property
    def asked_for(self) -> frozenset[Number]:
        return self.copies | self.asked_with

    @property
    def far(self) -> str:
        """8" south (down the plan); empty where it is taken away, or nobody said yet how far it goes."""
        return self.by.says(self.north_deg) if self.by else ""

    def asked(self, request: int, marks: str) -> str:
        if self.by is None:
            return f"Request {request} asks to take {self.wall} away under {marks}"
        return f"Request {request} asks to move {self.wall} {self.far} under {marks}"

    def decided(self, request: int, marks: str) -> str:
        goes = "is taken away" if self.by is None else f"moves {self.far}"
        return f"By the decision on request {request}, {self.wall} {goes} under {marks}"


def written(leaving: Leaving) -> dict[str, Any]:
    """As it is kept with its ask, in numbers of copies and ids of their families."""
    return {
        "wall": leaving.wall.pk,
        "label": leaving.wall.label,
        "joint": leaving.joint,
        "by": leaving.by and [leaving.by.axis, leaving.by.inches],
        "copies": sorted(number for _, number in leaving.copies),
        "asked_with": sorted(number for _, number in leaving.asked_with),
        "stood": [[*one.copy, list(one.joints)] for one in leaving.stood],
    }


def kept(ask: Ask, walls: Iterable[WallLine], since: datetime) -> list[Leaving]:
    """What was kept with an ask that is about a mark; what stood on its walls did so at `since`. A wall that is on no
    plan any more is called as it was."""
    lines, family, mine = {wall.pk: wall for wall in walls}, root(ask.on_truss), set(ask.copies)
    return [
        Leaving(
            lines.get(one["wall"]) or WallLine(pk=one["wall"], label=one["label"]),
            Goes(*one["by"]) if one["by"] else None,
            frozenset(Number(family, number) for number in one["copies"] if number in mine),
            ask.on_truss.job.north_deg,
            frozenset(Number(family, number) for number in one["asked_with"] if number in mine),
            one["joint"],
            tuple(Stood(Number(of, number), tuple(joints), since) for of, number, joints in one["stood"]),
        )
        for one in ask.walls or ()
        if mine.intersection(one["copies"])
    ]
