"""Copies looked at when they come and when they are set: how many, bow, plates, wood, place and end, photo and note.

What is found wrong in the truss itself keeps it from being set, until damage is told of it, whose own way ends with a
sealed repair and a name, or a designer says by name that it may be set. What stands wrong is put right and looked at
again. A tick to `set` with anything wrong sets nothing, and what was found is kept. It is kept as well of copies that
another hand ticked first, while a phone had no signal. A copy that is made anew keeps its number, and nothing that was
found of its old truss.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Max
from django.http import Http404
from django.urls import reverse
from django.utils import timezone

from trusses.analysis.words.phrases import listed
from trusses.copies import trail
from trusses.copies.models import Look, LookClosed
from trusses.models import Copy, MarkEvent, Revision, Stage, Truss
from trusses.permissions import STAGE_MOVES, require, role_in
from trusses.pictures import Sent, keep_all
from trusses.production import KeptOff, before_set, move, refuse_early
from trusses.refusals import NotAllowed, Refused
from trusses.words.copies import DAMAGE

VERB = "say by name that what was found keeps nothing from being set"
LONGEST = 500


@dataclass(frozen=True)
class Point:
    """Something that is looked at: what it is called, and what it is where it is right and where it is wrong."""

    name: str
    label: str
    right: str
    wrong: str


_TRUSS = (
    Point("bow", "Bow", "straight", "bowed or bent"),
    Point("plates", "Plates", "tight, all there", "loose or missing"),
    Point("wood", "Wood", "sound", "split or broken"),
)
_STANDS = (
    Point("place", "Place", "as the plan has it", "elsewhere"),
    Point("end", "Marked end", "at its wall", "wrong way round"),
)
POINTS: Mapping[str, tuple[Point, ...]] = {Stage.DELIVERED: _TRUSS, Stage.SET: (*_STANDS, *_TRUSS)}

told_elsewhere: list[Callable[[Sequence[Look]], Iterable[int]]] = []
"""Which of some looks are told of as damage, by their ids: whoever keeps damage adds its own when it starts."""


@dataclass(frozen=True)
class Ticked:
    """How many copies moved on, and the numbers of those of which something wrong was found; they may be further."""

    moved: int
    wrong: tuple[int, ...] = ()


def tick(
    user: Any,
    truss: Truss,
    copies: Iterable[int],
    to: str,
    *,
    points: Mapping[str, bool] | None = None,
    note: str = "",
    photos: Sequence[Sent] = (),
    counted: int | None = None,
    seen: Revision | None = None,
    asked_first: str = "",
    asked_about: Collection[str] | None = None,
    shown: Mapping[int, str] | None = None,
    known: int | None = None,
) -> Ticked:
    """Ticks copies (by id) off as delivered or set, with what was found of each; `asked_first`, `asked_about` and
    `shown` as `move` has them. `known` is the newest look that whoever ticks was shown (`newest`): what another hand
    found wrong since isn't told as right unread. Raises NotAllowed, Refused."""
    if to not in POINTS:
        return Ticked(move(user, truss, copies, to, found=note, seen=seen))
    start, role = next((at, by) for (at, then), by in STAGE_MOVES.items() if then == to)
    if role_in(user, truss.job) != role:
        raise NotAllowed("stage-role", role=role.label, to=to)
    found, wanted = _points(to, points or {}), set(copies)
    if counted is not None and counted != len(wanted):
        raise Refused("count-off", "counted", "counted", counted=counted, chosen=len(wanted))
    if len(note) > LONGEST:
        raise Refused("found-too-long", "found", most=LONGEST, length=len(note))
    if len(asked_first) > LONGEST:
        raise Refused("reason-long", "asked", "asked", most=LONGEST, length=len(asked_first))
    digests = keep_all(truss.job_id, photos)
    wrong = [name for name, right in found.items() if not right]
    with transaction.atomic():
        Truss.objects.select_for_update(of=("self",)).get(pk=truss.pk)
        rows = list(truss.copies.filter(pk__in=wanted).order_by("number"))
        if not wanted:
            raise Refused("no-copy", "copies")
        if len(rows) != len(wanted):
            raise Http404("Not found.")
        refuse_early(rows, start, to)
        if known is not None:
            _refuse_right_of_wrong_since(user, rows, found, known)
        if to == Stage.DELIVERED and any(found.get(name) for name in DAMAGE):
            _refuse_right_of_hurt(rows)
        going = [copy for copy in rows if copy.stage == start]
        # there already or not, it was seen: what is wrong, or a picture of it, is kept of all that were chosen
        looked = rows if wrong or digests else going
        if looked and (found or note or digests):
            _write(user, truss, looked, to, found, note, digests, asked_first if wrong and to == Stage.SET else "")
        moves = bool(going) and not (wrong and to == Stage.SET)
        # where none moves, `move` would refuse the note, which is kept with the look
        moved = 0
        if moves or not looked:
            moved = move(
                user,
                truss,
                wanted,
                to,
                found=note,
                seen=seen,
                asked_first=asked_first,
                asked_about=asked_about,
                shown=shown,
            )
    return Ticked(moved, tuple(copy.number for copy in looked) if wrong else ())


def _refuse_right_of_hurt(rows: Sequence[Copy]) -> None:
    """Nobody says in passing, of all that came, that a truss is sound of which damage was told."""
    hurt = [copy.number for ask in before_set for one in ask(rows) if one.harm for copy in one.copies]
    if hurt:
        raise Refused("look-of-hurt", "points", "points", mark=rows[0].truss.mark, copies=sorted(set(hurt)))


def _refuse_right_of_wrong_since(user: Any, rows: Sequence[Copy], found: Mapping[str, bool], known: int) -> None:
    right = {name for name, is_right in found.items() if is_right}
    since = [look for look in open_looks(rows) if look.pk > known and look.by_id != user.pk]
    if those := [look for look in since if right.intersection(look.wrong)]:
        what = list(dict.fromkeys(name for look in those for name in look.wrong))
        copies = sorted({look.copy.number for look in those})
        raise Refused("wrong-since", "copies", mark=rows[0].truss.mark, copies=copies, what=what)


def newest(job: int) -> int:
    """The last look at any copy of a job, by its id; 0 before the first."""
    return Look.objects.filter(copy__truss__job=job).aggregate(last=Max("pk"))["last"] or 0


def _points(to: str, points: Mapping[str, bool]) -> dict[str, bool]:
    names = [point.name for point in POINTS[to]]
    for name, right in points.items():
        if name not in names or not isinstance(right, bool):
            raise Refused("point-unknown", "points", "points", point=str(name)[:40])
    return {name: points[name] for name in names if name in points}


def _write(
    user: Any,
    truss: Truss,
    copies: Sequence[Copy],
    when: str,
    points: dict[str, bool],
    note: str,
    digests: list[str],
    asked_first: str = "",
) -> None:
    last = {look.copy_id: look for look in of_this_wood(copies) if look.when == when}
    said = (points, note, digests)
    back = taken_back(last.values())
    anew = [copy for copy in copies if not _same(last.get(copy.pk), said, user, back)]
    at = timezone.now()  # one time for what one hand found at once: pages show it together
    for copy in anew:
        Look.objects.create(copy=copy, when=when, points=points, note=note, photos=digests, by=user, at=at)
    if anew:
        wrong = [name for name, right in points.items() if not right]
        told = {"copies": [copy.number for copy in anew], "when": when, "wrong": wrong, "found": note}
        told |= {"asked": asked_first} if asked_first else {}
        MarkEvent.objects.create(truss=truss, by=user, code=MarkEvent.Code.LOOKED, values=told)


def _same(
    look: Look | None, said: tuple[dict[str, bool], str, list[str]], user: Any, back: Mapping[int, MarkEvent]
) -> bool:
    """Whether the last look at a copy found just that, by the same hand, and stands: a second tap is harmless."""
    if look is None or look.by_id != user.pk or look.pk in back:
        return False
    return (look.points, look.note, look.photos) == said


def taken_back(found: Iterable[Look]) -> dict[int, MarkEvent]:
    """Which of some looks, by their ids, came with a tick that was taken back since, and the event that says so. What
    was found wrong stays found, whoever takes the tick back: only what was said to be right goes with it."""
    rows = [look for look in found if not look.wrong]
    told = trail.taken_back({look.copy.truss for look in rows}) if rows else {}
    back: dict[int, MarkEvent] = {}
    for look in rows:
        for event in told.get((look.copy.truss.variant_of_id or look.copy.truss_id, look.copy.number), ()):
            if event.values["from"] == look.when and event.at >= look.at:
                back.setdefault(look.pk, event)
    return back


def of_this_wood(copies: Iterable[Copy]) -> list[Look]:
    """What was found of copies, the oldest first, without what was found before a copy was made anew: that was of its
    old truss, and neither keeps the new one off nor stands for a look at it."""
    rows = list(
        Look.objects.filter(copy__in=[copy.pk for copy in copies]).select_related("copy__truss", "by", "closed__by")
    )
    since = trail.made_anew({look.copy.truss for look in rows}) if rows else {}

    def old(look: Look) -> bool:
        began = since.get((look.copy.truss.variant_of_id or look.copy.truss_id, look.copy.number))
        return began is not None and look.at <= began

    return [look for look in rows if not old(look)]


def open_looks(copies: Iterable[Copy]) -> list[Look]:
    """The looks that keep copies from being set."""
    return [look for look, _ in _open(copies)]


def to_put_right(copies: Iterable[Copy]) -> set[int]:
    """Of the copies that looks keep from being set those, by id, that a tick of what was put right lets go: no damage
    to them is left untold."""
    untold: dict[int, bool] = {}
    for look, damage in _open(copies):
        untold[look.copy_id] = untold.get(look.copy_id, False) or damage
    return {copy for copy, damage in untold.items() if not damage}


def _open(copies: Iterable[Copy]) -> list[tuple[Look, bool]]:
    """Each look that keeps a copy from being set, and whether damage that it tells of is told nowhere else."""
    rows = of_this_wood(copies)
    wrong = [look for look in rows if look.wrong and not hasattr(look, "closed")]
    if not wrong:
        return []
    elsewhere = {pk for tell in told_elsewhere for pk in tell(wrong)}
    untold = {look.pk: bool(DAMAGE.intersection(look.wrong)) and look.pk not in elsewhere for look in wrong}
    back = taken_back(rows)
    stand = [look for look in rows if look.pk not in back]
    return [(look, untold[look.pk]) for look in wrong if untold[look.pk] or _not_right_since(look, stand)]


def _not_right_since(look: Look, rows: Sequence[Look]) -> bool:
    """Whether something of it that is no damage was seen right by nobody since."""
    since = {name for other in rows if other.copy_id == look.copy_id and other.pk > look.pk for name in other.right}
    return any(name not in since for name in set(look.wrong) - DAMAGE)


def keeps_off(copies: Sequence[Copy]) -> Iterator[KeptOff]:
    """Which copies that are about to be set are not, and why; asked by `production.before_set`. Those whose wood is
    hurt stand apart from those that are put right where they stand."""
    looks = open_looks(copies)
    hurt = {look.copy_id for look in looks if DAMAGE.intersection(look.wrong)}
    marks: dict[tuple[Truss, bool], list[Look]] = {}
    for look in looks:
        marks.setdefault((look.copy.truss, look.copy_id in hurt), []).append(look)
    for (truss, harm), found in marks.items():
        those = sorted({look.copy for look in found}, key=lambda copy: copy.number)
        what = list(dict.fromkeys(name for look in found for name in look.wrong))
        about = {"mark": truss.mark, "copies": [copy.number for copy in those], "what": what}
        at = reverse("trusses:mark", args=(truss.job_id, truss.pk)) + "#looks"
        wrong = partial(_found_wrong, [name for name in what if name in DAMAGE])
        yield KeptOff(those, Refused("look-open", "copies", **about), harm=harm, at=at, what=wrong)


def _found_wrong(points: Iterable[str]) -> str:
    """Found bowed or bent, and not told as damage yet."""
    named = [one for one in _TRUSS if one.name in points]
    found = [one.wrong if one.name == "bow" else f"with {one.label.lower()} {one.wrong}" for one in named]
    return f"found {listed(found)}, and not told as damage yet"


def close(user: Any, look: Look, says: str) -> LookClosed:
    """Says by name that what was found keeps the copy from being set no more. Raises NotAllowed, Refused."""
    truss = look.copy.truss
    require(user, VERB, truss.job)
    says = " ".join(says.split())
    if not look.wrong:
        raise Refused("look-nothing")
    if not says:
        raise Refused("look-says", "says", "says")
    if len(says) > LONGEST:
        raise Refused("reason-long", "says", "says", most=LONGEST, length=len(says))
    try:
        with transaction.atomic():
            closed = LookClosed.objects.create(look=look, says=says, by=user)
            told = {"copies": [look.copy.number], "wrong": look.wrong, "reason": says}
            MarkEvent.objects.create(truss=truss, by=user, code=MarkEvent.Code.MAY_BE_SET, values=told)
    except IntegrityError:
        raise Refused("look-closed") from None
    return closed
