"""What the worker computes from the rows of a request, and how the answer is written to them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from django.conf import settings

from changes import carriers as consequences
from changes.asks.answers import Answered, Found, drawn, reasons
from changes.asks.documents import differences
from changes.asks.opening import answer, lacks, with_openings
from changes.models import Ask, Consequence, Option, Request, Verdict
from changes.words import Titled
from changes.worker.queue import Claim, Teller
from changes.workflow.holds import hold_carriers
from trusses import revisions as sets
from trusses import verdicts
from trusses.analysis.checks.surroundings import Surroundings
from trusses.analysis.format.document import read_stored
from trusses.analysis.verdict import Known, verdict
from trusses.analysis.words.phrases import coded
from trusses.bearings import links
from trusses.job import surroundings
from trusses.models import NewMark, Revision, Truss
from trusses.refusals import Refused

Write = Callable[[], dict[str, Any]]


def compute(mine: Claim) -> Write:
    """Computes outside of any transaction; what comes back writes the effect and is called inside the last one."""
    if mine.new_mark_id is not None:
        return _compute_new_mark(mine)
    if mine.option_id is not None:
        return _compute_drawn(mine)
    return _compute_request(mine, Request.objects.get(computations=mine.pk))


def _compute_new_mark(mine: Claim) -> Write:
    waiting = NewMark.objects.select_related("job", "sent_by").get(computation=mine.pk)
    Teller(mine)(0.1, f"{waiting}: analysing the truss that was sent")
    try:
        analysed = sets.read_and_analyse(waiting.document, surroundings.of_job(waiting.job))
    except Refused as refused:
        return partial(_refuse_new_mark, waiting, refused.says)
    return partial(_write_new_mark, waiting, analysed)


def _write_new_mark(waiting: NewMark, analysed: tuple[dict[str, Any], dict[str, Any]]) -> dict[str, Any]:
    try:
        truss = sets.write_mark(waiting.job, *analysed, waiting.quantity, waiting.sent_by, waiting.can_change_until)
    except Refused as refused:
        return _refuse_new_mark(waiting, refused.says)
    NewMark.objects.filter(pk=waiting.pk).update(truss=truss)
    return {}


def _refuse_new_mark(waiting: NewMark, says: str) -> dict[str, Any]:
    NewMark.objects.filter(pk=waiting.pk).update(trouble=says)
    return {}


def _compute_request(mine: Claim, change: Request) -> Write:
    by_truss: dict[int, list[Ask]] = {}
    for ask in change.asks.filter(replaced=False):
        by_truss.setdefault(ask.truss_id, []).append(ask)
    tell = Teller(mine)
    # a share for each truss, and a quarter of the time for all that isn't the search
    seconds = 0.75 * settings.COMPUTE_SOFT_LIMIT_S / max(len(by_truss), 1)
    answered = []
    for i, (truss_id, asks) in enumerate(by_truss.items()):
        # the revision of this moment; if another is issued before the decision, the request is computed again
        truss = Truss.objects.select_related("current", "job").get(pk=truss_id)
        told = partial(_part, tell, truss.mark, i, len(by_truss))
        chain = links.chain_of([truss])
        judge = partial(_judged, chain, truss.mark, verdicts.known(truss))
        said = surroundings.of_mark(truss)
        before = surroundings.before(truss.current, said)
        openings = [ask.opening for ask in asks if ask.opening]
        found = Answered([])
        if openings:
            found = answer(truss.current.document, before, openings, told, seconds, judge, said)
        redrawn, lost = _redrawn(change, truss, before, [each.opening for each in found.answers], judge, said)
        answered.append(_Part(truss, truss.current, asks, found, chain, redrawn, lost))
    return partial(_write_all, change, answered)


@dataclass(frozen=True)
class _Part:
    """What was computed for one truss of a request: answers, the search's options, and the drawn ones computed anew."""

    truss: Truss
    revision: Revision
    asks: list[Ask]
    told: Answered
    chain: links.Chain
    redrawn: list[tuple[Option, Found]]
    lost: list[Titled]


def _redrawn(
    change: Request,
    truss: Truss,
    before: dict[str, Any],
    asked: Sequence[dict[str, Any]],
    judge: Callable[[Found], Found],
    said: Surroundings,
) -> tuple[list[tuple[Option, Found]], list[Titled]]:
    """The options that designers drew for a truss, each as it would be on today's revision, computed; and the titles
    of those that don't hold what is asked now. An opening that was approved since is written in."""
    current, kept, lost = truss.current, [], []
    drawn_ones = change.options.filter(truss=truss, drawn_by__isnull=False, redrawn=None).order_by("rank", "id")
    for option in drawn_ones:
        approved = [each for each in current.document.get("openings", ()) if lacks(option.document, [each])]
        document = with_openings(option.document, approved) if approved else option.document
        if lacks(document, asked):
            lost.append(option.titled)
            continue
        differs = differences(current.document, document)
        kept.append((option, judge(drawn(current.document, before, document, option.titled, differs, said))))
    return kept, lost


def _judged(chain: links.Chain, mark: str, known: Known, found: Found) -> Found:
    """An option with what it makes of the carriers above it: it passes only where none of them fails, and where what
    the set knows of its own truss lets it be called passing."""
    worked = consequences.follow(chain, {mark: (found.document, found.analysis)})
    failing = [step for step in worked.steps if step.trouble or consequences.failing(step)]
    told = [*found.told, *(row.told for row in worked.rows(None) if row.passes is False)]
    passes = found.passes and not failing
    if found.analysis is not None:
        design = read_stored(found.document)
        alone = verdict(design, found.analysis)
        in_set = verdict(design, found.analysis, known)
        passes = passes and in_set.may_be_called_passing
        told += reasons(reason for reason in in_set.why_not if reason not in alone.why_not)
    return replace(found, steps=worked.steps, passes=passes, told=told)


def _part(tell: Teller, mark: str, i: int, of: int, fraction: float, doing: str) -> None:
    tell((i + fraction) / of, f"{mark}: {doing}")


def _write_all(change: Request, answered: list[_Part]) -> dict[str, Any]:
    answers, anew, lost = [], [], []
    for part in answered:
        _write(change, part)
        where = {"mark": part.truss.mark, "number": part.revision.number}
        answers += [{**where, "verdict": each.verdict.value} for each in part.told.answers]
        if again := [option for option, _ in part.redrawn if option.stale]:
            anew.append({**where, "options": len(again)})
        lost += part.lost
    hold_carriers(change)
    return {"answers": answers, "anew": anew, "lost": lost}


def _write(change: Request, part: _Part) -> None:
    possible = []
    asks = [ask for ask in part.asks if ask.opening]
    for ask, each in zip(asks, part.told.answers, strict=True):
        Ask.objects.filter(pk=ask.pk).update(
            opening=each.opening,
            verdict=each.verdict,
            told=each.told,
            nearest=each.nearest,
            revision=part.revision,
        )
        if each.verdict != Verdict.NEVER:
            possible.append(ask)
    for rank, found in enumerate(part.told.options):
        option = Option.objects.create(
            request=change,
            truss=part.truss,
            revision=part.revision,
            titled=found.titled,
            rank=rank,
            document=found.document,
            basis=part.chain.basis_with({part.truss.mark: found.document}),
            **_figures(found),
        )
        option.asks.set(possible)
        _write_steps(option, found, part.chain)
    for old, found in part.redrawn:
        _write_redrawn(change, part, old, found)


def _write_redrawn(change: Request, part: _Part, old: Option, found: Found) -> None:
    """A drawn option on today's revision: a row of its own, or the first figures of one that has none yet."""
    basis = part.chain.basis_with({part.truss.mark: found.document})
    if old.stale or old.analysis is not None:
        option = Option.objects.create(
            request=change,
            truss=part.truss,
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
    for ask in part.asks:
        if not ask.opening:
            verdict = Verdict.OPTIONS if found.passes else Verdict.NONE_PASS
            Ask.objects.filter(pk=ask.pk).update(verdict=verdict, told=found.told, revision=part.revision)
    if found.passes:
        _solved(option)


def _solved(option: Option) -> None:
    """A drawn option that passes answers the asks that the search had no answer to."""
    unsolved = option.asks.filter(verdict__in=(Verdict.NONE_PASS, Verdict.NEVER), opening__isnull=False)
    unsolved.update(verdict=Verdict.OPTIONS, told=[coded("designer-drew")])


def _write_steps(option: Option, found: Found, chain: links.Chain) -> None:
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
    option = Option.objects.select_related("revision", "truss__job").get(computation=mine.pk)
    Teller(mine)(0.1, f"{option.truss.mark}: computing the drawn option")
    revision, said = option.revision, surroundings.of_mark(option.truss)
    chain = links.chain_of([option.truss])
    before = surroundings.before(revision, said)
    found = drawn(revision.document, before, option.document, option.titled, option.told, said)
    return partial(_write_drawn, option, _judged(chain, option.truss.mark, verdicts.known(option.truss), found), chain)


def _write_drawn(option: Option, found: Found, chain: links.Chain) -> dict[str, Any]:
    basis = chain.basis_with({option.truss.mark: found.document})
    Option.objects.filter(pk=option.pk).update(basis=basis, **_figures(found))
    _write_steps(option, found, chain)
    hold_carriers(option.request)
    if found.passes:
        _solved(option)
    option.asks.filter(opening=None).update(
        verdict=Verdict.OPTIONS if found.passes else Verdict.NONE_PASS, told=found.told
    )
    return {"mark": option.truss.mark, "title": option.titled, "found": found.told}
