"""What stands sealed: a drawing attached to one revision, reviewed and accepted as its job asks, until it is withdrawn.

Every verb here asks `permissions`, does all or nothing under the mark's lock, and writes an event with who and when.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, BinaryIO, NamedTuple

from django.db import IntegrityError, transaction

from trusses.analysis.verdict import Sealed
from trusses.models import Job, MarkEvent, Revision, Truss
from trusses.once import once_each
from trusses.permissions import require
from trusses.refusals import Refused
from trusses.sealing import files, same_file
from trusses.sealing.models import COVERS, NO_STATE, STATES, SealedDrawing, SealRecord, SealRule

Kind = SealRecord.Kind
ATTACH = "attach or withdraw a sealed drawing"
SAY_WHAT_IS_ASKED = "say what the job asks of sealed drawings"
RECORDS: Mapping[str, str] = {
    Kind.REVIEWED: "record a review or an acceptance",
    Kind.ACCEPTED: "record a review or an acceptance",
    Kind.CARRIED_OUT: "record that a repair is carried out",
}
"""By whose hand what is recorded of another's act, as a verb of `permissions.VERBS`; what a drawing covers `cover`
records of whoever says it."""
EVENTS = {
    Kind.REVIEWED: MarkEvent.Code.REVIEWED,
    Kind.ACCEPTED: MarkEvent.Code.ACCEPTED,
    Kind.CARRIED_OUT: MarkEvent.Code.CARRIED_OUT,
    Kind.PLATES: MarkEvent.Code.COVERED,
    Kind.RESTRAINT: MarkEvent.Code.COVERED,
}
_EARLIEST = date(1990, 1, 1)


@dataclass(frozen=True, slots=True)
class Asked:
    """What a job asks: which of review and acceptance, and whether nothing is cut or set without them."""

    review: bool = True
    acceptance: bool = True
    blocks: bool = True

    def steps(self, *, repair: bool = False) -> tuple[str, ...]:
        """What has to be recorded of a drawing before it counts."""
        return (
            *((Kind.REVIEWED.value,) if self.review else ()),
            *((Kind.ACCEPTED.value,) if self.acceptance else ()),
            *((Kind.CARRIED_OUT.value,) if repair else ()),
        )


@dataclass(frozen=True, slots=True)
class Seal:
    """A drawing with what was recorded of it. `lacks`: what the job asks to be recorded and nobody recorded yet."""

    drawing: SealedDrawing
    records: Mapping[str, SealRecord]
    lacks: tuple[str, ...]

    @property
    def withdrawn(self) -> SealRecord | None:
        return self.records.get(Kind.WITHDRAWN)

    @property
    def covers(self) -> list[str]:
        """What it answers for beside the lumber: said when it was attached, or recorded since."""
        return [one for one in COVERS if one in self.drawing.covers or one in self.records]

    @property
    def missing(self) -> tuple[str, ...]:
        """Everything that keeps it from counting: what nobody recorded, and what a sheet leaves to it that it isn't
        said to cover. Nothing else answers for plates and restraint, so without them a sheet stays at no."""
        uncovered = () if self.drawing.is_repair else tuple(one for one in COVERS if one not in self.covers)
        return (*self.lacks, *uncovered)

    @property
    def counts(self) -> bool:
        """The one rule for what pages call on record; a sheet says yes to no other. Nobody read the PDF for that."""
        return not self.withdrawn and not self.missing

    @property
    def told(self) -> Sealed:
        """As the verdict is asked with it."""
        return Sealed(frozenset(self.covers), self.lacks)


ON_RECORD, NOT_COMPLETE = "sealed drawing on record", "sealed drawing not complete"


class SealState(NamedTuple):
    """Where a revision's sealed drawing stands: a `tone` of the stylesheet, and words. None is good: whether to build
    is the sheet's to say, which has other answers too."""

    tone: str
    says: str


def seal_state(seal: Seal | None) -> SealState:
    """In two or three words, for lists; what it lacks its own page says."""
    if seal is None:
        return SealState("stop", "not sealed")
    return SealState("", ON_RECORD) if seal.counts else SealState("look", NOT_COMPLETE)


@dataclass(frozen=True, slots=True)
class Repair:
    """Some copies of a mark that a sealed drawing repairs. `before` gives the ids of the drawings that were attached
    for the same repair, and `attached` is done with a new one, both within its transaction."""

    copies: Sequence[int]
    before: Callable[[], Iterable[int]]
    attached: Callable[[SealedDrawing], None]


repairs_at: list[Callable[[SealedDrawing], str]] = []
"""The address where the repair that a drawing is of is told: the change's app adds its own when it starts."""


def asked(job: Job) -> Asked:
    """What counts in a job; where nobody said anything, all of it."""
    return _asked_by(last_rule(job.pk))


def _asked_by(rule: SealRule | None) -> Asked:
    return Asked(rule.review, rule.acceptance, rule.without == SealRule.Without.BLOCKS) if rule else Asked()


def last_rule(job: int) -> SealRule | None:
    return _last_rules([job])[job]


def _last_rules(jobs: Iterable[int]) -> dict[int, SealRule | None]:
    """What each of some jobs asks, by their ids; one query."""

    def read(wanted: Sequence[int]) -> dict[int, SealRule | None]:
        rows = SealRule.objects.filter(job__in=wanted).select_related("said_by").order_by("pk")
        said = {rule.job_id: rule for rule in rows}  # the last one of each job stays
        return {job: said.get(job) for job in wanted}

    return once_each("seal rule", jobs, read)


def say_what_is_asked(user: Any, job: Job, *, review: bool, acceptance: bool, without: str) -> SealRule:
    """Raises NotAllowed, Refused."""
    require(user, SAY_WHAT_IS_ASKED, job)
    if without not in SealRule.Without.values:
        raise Refused("seal-without", "without", "without", choices=list(SealRule.Without.values))
    return SealRule.objects.create(job=job, review=review, acceptance=acceptance, without=without, said_by=user)


def last_said(user: Any, job: Job) -> dict[str, str]:
    """Who sealed the drawing that the person attached last in a job, by which license: most are one engineer's. What
    was withdrawn may have been wrong in just that."""
    rows = SealedDrawing.objects.filter(truss__job=job, attached_by=user).exclude(records__kind=Kind.WITHDRAWN)
    rows = rows.order_by("-pk")
    last = rows.values_list("sealed_by", "licence", "state").first()
    return dict(zip(("sealed_by", "licence", "state"), last, strict=True)) if last else {}


def all_of(truss: Truss) -> list[Seal]:
    """Every drawing that was ever attached to a mark, repairs too, the newest first."""
    rows = SealedDrawing.objects.filter(truss=truss).select_related("attached_by", "replaces")
    rows = rows.select_related("revision").defer("revision__document", "revision__analysis")
    return list(reversed(_with_records(rows)))


def seal_of(revision: Revision) -> Seal | None:
    """What stands sealed for a revision; None where nothing does."""
    return seals_of(revision.truss.job, [revision.pk]).get(revision.pk)


def seals_of(job: Job, revisions: Iterable[int]) -> dict[int, Seal]:
    """What stands sealed for each of some revisions of a job, by their ids; repairs are no revision's."""

    def read(wanted: Sequence[int]) -> dict[int, Seal | None]:
        rows = SealedDrawing.objects.filter(revision__in=wanted, copies=[]).select_related("attached_by")
        stands = {one.drawing.revision_id: one for one in _with_records(rows) if not one.withdrawn}
        return {pk: stands.get(pk) for pk in wanted}

    found = once_each(f"seals {job.pk}", revisions, read)
    return {pk: seal for pk, seal in found.items() if seal is not None}


def with_records(drawing: SealedDrawing) -> Seal:
    return these([drawing.pk])[0]


def these(drawings: Iterable[int]) -> list[Seal]:
    """Some drawings, by their ids, with what was recorded of each; in the order in which they came."""
    return _with_records(SealedDrawing.objects.filter(pk__in=drawings).select_related("attached_by", "revision"))


def _with_records(rows: Any) -> list[Seal]:
    drawings, found = list(rows.select_related("truss").prefetch_related("records__by")), []
    rules = _last_rules({drawing.truss.job_id for drawing in drawings})
    for drawing in drawings:
        records = {record.kind: record for record in drawing.records.all()}
        wanted = _asked_by(rules[drawing.truss.job_id])
        lacks = tuple(step for step in wanted.steps(repair=drawing.is_repair) if step not in records)
        found.append(Seal(drawing, records, lacks))
    return found


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


def own_name(user: Any) -> str:
    """The name under which the person's own records stand."""
    return str(user.get_full_name() or user.get_username())


def first(seal: Seal, kind: str) -> tuple[str, ...]:
    """What has to be recorded of a drawing before this is: a repair is carried out by a drawing that is reviewed and
    accepted as its job asks, not by one that may be changed yet."""
    return tuple(one for one in seal.lacks if one != kind) if kind == Kind.CARRIED_OUT else ()


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


def _line(text: str, field: str, most: int) -> str:
    words = " ".join(str(text).split())
    if not words or not words.isprintable():
        raise Refused("seal-needs", field, field, what=field)
    if len(words) > most:
        raise Refused("seal-text-long", field, field, most=most, length=len(words))
    return words
