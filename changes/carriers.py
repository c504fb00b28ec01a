"""What options make of the marks that carry their trusses: worked out by the worker for each option, and once more for
exactly what is chosen when it is decided."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from changes.models import Consequence, Option, Request
from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.analysis.format.document import sha256
from trusses.analysis.load_path.chain import Step
from trusses.analysis.words import checks
from trusses.bearings import links
from trusses.models import CHANGEABLE_STAGES, BearingLink, Copy, Job, Truss


@dataclass(frozen=True)
class Worked:
    """One walk up the chain: what it read, and what it makes of each carrier, in the order of the chain."""

    chain: links.Chain
    steps: tuple[Step, ...] = ()

    @property
    def carriers(self) -> dict[int, Step]:
        return {self.chain.trusses[step.carrier].pk: step for step in self.steps}

    def rows(self, option: Option | None) -> list[Consequence]:
        """The steps as rows of an option, not written yet."""
        return [_row(option, self.chain.trusses[step.carrier], place, step) for place, step in enumerate(self.steps)]


def follow(chain: links.Chain, changes: Mapping[str, tuple[dict[str, Any], dict[str, Any] | None]]) -> Worked:
    """What documents with their analyses, by mark, make of their carriers; what isn't analysed makes nothing."""
    known = {mark: (document, analysis) for mark, (document, analysis) in changes.items() if analysis is not None}
    return Worked(chain, tuple(chain.follow(known)) if chain.links else ())


def together(options: Iterable[Option]) -> Worked:
    """What these options do at once to the current revisions of their carriers."""
    chosen = {option.truss.mark: option for option in options}
    chain = links.chain_of([option.truss for option in chosen.values()])
    return follow(chain, {mark: (option.document, option.analysis) for mark, option in chosen.items()})


def failing(step: Step) -> list[dict[str, Any]]:
    """A step's failing checks, the worst first."""
    checks = step.analysis["checks"] if step.analysis else []
    return sorted((check for check in checks if not check["passes"]), key=lambda check: -check["ratio"])


def stops(step: Step) -> str:
    """Why nobody can approve what makes this step: one sentence; empty where nothing stops it."""
    if step.trouble:
        return f"What that does to {step.carrier}, which carries {_on(step)}, can't be worked out: {step.trouble}"
    worst = next((check for check in failing(step) if check["rule"] not in SERVICEABILITY), None)
    if worst is None:
        return ""
    return (
        f"{step.carrier}, which carries {_on(step)}: {checks.rule_of(worst)} fails at"
        f" {worst['ratio']:.2f} of what is allowed ({worst['combination']}); nobody can accept that."
    )


def _on(step: Step) -> str:
    return " and ".join(step.because)


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
        findings=[
            *({"code": found.code, "values": dict(found.values)} for found in step.findings),
            *_cut(carrier, step.because),
        ],
        trouble=step.trouble,
    )


def _cut(carrier: Truss, because: Sequence[str]) -> list[dict[str, Any]]:
    """Copies that can't follow the change keep putting there what they were built for."""
    rows = Copy.objects.filter(truss__job=carrier.job_id, truss__mark__in=because)
    cut = rows.exclude(stage__in=CHANGEABLE_STAGES).values_list("truss__mark", "number").order_by("truss", "number")
    numbers: dict[str, list[int]] = {}
    for mark, number in cut:
        numbers.setdefault(mark, []).append(number)
    return [{"code": "cut-copies", "values": {"mark": mark, "numbers": those}} for mark, those in numbers.items()]


def moved_below(change: Request) -> list[str]:
    """The marks whose options were followed up a chain that isn't there any more: another link, another place in plan
    or another revision of a carrier. Such a request is computed again before it is approved."""
    if not change.is_open:
        return []
    return sorted(_moved_below([change]).get(change.pk, ()))


def stale(changes: Iterable[Request]) -> dict[int, list[str]]:
    """{request: its marks that got a new revision since, or that stand on something else now}, of open requests whose
    asks are fetched already."""
    waiting = [change for change in changes if change.is_open]
    moved = _moved_below(waiting)
    found = {}
    for change in waiting:
        asks = [ask for ask in change.asks.all() if not ask.replaced]
        overtaken = {ask.truss.mark for ask in asks if ask.revision_id != ask.truss.current_id}
        if marks := overtaken | moved.get(change.pk, set()):
            found[change.pk] = sorted(marks)
    return found


def _moved_below(changes: Sequence[Request]) -> dict[int, set[str]]:
    """{request: the marks whose options rest on another basis than today's}. Each mark's chain is read once, and only
    where anything was ever said that an option could rest on."""
    rows = Option.objects.filter(request__in=changes, stale=False).exclude(analysis=None)
    rows = rows.select_related("truss__job", "truss__current")
    rows = rows.defer("analysis", "comparison", "truss__current__analysis")
    jobs = {change.job_id for change in changes}
    said = (
        Job.objects.filter(pk__in=jobs).exclude(sheathing_km=None).exists()
        or BearingLink.objects.filter(truss__job__in=jobs).exists()
    )
    if not said:
        rows = rows.exclude(basis="")
    chains: dict[int, links.Chain] = {}
    found: dict[int, set[str]] = {}
    for option in rows:
        if option.truss_id not in chains:
            chains[option.truss_id] = links.chain_of([option.truss])
        mark = option.truss.mark
        if option.basis != chains[option.truss_id].basis_with({mark: option.document}):
            found.setdefault(option.request_id, set()).add(mark)
    return found
