"""What the worker computes from the rows of a request, and how the answer is written to them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from django.conf import settings

from changes import carriers as consequences
from changes.models import Ask, Consequence, Option, Request, Verdict
from changes.worker.answers import Answered, Found, answer, drawn
from changes.worker.queue import Claim, Teller
from changes.workflow.holds import hold_carriers
from trusses import verdicts
from trusses.analysis.format.document import read_stored
from trusses.analysis.verdict import Known, verdict
from trusses.analysis.words import verdict as words
from trusses.bearings import links
from trusses.job import surroundings
from trusses.models import Revision, Truss

Write = Callable[[], str]


def compute(mine: Claim) -> Write:
    """Computes outside of any transaction; what comes back writes the effect and is called inside the last one."""
    change = Request.objects.get(pk=mine.request_id)
    if mine.option_id is not None:
        return _compute_drawn(mine)
    return _compute_request(mine, change)


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
        openings = [ask.opening for ask in asks]
        chain = links.chain_of([truss])
        judge = partial(_judged, chain, truss.mark, verdicts.known(truss))
        said = surroundings.of_mark(truss)
        before = surroundings.before(truss.current, said)
        found = answer(truss.current.document, before, openings, told, seconds, judge, said)
        answered.append((truss, truss.current, asks, found, chain))
    return partial(_write_all, change, answered)


def _judged(chain: links.Chain, mark: str, known: Known, found: Found) -> Found:
    """An option with what it makes of the carriers above it: it passes only where none of them fails, and where what
    the set knows of its own truss lets it be called passing."""
    worked = consequences.follow(chain, {mark: (found.document, found.analysis)})
    failing = [step for step in worked.steps if step.trouble or consequences.failing(step)]
    says = [found.says, *(row.says for row in worked.rows(None) if row.passes is False)]
    passes = found.passes and not failing
    if found.analysis is not None:
        design = read_stored(found.document)
        alone = verdict(design, found.analysis)
        in_set = verdict(design, found.analysis, known)
        passes = passes and in_set.may_be_called_passing
        says.append(words.why(reason for reason in in_set.why_not if reason not in alone.why_not))
    return replace(found, steps=worked.steps, passes=passes, says=" ".join(filter(None, says)))


def _part(tell: Teller, mark: str, i: int, of: int, fraction: float, doing: str) -> None:
    tell((i + fraction) / of, f"{mark}: {doing}")


def _write_all(change: Request, answered: list[tuple[Truss, Revision, list[Ask], Answered, links.Chain]]) -> str:
    for truss, revision, asks, told, chain in answered:
        _write(change, truss, revision, asks, told, chain)
    hold_carriers(change)
    return "; ".join(
        f"{truss.mark} revision {revision.number}: {each.verdict.label}"
        for truss, revision, _, told, _ in answered
        for each in told.answers
    )


def _write(
    change: Request, truss: Truss, revision: Revision, asks: list[Ask], told: Answered, chain: links.Chain
) -> None:
    possible = []
    for ask, each in zip(asks, told.answers, strict=True):
        Ask.objects.filter(pk=ask.pk).update(
            opening=each.opening,
            verdict=each.verdict,
            says=each.says,
            nearest=each.nearest,
            revision=revision,
        )
        if each.verdict != Verdict.NEVER:
            possible.append(ask)
    for rank, found in enumerate(told.options):
        option = Option.objects.create(
            request=change,
            truss=truss,
            revision=revision,
            title=found.title,
            rank=rank,
            document=found.document,
            basis=chain.basis,
            **_figures(found),
        )
        option.asks.set(possible)
        _write_steps(option, found, chain)


def _write_steps(option: Option, found: Found, chain: links.Chain) -> None:
    Consequence.objects.bulk_create(consequences.Worked(chain, found.steps).rows(option))


def _figures(found: Found) -> dict[str, object]:
    return {
        "sha256": found.sha256,
        "analysis": found.analysis,
        "comparison": found.comparison,
        "passes": found.passes,
        "worst_ratio": found.worst_ratio,
        "says": found.says,
    }


def _compute_drawn(mine: Claim) -> Write:
    option = Option.objects.select_related("revision", "truss__job").get(pk=mine.option_id)
    Teller(mine)(0.1, f"{option.truss.mark}: computing the drawn option")
    revision, said = option.revision, surroundings.of_mark(option.truss)
    chain = links.chain_of([option.truss])
    before = surroundings.before(revision, said)
    found = drawn(revision.document, before, option.document, option.title, option.says, said)
    return partial(_write_drawn, option, _judged(chain, option.truss.mark, verdicts.known(option.truss), found), chain)


def _write_drawn(option: Option, found: Found, chain: links.Chain) -> str:
    Option.objects.filter(pk=option.pk).update(basis=chain.basis, **_figures(found))
    _write_steps(option, found, chain)
    hold_carriers(option.request)
    if found.passes:
        unsolved = option.asks.filter(verdict__in=(Verdict.NONE_PASS, Verdict.NEVER))
        unsolved.update(verdict=Verdict.OPTIONS, says="A designer drew a redesign that is clear and passes.")
    return f"{option.truss.mark}: {option.title}. {found.says}"
