"""Each copy of a job as it stands in plan, level by level, in the order in which they are set (`order`)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from django.db.models import F

from trusses.analysis.alike import begins_off
from trusses.analysis.format.document import read_stored
from trusses.analysis.runs.stood import Design, Stood
from trusses.models import CHANGEABLE_STAGES, BearingLink, Copy, Job, Placement, Revision
from trusses.once import once
from trusses.plan.order import Line, along_walls
from trusses.plan.where import spans_of


@dataclass(frozen=True)
class Stands:
    """One copy in plan, or a place that none is at yet: then it has no `copy`. The line of its span starts at the left
    bearing at (`x`, `y`), or at the right one where it stands `turned` end for end; `order` is when it is set on its
    level, from 1."""

    copy: int | None
    truss: int
    mark: str
    number: int
    stage: str
    level: str
    along: str
    x: float
    y: float
    sha256: str
    order: int
    turned: bool = False
    """End for end: its marked end is the far one."""
    built_to: int | None = None
    """The number of the revision that it is built to; None where it isn't cut."""
    behind: bool = False
    """It is built to an earlier revision than the current one."""
    revision: int | None = None
    """The id of the revision that it is built to, else of the current one."""

    @property
    def name(self) -> str:
        return f"{self.mark}-{self.number}"

    @property
    def can_change(self) -> bool:
        return self.stage in CHANGEABLE_STAGES

    @property
    def marked_end(self) -> str:
        return marked_end(self.along, self.turned)


def marked_end(along: str, turned: bool) -> str:
    """To which side of the plan the marked end of a copy lies, the left one of its drawing: x is to the right, y up."""
    return (("left", "bottom"), ("right", "top"))[turned][along == "y"]


_WINDS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def sides(north_deg: float | None) -> dict[str, str]:
    """What a person calls the plan's bottom, top, left and right: by the compass where it was said how north lies."""
    clockwise = {"top": 0, "right": 90, "bottom": 180, "left": 270}
    if north_deg is None:
        return {side: f"plan’s {side}" for side in clockwise}
    return {side: _WINDS[round((turn - north_deg) / 45) % 8] for side, turn in clockwise.items()}


class Built(NamedTuple):
    """One copy at a place; `built_to`, `sha256` and the number `revision` are of what it was cut to, None before."""

    pk: int
    number: int
    stage: str
    built_to: int | None
    sha256: str | None
    revision: int | None


class Placed(NamedTuple):
    """One row of places in plan, the document's hash of its mark's current revision, and the copies there by number."""

    row: Placement
    sha256: str
    copies: list[Built]


def placed(job: Job) -> list[Placed]:
    """What stands in plan, without a document; marks that were withdrawn or have no revision are left out."""
    return once(("placed", job.pk), lambda: _placed(job))


def _placed(job: Job) -> list[Placed]:
    rows = Placement.objects.filter(truss__job=job, truss__current__isnull=False, truss__withdrawn_at__isnull=True)
    found = {
        row.pk: Placed(row, row.sha256, [])
        for row in rows.select_related("truss__variant_of").annotate(sha256=F("truss__current__sha256")).order_by("pk")
    }
    built = Copy.objects.filter(placement__in=found).order_by("number")
    of_revision = ("built_to", "built_to__sha256", "built_to__number")
    for place, *copy in built.values_list("placement", "pk", "number", "stage", *of_revision):
        found[place or 0].copies.append(Built._make(copy))
    return list(found.values())


def standing(job: Job) -> dict[str, list[Stands]]:
    """{level: its copies in the order of setting}, levels by name."""
    return once(("standing in plan", job.pk), lambda: _standing(job))


def _standing(job: Job) -> dict[str, list[Stands]]:
    depth, levels = _depths(job), dict[str, list[Placed]]()
    for one in sorted(placed(job), key=lambda one: (one.row.level, one.row.pk)):
        levels.setdefault(one.row.level, []).append(one)
    spans = spans_of({one.sha256: one.row.truss.current_id or 0 for those in levels.values() for one in those})
    return {
        level: [
            _stands(rows[row], place, order)
            for order, (row, place) in enumerate(
                along_walls([_line(one, depth.get(one.row.truss_id, 0), spans[one.sha256]) for one in rows]), 1
            )
        ]
        for level, rows in levels.items()
    }


def without_place(job: Job) -> dict[int, list[tuple[int, str]]]:
    """{mark: the numbers of its copies that have no place in plan, each with its stage}."""
    return once(("without a place", job.pk), lambda: _without_place(job))


def _without_place(job: Job) -> dict[int, list[tuple[int, str]]]:
    found: dict[int, list[tuple[int, str]]] = {}
    rows = Copy.objects.filter(truss__job=job, placement=None)
    for truss, number, stage in rows.values_list("truss", "number", "stage"):
        found.setdefault(truss, []).append((number, stage))
    return found


def _line(one: Placed, depth: int, span_in: float) -> Line:
    row = one.row
    low, first = (row.origin_x_in, row.origin_y_in) if row.direction == "x" else (row.origin_y_in, row.origin_x_in)
    places = tuple(first + i * row.spacing_in for i in range(row.count))
    family = (row.truss.variant_of or row.truss).mark
    return Line(depth, family, row.truss.mark, row.direction, low, low + span_in, places)


def _stands(one: Placed, i: int, order: int) -> Stands:
    """The copy at one place of a row, or the place where none is yet."""
    row, current, copies = one
    step = i * row.spacing_in
    copy = copies[i] if i < len(copies) else None
    off = _off(copy.sha256, current, turned=row.turned) if copy and copy.sha256 else 0.0
    x, y = (off, step) if row.direction == "x" else (step, off)
    return Stands(
        copy.pk if copy else None,
        row.truss_id,
        row.truss.mark,
        copy.number if copy else i + 1,
        copy.stage if copy else "",
        row.level,
        row.direction,
        row.origin_x_in + x,
        row.origin_y_in + y,
        (copy.sha256 if copy else None) or current,
        order,
        row.turned,
        copy.revision if copy else None,
        copy is not None and copy.built_to not in (None, row.truss.current_id),
        (copy.built_to if copy else None) or row.truss.current_id,
    )


def _off(built: str, current: str, *, turned: bool) -> float:
    """How far from where its row begins a copy does that is built to an earlier document, its wood where that of the
    current one is."""
    if built == current:
        return 0.0
    by = designs_of({built, current})
    return begins_off(by[current].truss.document, by[built].truss.document, turned=turned)


def _depths(job: Job) -> Mapping[int, int]:
    """How many marks below each carry it, one on the other."""
    links = BearingLink.objects.filter(truss__job=job, carrier__isnull=False).values_list("truss", "carrier")
    carriers: dict[int, set[int]] = {}
    for truss, carrier in links:
        carriers.setdefault(truss, set()).add(carrier or 0)

    def depth(truss: int, seen: frozenset[int] = frozenset()) -> int:
        return max((1 + depth(one, seen | {truss}) for one in carriers.get(truss, ()) if one not in seen), default=0)

    return {truss: depth(truss) for truss in carriers}


def stood(copies: Sequence[Stands]) -> list[Stood]:
    """The same, as the core's runs cross them."""
    designs = designs_of({one.sha256 for one in copies})
    return [
        Stood(
            one.mark,
            one.number,
            one.level,
            designs[one.sha256],
            one.along,
            one.x if one.along == "x" else one.y,
            one.y if one.along == "x" else one.x,
            one.turned,
        )
        for one in copies
    ]


def designs_of(hashes: set[str]) -> dict[str, Design]:
    """Each read once in a process: a run that is drawn asks for them many times."""
    unknown = [sha256 for sha256 in hashes if sha256 not in _kept]
    if unknown:
        if len(_kept) + len(unknown) > _MOST_KEPT:
            _kept.clear()
            unknown = list(hashes)
        for sha256, document in Revision.objects.filter(sha256__in=unknown).values_list("sha256", "document"):
            _kept[sha256] = Design(read_stored(document))
    return {sha256: _kept[sha256] for sha256 in hashes}


_MOST_KEPT = 1_000
_kept: dict[str, Design] = {}
