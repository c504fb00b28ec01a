"""A request's sections, read together: each truss's copies with what was asked of them and the options for it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from django.db.models import Exists, OuterRef, Prefetch

from changes.asks.pending import by_the_drawing_of, pending
from changes.models import Ask, Consequence, Issue, Kind, Option, Request, State
from changes.pages.section import Section
from trusses.bearings import links
from trusses.forms import number_of
from trusses.models import CHANGEABLE_STAGES, Copy, PlateTable, Truss
from trusses.sheets import pricing

_CONSEQUENCES = Prefetch(
    "consequences",
    Consequence.objects.select_related("carrier", "revision").defer(
        "analysis", "revision__document", "revision__analysis"
    ),
)


def sections(
    change: Request,
    chosen: Iterable[str] = (),
    asks: Sequence[Ask] | None = None,
    approved: Collection[int | None] | None = None,
) -> list[Section]:
    """`asks` where they are fetched already, with their trusses and revisions, and the options that were `approved`."""
    if asks is None:
        asks = list(change.asks.filter(replaced=False).select_related("truss__job", "revision"))
    asks = [ask for ask in asks if ask.truss]
    options = list(change.options.filter(stale=False).select_related("drawn_by").prefetch_related(_CONSEQUENCES))
    # documents and analyses are large: each is read once, whatever else is of the same revision
    trusses = {truss.pk: truss for ask in asks if (truss := ask.truss)}
    revisions = {ask.revision_id: ask.revision for ask in asks}
    one: Ask | Option
    for one in [*asks, *options]:  # type: ignore[assignment]
        one.truss = trusses.get(one.truss_id or 0) or one.truss
        one.revision = revisions.get(one.revision_id) or one.revision
    for truss in trusses.values():
        truss.current = revisions.get(truss.current_id or 0) or truss.current
    wanted = {number_of(pk) for pk in chosen}
    if approved is None:
        issues = Issue.objects.filter(decision__request=change).values_list("option", flat=True)
        approved = set(issues) if change.state == State.APPROVED else set()
    issued = {(option.truss_id, tuple(option.copies)): option for option in options if option.pk in approved}
    rates = pricing.rates_of(change.job)
    table = PlateTable.of_job(change.job) if getattr(change, "has_plates", True) else None
    # a decided request is told as it was decided
    others = pending(trusses, but=change) if change.is_open else {}
    links.chains_of(trusses.values())  # on a page, what each section looks at is read together
    told = []
    every: dict[int, dict[int, str]] = {}
    kin: dict[int, bool] = {}
    rows = Copy.objects.filter(truss__in=trusses).annotate(
        kin=Exists(Truss.objects.filter(variant_of=OuterRef("truss")))
    )
    for pk, number, stage, kin[pk] in rows.values_list("truss", "number", "stage", "kin"):
        every.setdefault(pk, {})[number] = stage
    groups: dict[tuple[int, tuple[int, ...], bool], list[Ask]] = {}
    for ask in asks:
        groups.setdefault((ask.truss_id or 0, tuple(ask.copies), ask.kind in Kind.as_built()), []).append(ask)
    for (pk, copies, as_built), asked in groups.items():
        own = [option for option in options if (option.truss_id, tuple(option.copies), as_built) == (pk, copies, False)]
        done = issued.get((pk, copies))
        # what stands elsewhere than asked is on show only where somebody looks at it
        usual = done or next((option for option in own if not option.elsewhere), None)
        picked = next((option for option in own if option.pk in wanted), usual)
        # what others ask of the mark isn't in a truss as it was built
        beside = [] if as_built else [one for one in others.get(pk, ()) if set(one.copies) & set(copies)]
        beside = by_the_drawing_of(asked[0], beside)
        stages = every.get(pk, {})
        whole = not copies or set(copies) >= stages.keys()
        cut = [number for number in copies if stages.get(number, "") not in CHANGEABLE_STAGES]
        family = bool(trusses[pk].variant_of_id or kin.get(pk))
        told.append(
            Section(trusses[pk], list(copies), asked, own, picked, rates, done, table, beside, whole, family, cut)
        )
    return told
