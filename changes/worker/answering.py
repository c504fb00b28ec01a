"""What a request's asks are answered with: those for the same copies of a mark together, each option followed up the
chain of carriers. Reads rows, writes none."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from django.conf import settings

from changes import carriers as consequences
from changes.asks import as_built
from changes.asks.answers import Answered, Case, Found, drawn, reasons
from changes.asks.documents import differences
from changes.asks.kinds import HERE, lacking
from changes.asks.load import counted_on
from changes.asks.opening import lacks_opening, with_openings
from changes.asks.wishes import wish_of
from changes.models import Ask, Kind, Option, Request
from changes.words import Titled
from changes.worker.for_all import for_all
from trusses import verdicts
from trusses.analysis.checks.surroundings import Surroundings
from trusses.analysis.format.document import read_stored
from trusses.analysis.verdict import Known, verdict
from trusses.analysis.words.phrases import Coded, coded
from trusses.bearings import links
from trusses.job import surroundings
from trusses.models import Revision, Truss
from trusses.variants.homes import Wanted, root
from trusses.variants.moving import turns_of

Tell = Callable[[float, Coded], None]
Told = Callable[[str, float, Coded], None]


@dataclass(frozen=True)
class Part:
    """What was computed for one group of asks."""

    asks: list[Ask]
    told: Answered


@dataclass(frozen=True)
class OnTruss(Part):
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


def answered(change: Request, tell: Tell) -> tuple[list[Part], dict[str, Any]]:
    """The answer to each group of asks, and the analyses of carriers that the options which stand first make
    together."""
    groups = list(_groups(change.asks.filter(replaced=False).select_related("run", "request__job")).values())
    marks = _parted(groups)
    # a share for each group and each mark that is parted, and a quarter of the time for all that isn't the search
    searches = max(len(groups) + len(marks), 1)
    seconds = 0.75 * settings.COMPUTE_SOFT_LIMIT_S / searches
    parts: list[Part] = []
    for i, asks in enumerate(groups):
        told = partial(_part, tell, i, searches)
        parts.append(_on_truss(change, asks, told, seconds) if asks[0].truss_id else _on_none(asks, told, seconds))
    for i, those in enumerate(marks, len(groups)):
        _one_for_all(parts, those, partial(_part, tell, i, searches), seconds)
    return parts, _first_together(parts)


def _parted(groups: Sequence[list[Ask]]) -> list[list[int]]:
    """Which groups ask openings of different copies of one mark, for each such mark."""
    found: dict[int, list[int]] = {}
    for i, asks in enumerate(groups):
        if asks[0].truss_id and HERE[asks[0].kind].ANSWERED_AS == Kind.OPENING:
            found.setdefault(asks[0].truss_id, []).append(i)
    return [those for those in found.values() if len(those) > 1]


def _one_for_all(parts: list[Part], those: Sequence[int], told: Told, seconds: float) -> None:
    """Gives the parts of one mark the designs that serve all of their copies."""
    mine = [part for i in those if isinstance(part := parts[i], OnTruss)]
    copies = tuple(sorted({number for part in mine for number in part.asks[0].copies}))
    judge = partial(judged, mine[0].chain, mine[0].truss, copies, verdicts.known(mine[0].truss))
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


def _first_together(parts: Sequence[Part]) -> dict[str, Any]:
    """The analyses of carriers that come out of the options which stand first, where these load one carrier together:
    what a designer most likely decides on."""
    first = [(part, part.first) for part in parts if isinstance(part, OnTruss) and part.first is not None]
    if len(first) < 2:
        return {}
    chain = links.chain_of({part.truss.pk: part.truss for part, _ in first}.values())
    alone = consequences.analyses(step for _, found in first for step in found.steps)
    changes = [Wanted(part.truss, tuple(part.asks[0].copies), found.document, found.analysis) for part, found in first]
    worked = consequences.follow(chain, changes, consequences.stored_or(alone, consequences.anew))
    return {sha: analysis for sha, analysis in consequences.analyses(worked.steps).items() if sha not in alone}


def _answer(asks: Sequence[Ask], case: Case) -> Answered:
    return HERE[HERE[asks[0].kind].ANSWERED_AS].answer(case)


def _on_none(asks: list[Ask], told: Told, seconds: float) -> Part:
    """What concerns no mark has no options."""
    job = asks[0].request.job
    case = Case(job, [wish_of(ask) for ask in asks], partial(told, job.name), seconds)
    return Part(asks, HERE[asks[0].kind].answer(case))


def _on_truss(change: Request, asks: list[Ask], told: Told, seconds: float) -> OnTruss:
    # the revision of this moment; if another is issued before the decision, the request is computed again
    truss = Truss.objects.select_related("current", "job").get(pk=asks[0].on_truss.pk)
    for ask in asks:
        ask.truss = truss
    revision = truss.current
    if asks[0].kind in Kind.as_built():
        # copies that went from the set meanwhile have none recorded: what was told of them is answered as it was told
        built = as_built.revisions(truss, asks[0].copies)
        revision = built[0][0] if built else asks[0].revision or revision
    chain = links.chain_of([truss])
    said = surroundings.of_mark(truss)
    case = Case(
        job=truss.job,
        wishes=[wish_of(ask) for ask in asks],
        tell=partial(told, truss.mark),
        seconds=seconds,
        truss=truss,
        document=revision.document,
        before=surroundings.before(revision, said),
        judge=partial(judged, chain, truss, tuple(asks[0].copies), verdicts.known(truss)),
        surroundings=said,
        revision=revision,
    )
    found = _answer(asks, case)
    wanted = [
        replace(wish, opening=each.opening) if each.opening else wish
        for wish, each in zip(case.wishes, found.answers, strict=True)
    ]
    redrawn, lost = _redrawn(change, replace(case, wishes=wanted)) if HERE[asks[0].kind].DESIGNS else ([], [])
    return OnTruss(asks, found, case, truss, revision, chain, redrawn, lost)


def _redrawn(change: Request, case: Case) -> tuple[list[tuple[Option, Found]], list[Titled]]:
    """The options that designers drew for the copies of a case, each as it would be on today's revision, computed; and
    the titles of those that don't hold what is asked now. An opening that was approved since is written in."""
    kept, lost = [], []
    copies = case.wishes[0].copies
    drawn_ones = change.options.filter(truss=case.truss, drawn_by__isnull=False, redrawn=None)
    for option in drawn_ones.select_related("revision", "truss").order_by("rank", "id"):
        if tuple(option.copies) != copies or _turned_since(option):
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
        barred = held_down(found, case.document, [wish.kind for wish in case.wishes], case.surroundings)
        kept.append((option, case.judge(barred)))
    return kept, lost


def _turned_since(option: Option) -> bool:
    """Whether some of its copies were turned end for end since it was drawn: it is drawn the other way round."""
    turns = [turn for turn in turns_of([root(option.truss)]) if turn.at > option.created_at]
    return any(sum(turn.number == number for turn in turns) % 2 for number in option.copies)


def held_down(found: Found, before: dict[str, Any], kinds: Iterable[str], said: Surroundings) -> Found:
    """A drawn option, barred where a weight that was asked for would hold it down against wind, or is what makes it
    pass."""
    if Kind.LOAD not in kinds or found.analysis is None:
        return found
    bars = counted_on(before, found.document, found.analysis, said)
    return replace(found, bars=[*found.bars, *bars], told=[*bars, *found.told], passes=found.passes and not bars)


def judged(chain: links.Chain, truss: Truss, copies: tuple[int, ...], known: Known, found: Found) -> Found:
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
    joins, basis = worked.joins, worked.basis_with({truss.mark: found.document})
    return replace(found, steps=worked.steps, passes=passes, told=told, joins=joins, basis=basis)


def _part(tell: Tell, i: int, of: int, mark: str, fraction: float, doing: Coded) -> None:
    tell((i + fraction) / of, coded("for-a-mark", mark=mark, doing=doing))
