"""How an answer is written: the asks' verdicts, the options, what they make of the carriers. Called in the transaction
that ends a computation."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from changes import carriers as consequences
from changes import words
from changes.asks.answers import Found
from changes.models import Ask, Consequence, Kind, Option, Request, Together, Verdict
from changes.models.requests import near
from changes.worker.answering import OnTruss, Part
from changes.workflow.holds import hold_carriers
from trusses.analysis.words.phrases import coded
from trusses.bearings import links
from trusses.models import Truss


def write_all(change: Request, parts: Sequence[Part], together: dict[str, Any]) -> dict[str, Any]:
    answers, anew, lost = [], [], []
    several = Counter(ask.truss_id for part in parts for ask in part.asks)
    for part in parts:
        possible = _write_answers(part)
        if not isinstance(part, OnTruss):
            continue
        _write_options(change, part, possible)
        where = {"mark": part.truss.mark, "number": part.revision.number}
        copies = {"copies": list(part.asks[0].copies)} if several[part.truss.pk] > 1 else {}
        for ask, each in zip(part.asks, part.told.answers, strict=True):
            if each.verdict:
                of_run = {"of_run": True, "near": near(each.verdict, each.told)} if ask.kind == Kind.RUN else {}
                below = {"below": least} if (least := words.asks_below(each.told)) else {}
                answers.append({**where, **copies, **of_run, **below, "verdict": each.verdict.value})
        if again := [option for option, _ in part.redrawn if option.stale]:
            anew.append({**where, "options": len(again)})
        lost += part.lost
    if together:
        Together.objects.create(request=change, options=[], analyses=together)
    hold_carriers(change)
    return {"answers": answers, "anew": anew, "lost": lost}


def _write_answers(part: Part) -> list[Ask]:
    """Writes the answers, and tells the asks that an option can answer."""
    revision = part.revision if isinstance(part, OnTruss) else None
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


def _write_options(change: Request, part: OnTruss, possible: list[Ask]) -> None:
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
            **figures(found),
        )
        # what is never possible where it is asked may stand elsewhere
        option.asks.set(part.asks if found.elsewhere else possible)
        write_steps(option, found, part.chain)
    for old, found in part.redrawn:
        _write_redrawn(change, part, old, found)


def _write_redrawn(change: Request, part: OnTruss, old: Option, found: Found) -> None:
    """A drawn option on today's revision: a row of its own, or the first figures of one that has none yet."""
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
            **figures(found),
        )
    else:
        Option.objects.filter(pk=old.pk).update(revision=part.revision, document=found.document, **figures(found))
        option = old
    option.asks.set(part.asks)
    write_steps(option, found, part.chain)
    solved(option, found)


def solved(option: Option, found: Found) -> None:
    """A drawn option that passes answers the asks that the search had no answer to; a revision's it answers alone."""
    drawn_alone = option.asks.filter(kind=Kind.REVISION)
    drawn_alone.update(verdict=Verdict.OPTIONS if found.passes else Verdict.NONE_PASS, told=found.told)
    if not found.passes:
        return
    below = {"below": asked} if (asked := words.below(found.told)) else {}
    unsolved = option.asks.exclude(kind=Kind.REVISION).filter(
        verdict__in=(Verdict.NONE_PASS, Verdict.NEVER, Verdict.UNSURE)
    )
    unsolved.update(verdict=Verdict.OPTIONS, told=[coded("designer-drew", **below)])


def write_steps(option: Option, found: Found, chain: links.Chain) -> None:
    # a mark that copies join may stand on more than the one that they leave
    beyond = {step.carrier for step in found.steps} - set(chain.trusses)
    if beyond:
        more = Truss.objects.filter(job=option.truss.job_id, mark__in=beyond).select_related("current")
        chain = replace(chain, trusses={**chain.trusses, **{truss.mark: truss for truss in more}})
    Consequence.objects.bulk_create(consequences.Worked(chain, found.steps).rows(option))


def figures(found: Found) -> dict[str, object]:
    return {
        "sha256": found.sha256,
        "analysis": found.analysis,
        "comparison": found.comparison,
        "passes": found.passes,
        "worst_ratio": found.worst_ratio,
        "told": found.told,
        "bars": found.bars,
        "joins": list(found.joins),
        "basis": found.basis,
    }
