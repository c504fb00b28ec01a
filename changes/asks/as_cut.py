"""Copies that are cut already where a run crosses them. A run changes none of them: it goes through one as that was
built, or it is asked without that one, which whoever asks says by name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any, NamedTuple

from django.db.models import Q

from changes.asks.as_built import decided_of, last_told, said_none
from changes.asks.holding import DAMAGED, FITS, IN_ITS_WAY, TAKEN, Holds, beside, filled, holds, others
from changes.asks.wishes import Document, Wish
from changes.models import Ask, Kind, Run, State
from changes.refusals import Refused
from trusses.analysis.runs.crossing import Crossing
from trusses.analysis.words.given import brief
from trusses.models import Job, MarkEvent, Truss
from trusses.plan.copies import Stands, standing
from trusses.variants.homes import root


class AsCut(NamedTuple):
    """A crossing of a cut copy; `how` as `holding` has it, read from the revision that it was built to, and what
    `holds` the place where that is taken."""

    letter: str
    met: Crossing
    stands: Stands
    how: str
    holds: Holds | None = None

    @property
    def name(self) -> str:
        return self.stands.name

    @property
    def fits(self) -> bool:
        return self.how == FITS


def as_cut(
    job: Job,
    level: str,
    met: Iterable[tuple[str, Crossing]],
    *,
    asked: Run | None = None,
    instead: Run | None = None,
    before: Sequence[Wish] = (),
) -> list[AsCut]:
    """Those of a run's crossings that are of cut copies, in the order of its path. A copy that it crosses twice and
    doesn't get through once it doesn't get through. `asked`: the run itself, where it was asked for already; `instead`:
    the run that it takes the place of; `before`: what was read before it in its request."""
    cut = {one.name: one for one in standing(job)[level] if one.copy and not one.can_change}
    those = [(letter, one, cut[one.stood.name]) for letter, one in met if one.stood.name in cut]
    if not those:
        return []
    trusses = {stands.truss for *_, stands in those}
    harmed = told_damaged(trusses)
    stuck = {stands.name for _, one, stands in those if one.verdict != "fits"}
    runs = [*others(job, level, asked, instead), *beside(before, level)]
    taken = holds([(stands.truss, one) for _, one, stands in those], runs, filled(trusses))
    by = {those[i][2].name: held for i, held in taken.items()}
    found = []
    for letter, one, stands in those:
        how = _how(stands.name in stuck, (stands.truss, stands.number) in harmed, stands.name in by)
        found.append(AsCut(letter, one, stands, how, by.get(stands.name) if how == TAKEN else None))
    return found


def _how(stuck: bool, harmed: bool, taken: bool) -> str:
    return DAMAGED if harmed else IN_ITS_WAY if stuck else TAKEN if taken else FITS


def told_damaged(trusses: Iterable[int]) -> set[tuple[int, int]]:
    """(truss, number) of copies that damage was told of, whatever a repair made of it: that puts wood where the drawing
    has none. What was made anew since is other wood, and what a decision says is no damage put none there. Copies keep
    their number in all of a mark's variants."""
    roots = {pk: of or pk for pk, of in Truss.objects.filter(pk__in=trusses).values_list("pk", "variant_of")}
    kin = Q(truss__in=roots.values()) | Q(truss__variant_of__in=roots.values())
    rows = Ask.objects.filter(kin, kind=Kind.DAMAGE).exclude(request__state__in=(State.WITHDRAWN, State.DECLINED))
    told = list(rows.select_related("truss", "request"))
    none = said_none(told, decided_of(told)) if any(ask.replaced for ask in told) else ()
    told = [ask for ask in told if ask.pk not in none]
    if not told:
        return set()
    at_last = last_told(told)
    anew: dict[tuple[int, int], datetime] = {}
    events = MarkEvent.objects.filter(kin, code=MarkEvent.Code.ANEW).order_by("at")
    for pk, of, values, at in events.values_list("truss", "truss__variant_of", "values", "at"):
        anew |= {(of or pk, number): at for number in values["copies"]}
    each = [(root(ask.on_truss), number, at_last[ask.pk]) for ask in told for number in ask.copies]
    harmed = {(of, number) for of, number, at in each if (of, number) not in anew or anew[of, number] < at}
    return {(pk, number) for pk, own in roots.items() for of, number in harmed if of == own}


def made_anew(job: Job, level: str, rows: Iterable[Mapping[str, Any]]) -> dict[str, list[int]]:
    """{mark: copies} of those that a run goes through as they were built, by its rows (`recorded`), which don't stand
    on its level cut, or built to that revision, any more."""
    fits = [row for row in rows if row["how"] == FITS]
    if not fits:
        return {}
    roots = {one.pk: root(one) for one in Truss.objects.filter(job=job).only("variant_of")}
    stand = [one for one in standing(job).get(level, ()) if one.copy and not one.can_change]
    there = {(roots[one.truss], one.number, one.sha256) for one in stand}
    found: dict[str, list[int]] = {}
    for row in fits:
        gone = [one for one in row["copies"] if (roots.get(row["truss"]), one, row["sha256"]) not in there]
        if gone:
            found.setdefault(row["mark"], []).extend(gone)
    return found


def read_without(ask: Mapping[str, Any], those: Sequence[AsCut], at: str, within: str) -> None:
    """Raises Refused where the run doesn't get through a cut copy that `without` doesn't name, or where that names
    another than such a copy: only what was seen is left out."""
    without = ask.get("without", [])
    if not isinstance(without, list) or not all(isinstance(name, str) for name in without):
        raise Refused("run-without", "asks", f"{at}.without", given=brief(without))
    stuck = [one for one in those if not one.fits]
    for name in without:
        if all(name != one.name for one in stuck):
            raise Refused("run-without-other", "asks", f"{at}.without", given=brief(name))
    if left := [one.stands for one in stuck if one.name not in without]:
        first = next(one for one in stuck if one.stands == left[0])
        copies = sorted({one.number for one in left if one.truss == left[0].truss})
        raise Refused("run-in-cut", "asks", f"{within} ({left[0].mark})", copies=copies, **why_not(first))


def why_not(one: AsCut) -> dict[str, Any]:
    """Why a run doesn't get through a copy, as refusals tell it."""
    held = one.holds._asdict() if one.holds else {}
    return {"mark": one.stands.mark, "how": one.how, **held}


def recorded(those: Iterable[AsCut]) -> list[Document]:
    """What is written down with the run: through which copies it goes as they were built and which it doesn't get
    through, by mark and revision, in the order of its path."""
    found: dict[tuple[int, str, str, Holds | None], Document] = {}
    for one in those:
        stands = one.stands
        row = found.setdefault(
            (stands.truss, stands.sha256, one.how, one.holds),
            {
                "truss": stands.truss,
                "mark": stands.mark,
                "revision": stands.built_to,
                "sha256": stands.sha256,
                "how": one.how,
                **({"holds": one.holds._asdict()} if one.holds else {}),
                "copies": [],
                "crossings": [],
            },
        )
        row["copies"] = sorted({*row["copies"], stands.number})
        opening = one.met.opening
        row["crossings"].append(
            {
                "letter": one.letter,
                "copy": stands.number,
                "at_in": [round(each, 4) for each in one.met.place_in],
                "centre_in": [round(each, 4) for each in opening.centre],
                "spare_in": round(one.met.fit.spare_in, 4),
            }
        )
    return list(found.values())
