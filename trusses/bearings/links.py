"""What the bearings of a job's marks stand on: setting it, and the chain of carriers as the core reads it.

A mark lands on its carrier by the placements in plan, for all of the carrier's copies alike; what doesn't meet is
refused when the link is made, in the sentences of `trusses.analysis.load_path.landing`. Where the carrier has
variants, a link to one of them is a link to all: each copy stands on what is nearest in plan, of whichever mark.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, cast

from django.db import transaction
from django.db.models import Count, Exists, F, OuterRef, Q
from django.db.models.functions import Coalesce

from trusses.analysis.checks.member_properties import sheathing_counts
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.format.document import canonical, read_stored
from trusses.analysis.load_path import chain
from trusses.analysis.load_path.landing import CarryingError, Hung, Stand
from trusses.analysis.load_path.taken_up import TakenUp
from trusses.analysis.lumber import LumberError, lookup
from trusses.analysis.words.given import seen
from trusses.job import surroundings
from trusses.models import BearingLink, Job, Placement, Revision, Truss, WallLine
from trusses.once import once, once_each
from trusses.permissions import require
from trusses.refusals import Refused, because

VERB = "say what a bearing stands on"
MOST_PLACES = 100


@dataclass(frozen=True)
class Chain:
    """Some marks and all that a change to them can reach: every carrier above, and all else that stands on those."""

    trusses: Mapping[str, Truss]
    marks: Mapping[str, chain.Mark]
    links: tuple[chain.Link, ...]
    told: Mapping[str, Surroundings] = field(default_factory=dict)
    """What is said of the marks that would be analysed anew: those at its start, and every carrier."""
    designs: Mapping[str, Revision] = field(default_factory=dict)
    """The current revisions of the same marks."""

    @property
    def basis(self) -> str:
        return self.basis_with({})

    def basis_with(self, options: Mapping[str, dict[str, Any]]) -> str:
        """SHA-256 of what analyses of the changed marks and a walk up this chain rest on besides those marks; empty
        where nothing carries them and nothing is said that touches them. Sheathing touches a mark only if its design,
        or that of `options`, has a chord that it stiffens."""
        told = {mark: self._touching(mark, said, options.get(mark)) for mark, said in self.told.items()}
        told = {mark: said for mark, said in told.items() if said}
        if not self.links and not told:
            return ""
        carriers = {link.carrier for link in self.links}
        said = {
            "links": sorted(
                [link.carried, link.joint, link.carrier, [[place.member, place.at_in] for place in link.hung]]
                for link in self.links
            ),
            "stands": {
                name: [mark.copies, *(_told(stand) for stand in mark.stands)] for name, mark in self.marks.items()
            },
            "carriers": {name: self.trusses[name].current_id for name in carriers},
        } | ({"surroundings": told} if told else {})
        return hashlib.sha256(canonical(said)).hexdigest()

    def _touching(self, mark: str, said: Surroundings, option: dict[str, Any] | None) -> dict[str, Any]:
        written = said.written(said.wall_plates)
        designs = [self.designs[mark].document, *([option] if option else [])] if said.km is not None else []
        if designs and not any(sheathing_counts(read_stored(design)) for design in designs):
            del written["KM"]
        return written

    @property
    def currents(self) -> dict[int, int | None]:
        """{truss: its current revision}, of every mark that a walk up this chain reads."""
        return {truss.pk: truss.current_id for truss in self.trusses.values()}

    def follow(
        self, changes: Mapping[str, tuple[dict[str, Any], dict[str, Any]]], analysed: chain.Analysed = chain.anew
    ) -> list[chain.Step]:
        """What other documents and analyses of some of its marks make of the carriers; marks beside it touch none."""
        then = {
            name: replace(self.marks[name], document=document, analysis=analysis)
            for name, (document, analysis) in changes.items()
            if name in self.marks
        }
        return chain.follow(self.marks, self.links, then, analysed)


Row = tuple[int, str, str, int, list[Any]]
"""A link to a carrier: what stands there, its mark and joint, the carrier, and the places that somebody named. What
stands on several marks of one family has a row for each."""


def to_carriers(jobs: Iterable[int]) -> list[Row]:
    """Every bearing of these jobs that stands on another mark, and on which."""
    found = once_each("to carriers", jobs, _to_carriers)
    return [row for rows in found.values() for row in rows]


def _to_carriers(jobs: Collection[int]) -> dict[int, list[Row]]:
    rows = BearingLink.objects.filter(carrier__isnull=False, truss__job__in=jobs, truss__withdrawn_at=None)
    rows = rows.annotate(root=Coalesce(F("carrier__variant_of"), F("carrier")))
    rows = rows.annotate(parted=Exists(Truss.objects.filter(variant_of=OuterRef("root"), withdrawn_at=None)))
    found: dict[int, list[Row]] = {job: [] for job in jobs}
    told = rows.values_list("truss__job", "root", "parted", "truss", "truss__mark", "joint", "carrier", "hung")
    for job, root, parted, *rest in told:
        row = cast(Row, tuple(rest))
        found[job] += _on_each(row, root) if parted else [row]
    return found


def _on_each(row: Row, root: int) -> list[Row]:
    """A link to a mark with variants as one to each of them on which copies stand, as the plan has it; places that were
    named are those on each of them."""
    carried, mark, joint, _, hung = row
    kin = Truss.objects.filter(Q(pk=root) | Q(variant_of=root), copies__isnull=False).values_list("pk", flat=True)
    if hung:
        return [(carried, mark, joint, pk, hung) for pk in sorted(set(kin))] or [row]
    found = {truss.pk: truss for truss in _with_all({carried, *kin})}
    marks = {truss.mark: _mark(truss) for truss in found.values()}
    links = {pk: chain.Link(mark, joint, truss.mark) for pk, truss in found.items() if pk != carried or carried in kin}
    told = zip(links, chain.beside_each_other(links.values()), strict=True)
    on = [pk for pk, link in told if chain.lands(marks, link)] if mark in marks else []
    return [(carried, mark, joint, pk, hung) for pk in on] or [row]


def standing_on(truss: Truss) -> list[Truss]:
    """The marks of which copies stand on this one."""
    pks = {carried for carried, _, _, carrier, _ in to_carriers([truss.job_id]) if carrier == truss.pk}
    return list(Truss.objects.filter(pk__in=pks).order_by("mark")) if pks else []


def carriers_above(trusses: Iterable[Truss]) -> list[Truss]:
    """The marks that carry these marks of one job, and those that carry the carriers, on and on."""
    start = list(trusses)
    rows = _reached(start, to_carriers({truss.job_id for truss in start}))
    return list(Truss.objects.filter(pk__in={carrier for _, _, _, carrier, _ in rows}).order_by("mark")) if rows else []


def chain_of(trusses: Iterable[Truss]) -> Chain:
    """The chain above these marks of one job, with their current revisions."""
    start = {truss.pk: truss for truss in trusses}
    if len(start) == 1:
        [found] = chains_of(start.values()).values()
        return found
    return once(("chain", frozenset(start)), lambda: _chains([list(start.values())])[0])


def chains_of(trusses: Iterable[Truss]) -> dict[int, Chain]:
    """{mark: the chain above it alone}, read together for however many."""
    start = {truss.pk: truss for truss in trusses}
    return once_each("chain", start, lambda pks: dict(zip(pks, _chains([[start[pk]] for pk in pks]), strict=True)))


def _chains(starts: Sequence[Sequence[Truss]]) -> list[Chain]:
    every = to_carriers({truss.job_id for start in starts for truss in start})
    reached = [_reached(start, every) for start in starts]
    standing = {pk for links in reached for carried, _, _, carrier, _ in links for pk in (carried, carrier)}
    standing |= {truss.pk for start, links in zip(starts, reached, strict=True) if links for truss in start}
    found = {truss.pk: truss for truss in _with_all(standing)} if standing else {}
    said = surroundings.of_marks([*found.values(), *(truss for start in starts for truss in start)])
    return [_chain(start, links, found, said) for start, links in zip(starts, reached, strict=True)]


def _reached(start: Sequence[Truss], every: Sequence[Row]) -> list[Row]:
    """The links of all that a change to these marks can reach; of what stands on several marks those beside too, since
    each copy stands on what is nearest."""
    reached = {truss.pk for truss in start}
    while more := {carrier for carried, _, _, carrier, _ in every if carried in reached} - reached:
        reached |= more
    above = {carrier for carried, _, _, carrier, _ in every if carried in reached}
    standing = {(carried, joint) for carried, _, joint, carrier, _ in every if carrier in above}
    return [row for row in every if (row[0], row[2]) in standing]


def _chain(
    start: Sequence[Truss], links: Sequence[Row], every: Mapping[int, Truss], said: Mapping[int, Surroundings]
) -> Chain:
    if not links:
        designs = {truss.mark: truss.current for truss in start if truss.current}
        return Chain({}, {}, (), {truss.mark: said[truss.pk] for truss in start}, designs)
    first, above = {truss.pk for truss in start}, {carrier for _, _, _, carrier, _ in links}
    wanted = first | {pk for carried, _, _, carrier, _ in links for pk in (carried, carrier)}
    found = {pk: truss for pk, truss in every.items() if pk in wanted}
    anew = [truss for pk, truss in found.items() if pk in above or pk in first]
    return Chain(
        {truss.mark: truss for truss in found.values()},
        {truss.mark: _mark(truss, said[truss.pk]) for truss in found.values()},
        tuple(
            chain.beside_each_other(
                chain.Link(found[carried].mark, joint, found[carrier].mark, places(hung))
                for carried, _, joint, carrier, hung in links
                if carried in found and carrier in found
            )
        ),
        {truss.mark: said[truss.pk] for truss in anew},
        {truss.mark: truss.current for truss in anew},
    )


def _with_all(pks: Collection[int]) -> Iterable[Truss]:
    rows = Truss.objects.filter(pk__in=pks, current__isnull=False).select_related("current", "job")
    return rows.annotate(n_copies=Count("copies")).prefetch_related("placements").order_by("pk")


def _mark(truss: Any, said: Surroundings = NOTHING_SAID) -> chain.Mark:
    stands = tuple(_stand(placement) for placement in truss.placements.all())
    taken = TakenUp.read(truss.current.taken_up)
    return chain.Mark(truss.current.document, truss.current.analysis, truss.n_copies, stands, said, taken)


def _stand(place: Placement) -> Stand:
    first = place.origin_x_in, place.origin_y_in
    return Stand(place.level, *first, place.direction, place.spacing_in, place.count, place.turned)


def _told(stand: Stand) -> list[Any]:
    turned = ["turned"] if stand.turned else []
    return [stand.level, stand.x, stand.y, stand.along, stand.spacing, stand.count, *turned]


def places(hung: Sequence[Mapping[str, Any]]) -> tuple[Hung, ...]:
    return tuple(Hung(str(place["member"]), float(place["at_in"])) for place in hung)


def set_link(
    user: Any,
    truss: Truss,
    joint: str,
    *,
    wall: str = "",
    plate: str | None = None,
    carrier: Truss | None = None,
    hung: Sequence[Mapping[str, Any]] = (),
) -> BearingLink | None:
    """Says what a bearing stands on: the wall line of that label, made where the job has none, or another mark. With
    neither, nothing is said of it any more. `plate` is the lumber of the line's top plate, "" where it isn't known, and
    None leaves what was said of it. Raises NotAllowed, Refused."""
    require(user, VERB, truss.job)
    if truss.current is None or joint not in {b["joint"] for b in truss.current.document["bearings"]}:
        raise Refused("no-such-bearing", "joint", mark=truss.mark, joint=joint[:40])
    wall = named_line(wall, "wall") if seen(wall).strip() else ""
    if wall and carrier:
        raise Refused("wall-or-mark", "wall")
    with transaction.atomic():
        # one at a time in a job, so that two links made at once can't close a circle between them
        list(Job.objects.select_for_update().filter(pk=truss.job_id))
        BearingLink.objects.filter(truss=truss, joint=joint).delete()
        if wall:
            return BearingLink.objects.create(
                truss=truss, joint=joint, wall=_wall(truss.job, wall, plate), said_by=user
            )
        return _on_mark(user, truss, joint, carrier, hung) if carrier else None


def named_line(typed: str, field: str) -> str:
    """A wall line's name as it is kept: two that look alike are one. Raises Refused."""
    label, longest = seen(typed).strip(), WallLine._meta.get_field("label").max_length or 0
    if not label or len(label) > longest or not label.isprintable():
        raise Refused("wall-name", field, longest=longest)
    return label


def _wall(job: Job, label: str, plate: str | None) -> WallLine:
    plate = None if plate is None else plate.strip()
    if plate:
        try:
            lookup(plate)
        except LumberError as trouble:
            raise Refused("top-plate", "plate", why=because(trouble)) from trouble
    line, _ = WallLine.objects.get_or_create(job=job, label=label)
    if plate is not None and plate != line.plate:
        line.plate = plate
        line.save(update_fields=["plate"])
    return line


def _on_mark(user: Any, truss: Truss, joint: str, carrier: Truss, hung: Sequence[Mapping[str, Any]]) -> BearingLink:
    if carrier.job_id != truss.job_id or carrier.current is None:
        raise Refused("of-another-job", "carrier")
    if len(hung) > MOST_PLACES:
        raise Refused("too-many-places", "places", places=len(hung), most=MOST_PLACES)
    link = BearingLink.objects.create(
        truss=truss, joint=joint, carrier=carrier, hung=[dict(place) for place in hung], said_by=user
    )
    reached = chain_of([truss])
    try:
        chain.upward([truss.mark], reached.links)
        # all that stands there, this bearing too: whoever breaks off here has changed nothing
        chain.carried_by(reached.marks, reached.links, carrier.mark)
    except CarryingError as trouble:
        raise Refused("because", "places" if hung else "carrier", why=because(trouble)) from trouble
    return link
