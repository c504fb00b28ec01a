"""What of a mark its current revision doesn't count for, as an inspector finds it: copies that are built to an earlier
revision, with that revision's sealed drawing and a designer's word, and old trusses of copies that are made anew."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from trusses.copies import earlier, old_ones
from trusses.copies.old_ones import Old
from trusses.models import Copy, Job, MarkEvent, Revision, Stage, Truss
from trusses.sealing import same_file
from trusses.sealing.seals import Seal, seals_of
from trusses.sheets import sheet, words
from trusses.words import runs


def called(copies: Sequence[Copy]) -> str:
    """Copies by their numbers: "copies 1–8"; empty where there are none."""
    return f"cop{'y' if len(copies) == 1 else 'ies'} {runs(copy.number for copy in copies)}" if copies else ""


@dataclass(frozen=True)
class OnRecord:
    """What stands sealed for one revision; `also_of`: what else the very file is on record for."""

    revision: Revision
    seal: Seal | None
    also_of: Sequence[str] = ()

    @property
    def lacking(self) -> str:
        return words.lacking(self.seal) if self.seal else ""


@dataclass(frozen=True)
class Said:
    """Copies that are built to one earlier revision and of which the same was said; `what` is `stays`, `waits` or empty
    where nobody said anything, and `event` tells who said it, and why."""

    copies: Sequence[Copy]
    what: str
    event: MarkEvent | None

    @property
    def numbers(self) -> str:
        return runs(copy.number for copy in self.copies)

    @property
    def unset(self) -> bool:
        return any(copy.stage != Stage.SET for copy in self.copies)


@dataclass(frozen=True)
class Older:
    """An earlier revision of a mark that copies are built to: these, by what was said of them, and its drawing."""

    said: Sequence[Said]
    sealed: OnRecord

    @property
    def revision(self) -> Revision:
        return self.sealed.revision

    @property
    def copies(self) -> list[Copy]:
        return [copy for one in self.said for copy in one.copies]

    @property
    def called(self) -> str:
        return called(self.copies)

    @property
    def stay(self) -> str:
        """Those that a designer said stay by it: "copies 1–8"; empty where none does."""
        return called([copy for one in self.said if one.what == Copy.Earlier.STAYS for copy in one.copies])


def on_record(job: Job, revisions: Sequence[Revision]) -> dict[int, OnRecord]:
    """What stands sealed for each of some revisions of a job, by their ids."""
    seals = seals_of(job, [one.pk for one in revisions])
    also = same_file.others_each(job, [seal.drawing for seal in seals.values()])
    found = {}
    for one in revisions:
        seal = seals.get(one.pk)
        found[one.pk] = OnRecord(one, seal, also[seal.drawing.pk] if seal else ())
    return found


def each(job: Job, trusses: Sequence[Truss]) -> dict[int, list[Older]]:
    """Of each of some marks of a job the earlier revisions that copies are built to, the newest first; marks without
    such copies have none here."""
    every, groups = {truss.pk: truss for truss in trusses}, {}
    copies: dict[int, list[Copy]] = {}
    rows = Copy.objects.filter(truss__in=every, built_to__isnull=False).select_related("built_to").order_by("number")
    for copy in rows.defer(*sheet.HEAVY):
        if copy.built_to_id != every[copy.truss_id].current_id:
            copies.setdefault(copy.truss_id, []).append(copy)
    for pk, those in copies.items():
        groups[pk] = earlier.groups(every[pk], those)
    sealed = on_record(
        job, list({one.revision.pk: one.revision for those in groups.values() for one in those}.values())
    )
    return {pk: _by_revision(those, sealed) for pk, those in groups.items()}


def _by_revision(groups: Sequence[earlier.Group], sealed: dict[int, OnRecord]) -> list[Older]:
    """Wherever the copies are in production: the same word is told once."""
    found: dict[int, dict[tuple[str, int | None], Said]] = {}
    for one in groups:
        said = found.setdefault(one.revision.pk, {})
        key = one.what, one.event.pk if one.event else None
        before = said[key].copies if key in said else ()
        said[key] = Said((*before, *one.copies), one.what, one.event)
    told = [
        Older(sorted(said.values(), key=lambda one: min(copy.number for copy in one.copies)), sealed[pk])
        for pk, said in found.items()
    ]
    return sorted(told, key=lambda one: -one.revision.number)


def old_trusses(job: Job, trusses: Sequence[Truss]) -> dict[int, list[Old]]:
    """Of each of some marks of a job the old trusses of copies that are made anew, until somebody says that they are
    gone; marks without such trusses have none here."""
    rows = MarkEvent.objects.filter(truss__job=job, code=MarkEvent.Code.ANEW)
    roots = {of or pk for pk, of in rows.values_list("truss", "truss__variant_of")}
    found = {one.pk: old_ones.there(one) for one in trusses if (one.variant_of_id or one.pk) in roots}
    return {pk: those for pk, those in found.items() if those}
