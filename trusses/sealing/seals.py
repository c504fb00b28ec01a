"""What stands sealed: a drawing attached to one revision, reviewed and accepted as its job asks, until it is withdrawn;
and what a job asks. What is done with one stands in `recording`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from trusses.analysis.verdict import Sealed
from trusses.models import Job, Revision, Truss
from trusses.once import once_each
from trusses.permissions import require
from trusses.refusals import Refused
from trusses.sealing.models import COVERS, SealedDrawing, SealRecord, SealRule

Kind = SealRecord.Kind
ATTACH = "attach or withdraw a sealed drawing"
SAY_WHAT_IS_ASKED = "say what the job asks of sealed drawings"
OTHERS = (Kind.REVIEWED.value, Kind.ACCEPTED.value)
"""What others decide of a drawing, which somebody records."""
RECORDS: Mapping[str, str] = {
    **dict.fromkeys(OTHERS, "record a review or an acceptance"),
    Kind.CARRIED_OUT: "record that a repair is carried out",
}
"""By whose hand what is recorded of another's act, as a verb of `permissions.VERBS`; what a drawing covers `cover`
records of whoever says it."""


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


def own_name(user: Any) -> str:
    """The name under which the person's own records stand."""
    return str(user.get_full_name() or user.get_username())


def first(seal: Seal, kind: str) -> tuple[str, ...]:
    """What has to be recorded of a drawing before this is: a repair is carried out by a drawing that is reviewed and
    accepted as its job asks, not by one that may be changed yet."""
    return tuple(one for one in seal.lacks if one != kind) if kind == Kind.CARRIED_OUT else ()
