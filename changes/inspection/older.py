"""What of a mark its current revision doesn't count for, as an inspector finds it: copies that are built to an earlier
revision, with that revision's sealed drawing and a designer's word, and old trusses of copies that are made anew."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from trusses.copies import earlier, old_ones
from trusses.copies.old_ones import Old
from trusses.models import Copy, Job, MarkEvent, Revision, Truss
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
class Older:
    """An earlier revision of a mark that copies are built to: these, by what was said of them, and its drawing."""

    said: Sequence[earlier.Group]
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
    found: dict[int, list[earlier.Group]] = {}
    for one in earlier.by_word(groups):
        found.setdefault(one.revision.pk, []).append(one)
    return [Older(said, sealed[pk]) for pk, said in found.items()]


def old_trusses(job: Job, trusses: Sequence[Truss]) -> dict[int, list[Old]]:
    """Of each of some marks of a job the old trusses of copies that are made anew, until somebody says that they are
    gone; marks without such trusses have none here."""
    rows = MarkEvent.objects.filter(truss__job=job, code=MarkEvent.Code.ANEW)
    roots = {of or pk for pk, of in rows.values_list("truss", "truss__variant_of")}
    found = {one.pk: old_ones.there(one) for one in trusses if (one.variant_of_id or one.pk) in roots}
    return {pk: those for pk, those in found.items() if those}
