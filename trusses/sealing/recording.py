"""What is done with sealed drawings: attached to one revision, recorded what others say of them, withdrawn.

Every verb here asks `permissions`, does all or nothing under the mark's lock, and writes an event with who and when.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, BinaryIO

from django.db import IntegrityError, transaction

from trusses.analysis.words.given import brief, seen
from trusses.models import Job, MarkEvent, Revision, Truss
from trusses.permissions import require
from trusses.refusals import Refused
from trusses.sealing import files, same_file
from trusses.sealing.models import COVERS, NO_STATE, STATES, SealedDrawing, SealRecord
from trusses.sealing.seals import ATTACH, RECORDS, Kind, asked, first, own_name, with_records

EVENTS = {
    Kind.REVIEWED: MarkEvent.Code.REVIEWED,
    Kind.ACCEPTED: MarkEvent.Code.ACCEPTED,
    Kind.CARRIED_OUT: MarkEvent.Code.CARRIED_OUT,
    Kind.PLATES: MarkEvent.Code.COVERED,
    Kind.RESTRAINT: MarkEvent.Code.COVERED,
}
_EARLIEST = date(1990, 1, 1)


@dataclass(frozen=True, slots=True)
class Repair:
    """Some copies of a mark that a sealed drawing repairs. `before` gives the ids of the drawings that were attached
    for the same repair, and `attached` is done with a new one, both within its transaction."""

    copies: Sequence[int]
    before: Callable[[], Iterable[int]]
    attached: Callable[[SealedDrawing], None]


def attach(
    user: Any,
    revision: Revision,
    sent: BinaryIO,
    size: int,
    *,
    sealed_by: str,
    licence: str,
    state: str,
    sealed_on: date,
    covers: Sequence[str] = (),
    replaces: SealedDrawing | None = None,
    reason: str = "",
    also_shows: bool = False,
    repair: Repair | None = None,
) -> SealedDrawing:
    """Attaches the sealed drawing of a revision or, with `repair`, of a repair of some of its copies. One that stands
    already is replaced by naming it, with a reason, which withdraws it. A file that is on record for another mark is
    taken where somebody says that it `also_shows` this one. Raises NotAllowed, Refused."""
    copies = repair.copies if repair else ()
    truss = revision.truss
    require(user, ATTACH, truss.job)
    said = {"sealed_by": _line(sealed_by, "sealed_by", 120), "licence": _line(licence, "licence", 40)}
    if state not in STATES and not (state == NO_STATE and truss.job.is_demo):
        raise Refused("licence-state", "state", "state", given=str(state)[:20])
    _refuse_date(truss.job, sealed_on, "sealed_on")
    if unknown := set(covers) - set(COVERS):
        raise Refused("covers-unknown", "covers", "covers", given=str(sorted(map(str, unknown))[0])[:40])
    if repair is None:
        _refuse_before_its_revision(revision, sealed_on)
    if replaces is not None:
        reason = _line(reason, "reason", 500)
    kept = files.keep(truss.job_id, sent, size)
    with transaction.atomic():
        Truss.objects.select_for_update(of=("self",)).get(pk=truss.pk)
        Job.objects.select_for_update(no_key=True).get(pk=truss.job_id)  # the same file for another mark comes after
        elsewhere = same_file.refuse(revision, kept.sha256, copies=sorted(copies), also_shows=also_shows)
        standing = _standing(revision, repair)
        if replaces is None and standing is not None:
            raise Refused("sealed-already", "drawing", mark=truss.mark, number=revision.number)
        if replaces is not None and replaces != standing:
            raise Refused("seal-stands-no-more", "replaces", "replaces")
        # the same file again corrects what was typed of it
        typed = {**said, "state": state, "sealed_on": sealed_on, "covers": sorted(set(covers))}
        if standing is not None and standing.sha256 == kept.sha256 and _typed_so(standing, typed):
            raise Refused("seal-unchanged", "drawing", "drawing")
        if standing is not None:
            _withdraw(user, standing, reason)
        drawing = SealedDrawing.objects.create(
            truss=truss,
            revision=revision,
            copies=sorted(copies),
            sha256=kept.sha256,
            size_bytes=kept.size_bytes,
            pages=kept.pages,
            replaces=standing,
            attached_by=user,
            **typed,
        )
        also = {"also": [[one["mark"], one["number"]] for one in elsewhere]} if elsewhere else {}
        _note(user, MarkEvent.Code.SEALED, drawing, name=drawing.sealed_by, on=sealed_on.isoformat(), **also)
        if repair is not None:
            repair.attached(drawing)
    return drawing


def _typed_so(drawing: SealedDrawing, typed: Mapping[str, Any]) -> bool:
    """Whether the same is said of a drawing already, what was recorded of it since included."""
    now = {"covers": with_records(drawing).covers}
    return all(now.get(name, getattr(drawing, name)) == value for name, value in typed.items())


def cover(user: Any, drawing: SealedDrawing, what: Iterable[str]) -> None:
    """Records by the person's own name that a drawing covers plates, restraint or both, where that wasn't said when it
    was attached. What it doesn't cover after all is taken back by replacing or withdrawing it. Raises NotAllowed,
    Refused."""
    require(user, ATTACH, drawing.truss.job)
    wanted = sorted(set(what))
    if not wanted or set(wanted) - set(COVERS):
        raise Refused("covers-unknown", "covers", "covers", given=str(wanted[:1])[:40])
    if drawing.is_repair:
        raise Refused("no-such-record", "kind", "kind")
    with transaction.atomic():
        for one in wanted:
            _record(user, drawing, Kind(one), own_name(user), drawing.truss.job.today())


def record(user: Any, drawing: SealedDrawing, kind: str, *, name: str = "", on: date, told_by: str = "") -> SealRecord:
    """Records a review or an acceptance, whose it was and when, and what tells of it; or that a repair is carried out,
    which whoever looked at it records in their own name. Raises NotAllowed, Refused."""
    if kind not in RECORDS or (kind == Kind.CARRIED_OUT and not drawing.is_repair):
        raise Refused("no-such-record", "kind", "kind")
    require(user, RECORDS[kind], drawing.truss.job)
    if kind == Kind.CARRIED_OUT:
        own = own_name(user)
        if name.strip() and " ".join(name.split()).casefold() not in (own.casefold(), user.get_username().casefold()):
            raise Refused("carried-out-own", "name", "name", own=own)
        name, told_by = own, ""
    return _record(user, drawing, Kind(kind), name, on, told_by)


def _record(user: Any, drawing: SealedDrawing, kind: Kind, name: str, on: date, told_by: str = "") -> SealRecord:
    job = drawing.truss.job
    name = _line(name, "name", 120)
    told_by = _line(told_by, "told_by", 200) if told_by.strip() else ""
    _refuse_date(job, on, "on")
    if on < drawing.sealed_on:
        raise Refused("before-the-seal", "on", "on", on=on.isoformat(), sealed_on=drawing.sealed_on.isoformat())
    with transaction.atomic():
        Truss.objects.select_for_update(of=("self",)).get(pk=drawing.truss_id)
        if drawing.records.filter(kind=Kind.WITHDRAWN).exists():
            raise Refused("seal-withdrawn")
        if kind in drawing.covers:
            raise Refused("recorded-already", kind=kind)
        if kind == Kind.CARRIED_OUT:
            _refuse_out_of_order(drawing, on)
        made = _write(user, drawing, kind, on, name=name, told_by=told_by)
        more = {"what": kind} if kind in COVERS else {"told_by": told_by} if told_by else {}
        _note(user, EVENTS[kind], drawing, name=name, on=on.isoformat(), **more)
    return made


def _refuse_out_of_order(drawing: SealedDrawing, on: date) -> None:
    seal = with_records(drawing)
    if lacks := first(seal, Kind.CARRIED_OUT):
        raise Refused("carried-out-early", "kind", "kind", lacks=list(lacks))
    asked_for = asked(drawing.truss.job).steps()
    if late := max((seal.records[one].on for one in asked_for if seal.records[one].on > on), default=None):
        raise Refused("carried-out-before", "on", "on", on=on.isoformat(), since=late.isoformat())


def withdraw(user: Any, drawing: SealedDrawing, reason: str) -> SealRecord:
    """Says that a drawing counts no more, and why; its record and its file stay. Raises NotAllowed, Refused."""
    require(user, ATTACH, drawing.truss.job)
    reason = _line(reason, "reason", 500)
    with transaction.atomic():
        Truss.objects.select_for_update(of=("self",)).get(pk=drawing.truss_id)
        return _withdraw(user, drawing, reason)


def _withdraw(user: Any, drawing: SealedDrawing, reason: str) -> SealRecord:
    made = _write(user, drawing, Kind.WITHDRAWN, drawing.truss.job.today(), reason=reason)
    _note(user, MarkEvent.Code.UNSEALED, drawing, reason=reason)
    return made


def _write(user: Any, drawing: SealedDrawing, kind: Kind, on: date, **said: str) -> SealRecord:
    try:
        with transaction.atomic():
            return SealRecord.objects.create(drawing=drawing, kind=kind, on=on, by=user, **said)
    except IntegrityError:
        raise Refused("recorded-already", kind=kind.value) from None


def _note(user: Any, code: str, drawing: SealedDrawing, **values: Any) -> None:
    told = {"revision": drawing.revision.number, "copies": drawing.copies, "sha256": drawing.sha256[:12], **values}
    MarkEvent.objects.create(truss=drawing.truss, by=user, code=code, values=told)


def _standing(revision: Revision, repair: Repair | None) -> SealedDrawing | None:
    rows = SealedDrawing.objects.filter(revision=revision, copies=[])
    if repair is not None:
        rows = SealedDrawing.objects.filter(pk__in=repair.before())
    return rows.exclude(records__kind=Kind.WITHDRAWN).last()


def _refuse_before_its_revision(revision: Revision, sealed_on: date) -> None:
    """The first revision may have been sealed before it was entered here; no later one may, nor a variant's first."""
    if revision.number == 0 and revision.comes_from_id is None:
        return
    issued = revision.truss.job.day_of(revision.issued_at)
    if sealed_on < issued:
        about = {"number": revision.number, "issued": issued.isoformat(), "sealed_on": sealed_on.isoformat()}
        raise Refused("sealed-before-it", "sealed_on", "sealed_on", **about)


def _refuse_date(job: Job, day: date, field: str) -> None:
    if not _EARLIEST <= day <= job.today():
        raise Refused("no-such-day", field, field, on=day.isoformat())


def one_line(text: str) -> str:
    """As the record keeps what was typed."""
    return " ".join(seen(str(text)).split())


def _line(text: str, field: str, most: int) -> str:
    words = one_line(text)
    if not words:
        raise Refused("seal-needs", field, field, what=field)
    if not words.isprintable():
        raise Refused("seal-unprintable", field, field, given=brief(words))
    if len(words) > most:
        raise Refused("seal-text-long", field, field, most=most, length=len(words))
    return words
