"""Where the copies of a mark are in production, and moving them on. Who may move which is in `permissions`."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction
from django.db.models import Count
from django.http import Http404

from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.analysis.piece_names import told
from trusses.bearings.standing import carried
from trusses.models import CHANGEABLE_STAGES, STAGE_ORDER, Copy, MarkEvent, Revision, Stage, Truss
from trusses.permissions import STAGE_MOVES, role_in
from trusses.plan import on_walls
from trusses.plan.shown import elsewhere
from trusses.refusals import NotAllowed, Refused
from trusses.sealing.seals import asked, seals_of
from trusses.verdicts import builds

FOUND_FIELDS = {Stage.DELIVERED: "found_at_delivery", Stage.SET: "found_at_setting"}
"""Where what was found is kept, by the stage that is ticked."""

_HEAVY = ("released_to__document", "released_to__analysis", "built_to__document", "built_to__analysis")


@dataclass(frozen=True)
class KeptOff:
    """Copies of one mark that aren't cut or set, and why. `harm`: their wood is hurt; `at` is where that is told.
    `asks`: they are set once whoever sets them says by name that the designer was asked first."""

    copies: Sequence[Copy]
    why: Refused
    harm: bool = False
    asks: bool = False
    at: str = ""
    what: Callable[[], str] = str
    """What is wrong with their wood, such as W1 bowed; asked by who tells it, since it reads a document."""


@dataclass(frozen=True)
class AskedFirst:
    """What a designer was asked before copies are set on a wall that moves: what was said, what was told of the walls
    then (None where that isn't known), and the numbers of the copies that it is `of`."""

    says: str = ""
    about: Collection[str] | None = None
    of: set[int] = field(default_factory=set)

    def lifts(self, one: KeptOff) -> bool:
        return one.asks and bool(self.says) and (self.about is None or one.why.values["does"] in self.about)


before_cut: list[Callable[[Sequence[Copy]], Iterable[KeptOff]]] = []
"""What may keep the saw waiting: each is asked with copies of one job that are about to be cut, and answers with those
that wait. Other apps add theirs when they start; this one imports none of them."""


@dataclass(frozen=True)
class Open:
    """Something that is open still, in words, and the address where it is read or seen to."""

    says: str
    at: str


open_on: list[Callable[[Sequence[Copy]], Mapping[int, Sequence[Open]]]] = []
"""What is asked of copies of one job, by their ids, which whoever moves them on sees first; a copy of which nothing is
lacks."""
before_set: list[Callable[[Sequence[Copy]], Iterable[KeptOff]]] = []
"""What may keep copies of a job from being set: each is asked with those of whichever marks that may be, and answers
with those that it keeps off."""


def what_is_open(copies: Sequence[Copy]) -> dict[int, list[Open]]:
    found: dict[int, list[Open]] = {}
    for ask in open_on:
        for pk, those in ask(copies).items():
            found.setdefault(pk, []).extend(those)
    return found


def stage_counts(trusses: Iterable[Truss]) -> dict[int, dict[str, int]]:
    """How many copies of each mark are in each stage, by the mark's id and in the stages' order; one query."""
    marks = [truss.pk for truss in trusses]
    rows = Copy.objects.filter(truss__in=marks).order_by().values_list("truss", "stage").annotate(n=Count("pk"))
    counted = {(truss, stage): n for truss, stage, n in rows}
    return {mark: {stage: counted[mark, stage] for stage in STAGE_ORDER if (mark, stage) in counted} for mark in marks}


def all_cut(stages: Iterable[str]) -> bool:
    """Whether none of the copies in these stages takes an ordinary change any more; no copies are never all cut."""
    stages = list(stages)
    return bool(stages) and not any(stage in CHANGEABLE_STAGES for stage in stages)


def furthest_behind(counts: Mapping[str, int]) -> str:
    """The stage of the copy that is furthest behind; a mark without copies is still being designed."""
    return min(counts, key=STAGE_ORDER.__getitem__, default=Stage.DESIGNING.value)


def never(revision: Revision) -> dict[str, Any] | None:
    """The worst check of strength, stability or bearing that a revision fails: nothing is built from it, whoever says
    so. None where it fails none."""
    failing = [c for c in revision.analysis["checks"] if not c["passes"] and c["rule"] not in SERVICEABILITY]
    return max(failing, key=lambda check: check["ratio"], default=None)


def move(
    user: Any,
    truss: Truss,
    copies: Iterable[int],
    to: str,
    *,
    found: str = "",
    seen: Revision | None = None,
    asked_first: str = "",
    asked_about: Collection[str] | None = None,
    shown: Mapping[int, str] | None = None,
) -> int:
    """Move copies (by id) of one mark on to the stage `to`; answers how many moved, and writes who did it and when.

    Copies that are there already, or further, stay as they are: a second tick is harmless, and refused only where none
    moves and something else was found. `found` is kept for the copies that move. `asked_first` is which designer was
    asked before copies are set on a wall that moves, and what was said; `asked_about` what was told then of the walls,
    each as the refusal's `does`: what came since is asked about anew. `shown` is where whoever sets copies was shown
    that they stand (`plan.shown.places`): what stands elsewhere by now isn't set. `seen` is the revision that whoever
    releases or cuts has in front of them: where another one is current, nothing moves. Copies that were released to an
    earlier revision are released to the current one by an act of its own, which has to name it: `to` is `released` once
    more, with `seen`. The saw cuts to no revision but the one that a copy is released to. Raises NotAllowed, Http404
    for a copy that is not of this mark, Refused.
    """
    start = next((at for at, then in STAGE_MOVES if then == to), None)
    if start is None:
        raise Refused("no-such-stage", "to")
    role = STAGE_MOVES[start, Stage(to)]
    if role_in(user, truss.job) != role:
        raise NotAllowed("stage-role", role=role.label, to=to)
    longest = Copy._meta.get_field("found_at_delivery").max_length or 0
    if len(found) > longest:
        raise Refused("found-too-long", "found", most=longest, length=len(found))
    if len(asked_first) > longest:
        raise Refused("reason-long", "asked", "asked", most=longest, length=len(asked_first))
    wanted = set(copies)
    with transaction.atomic():
        # one at a time on a mark: another revision, or another hand, comes before or after this and not between
        current = Truss.objects.select_for_update(of=("self",)).select_related("current").get(pk=truss.pk)
        rows = list(
            current.copies.filter(pk__in=wanted).select_related("released_to__truss", "built_to").defer(*_HEAVY)
        )
        if not wanted or len(rows) != len(wanted):
            if wanted:
                raise Http404("Not found.")
            raise Refused("no-copy", "copies")
        refuse_early(rows, start, to)
        chosen = [copy for copy in rows if copy.stage == start]
        if to == Stage.RELEASED and seen is not None:
            chosen += [copy for copy in rows if copy.stage == to and copy.released_to_id != current.current_id]
        if not chosen:
            _refuse_late(rows, to, found, asked_first)
        if to == Stage.SET and shown and (moved := elsewhere(chosen, shown)):
            raise Refused("place-since", "copies", mark=current.mark, copies=[copy.number for copy in moved])
        asked = AskedFirst(asked_first, asked_about)
        return _move(user, current, chosen, start, Stage(to), found, seen, asked) if chosen else 0


def refuse_early(copies: Sequence[Copy], start: Stage, to: str) -> None:
    """Raises Refused where some of the copies are not as far yet as where a move starts."""
    early = [copy for copy in copies if STAGE_ORDER[copy.stage] < STAGE_ORDER[start]]
    if early:
        numbers = [copy.number for copy in early]
        raise Refused("too-early", "copies", copies=numbers, stage=early[0].stage, start=start.value, to=to)


def _refuse_late(copies: Sequence[Copy], to: str, found: str, asked_first: str) -> None:
    """What was found, and what a designer said, isn't lost where another hand moved the copies first, while a phone had
    no signal."""
    if asked_first and to == Stage.SET:
        numbers = {copy.number for copy in copies}
        moves = MarkEvent.objects.filter(truss=copies[0].truss, code=MarkEvent.Code.MOVED, values__asked=asked_first)
        told = {number for values in moves.values_list("values", flat=True) for number in values["copies"]}
        if late := sorted(numbers - told):
            raise Refused("asked-late", "asked", "asked", copies=late)
    kept = FOUND_FIELDS.get(Stage(to))
    if found and kept and (late := [copy.number for copy in copies if getattr(copy, kept) != found]):
        raise Refused("found-late", "found", copies=late, to=to)


def _move(
    user: Any,
    truss: Truss,
    copies: list[Copy],
    start: Stage,
    to: Stage,
    found: str,
    seen: Revision | None,
    asked_first: AskedFirst,
) -> int:
    current = truss.current
    change: dict[str, Any] = {"stage": to}
    if to in FOUND_FIELDS and found:
        change[FOUND_FIELDS[to]] = found
    if to in (Stage.RELEASED, Stage.CUT):
        if truss.withdrawn_at is not None:
            raise Refused("withdrawn", "copies", mark=truss.mark)
        if seen is not None and seen != current:
            raise Refused("newer-revision", mark=truss.mark)
        _refuse_never(truss, current, to)
    if to == Stage.RELEASED:
        change["released_to"] = current
    if to == Stage.CUT:
        _refuse_released_to_another(truss, copies)
        _refuse_waiting(truss, copies)
        change["built_to"] = current
    if to == Stage.SET:
        for one in kept_off(copies):
            if not asked_first.lifts(one):
                raise one.why
            asked_first.of.update(copy.number for copy in one.copies)
    unsealed = sorted(copy.number for copy in without_seal(copies, to))
    if unsealed and to == Stage.CUT and asked(truss.job).blocks:
        raise _not_sealed(truss, unsealed, to)
    if to == Stage.BUILT:
        for revision in truss.revisions.filter(pk__in={copy.built_to_id for copy in copies}):
            _refuse_never(truss, revision, to)
    return _write(user, truss, copies, change, to, found, unsealed, asked_first)


def without_seal(copies: Sequence[Copy], to: str) -> list[Copy]:
    """The copies of one job that are about to be cut or set to a revision of which no sealed drawing lets them be
    built; those of another mark than theirs let none."""
    if to == Stage.CUT:
        at = {copy.pk: copy.released_to_id for copy in copies}
    elif to == Stage.SET:
        at = {copy.pk: copy.built_to_id for copy in copies}
    else:
        return []
    # whatever has none is told apart at once: the others' verdicts are read one by one
    seals = seals_of(copies[0].truss.job, {pk for pk in at.values() if pk}) if copies else {}
    counting = Revision.objects.filter(pk__in=[pk for pk, seal in seals.items() if seal.counts])
    rows = counting.select_related("truss__job", "truss__current") if seals else ()
    sealed = {(revision.truss_id, revision.pk) for revision in rows if builds(revision)}
    return [copy for copy in copies if (copy.truss_id, at[copy.pk]) not in sealed]


def kept_off(copies: Sequence[Copy]) -> Iterator[KeptOff]:
    """Everything that keeps copies of one job from being set, whoever would set them; a copy may be named again."""
    if not copies:
        return
    for ask in before_set:
        yield from ask(copies)
    marks: dict[Truss, list[Copy]] = {}
    for copy in copies:
        marks.setdefault(copy.truss, []).append(copy)
    if asked(copies[0].truss.job).blocks:
        bare = set(without_seal(copies, Stage.SET))
        for truss, those in marks.items():
            if lacks := [copy for copy in those if copy in bare]:
                yield KeptOff(lacks, _not_sealed(truss, sorted(copy.number for copy in lacks), Stage.SET))
    for truss, those in marks.items():
        if waits := unsaid(truss, those):
            yield KeptOff(waits, _unsaid(truss, waits))
    # last, so that nobody is asked for a word who is refused for something else then
    for under in on_walls.under_copies(copies):
        numbers = [copy.number for copy in under.copies]
        about = {"mark": under.mark, "copies": numbers, "does": under.does}
        if under.comes:
            why = Refused("wall-comes", "asked", "asked", **about)
        else:
            why = Refused("wall-moves", "asked", "asked", **about)
        yield KeptOff(under.copies, why, asks=True, at=under.at)


def _not_sealed(truss: Truss, numbers: Sequence[int], to: Stage) -> Refused:
    return Refused("not-sealed", "copies", mark=truss.mark, copies=numbers, to=to.value)


def _refuse_never(truss: Truss, revision: Revision, to: Stage) -> None:
    if worst := never(revision):
        about = {"mark": truss.mark, "to": to.value, "number": revision.number}
        raise Refused("never-built", "copies", **about, **told(revision.document, worst))


def _refuse_released_to_another(truss: Truss, copies: Sequence[Copy]) -> None:
    other = [copy for copy in copies if copy.released_to_id != truss.current_id]
    if not other:
        return
    one = other[0].released_to
    raise Refused(
        "released-to-another",
        "copies",
        mark=truss.mark,
        copies=[copy.number for copy in other],
        number=one.number if one else None,
        of=one.truss.mark if one and one.truss_id != truss.pk else "",
        current=truss.current.number,
    )


def unsaid(truss: Truss, copies: Iterable[Copy]) -> list[Copy]:
    """The copies that are built to an earlier revision and of which nobody said, since the current one came, that they
    stay by it."""
    stays = Copy.Earlier.STAYS
    return [
        copy
        for copy in copies
        if copy.built_to_id not in (None, truss.current_id)
        and (copy.earlier != stays or copy.earlier_for_id != truss.current_id)
    ]


def unsaid_says(truss: Truss, copies: Sequence[Copy]) -> str:
    """Why these are not set yet, for whoever ticks off what comes before."""
    return _unsaid(truss, copies).says


def _unsaid(truss: Truss, copies: Sequence[Copy]) -> Refused:
    about = {"mark": truss.mark, "copies": [copy.number for copy in copies], "current": truss.current.number}
    return Refused("earlier-unsaid", "copies", **about)


def _refuse_waiting(truss: Truss, copies: Sequence[Copy]) -> None:
    if behind := carried(truss).behind:
        raise Refused("not-taken-up", "copies", mark=truss.mark, behind=list(behind))
    for one in kept_from_saw(copies):
        raise one.why


def kept_from_saw(copies: Sequence[Copy]) -> Iterator[KeptOff]:
    """Which of some copies of one job the saw waits for, and why."""
    for ask in before_cut:
        yield from ask(copies)


def _write(
    user: Any,
    truss: Truss,
    copies: list[Copy],
    change: dict[str, Any],
    to: Stage,
    found: str,
    unsealed: list[int],
    asked_first: AskedFirst,
) -> int:
    """One UPDATE for all copies that stand where they were seen, and one event for each place that they come from."""
    moved, says = 0, asked_first.says
    for at in dict.fromkeys((copy.stage, copy.released_to_id, copy.built_to_id) for copy in copies):
        stage, released_to, built_to = at
        those = [copy for copy in copies if (copy.stage, copy.released_to_id, copy.built_to_id) == at]
        rows = Copy.objects.filter(
            pk__in=[copy.pk for copy in those], stage=stage, released_to=released_to, built_to=built_to
        )
        numbers = sorted(rows.select_for_update().values_list("number", flat=True))
        moved += rows.update(**change)
        revision = change.get("built_to") or change.get("released_to") or those[0].built_to
        if numbers:
            MarkEvent.objects.create(
                truss=truss,
                by=user if user.pk else None,
                code=MarkEvent.Code.MOVED,
                values={
                    "from": stage,
                    "to": to.value,
                    "copies": numbers,
                    "revision": revision.number if revision else None,
                    "found": found if to in FOUND_FIELDS else "",
                    **({"unsealed": bare} if (bare := [one for one in numbers if one in unsealed]) else {}),
                    **({"asked": says, "asked_of": [one for one in numbers if one in asked_first.of]} if says else {}),
                },
            )
    return moved
