"""What the worker computes from the rows of a request, and how the answer is written to them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from django.conf import settings
from django.db import transaction

from changes import carriers as consequences
from changes.asks.answers import Answered, Case, Found, drawn, reasons
from changes.asks.documents import differences
from changes.asks.kinds import HERE, lacking
from changes.asks.opening import lacks_opening, with_openings
from changes.asks.wishes import wish_of
from changes.models import Ask, Consequence, Kind, Option, Request, Together, Verdict
from changes.words import Titled
from changes.worker.for_all import for_all
from changes.worker.queue import Claim, Teller
from changes.workflow.holds import hold_carriers
from trusses import verdicts
from trusses.analysis.format.document import read_stored
from trusses.analysis.verdict import Known, verdict
from trusses.analysis.words.phrases import Coded, coded
from trusses.analysis.words.refusal import Refusal
from trusses.bearings import links
from trusses.job import surroundings
from trusses.marks.submissions import worked_out
from trusses.models import Revision, Submission, Truss
from trusses.refusals import NotAllowed, Refused
from trusses.variants.homes import Wanted

Write = Callable[[], dict[str, Any]]

_SENT = {
    Submission.Kind.NEW_MARK: "analysing-new-mark",
    Submission.Kind.CORRECTION: "analysing-correction",
    Submission.Kind.LOADS: "analysing-loads",
}
"""What the worker is doing with what was sent."""


def compute(mine: Claim) -> Write:
    """Computes outside of any transaction; what comes back writes the effect and is called inside the last one."""
    if mine.submission_id is not None:
        return _compute_submission(mine)
    if mine.together_id is not None:
        return _compute_together(mine)
    if mine.option_id is not None:
        return _compute_drawn(mine)
    return _compute_request(mine, Request.objects.get(computations=mine.pk))


def _compute_submission(mine: Claim) -> Write:
    sent = Submission.objects.select_related("job", "truss", "sent_by").get(computation=mine.pk)
    Teller(mine)(0.1, coded(_SENT[Submission.Kind(sent.kind)], mark=str(sent)))
    try:
        write = worked_out(sent)
    except (Refused, NotAllowed) as refused:
        return partial(_refuse_submission, sent, refused)
    return partial(_write_submission, sent, write)


def _write_submission(sent: Submission, write: Callable[[], Revision]) -> dict[str, Any]:
    try:
        with transaction.atomic():
            revision = write()
    except (Refused, NotAllowed) as refused:
        return _refuse_submission(sent, refused)
    Submission.objects.filter(pk=sent.pk).update(revision=revision, truss=revision.truss)
    return {}


def _refuse_submission(sent: Submission, refused: Refusal) -> dict[str, Any]:
    Submission.objects.filter(pk=sent.pk).update(trouble=refused.coded)
    return {}


def _compute_together(mine: Claim) -> Write:
    both = Together.objects.get(computation=mine.pk)
    options = list(
        Option.objects.filter(pk__in=both.options, stale=False).select_related(
            "truss__job", "truss__current", "truss__variant_of"
        )
    )
    Teller(mine)(0.1, coded("analysing-together", marks=[option.truss.mark for option in options]))
    worked = consequences.together(options, consequences.anew)
    return partial(_write_together, both, worked)


def _write_together(both: Together, worked: consequences.Worked) -> dict[str, Any]:
    Together.objects.filter(pk=both.pk).update(analyses=consequences.analyses(worked.steps))
    return {}


def _compute_request(mine: Claim, change: Request) -> Write:
    tell = Teller(mine)
    groups = list(_groups(change.asks.filter(replaced=False).select_related("run", "request__job")).values())
    marks = _parted(groups)
    # a share for each group and each mark that is parted, and a quarter of the time for all that isn't the search
    searches = max(len(groups) + len(marks), 1)
    seconds = 0.75 * settings.COMPUTE_SOFT_LIMIT_S / searches
    parts: list[_Part] = []
    for i, asks in enumerate(groups):
        told = partial(_part, tell, i, searches)
        parts.append(_on_truss(change, asks, told, seconds) if asks[0].truss_id else _on_none(asks, told, seconds))
    for i, those in enumerate(marks, len(groups)):
        _one_for_all(parts, those, partial(_part, tell, i, searches), seconds)
    return partial(_write_all, change, parts, _first_together(parts))


def _parted(groups: Sequence[list[Ask]]) -> list[list[int]]:
    """Which groups ask openings of different copies of one mark, for each such mark."""
    found: dict[int, list[int]] = {}
    for i, asks in enumerate(groups):
        if asks[0].truss_id and HERE[asks[0].kind].ANSWERED_AS == Kind.OPENING:
            found.setdefault(asks[0].truss_id, []).append(i)
    return [those for those in found.values() if len(those) > 1]


def _one_for_all(
    parts: list[_Part], those: Sequence[int], told: Callable[[str, float, Coded], None], seconds: float
) -> None:
    """Gives the parts of one mark the designs that serve all of their copies."""
    mine = [part for i in those if isinstance(part := parts[i], _OnTruss)]
    copies = tuple(sorted({number for part in mine for number in part.asks[0].copies}))
    judge = partial(_judged, mine[0].chain, mine[0].truss, copies, verdicts.known(mine[0].truss))
    cases = [replace(part.case, tell=partial(told, part.truss.mark)) for part in mine]
    answered = for_all(cases, [part.told for part in mine], judge, seconds)
    for i, part, each in zip(those, mine, answered, strict=True):
        parts[i] = replace(part, told=each)


def _groups(asks: Iterable[Ask]) -> dict[tuple[Any, ...], list[Ask]]:
    """The asks that are answered together: for the same copies of one mark, by the same kind's answer."""
    found: dict[tuple[Any, ...], list[Ask]] = {}
    for ask in asks:
        key = ask.truss_id, tuple(ask.copies), HERE[ask.kind].ANSWERED_AS
        found.setdefault(key if ask.truss_id else (ask.pk,), []).append(ask)
    return found


def _first_together(parts: Sequence[_Part]) -> dict[str, Any]:
    """The analyses of carriers that come out of the options which stand first, where these load one carrier together:
    what a designer most likely decides on."""
    first = [(part, part.first) for part in parts if isinstance(part, _OnTruss) and part.first is not None]
    if len(first) < 2:
        return {}
    chain = links.chain_of({part.truss.pk: part.truss for part, _ in first}.values())
    alone = consequences.analyses(step for _, found in first for step in found.steps)
    changes = [Wanted(part.truss, tuple(part.asks[0].copies), found.document, found.analysis) for part, found in first]
    worked = consequences.follow(chain, changes, consequences.stored_or(alone, consequences.anew))
    return {sha: analysis for sha, analysis in consequences.analyses(worked.steps).items() if sha not in alone}


@dataclass(frozen=True)
class _Part:
    """What was computed for one group of asks."""

    asks: list[Ask]
    told: Answered


@dataclass(frozen=True)
class _OnTruss(_Part):
    """… on a mark: beside the search's options the drawn ones, computed anew."""

    case: Case
    truss: Truss
    revision: Revision
    chain: links.Chain
    redrawn: list[tuple[Option, Found]]
    lost: list[Titled]

    @property
    def first(self) -> Found | None:
        """What a page shows before somebody chooses."""
        every = [*self.told.options, *(found for _, found in self.redrawn)]
        return next((found for found in every if not found.elsewhere), None)


def _answer(asks: Sequence[Ask], case: Case) -> Answered:
    return HERE[HERE[asks[0].kind].ANSWERED_AS].answer(case)


def _on_none(asks: list[Ask], told: Callable[[str, float, Coded], None], seconds: float) -> _Part:
    """What concerns no mark has no options."""
    job = asks[0].request.job
    return _Part(asks, _answer(asks, Case(job, [wish_of(ask) for ask in asks], partial(told, job.name), seconds)))


def _on_truss(change: Request, asks: list[Ask], told: Callable[[str, float, Coded], None], seconds: float) -> _OnTruss:
    # the revision of this moment; if another is issued before the decision, the request is computed again
    truss = Truss.objects.select_related("current", "job").get(pk=asks[0].on_truss.pk)
    for ask in asks:
        ask.truss = truss
    chain = links.chain_of([truss])
    said = surroundings.of_mark(truss)
    case = Case(
        job=truss.job,
        wishes=[wish_of(ask) for ask in asks],
        tell=partial(told, truss.mark),
        seconds=seconds,
        truss=truss,
        document=truss.current.document,
        before=surroundings.before(truss.current, said),
        judge=partial(_judged, chain, truss, tuple(asks[0].copies), verdicts.known(truss)),
        surroundings=said,
    )
    found = _answer(asks, case)
    wanted = [
        replace(wish, opening=each.opening) if each.opening else wish
        for wish, each in zip(case.wishes, found.answers, strict=True)
    ]
    redrawn, lost = _redrawn(change, replace(case, wishes=wanted))
    return _OnTruss(asks, found, case, truss, truss.current, chain, redrawn, lost)


def _redrawn(change: Request, case: Case) -> tuple[list[tuple[Option, Found]], list[Titled]]:
    """The options that designers drew for the copies of a case, each as it would be on today's revision, computed; and
    the titles of those that don't hold what is asked now. An opening that was approved since is written in."""
    kept, lost = [], []
    copies = case.wishes[0].copies
    drawn_ones = change.options.filter(truss=case.truss, drawn_by__isnull=False, redrawn=None)
    for option in drawn_ones.select_related("revision").order_by("rank", "id"):
        if tuple(option.copies) != copies:
            lost += [option.titled] if set(option.copies) & set(copies) else []
            continue
        # what it left out of the design that it departs from was left out on purpose
        since = [each for each in case.document.get("openings", ()) if lacks_opening(option.revision.document, [each])]
        approved = [each for each in since if lacks_opening(option.document, [each])]
        document = with_openings(option.document, approved) if approved else option.document
        if lacking(document, case.wishes):
            lost.append(option.titled)
            continue
        differs = differences(case.document, document)
        found = drawn(case.document, case.before, document, option.titled, differs, case.surroundings)
        kept.append((option, case.judge(found)))
    return kept, lost


def _judged(chain: links.Chain, truss: Truss, copies: tuple[int, ...], known: Known, found: Found) -> Found:
    """An option with what it makes of the carriers above it: it passes only where none of them fails, and where what
    the set knows of its own truss lets it be called passing."""
    worked = consequences.follow(chain, [Wanted(truss, copies, found.document, found.analysis)])
    failing = [step for step in worked.steps if step.trouble or consequences.failing(step)] or worked.trouble
    told = [*found.told, *(row.told for row in worked.rows(None) if row.passes is False)]
    if worked.trouble:
        told.append(coded("not-searched", trouble=worked.trouble.coded))
    passes = found.passes and not failing
    if found.analysis is not None:
        design = read_stored(found.document)
        alone = verdict(design, found.analysis)
        in_set = verdict(design, found.analysis, known)
        passes = passes and in_set.may_be_called_passing
        told += reasons(reason for reason in in_set.why_not if reason not in alone.why_not)
    return replace(found, steps=worked.steps, passes=passes, told=told)


def _part(tell: Teller, i: int, of: int, mark: str, fraction: float, doing: Coded) -> None:
    tell((i + fraction) / of, coded("for-a-mark", mark=mark, doing=doing))


def _write_all(change: Request, parts: Sequence[_Part], together: dict[str, Any]) -> dict[str, Any]:
    answers, anew, lost = [], [], []
    for part in parts:
        possible = _write_answers(part)
        if not isinstance(part, _OnTruss):
            continue
        _write_options(change, part, possible)
        where = {"mark": part.truss.mark, "number": part.revision.number}
        answers += [{**where, "verdict": each.verdict.value} for each in part.told.answers if each.verdict]
        if again := [option for option, _ in part.redrawn if option.stale]:
            anew.append({**where, "options": len(again)})
        lost += part.lost
    if together:
        Together.objects.create(request=change, options=[], analyses=together)
    hold_carriers(change)
    return {"answers": answers, "anew": anew, "lost": lost}


def _write_answers(part: _Part) -> list[Ask]:
    """Writes the answers, and tells the asks that an option can answer."""
    revision = part.revision if isinstance(part, _OnTruss) else None
    possible = []
    for ask, each in zip(part.asks, part.told.answers, strict=True):
        Ask.objects.filter(pk=ask.pk).update(
            opening=each.opening or ask.opening,
            verdict=each.verdict or "",
            told=each.told,
            nearest=each.nearest,
            figures=each.figures,
            revision=revision,
        )
        if each.verdict != Verdict.NEVER:
            possible.append(ask)
    return possible


def _write_options(change: Request, part: _OnTruss, possible: list[Ask]) -> None:
    for rank, found in enumerate(part.told.options):
        option = Option.objects.create(
            request=change,
            truss=part.truss,
            copies=part.asks[0].copies,
            revision=part.revision,
            titled=found.titled,
            rank=rank,
            document=found.document,
            elsewhere=found.elsewhere,
            basis=part.chain.basis_with({part.truss.mark: found.document}),
            **_figures(found),
        )
        # what is never possible where it is asked may stand elsewhere
        option.asks.set(part.asks if found.elsewhere else possible)
        _write_steps(option, found, part.chain)
    for old, found in part.redrawn:
        _write_redrawn(change, part, old, found)


def _write_redrawn(change: Request, part: _OnTruss, old: Option, found: Found) -> None:
    """A drawn option on today's revision: a row of its own, or the first figures of one that has none yet."""
    basis = part.chain.basis_with({part.truss.mark: found.document})
    if old.stale or old.analysis is not None:
        option = Option.objects.create(
            request=change,
            truss=part.truss,
            copies=old.copies,
            revision=part.revision,
            drawn_by=old.drawn_by,
            redrawn_of=old,
            titled=found.titled,
            rank=old.rank,
            document=found.document,
            basis=basis,
            **_figures(found),
        )
    else:
        Option.objects.filter(pk=old.pk).update(
            revision=part.revision, document=found.document, basis=basis, **_figures(found)
        )
        option = old
    option.asks.set(part.asks)
    _write_steps(option, found, part.chain)
    _solved(option, found)


def _solved(option: Option, found: Found) -> None:
    """A drawn option that passes answers the asks that the search had no answer to; a revision's it answers alone."""
    drawn_alone = option.asks.filter(kind=Kind.REVISION)
    drawn_alone.update(verdict=Verdict.OPTIONS if found.passes else Verdict.NONE_PASS, told=found.told)
    if not found.passes:
        return
    unsolved = option.asks.exclude(kind=Kind.REVISION).filter(verdict__in=(Verdict.NONE_PASS, Verdict.NEVER))
    unsolved.update(verdict=Verdict.OPTIONS, told=[coded("designer-drew")])


def _write_steps(option: Option, found: Found, chain: links.Chain) -> None:
    # a mark that copies join may stand on more than the one that they leave
    beyond = {step.carrier for step in found.steps} - set(chain.trusses)
    if beyond:
        more = Truss.objects.filter(job=option.truss.job_id, mark__in=beyond).select_related("current")
        chain = replace(chain, trusses={**chain.trusses, **{truss.mark: truss for truss in more}})
    Consequence.objects.bulk_create(consequences.Worked(chain, found.steps).rows(option))


def _figures(found: Found) -> dict[str, object]:
    return {
        "sha256": found.sha256,
        "analysis": found.analysis,
        "comparison": found.comparison,
        "passes": found.passes,
        "worst_ratio": found.worst_ratio,
        "told": found.told,
    }


def _compute_drawn(mine: Claim) -> Write:
    option = Option.objects.select_related("revision", "truss__job", "truss__current").get(computation=mine.pk)
    Teller(mine)(0.1, coded("analysing-drawn", mark=option.truss.mark))
    revision, said = option.revision, surroundings.of_mark(option.truss)
    chain = links.chain_of([option.truss])
    before = surroundings.before(revision, said)
    found = drawn(revision.document, before, option.document, option.titled, option.told, said)
    judge = partial(_judged, chain, option.truss, tuple(option.copies), verdicts.known(option.truss))
    return partial(_write_drawn, option, judge(found), chain)


def _write_drawn(option: Option, found: Found, chain: links.Chain) -> dict[str, Any]:
    basis = chain.basis_with({option.truss.mark: found.document})
    Option.objects.filter(pk=option.pk).update(basis=basis, **_figures(found))
    _write_steps(option, found, chain)
    hold_carriers(option.request)
    _solved(option, found)
    return {"mark": option.truss.mark, "title": option.titled, "found": found.told}
