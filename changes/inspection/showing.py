"""What an inspector is shown of a job: the set with its sealed drawings, the changes, the repairs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Prefetch, Q

from changes.inspection.in_short import InShort, in_short
from changes.inspection.older import Older, OnRecord, called, each, old_trusses, on_record
from changes.models import Ask, Correction, CorrectionWord, Decision, Issue, Kind, Request, State
from changes.workflow.repairing import repairs_of
from changes.workflow.setting import damaged
from changes.workflow.waiting import waiting
from trusses.analysis.words.phrases import as_counted
from trusses.copies import harmed, looks
from trusses.copies.harmed import Off
from trusses.copies.models import Fixed, Look
from trusses.copies.old_ones import Old
from trusses.copies.words import by_stage
from trusses.models import Copy, Job, Revision, Truss
from trusses.plan import on_walls
from trusses.production import stage_counts
from trusses.sealing.models import SealedDrawing, SealRecord
from trusses.sealing.seals import NOT_COMPLETE, ON_RECORD, Seal, SealState, seal_state, seals_of
from trusses.sheets import fixing, sheet, words


@dataclass(frozen=True)
class Mark:
    """One mark of the set; `mine`: the copies that its current revision counts for, in words, `older`: the others;
    `in_place`: how many rows, hangers and ties are ticked to the current revision; `photos`: how many show these, and
    what was found of copies; `off`: which copies are damaged, as every page tells it."""

    truss: Truss
    count: int
    stands: list[tuple[str, str]]
    """Numbers of copies and where they stand, as `trusses.copies.words.by_stage` tells them."""
    sealed: OnRecord
    mine: str
    older: Sequence[Older]
    old_ones: Sequence[Old]
    in_place: int = 0
    photos: int = 0
    off: Sequence[Off] = ()
    repaired: Sequence[harmed.Repaired] = ()
    in_short: InShort | None = None
    walls: Sequence[on_walls.Under] = ()
    """Walls that a request moves from under copies for which nobody asked it."""


@dataclass(frozen=True)
class Indexed:
    """Marks whose current revisions' sealed drawings stand alike, each with the page of the list that it is on."""

    state: SealState
    marks: list[tuple[Truss, int]]


@dataclass(frozen=True)
class Changed:
    """One request: what was asked of which marks, and what became of it."""

    change: Request
    marks: list[tuple[str, int | None]]
    """Each by its name, with its id where its page is shown."""
    decision: Decision | None
    issued: list[Revision]

    @property
    def state(self) -> str:
        """An inspector reads the seals above: what is issued isn't called unsealed here once more."""
        if self.change.state == State.DECLINED:
            return "declined: nothing is changed by it"
        if self.change.state == State.SENT_BACK:
            return "asked and sent back with a question, not decided"
        if self.change.state != State.APPROVED:
            return "asked, not decided"
        if self.issued:
            return "decided: revision issued"
        if self.decision and self.decision.ends_by:
            return f"decided: ended by {self.decision.get_ends_by_display()}"
        return "decided: answered"

    @property
    def tone(self) -> str:
        """The classes of its state: none is good, since what is decided may still lack its seal."""
        if self.change.state == State.APPROVED:
            return "tag"
        return "soft" if self.change.state == State.DECLINED else "tag look"


@dataclass(frozen=True)
class Repaired:
    """Damage that was told of: what became of it, and the sealed drawings of its repair, those withdrawn left out."""

    ask: Ask
    seals: list[tuple[Seal, str]]
    """Each with what it lacks, in words."""
    end: str
    """`repair`, `new truss` or `declined`; empty while the truss is kept off."""


def marks_of(job: Job) -> list[Truss]:
    """The marks that are in the set, R2 before R10."""
    rows = Truss.objects.filter(job=job, current__isnull=False, withdrawn_at__isnull=True).select_related("current")
    rows = rows.defer("current__analysis", "current__document")
    return sorted(rows, key=lambda one: as_counted(one.mark))


def index(job: Job, trusses: Sequence[Truss], on_a_page: int) -> list[Indexed]:
    """Every mark of a job by how its current revision's sealed drawing stands, those without one first."""
    seals = seals_of(job, [one.current.pk for one in trusses])
    found: dict[SealState, list[tuple[Truss, int]]] = {}
    for i, one in enumerate(trusses):
        found.setdefault(seal_state(seals.get(one.current.pk)), []).append((one, i // on_a_page + 1))
    first = (seal_state(None).says, NOT_COMPLETE, ON_RECORD)
    return [Indexed(*one) for one in sorted(found.items(), key=lambda one: first.index(one[0].says))]


def marks(job: Job, trusses: Iterable[Truss]) -> list[Mark]:
    trusses = list(trusses)
    for one in trusses:
        one.job = job
    sealed = on_record(job, [one.current for one in trusses])
    counts, stands = stage_counts(trusses), by_stage(trusses)
    olders, old_ones = each(job, trusses), old_trusses(job, trusses)
    listed = _listed(trusses)
    fixed = {pk: [one.last for one in items if one.done and one.last] for pk, items in listed.items()}
    asked = waiting(trusses)
    photos: Counter[int] = Counter()
    for look in looks.of_this_wood(Copy.objects.filter(truss__in=trusses).only("pk")):
        photos[look.copy.truss_id] += len(look.photos)
    rows = Copy.objects.filter(truss__in=trusses).select_related("truss__job").defer(*sheet.HEAVY).order_by("number")
    copies: dict[int, list[Copy]] = {one.pk: [] for one in trusses}
    for copy in rows:
        copies[copy.truss_id].append(copy)
    off: dict[int, list[Off]] = {}
    for harm in harmed.off(list(rows)):
        off.setdefault(harm.truss, []).append(harm)
    wrong = looks.open_looks(rows)
    repairs = SealedDrawing.objects.filter(truss__job=job).exclude(copies=[])
    mended = {of or pk for pk, of in repairs.values_list("truss", "truss__variant_of")}
    return [
        Mark(
            one,
            sum(counts[one.pk].values()),
            stands[one.pk],
            sealed[one.current.pk],
            _mine(copies[one.pk], olders.get(one.pk, [])),
            olders.get(one.pk, []),
            old_ones.get(one.pk, []),
            len(its := fixed.get(one.pk, ())),
            photos.get(one.pk, 0) + sum(len(row.photos) for row in its),
            off.get(one.pk, []),
            harmed.repaired(copies[one.pk]) if (one.variant_of_id or one.pk) in mended else (),
            in_short(
                one,
                sealed[one.current.pk].seal,
                stands[one.pk],
                listed[one.pk],
                off.get(one.pk, []),
                asked.get(one.pk),
                walls := on_walls.under(one),
                [look for look in wrong if look.copy.truss_id == one.pk],
            ),
            walls,
        )
        for one in trusses
    ]


def _mine(copies: Iterable[Copy], olders: Iterable[Older]) -> str:
    others = {copy.pk for one in olders for copy in one.copies}
    return called([copy for copy in copies if copy.pk not in others])


def _listed(trusses: Sequence[Truss]) -> dict[int, list[fixing.Listed]]:
    """{mark: its rows, hangers and ties}, by the rule of the list that is ticked, which reads the marks' documents."""
    whole = list(Truss.objects.filter(pk__in=[one.pk for one in trusses]).select_related("job", "current"))
    each = zip(whole, fixing.listed_each(whole) if whole else (), strict=True)
    return {truss.pk: items for truss, items in each}


def photographed(job: Job, of: str, pk: int) -> Fixed | Look | Correction | CorrectionWord | None:
    """What has the photos, by what stands in their address: a correction, a word on one, a tick of the job that stands,
    or what was found of one of its copies. Those that no page shows have none here: of a mark that was withdrawn, of a
    tick that was taken back, of an old truss whose copy was made anew."""
    if of == "corrections":
        return Correction.objects.filter(link__job=job, pk=pk).first()
    if of == "words":
        return CorrectionWord.objects.filter(correction__link__job=job, pk=pk).first()
    if of == "fixed":
        ticks = Fixed.objects.filter(truss__job=job, truss__withdrawn_at=None, done=True)
        row = ticks.select_related("truss__job", "truss__current").filter(pk=pk).first()
        return row if row and any(one.ticked and one.last == row for one in fixing.listed(row.truss)) else None
    rows = Look.objects.filter(copy__truss__job=job, copy__truss__withdrawn_at=None).select_related("copy")
    look = rows.filter(pk=pk).first() if of == "looks" else None
    return look if look and look in looks.of_this_wood([look.copy]) else None


def changes(job: Job) -> list[Changed]:
    """Every request but those withdrawn, with its last decision: those by which a revision was issued, then the others,
    the newest first."""
    issues = Issue.objects.select_related("revision__truss").only(
        "decision",
        "revision__number",
        "revision__truss__mark",
        "revision__truss__withdrawn_at",
        "revision__truss__current",
    )
    decisions = Decision.objects.select_related("by").prefetch_related(Prefetch("issues", issues)).order_by("pk")
    asks = (
        Ask.objects.filter(replaced=False)
        .select_related("truss")
        .only("request", "kind", "truss__mark", "truss__withdrawn_at")
    )
    rows = Request.objects.filter(job=job).exclude(state=State.WITHDRAWN).select_related("filed_by")
    rows = rows.prefetch_related(Prefetch("asks", asks), Prefetch("decisions", decisions)).order_by("-pk")
    return sorted(map(_changed, rows), key=lambda one: not one.issued)


def _changed(change: Request) -> Changed:
    decision = next(iter(reversed(change.decisions.all())), None)
    of = {ask.truss.mark if ask.truss else "the job": _page_of(ask.truss) for ask in change.asks.all()}
    marks = sorted(of.items(), key=lambda one: as_counted(one[0]))
    issued = [one.revision for one in decision.issues.all()] if decision else []
    return Changed(change, marks, decision, issued)


def _page_of(truss: Truss | None) -> int | None:
    return truss.pk if truss and truss.withdrawn_at is None else None


def repairs(job: Job) -> list[Repaired]:
    rows = Ask.objects.filter(request__job=job, kind=Kind.DAMAGE, replaced=False).exclude(
        request__state=State.WITHDRAWN
    )
    asks = list(rows.select_related("request", "truss__job", "truss__current").order_by("pk"))
    seals = repairs_of(asks)
    return [
        Repaired(ask, [(one, words.lacking(one)) for one in seals.get(ask.pk, []) if not one.withdrawn], _end(ask))
        for ask in asks
    ]


def _end(ask: Ask) -> str:
    """How the damage ended, by the rule that lets its copies be set; empty where it hasn't."""
    copies = list(ask.on_truss.copies.filter(number__in=ask.copies).select_related("truss__job"))
    if ask.request.state == State.DECLINED:
        return "declined"
    if not copies or ask.request.state != State.APPROVED or damaged(copies):
        return ""
    decision = ask.request.decisions.last()
    return decision.ends_by if decision else ""


def is_shown(job: Job, drawing: SealedDrawing) -> bool:
    """Whether a sealed drawing is one that the job's inspectors see: of a current revision, of one that copies were
    built to, or of a repair; none that was withdrawn, nor one of a mark that was."""
    if drawing.truss.job_id != job.pk or drawing.records.filter(kind=SealRecord.Kind.WITHDRAWN).exists():
        return False
    used = Q(pk=drawing.truss.current_id) | Q(copies__isnull=False)
    counts = drawing.truss.withdrawn_at is None and Revision.objects.filter(used, pk=drawing.revision_id).exists()
    return drawing.is_repair or counts
