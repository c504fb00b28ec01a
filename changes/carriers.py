"""What options make of the marks that carry their trusses: worked out by the worker for each option, and once more for
exactly what is chosen when it is decided."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from changes.models import Consequence, Option, Request, Together
from changes.refusals import Refused
from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.analysis.checks.surroundings import Surroundings
from trusses.analysis.format.document import canonical, sha256
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.load_path import chain as core
from trusses.analysis.load_path.chain import Step
from trusses.analysis.load_path.landing import CarryingError
from trusses.analysis.piece_names import told
from trusses.analysis.words import checks
from trusses.bearings import links
from trusses.job.surroundings import still_told
from trusses.models import Truss
from trusses.refusals import because
from trusses.variants import following
from trusses.variants.homes import Home, Wanted, homes, joins_alone, root


@dataclass(frozen=True)
class Worked:
    """One walk up the chain: what it read, and what it makes of each carrier, in the order of the chain."""

    chain: links.Chain
    steps: tuple[Step, ...] = ()
    homes: tuple[Home, ...] = ()
    trouble: Refused | None = None
    """Why it can't be told what its copies put where."""

    @property
    def joins(self) -> tuple[int, ...]:
        """The marks that copies join, by id, where anything stands on others."""
        return tuple(sorted({home.to.pk for home in self.homes if home.to is not None})) if self.chain.links else ()

    def basis_with(self, options: Mapping[str, dict[str, Any]]) -> str:
        return basis_with(self.chain, self.joins, options)

    @property
    def carriers(self) -> dict[int, Step]:
        return {self.chain.trusses[step.carrier].pk: step for step in self.steps if step.carrier in self.chain.trusses}

    @property
    def becoming(self) -> dict[str, Step]:
        """The steps of carriers that are split off by the same designs, by the mark that they get: their first revision
        has what stands on them then."""
        return {step.carrier: step for step in self.steps if step.carrier not in self.chain.trusses}

    def rows(self, option: Option | None) -> list[Consequence]:
        """The steps as rows of an option, not written yet."""
        return [_row(option, self._truss(step.carrier), place, step) for place, step in enumerate(self.steps)]

    def _truss(self, mark: str) -> Truss:
        """The mark of that name; of a variant to come, unsaved, with the revision that it comes from."""
        if mark in self.chain.trusses:
            return self.chain.trusses[mark]
        parent = next(home.truss for home in self.homes if home.mark == mark)
        return Truss(pk=parent.pk, job=parent.job, mark=mark, current=parent.current)


def basis_with(chain: links.Chain, joins: Collection[int], options: Mapping[str, dict[str, Any]]) -> str:
    """What was followed up a chain, with the designs of the marks that copies join there; SHA-256."""
    basis = chain.basis_with(options)
    if not joins:
        return basis
    designs = sorted([truss.pk, truss.current_id] for truss in chain.trusses.values() if truss.pk in joins)
    return hashlib.sha256(canonical({"basis": basis, "joins": designs})).hexdigest()


def basis_of(option: Option) -> str:
    """The same of an option, as the set is today."""
    chain = links.chain_of([option.truss, *_joined([option])])
    return basis_with(chain, option.joins, {option.truss.mark: option.document})


def _joined(options: Iterable[Option]) -> list[Truss]:
    pks = {pk for option in options for pk in option.joins}
    return list(Truss.objects.filter(pk__in=pks).select_related("current", "job")) if pks else []


def follow(chain: links.Chain, wanted: Sequence[Wanted], analysed: core.Analysed = core.anew) -> Worked:
    """Where copies go with these designs, and what that makes of their carriers."""
    there = tuple(homes(wanted))
    chain = following.with_joined(chain, there)
    try:
        following.refuse_unlike(there)
        steps = tuple(following.follow(chain, there, analysed))
    except CarryingError as trouble:
        return Worked(chain, (), there, Refused("because", "options", why=because(trouble)))
    return Worked(chain, steps, there)


class NotWorkedOut(LookupError):
    """What options make of a carrier together was not analysed yet, and not here. `carrier` is its mark."""

    def __init__(self, carrier: str) -> None:
        super().__init__(carrier)
        self.carrier = carrier


def not_here(carrier: Design, told: Surroundings) -> dict[str, Any]:
    """No analysis in the process that serves pages: raises NotWorkedOut."""
    raise NotWorkedOut(carrier.mark)


anew = core.anew


def stored_or(stored: Mapping[str, dict[str, Any]], otherwise: core.Analysed) -> core.Analysed:
    """The analysis that is stored for a carrier's document, by its SHA-256, else what `otherwise` gives."""

    def analysed(carrier: Design, told: Surroundings) -> dict[str, Any]:
        found = stored.get(sha256(carrier.document))
        if found is not None and still_told(found, carrier.document, told):
            return found
        return otherwise(carrier, told)

    return analysed


def analyses(steps: Iterable[Step]) -> dict[str, dict[str, Any]]:
    """{SHA-256 of a carrier's document: its analysis document}."""
    return {sha256(step.document): step.analysis for step in steps if step.document and step.analysis}


def together(options: Iterable[Option], otherwise: core.Analysed = not_here) -> Worked:
    """What these options do at once to the current revisions of their carriers.

    A carrier that comes out as the worker worked it out has the analysis that is stored. Several options that load one
    make another one; where the worker hasn't analysed that, `otherwise` does, or raises NotWorkedOut.
    """
    # in the order in which a decision takes them: variants to come are named in it
    chosen = sorted(options, key=lambda option: option.pk)
    chain = links.chain_of({option.truss_id: option.truss for option in chosen}.values())
    stored: dict[str, Any] = {}
    if chain.links:
        rows = Consequence.objects.filter(option__in=chosen).exclude(analysis=None)
        stored |= dict(rows.values_list("sha256", "analysis"))
        if len(chosen) > 1:
            requests = {option.request_id for option in chosen}
            for found in Together.objects.filter(request__in=requests).values_list("analyses", flat=True):
                stored |= found
    return follow(chain, [wanted(option) for option in chosen], stored_or(stored, otherwise))


def wanted(option: Option) -> Wanted:
    return Wanted(option.truss, tuple(option.copies), option.document, option.analysis)


def failing(step: Step) -> list[dict[str, Any]]:
    """A step's failing checks, the worst first."""
    checks = step.analysis["checks"] if step.analysis else []
    return sorted((check for check in checks if not check["passes"]), key=lambda check: -check["ratio"])


def stops(step: Step) -> Refused | None:
    """Why nobody can approve what makes this step; None where nothing stops it."""
    about = {"carrier": step.carrier, "because": list(step.because)}
    if step.trouble:
        return Refused("carrier-unknown", "options", **about, why=step.trouble)
    worst = next((check for check in failing(step) if check["rule"] not in SERVICEABILITY), None)
    if worst is None:
        return None
    return Refused("carrier-fails", "options", **about, **told(step.document, worst))


def _row(option: Option | None, carrier: Truss, place: int, step: Step) -> Consequence:
    return Consequence(
        option=option,
        carrier=carrier,
        revision=carrier.current,
        place=place,
        because=list(step.because),
        document=step.document,
        sha256=sha256(step.document) if step.document else "",
        analysis=step.analysis,
        comparison=step.comparison,
        fails=[checks.short(check) for check in failing(step)],
        findings=[{"code": found.code, "values": dict(found.values)} for found in step.findings],
        trouble=step.trouble,
    )


def moved_below(change: Request) -> list[str]:
    """The marks whose options were followed up a chain that isn't there any more: another link, another place in plan
    or another revision of a carrier. Such a request is computed again before it is approved."""
    return moved_of(change, _followed([change])) if change.is_open else []


def moved_of(change: Request, options: Iterable[Option]) -> list[str]:
    """The same of options that are fetched already, with their trusses and these' current revisions."""
    return sorted(_moved(options).get(change.pk, ())) if change.is_open else []


def stale(changes: Iterable[Request]) -> dict[int, list[str]]:
    """{request: its marks that got a new revision since, or that stand on something else now}, of open requests whose
    asks are fetched already."""
    waiting = [change for change in changes if change.is_open]
    moved = _moved(_followed(waiting))
    found = {}
    for change in waiting:
        asks = [ask for ask in change.asks.all() if not ask.replaced]
        overtaken = {ask.truss.mark for ask in asks if ask.truss and ask.overtaken}
        if marks := overtaken | moved.get(change.pk, set()):
            found[change.pk] = sorted(marks)
    return found


def _followed(changes: Sequence[Request]) -> QuerySet[Option]:
    """The options of requests that were worked out. Their documents, which are large, are read where they matter."""
    rows = Option.objects.filter(request__in=changes, stale=False).exclude(analysis=None)
    large = ("document", "analysis", "comparison", "truss__current__document", "truss__current__analysis")
    return rows.select_related("truss__current").defer(*large)


def _moved(options: Iterable[Option]) -> dict[int, set[str]]:
    """{request: the marks whose options rest on another basis than today's, or whose copies would join another mark by
    now}. Their chains are read together."""
    rows = list(options)
    chains = links.chains_of([option.truss for option in rows if not option.joins])
    found: dict[int, set[str]] = {}
    same = []
    for option in rows:
        if option.joins:
            moved = option.basis != basis_of(option)
        else:
            chain, mark = chains[option.truss_id], option.truss.mark
            # only sheathing asks what the option is made of
            document = option.document if chain.told[mark].km is not None else {}
            moved = option.basis != chain.basis_with({mark: document})
        if moved:
            found.setdefault(option.request_id, set()).add(option.truss.mark)
        elif option.joins or chains[option.truss_id].links:
            same.append(option)
    for option in joining_others(same):
        found.setdefault(option.request_id, set()).add(option.truss.mark)
    return found


def joining_others(options: Sequence[Option]) -> list[Option]:
    """Of options for marks that stand on others, those whose copies would join a mark that wasn't followed for them:
    another of the family became alike since."""
    roots = {root(option.truss) for option in options}
    parted = set(Truss.objects.filter(variant_of__in=roots).values_list("variant_of", flat=True)) if roots else set()
    kin = [option for option in options if root(option.truss) in parted]
    if not kin:
        return []
    documents = dict(Option.objects.filter(pk__in=[option.pk for option in kin]).values_list("pk", "document"))
    joins = joins_alone([Wanted(one.truss, tuple(one.copies), documents[one.pk], None) for one in kin])
    return [one for one, to in zip(kin, joins, strict=True) if to is not None and to.pk not in one.joins]
