"""What is under a bearing of a copy. What was said of a mark's bearings before a copy of it was turned end for end for
another design holds for that copy with the ends of its drawing changed over; so does what is said later, while others
of the mark's copies stand as they did: that is of these.

Where the plan has some copies the other way round and no decision turned them, what is said is of the others: under
these stands what those stand on at the same place along their spans, else what the plan draws there.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime
from functools import cached_property
from typing import Any, NamedTuple

from django.db.models import Exists, OuterRef, Q, prefetch_related_objects

from trusses.analysis.alike import begins_off, middle_in
from trusses.bearings.standing import called
from trusses.job.surroundings import stands_on
from trusses.models import BearingLink, Copy, Job, MarkEvent, Placement, Truss, WallLine
from trusses.once import once
from trusses.plan.from_walls import From
from trusses.plan.on_walls import Number
from trusses.plan.where import drawn_under, near_each
from trusses.variants.homes import root
from trusses.variants.moving import Turn, turns_of

Document = Mapping[str, Any]
_ACROSS_IN = 1.0
"""Two bearings change places with each other where they stand within this of each other's mirrored place, inches."""


class Place(NamedTuple):
    """Where a copy stands in plan: in which `row`, along which axis its span runs, and where on it that begins by its
    mark's current revision, inches."""

    copy: Number
    truss: int
    row: int
    level: str
    along: str
    begins_in: float
    turned: bool


class Walls:
    """What is under the bearings of a mark by one of its documents: by what was said of them, or as the plan draws it;
    nothing under what stands on another truss."""

    def __init__(
        self,
        truss: Truss,
        document: Document,
        links: Iterable[BearingLink],
        turns: Iterable[Turn],
        places: Iterable[Place] = (),
        numbers: Sequence[int] = (),
    ) -> None:
        self._truss, self._document, self._root = truss, document, root(truss)
        self._turned: dict[int, list[datetime]] = {}
        for turn in turns:
            if turn.root == self._root:
                self._turned.setdefault(turn.number, []).append(turn.at)
        self._said = {link.joint: link for link in links}
        self._across = across(document) if self._turned else {}
        self._numbers = numbers if self._said else ()
        self._places = {one.copy.number: one for one in places if one.copy.root == self._root}
        self._by_hand = self._placed_otherwise()

    @cached_property
    def _drawn(self) -> dict[str, WallLine]:
        every = [one["joint"] for one in self._document["bearings"]]
        if not (unsaid := [joint for joint in every if joint not in self._said or self._turned]):
            return {}
        found = drawn_under(self._truss, self._document, unsaid)
        return {joint: self._drawn_walls[label] for joint, label in found.items()}

    @cached_property
    def _drawn_walls(self) -> dict[str, WallLine]:
        return {wall.label: wall for wall in self._truss.job.wall_lines.all()}

    @cached_property
    def _near(self) -> dict[str, dict[int, From | None]]:
        return near_each(self._truss, self._document, [one["joint"] for one in self._document["bearings"]])

    def under(self, joint: str, copy: Number, *, turned: bool = False) -> WallLine | None:
        """The wall under a bearing of one of the mark's copies; `turned`: that was turned since the drawing by which
        the joint is named."""
        if said := self._of(joint, copy, turned):
            return said.wall
        if copy.number in self._by_hand:
            near = self.near(self._by_today(joint, turned), copy)
            return self._drawn_walls[near.wall] if near else None
        return self._drawn.get(joint)

    def said(self, joint: str, copy: Number, *, turned: bool = False) -> WallLine | None:
        """The same where somebody said so."""
        said = self._of(joint, copy, turned)
        return said.wall if said else None

    def called(self, joint: str, copy: Number) -> str:
        """What was said to be under it, as pages call it: “north wall”, “on G1”; empty where nobody said anything."""
        said = self._of(joint, copy, turned=False)
        return called(said) if said else ""

    def link(self, joint: str, copy: Number, *, turned: bool = False) -> BearingLink | None:
        """What was said to be under it."""
        return self._of(joint, copy, turned)

    def near(self, joint: str, copy: Number) -> From | None:
        """The wall that the plan draws under it, said or not; None where it draws none or the copy has no place."""
        place = self._places.get(copy.number)
        return self._near.get(joint, {}).get(place.row) if place else None

    def turned(self, copy: Number) -> bool:
        """Whether it stands turned end for end in plan."""
        place = self._places.get(copy.number)
        return place is not None and place.turned

    def meant(self, copy: Number) -> bool:
        """Whether it is one of those that are meant by what is said today."""
        numbers = self._numbers
        every = bool(numbers) and all(self._flipped(number) for number in numbers)
        return copy.number not in self._by_hand and self._flipped(copy.number) == every

    def _of(self, joint: str, copy: Number, turned: bool) -> BearingLink | None:
        """What was said of it, by whichever name it had then."""
        if copy.number in self._by_hand:
            return self._in_line(self._by_today(joint, turned), copy)
        for name, other_end in ((self._across.get(joint, ""), True), (joint, False)):
            one = self._said.get(name)
            if one and (self._otherwise(copy, one.said_at) != turned) == other_end:
                return one
        return None

    def _by_today(self, joint: str, turned: bool) -> str:
        return self._across.get(joint, "") if turned else joint

    def _placed_otherwise(self) -> frozenset[int]:
        """The copies that the plan has the other way round than what is said is of, without a decision that turned
        them; none where it has all of the mark's so."""
        own = [one for one in self._places.values() if one.truss == self._truss.pk]
        ways = {one.copy.number: one.turned != self._flipped(one.copy.number) for one in own}
        return frozenset(number for number, way in ways.items() if way and not all(ways.values()))

    def _in_line(self, joint: str, copy: Number) -> BearingLink | None:
        """What the mark's other copies stand on at the place along their spans where this one's bearing is. Where a
        bearing stands on another mark the plan itself says where each copy lands there."""
        own, place = self._said.get(joint), self._places[copy.number]
        if own and own.carrier_id:
            return own
        if joint not in self._xs:
            return None
        at, found = self._at(joint, place), dict[int, BearingLink | None]()
        for other in self._beside(place):
            for name in self._xs:
                if abs(self._at(name, other) - at) <= _ACROSS_IN:
                    said = self._of(name, other.copy, turned=False)
                    found[said.pk if said else 0] = said
        return found.popitem()[1] if len(found) == 1 else None

    def _beside(self, place: Place) -> Iterable[Place]:
        """One copy of each row and way round of the mark's others there, of which something may have been said."""
        way = place.truss, place.level, place.along
        others = [one for one in self._places.values() if (one.truss, one.level, one.along) == way]
        others = [one for one in others if one.copy.number not in self._by_hand]
        return {(one.row, self._flipped(one.copy.number)): one for one in others}.values()

    @cached_property
    def _xs(self) -> dict[str, float]:
        return {one["joint"]: float(self._document["joints"][one["joint"]][0]) for one in self._document["bearings"]}

    def _at(self, joint: str, place: Place) -> float:
        """Where a bearing of a copy is along the axis of its span, inches."""
        begins = place.begins_in + begins_off(self._truss.current.document, self._document, turned=place.turned)
        x, every = self._xs[joint], self._xs.values()
        return begins + (max(every) - x if place.turned else x - min(every))

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
    roots = {root(truss) for truss, _ in those} & both_ways(job) if those else set()
    turns = turns_of(roots) if roots else []
    places = _places_of(roots) if roots else []
    over = {turn.root for turn in turns}
    numbers = _numbers_of({truss.pk for truss, _ in those if root(truss) in over})
    found = []
    for truss, document in those:
        truss.job = job
        found.append(Walls(truss, document, links[truss.pk], turns, places, numbers.get(truss.pk, ())))
    return found


def both_ways(job: Job) -> frozenset[int]:
    """The families of a job of which the plan has a copy turned end for end, or a decision turned one: of all others
    each copy stands on what was said."""
    return once(("both ways round", job.pk), lambda: _both_ways(job))


def _both_ways(job: Job) -> frozenset[int]:
    mine = {"truss": OuterRef("pk")}
    turned = Exists(Placement.objects.filter(**mine, turned=True))
    decided = Exists(MarkEvent.objects.filter(**mine, code__in=(MarkEvent.Code.LEFT, MarkEvent.Code.TURNED)))
    rows = Truss.objects.filter(Q(turned) | Q(decided), job=job).values_list("pk", "variant_of")
    return frozenset(of or pk for pk, of in rows)


def _numbers_of(trusses: Collection[int]) -> dict[int, list[int]]:
    """{mark: the numbers of its copies}."""
    found: dict[int, list[int]] = {}
    if trusses:
        for truss, number in Copy.objects.filter(truss__in=trusses).values_list("truss", "number"):
            found.setdefault(truss, []).append(number)
    return found


def _places_of(roots: Collection[int]) -> list[Place]:
    rows = Copy.objects.filter(Q(truss__in=roots) | Q(truss__variant_of__in=roots), placement__isnull=False)
    fields = ("level", "direction", "origin_x_in", "origin_y_in", "turned")
    told = rows.order_by("number").values_list(
        "truss", "truss__variant_of", "number", "placement", *(f"placement__{name}" for name in fields)
    )
    return [
        Place(Number(of or pk, number), pk, row, level, along, x if along == "x" else y, turned)
        for pk, of, number, row, level, along, x, y, turned in told
    ]
