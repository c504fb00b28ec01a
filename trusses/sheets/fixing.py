"""What is to be fixed beside setting a mark: rows of restraint, hangers and ties, ticked off one by one.

Each tells where it starts and ends and what it is anchored to. What rows are anchored to no document of the set says:
whoever installs one says it with the tick. A tick counts for the revision that was current, and for the copies that it
was said of, as they stood: another takes it back, and so does a truss that was set after it was said, since what was
nailed to the one before, or to none, holds nothing of it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Any

from django.db import transaction

from trusses.analysis.format.model import Truss as Design
from trusses.analysis.requirements.restraint_rows import NEXT_IN, runs
from trusses.analysis.words.lengths import feet_inches
from trusses.bearings.standing import Part
from trusses.copies import disputed as disputes
from trusses.copies import trail
from trusses.copies.disputed import Dispute
from trusses.copies.models import Fixed
from trusses.designs import design_of
from trusses.job import surroundings
from trusses.models import Copy, Job, Stage, Truss
from trusses.once import once
from trusses.permissions import require
from trusses.pictures import Sent, keep_all
from trusses.plan.beside import stood_with
from trusses.plan.copies import Stands, standing, without_place
from trusses.plan.feet import feet
from trusses.refusals import Refused
from trusses.sheets import sheet_facts
from trusses.variants.homes import root
from trusses.words import runs as shortened

VERB = "tick off restraint, hangers and ties"
LONGEST, MOST_PHOTOS = 200, 12
Stand = Mapping[str, datetime | None]
"""The trusses that are set, by name, and when they were, as far as the record tells."""
_CHORDS = (("top_chord", "Top chord"), ("bottom_chord", "Bottom chord"))


@dataclass(frozen=True)
class Item:
    """One thing to fix. `anchored` is what it is anchored to, empty where whoever installs it has to say so. `key` is
    of the copies that it is at, too, so that no tick stretches over what nobody installed. `row`: one of the rows that
    may all be anchored to the same. `waits`: the trusses it is at that aren't set, by name; until they are it is not in
    place."""

    key: str
    what: str
    starts: str
    ends: str
    anchored: str = ""
    row: bool = False
    waits: tuple[str, ...] = ()
    since: datetime | None = None
    """When the last of its trusses was set, as far as the record tells."""

    @property
    def not_yet(self) -> Refused:
        return Refused("item-waits", "item", "item", waits=list(self.waits))

    @property
    def slug(self) -> str:
        """Its place on a page."""
        return f"fix-{self.key[-16:]}"


@dataclass(frozen=True)
class Listed:
    """An item with what was ticked last; `done` while that counts, `old` where it was another revision's, `before`
    where a truss that it is at was set since. What an inspector disputes is not done, though somebody `ticked` it."""

    item: Item
    last: Fixed | None
    ticked: bool
    old: bool
    before: bool
    disputed: tuple[Dispute, ...] = ()

    @property
    def done(self) -> bool:
        return self.ticked and not self.disputed


def _key(what: str, at: Sequence[str], on: str = "") -> str:
    """The same for the same thing at the same copies alone, and `on` the same carrier, as long as it may be."""
    told = f"{what} {at[0]} {at[-1]}" if at else what
    whole = hashlib.sha256("\n".join((what, *at, *filter(None, [on]))).encode()).hexdigest()
    return f"{told[:100]} {whole[:16]}"


def items(truss: Truss) -> list[Item]:
    """Of the mark's current revision, as its copies stand in plan today."""
    design = design_of(truss.current.document)
    every = [one for level in standing(truss.job).values() for one in level]
    there = [one for one in every if one.truss == truss.pk]
    when = _set_at(truss.job)
    stand = {one.name: when.get((one.truss, one.number)) for one in every if one.stage == Stage.SET}
    names = {one.number: one.name for one in there}
    # what has no place in plan yet has bearings all the same
    for number, stage in without_place(truss.job).get(truss.pk, ()):
        names[number] = f"{truss.mark}-{number}"
        stand |= {names[number]: when.get((truss.pk, number))} if stage == Stage.SET else {}
    its = dict(sorted(names.items()))
    return [*_chord_rows(design, there, stand), *_web_rows(truss, stand), *_bearings(truss, design, its, stand)]


def _set_at(job: Job) -> dict[tuple[int, int], datetime]:
    """When each copy of a job was set that is, by its mark and number; one of which the record tells nothing lacks."""
    return once(("set at", job.pk), lambda: _read_set(job))


def _read_set(job: Job) -> dict[tuple[int, int], datetime]:
    moves = trail.of_job(job)
    copies = Copy.objects.filter(truss__job=job, stage=Stage.SET).select_related("truss")
    each = {(one.truss_id, one.number): moves.get((root(one.truss), one.number)) for one in copies}
    return {copy: event.at for copy, event in each.items() if event and event.values.get("to") == Stage.SET}


def _stand(names: Sequence[str], stand: Stand) -> dict[str, Any]:
    """What an item at these trusses waits for, and since when all of them stand."""
    set_at = [at for name in names if (at := stand.get(name))]
    waits = tuple(name for name in dict.fromkeys(names) if name not in stand)
    return {"waits": waits, "since": max(set_at, default=None)}


def _ends(there: Sequence[Stands]) -> Iterator[tuple[str, list[Stands]]]:
    """The copies of a mark by level and direction, in the order in which they stand; those beyond a gap that no row is
    nailed across by themselves."""
    found: dict[tuple[str, str], list[tuple[float, Stands]]] = {}
    for one in there:
        found.setdefault((one.level, one.along), []).append((one.y if one.along == "x" else one.x, one))
    for (level, _), those in sorted(found.items()):
        those.sort(key=lambda pair: pair[0])
        gaps = [after - before for (before, _), (after, _) in pairwise(those)]
        widest = max(NEXT_IN, 1.5 * min((gap for gap in gaps if gap > 0), default=0.0))
        starts = [0, *(i + 1 for i, gap in enumerate(gaps) if gap > widest), len(those)]
        for start, end in pairwise(starts):
            yield level, [one for _, one in those[start:end]]


def _chord_rows(design: Design, there: Sequence[Stands], stand: Stand) -> Iterator[Item]:
    for role, name in _CHORDS:
        spacing = design.lateral_restraint.spacing(role)  # type: ignore[arg-type]
        if spacing is None or not any(member.role == role for member in design.members):
            continue
        how = "held along its whole length, as by sheathing or ceiling board" if not spacing else ""
        how = how or f"rows {feet_inches(spacing)} on center or closer"
        for level, those in _ends(there):
            names = [one.name for one in those]
            key, stands = _key(f"{role} {level} {those[0].along}", names), _stand(names, stand)
            yield Item(key, f"{name}: {how}", *_from_to(names[0], names[-1]), row=bool(spacing), **stands)


def _from_to(first: str, last: str) -> tuple[str, str]:
    """Where a row starts and ends; one truss by itself is named once."""
    return (first, last) if first != last else (f"at {first} alone", f"at {first} alone")


def _web_rows(truss: Truss, stand: Stand) -> Iterator[Item]:
    for stood in stood_with(truss):
        mine = {one.standing for one in stood if one.truss == truss.pk and one.revision == truss.current_id}
        for run in runs([one.standing for one in stood]):
            its = [(one, place) for one, place in run if one in mine]
            if not its:
                continue
            first, last, place = run[0][0], run[-1][0], its[0][1]
            which = f", row {place.row} of {place.rows}" if place.rows > 1 else ""
            what = f"Row across web {place.web}{which}, {feet_inches(place.y_in)} up"
            if first is last:
                what += ". It meets no like web beside it and holds nothing alone: the designer says what holds it"
            else:
                what += f", {feet_inches(last.across_in - first.across_in)} long"
            names = [one.name for one, _ in run]
            key, stands = _key(f"{place.web} {place.row}", names), _stand(names, stand)
            yield Item(key, what, *_from_to(first.name, last.name), row=first is not last, **stands)


def _bearings(truss: Truss, design: Design, names: Mapping[int, str], stand: Stand) -> Iterator[Item]:
    """Hangers and ties; `names` of its copies by their numbers."""
    facts = sheet_facts.facts(design, truss.current.analysis, None, surroundings.of_mark(truss))
    needs = {one.joint: one for one in facts.supports}
    for foot in feet(truss, names):
        need = needs[foot.joint]
        up = f" and {need.uplift.lb:,.0f} lb up" if need.uplift.lb >= 1 else ""
        for part in foot.parts or (Part(tuple(names), foot.says, foot.link),):
            at = [names[number] for number in part.copies]
            stands, where = _stand(at, stand), _at_each(part)
            if part.link is not None and part.link.carrier_id:
                what = f"Hanger at bearing {foot.joint}, for {need.down.lb:,.0f} lb down{up}"
                on = part.says.removeprefix("on ")
                key = _key(f"hanger {foot.joint}", at, str(part.link.carrier_id))
                yield Item(key, what, where, where, on, **stands)
            elif up:
                what = f"Tie at bearing {foot.joint}, for at least {need.uplift.lb:,.0f} lb up"
                on = part.says if part.link else ""
                yield Item(_key(f"tie {foot.joint}", at), what, where, where, on, **stands)


def _at_each(part: Part) -> str:
    numbers = shortened(part.copies)
    which = f"at each of copies {numbers}" if len(part.copies) > 1 else f"at copy {numbers}" if numbers else ""
    return f"{which or 'at each copy'}{', turned end for end' if part.turned else ''}"


def listed(truss: Truss) -> list[Listed]:
    """Each item of a mark with its tick."""
    return listed_each([truss])[0]


def listed_each(trusses: Sequence[Truss]) -> list[list[Listed]]:
    """The same of several marks, whose ticks and bearings are read at once."""
    last = {(row.truss_id, row.item): row for row in Fixed.objects.filter(truss__in=trusses).select_related("by")}
    surroundings.of_marks(trusses)
    found = []
    for truss in trusses:
        told = [(item, last.get((truss.pk, item.key))) for item in items(truss)]
        found.append([_listed(truss, item, row) for item, row in told])
    return found


def _listed(truss: Truss, item: Item, row: Fixed | None) -> Listed:
    old = row is not None and row.revision_id != truss.current_id
    before = row is not None and item.since is not None and row.at < item.since
    ticked = row is not None and row.done and not (old or before or item.waits)
    disputed = tuple(one for one in disputes.of(truss) if one.item == item.key)
    return Listed(item, row, ticked, old, before, disputed)


def rows_alike(found: Sequence[Listed]) -> list[Item]:
    """The open rows that may be ticked together, anchored to the same: all their trusses are set, and what was ticked
    to an earlier revision, or of another truss, is looked at by itself."""
    rows = [one.item for one in found if one.item.row and not (one.ticked or one.old or one.before or one.item.waits)]
    return rows if len(rows) > 1 else []


def said_last(found: Sequence[Listed]) -> str:
    """What a row was said to be anchored to last, to be offered for the next."""
    said = [one.last for one in found if one.last is not None and one.last.done and not one.item.anchored]
    return max(said, key=lambda row: row.pk).anchored if said else ""


def tick(user: Any, truss: Truss, key: str, *, done: bool, anchored: str = "", photos: Sequence[Sent] = ()) -> bool:
    """Ticks an item off, or takes the tick back; whether that changed anything. Photos come to those that the tick has.
    Raises NotAllowed, Refused."""
    require(user, VERB, truss.job)
    if not key:
        raise Refused("no-item", "item", "item")
    digests = keep_all(truss.job_id, photos) if done else []
    with transaction.atomic():
        held = Truss.objects.select_for_update(of=("self",)).select_related("job", "current").get(pk=truss.pk)
        item = next((one for one in items(held) if one.key == key), None)
        if item is None:
            raise Refused("no-such-item", "item", "item")
        if done and item.waits:
            raise item.not_yet
        said = " ".join(anchored.split()) or item.anchored
        if done and (not said or len(said) > LONGEST):
            raise Refused("anchored-where", "anchored", "anchored", longest=LONGEST)
        row = Fixed.objects.filter(truss=held, item=key).last()
        stands = _listed(held, item, row).ticked
        has = row.photos if row is not None and stands and done else []
        shown = list(dict.fromkeys([*has, *digests]))
        if len(shown) > MOST_PHOTOS:
            raise Refused("photos-too-many", "photo", "photo", most=MOST_PHOTOS, sent=len(shown))
        if stands == done and (not done or (row is not None and row.anchored == said and row.photos == shown)):
            return False
        told = {"done": done, "anchored": said if done else "", "photos": shown}
        Fixed.objects.create(truss=held, revision=held.current, item=key, by=user, **told)
    return True
