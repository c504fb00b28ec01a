"""Which copies bear on a wall: by what was said of their marks' bearings and, where nothing was, by what the plan draws
under all of a mark's copies. What requests do to a wall is told by whoever keeps requests.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import NamedTuple

from django.db.models import prefetch_related_objects

from trusses.analysis.words.phrases import as_counted, counted
from trusses.models import CHANGEABLE_STAGES, STAGE_ORDER, BearingLink, Copy, Job, Stage, Truss
from trusses.once import once
from trusses.plan.where import drawn_under
from trusses.words import runs


class Number(NamedTuple):
    """One copy of a family: copies keep their number in all of a mark's variants."""

    root: int
    number: int


@dataclass(frozen=True)
class Bears:
    """A mark that bears on a wall, and the stage of each of its copies; `said_at`: when somebody last said so, None
    where only the plan does. At which bearing differs between copies of one mark that were turned end for end: `joints`
    are those by what is said of the mark."""

    truss: int
    mark: str
    copies: Mapping[Number, str]
    said_at: datetime | None = None
    joints: tuple[str, ...] = ()

    def besides(self, asked: Collection[Number]) -> Bears | None:
        """Without the copies that somebody asked about; None where no other is left."""
        left = {number: stage for number, stage in self.copies.items() if number not in asked}
        return replace(self, copies=left) if left else None

    @property
    def is_cut(self) -> bool:
        """Whether any of its copies takes no ordinary change any more."""
        return any(stage not in CHANGEABLE_STAGES for stage in self.copies.values())

    @property
    def can_change(self) -> bool:
        """Whether any of its copies still takes an ordinary change."""
        return any(stage in CHANGEABLE_STAGES for stage in self.copies.values())

    @property
    def asks_how_held(self) -> str:
        """What a designer is asked of copies that take no ordinary change."""
        return f"A wall under {self.mark} is to change. Its copies are cut: how are they held, and by when?"

    @property
    def says(self) -> str:
        """F2, 18 copies: 11 set, 7 delivered."""
        stages = Counter("" if stage in CHANGEABLE_STAGES else stage for stage in self.copies.values())
        each = sorted(stages.items(), key=lambda one: -STAGE_ORDER.get(one[0], 0))
        told = [f"{n} {stage or 'not cut yet'}" for stage, n in each]
        if len(told) == 1:
            [(stage, n)] = each
            told = [f"{'all ' if n > 1 else ''}{stage or 'not cut yet'}"]
        return f"{self.mark}, {counted(len(self.copies), 'copy', 'copies')}: {', '.join(told)}"


class Stood(NamedTuple):
    """That a copy stood on a wall when that was asked or decided to move, at some bearings of its mark by then."""

    copy: Number
    joints: tuple[str, ...]
    since: datetime


@dataclass(frozen=True)
class OnWalls:
    """{wall line: the marks that bear on it today}, in the order in which they are counted; and what of a job tells
    whether anything was said since of copies that stood on a wall."""

    on: Mapping[int, list[Bears]]
    _said: Mapping[tuple[int, str], datetime | None]
    _marks: Mapping[int, tuple[str, Sequence[str]]]
    """{mark: what it is called, its bearings}."""
    _copies: Mapping[Number, tuple[int, str]]
    """{copy: its mark, its stage}."""

    def unanswered(self, those: Iterable[Stood]) -> list[Stood]:
        """Those of which nobody said since what they stand on. Where the bearing has another name by now, all of the
        mark's count."""
        return [one for one in those if one.copy in self._copies and not self._answered(one)]

    def _answered(self, one: Stood) -> bool:
        truss, _ = self._copies[one.copy]
        every = self._marks[truss][1]
        joints = one.joints if set(one.joints) <= set(every) else every
        said = [self._said.get((truss, joint)) for joint in joints]
        return all(at is not None and at > one.since for at in said)

    def with_those(self, others: Iterable[Bears], those: Iterable[Stood]) -> list[Bears]:
        """What bears on a wall and what stood on it, by marks."""
        by = {one.truss: one for one in others}
        for one in those:
            truss, stage = self._copies[one.copy]
            bears = by.get(truss) or Bears(truss, self._marks[truss][0], {})
            by[truss] = replace(bears, copies={**bears.copies, one.copy: stage})
        return sorted(by.values(), key=lambda one: as_counted(one.mark))


@dataclass(frozen=True)
class Moving:
    """What a request does to a wall, and the copies that bear on it and that nobody asked about. `does`: what becomes
    of the wall, by which request and for which marks, as a sentence without its stop; `at`: the request's page;
    `decided`: a designer approved the `request`, which is answered by what one says since of what these copies stand
    on."""

    wall: int
    does: str
    at: str
    others: tuple[Bears, ...]
    decided: bool = False
    request: int = 0
    comes: bool = False
    """The wall comes under trusses that have no bearing there; `wall` is 0, and `level` where it comes."""
    level: str = ""

    def under(self, truss: Truss) -> Bears | None:
        return next((one for one in self.others if one.truss == truss.pk), None)


told_by: list[Callable[[Job], Iterable[Moving]]] = []
"""What tells which walls requests move or take away, asked or decided: whoever keeps requests adds its own."""


before_redrawn: list[Callable[[Job], None]] = []
"""What has to be kept of a job's walls before one of them is drawn elsewhere or taken down: likewise."""


def moving(job: Job) -> list[Moving]:
    return once(("walls that move", job.pk), lambda: [one for tell in told_by for one in tell(job)])


@dataclass(frozen=True)
class Under:
    """That a wall moves, or `comes`, under copies of a mark for which nobody asked: `says` what, `at` by which
    request; `stands`: the numbers of those that are set there already, and whether these are all of them."""

    says: str
    at: str
    decided: bool
    stands: tuple[str, bool]
    request: int = 0
    comes: bool = False

    @property
    def title(self) -> str:
        """What is only asked for may become so, and isn't told as if it were."""
        numbers, all_of_them = self.stands
        asked = "" if self.decided else f" (asked in request {self.request}, not decided)"
        if self.comes:
            when = "" if all_of_them else ", and before any more is set" if numbers else ", before it is set"
            comes = "comes" if self.decided else "may come"
            return (
                f"A wall {comes} under it where it has no bearing{asked}: ask the designer how it is kept clear{when}."
            )
        moves = f"he wall under it {'moves' if self.decided else 'may move'}{asked}"
        if all_of_them:
            return f"T{moves}: ask the designer first how it is held."
        if numbers:
            return f"T{moves}: ask the designer how what is set on it ({numbers}) is held, and before any more is set."
        return f"Ask the designer before setting: t{moves}."


def under(truss: Truss) -> list[Under]:
    """What whoever sets a mark has to ask about first."""
    found = [(one, bears) for one in moving(truss.job) if (bears := one.under(truss))]
    return [
        Under(
            f"{one.does}. {_passes(truss, bears) if one.comes else _nothing_for(truss, bears)}",
            one.at,
            one.decided,
            _set_on_it(bears),
            one.request,
            one.comes,
        )
        for one, bears in found
    ]


@dataclass(frozen=True)
class UnderCopies:
    """Copies of one mark that aren't set yet and whose wall moves, or under which one `comes`: `does` what, `at` by
    which request."""

    mark: str
    copies: list[Copy]
    does: str
    at: str
    comes: bool = False


def under_copies(copies: Sequence[Copy]) -> list[UnderCopies]:
    """Of some copies of one job those that bear on a wall which a request moves, or pass over one that it adds, and
    for which nobody asked that."""
    waits = [copy for copy in copies if copy.stage != Stage.SET]
    found = []
    for move in moving(waits[0].truss.job) if waits else ():
        for bears in move.others:
            here = [copy for copy in waits if copy.truss_id == bears.truss]
            numbers = {one.number for one in bears.copies}
            if those := [copy for copy in here if copy.number in numbers]:
                found.append(UnderCopies(bears.mark, those, move.does, move.at, move.comes))
    return found


def _set_on_it(bears: Bears) -> tuple[str, bool]:
    there = [one.number for one, stage in bears.copies.items() if stage == Stage.SET]
    return runs(there), len(there) == len(bears.copies)


def _passes(truss: Truss, bears: Bears) -> str:
    one = len(bears.copies) == 1
    numbers = runs(copy.number for copy in bears.copies)
    those, bear = (f"Copy {numbers}", "it bears") if one else (f"Copies {numbers}", "they bear")
    return (
        f"{those} of {truss.mark} pass{'es' if one else ''} over it, and nobody asked that {bear} there: what touches"
        f" it bears, and {'it isn’t' if one else 'they aren’t'} drawn for that."
    )


def _nothing_for(truss: Truss, bears: Bears) -> str:
    numbers = runs(one.number for one in bears.copies)
    those = (
        f"Copies {numbers} of {truss.mark} bear" if len(bears.copies) > 1 else f"Copy {numbers} of {truss.mark} bears"
    )
    them = "it" if len(bears.copies) == 1 else "them"
    return f"{those} on it too, and nobody asked that for {them}."


def bearing_on(job: Job) -> OnWalls:
    """What bears on each of a job's walls today."""
    rows = Truss.objects.filter(job=job, withdrawn_at=None, current__isnull=False)
    families, marks = dict[int, int](), dict[int, tuple[str, list[str]]]()
    for pk, mark, of, bearings in rows.values_list("pk", "mark", "variant_of", "current__document__bearings"):
        families[pk], marks[pk] = of or pk, (mark, [one["joint"] for one in bearings])
    joints: dict[int, dict[int, list[str]]] = {}
    said: dict[tuple[int, str], datetime | None] = {}
    links = BearingLink.objects.filter(truss__in=marks).values_list("truss", "joint", "wall", "said_at")
    for truss, joint, wall, said[truss, joint] in links:
        if wall and joint in marks[truss][1]:
            joints.setdefault(wall, {}).setdefault(truss, []).append(joint)
    unsaid = {pk: [one for one in every if (pk, one) not in said] for pk, (_, every) in marks.items()}
    _by_plan(job, {pk: those for pk, those in unsaid.items() if those}, joints)
    copies: dict[int, dict[Number, str]] = {}
    for truss, number, stage in Copy.objects.filter(truss__in=marks).values_list("truss", "number", "stage"):
        copies.setdefault(truss, {})[Number(families[truss], number)] = stage
    on = {
        wall: [
            Bears(
                pk,
                marks[pk][0],
                copies[pk],
                min((said.get((pk, one)) for one in those), key=_or_never),
                tuple(sorted(those)),
            )
            for pk, those in sorted(on.items(), key=lambda one: as_counted(marks[one[0]][0]))
            if pk in copies
        ]
        for wall, on in joints.items()
    }
    return OnWalls(on, said, marks, {copy: (pk, stage) for pk, each in copies.items() for copy, stage in each.items()})


def _or_never(at: datetime | None) -> float:
    return at.timestamp() if at else 0.0


def _by_plan(job: Job, unsaid: Mapping[int, list[str]], joints: dict[int, dict[int, list[str]]]) -> None:
    """Adds those of which nobody said what they stand on, by the walls drawn under them."""
    if not unsaid:
        return
    prefetch_related_objects([job], "wall_lines")
    walls = {wall.label: wall.pk for wall in job.wall_lines.all() if wall.points}
    if not walls:
        return
    rows = Truss.objects.filter(pk__in=unsaid, placements__isnull=False).distinct().select_related("current")
    for truss in rows.defer("current__analysis").prefetch_related("placements"):
        truss.job = job
        for joint, label in drawn_under(truss, truss.current.document, unsaid[truss.pk]).items():
            joints.setdefault(walls[label], {}).setdefault(truss.pk, []).append(joint)
