"""A run: a path through the set, read into an ask for each mark and group of copies that it meets alike.

Each crossing is an opening of one copy (`trusses.analysis.runs`). Copies of one mark that meet it within half an inch
share one opening that holds all of theirs, where that answers as each does by itself; so do more of them where that
larger opening fits as the truss is, since a design for each would change nothing. With `together` all copies of a mark
share one, so that one search serves them and one design comes of it. What the run passes by isn't asked of, nor are
copies that are cut already (`as_cut`); where it goes through none but these, it is an ask of no mark, which puts it on
record.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from itertools import combinations
from typing import Any

from changes.asks import opening
from changes.asks.answers import Answer, Answered, Case
from changes.asks.as_cut import AsCut, as_cut, made_anew, read_without, recorded
from changes.asks.wishes import Document, Over, Wish, refuse_what_is_over
from changes.models import Kind
from changes.models import Verdict as Answers
from changes.refusals import Refused
from trusses.analysis.clearance.apart import gap
from trusses.analysis.clearance.free_space import TOUCH_IN
from trusses.analysis.clearance.openings import OpeningError, fit
from trusses.analysis.format.document import DocumentError, read_opening
from trusses.analysis.format.model import Opening
from trusses.analysis.format.strict import place as named
from trusses.analysis.format.strict import plain
from trusses.analysis.runs.crossing import VERDICTS, Crossed, Crossing, Verdict, cross, letter
from trusses.analysis.runs.meeting import bay_of, itself
from trusses.analysis.runs.met import Met
from trusses.analysis.runs.run import SAME_IN, Run, RunError, read_run
from trusses.analysis.runs.stood import Stood
from trusses.analysis.words.given import brief
from trusses.analysis.words.phrases import Coded, coded
from trusses.models import Job, Truss
from trusses.once import once
from trusses.plan.copies import standing, stood
from trusses.refusals import because
from trusses.solid.heights import OverFloor, over_floor
from trusses.solid.kept import heights_of

KEYS = ("run", "together", "without")
ANSWERED_AS = Kind.OPENING.value
DESIGNS = True
#: Copies that meet a run within this share one opening, inches.
ALIKE_IN = 0.5


def read(job: Job, ask: Mapping[str, Any], path: tuple[str | int, ...], before: Sequence[Wish]) -> list[Wish]:
    """A wish for each mark and group of copies that can change. Raises Refused, also where it doesn't get through a
    copy that is cut already and that `without` doesn't name."""
    at = named((*path, "run"))
    run = read_path(with_storey(job, ask.get("run")), (*path, "run"))
    together = ask.get("together", False)
    if not isinstance(together, bool):
        raise Refused("run-together", "asks", named((*path, "together")), given=brief(together))
    crossed = crossing(job, run)
    refuse_run(crossed, at)
    trusses = {
        one.mark: one for one in Truss.objects.filter(job=job, current__isnull=False).select_related("job", "current")
    }
    cut = as_cut(job, run.level, lettered(crossed), before=before)
    refuse_itself(crossed, copies_on(job, run.level), cut, at, together=together)
    read_without(ask, cut, named(path), at)
    asked = {"name": run.note, "wish": run.document(), "as_cut": recorded(cut), "together": together}
    wishes: list[Wish] = []
    for mark, met in by_mark(crossed, but={one.name for one in cut}).items():
        truss = trusses[mark]
        refuse_what_is_over(truss, f"{at} ({mark})")
        for those in groups(met, together=together):
            held = opening.named_free(truss, envelope(those), (*path, "run"), [*before, *wishes])
            told = {"letters": [name for name, _ in those], "crossings": [_told(name, one) for name, one in those]}
            copies = tuple(sorted(one.stood.number for _, one in those))
            wishes.append(Wish(Kind.RUN.value, truss, copies, held, told, asked))
    if not wishes:
        refuse_nothing(crossed, cut, at)
        # nobody is asked for anything; that it goes through there is put on record, and holds its place
        through = [(one.letter, one.met, one.stands.mark) for one in cut if one.fits]
        crossings = [{"mark": mark, **_told(name, met)} for name, met, mark in through]
        wish = {"letters": [name for name, *_ in through], "crossings": crossings}
        wishes.append(Wish(Kind.RUN.value, wish=wish, run=asked))
    return wishes


def read_path(value: Any, path: tuple[str | int, ...]) -> Run:
    """A run as JSON has it. Raises Refused with the place of what is wrong."""
    try:
        return read_run(plain(value, path), named(path))
    except (DocumentError, RunError) as refused:
        raise Refused("run", "asks", refused.place, why=because(refused, placed=False)) from refused


def storey_below(job: Job, level: Any) -> OverFloor | None:
    """How far the trusses of a level bear above the floor below them, as the job's heights say or assume it."""
    return over_floor(heights_of(job), level) if isinstance(level, str) else None


def with_storey(job: Job, value: Any) -> Any:
    """A run as JSON has it; one that is told from the floor of the storey below keeps how far the bearing is above
    that today, where it says nothing of it itself."""
    if not isinstance(value, Mapping) or value.get("datum") != "storey" or "bearing_above_floor_in" in value:
        return value
    over = storey_below(job, value.get("level"))
    return {**value, "bearing_above_floor_in": over.inches, "bearing_assumed": over.assumed} if over else value


def copies_on(job: Job, level: str) -> list[Stood]:
    """The copies of a level as runs cross them."""
    there = [one for one in standing(job).get(level, ()) if one.copy is not None]
    return once(("stood", job.pk, level), lambda: stood(there))


def crossing(job: Job, run: Run) -> Crossed:
    """What a run crosses of a job's set as it stands today. Raises Refused for a level that has nothing."""
    levels = standing(job)
    if run.level not in levels:
        raise Refused("run-level", "asks", "run.level", level=run.level, levels=sorted(levels))
    try:
        return cross(run, copies_on(job, run.level))
    except OpeningError as refused:
        raise Refused("run", "asks", "run.section", why=because(refused, placed=False)) from refused


Lettered = tuple[str, Crossing]


def lettered(crossed: Crossed) -> list[Lettered]:
    """The crossings that ask something of a truss, in the order of the path, under their letters."""
    return [(letter(i), one) for i, one in enumerate(one for one in crossed.crossings if one.verdict != "clear")]


def by_mark(crossed: Crossed, *, but: Collection[str] = ()) -> dict[str, list[Lettered]]:
    """The same by mark, without the copies named in `but`."""
    found: dict[str, list[Lettered]] = {}
    for name, one in lettered(crossed):
        if one.stood.name in but:
            continue
        found.setdefault(one.stood.mark, []).append((name, one))
    return found


def groups(met: Sequence[Lettered], *, together: bool = False) -> list[list[Lettered]]:
    """Those of one mark that share an opening, along the path; with `together` all that meet the same section. A copy
    that is crossed twice is in two groups; where these would come into each other for what others share with it, none
    shares a larger one only because that fits."""
    found = _grouped(met, _alike, together=together)
    if not together and len(found) > 1 and (least := _twice(found)) and least[0] < -TOUCH_IN:
        return _grouped(met, _near, together=False)
    return found


def _grouped(met: Sequence[Lettered], alike: Callable[..., bool], *, together: bool) -> list[list[Lettered]]:
    found: list[list[Lettered]] = []
    for one in met:
        for held in found:
            if one[1].stood not in [each.stood for _, each in held] and alike([*held, one], together):
                held.append(one)
                break
        else:
            found.append([one])
    return found


def _any_twice(those: Iterable[Crossing]) -> bool:
    names = [one.stood.name for one in those]
    return len(set(names)) < len(names)


def _twice(those: Sequence[Sequence[Lettered]]) -> tuple[float, Crossing, Crossing] | None:
    """Of copies that are crossed twice the two crossings whose openings, as large as what shares each needs, are least
    apart, and by how much; negative where they overlap."""
    if not _any_twice(one for group in those for _, one in group):
        return None
    held: dict[str, list[tuple[Crossing, Opening]]] = {}
    for group in those:
        opens = read_opening({"id": "run", **envelope(group)})
        for _, one in group:
            held.setdefault(one.stood.name, []).append((one, opens))
    pairs = [(gap(one[1], two[1]), one[0], two[0]) for each in held.values() for one, two in combinations(each, 2)]
    return min(pairs, key=lambda pair: pair[0], default=None)


def _alike(those: Sequence[Lettered], together: bool) -> bool:
    """Whether they meet the run within half an inch, or fit as they are in the opening that holds all of theirs, or are
    to share one whatever it takes."""
    if not _same(those):
        return False
    # what holds one that doesn't fit by itself doesn't either
    fit_all = all(one.verdict == "fits" for _, one in those)
    return together or (fit_all and shared(those) == "fits") or _near(those)


def _near(those: Sequence[Lettered], together: bool = False) -> bool:
    """Whether they meet it within half an inch, and share an opening of which none of them answers otherwise than by
    itself."""
    if not _same(those) or max(_spread(those)) > ALIKE_IN:
        return False
    held = _kind(shared(those))
    return all(_kind(one.verdict) == held for _, one in those)


def _kind(verdict: Verdict) -> int:
    """As it is, by a change, never: a web in the way is one, wherever else it would fit."""
    return {"fits": 0, "never": 2}.get(verdict, 1)


def shared(those: Sequence[Lettered]) -> Verdict:
    """What copies answer that share an opening: of them all, with what is larger for the others' sake."""
    worst = max((one.verdict for _, one in those), key=VERDICTS.index)
    if max(_spread(those)) < SAME_IN:
        return worst
    held = fit(those[0][1].stood.design.space, read_opening({"id": "run", **envelope(those)}))
    if held.fits:
        return "fits"
    if held.never:
        return "never"
    return "redesign" if worst == "fits" else worst


def _same(those: Sequence[Lettered]) -> bool:
    one = those[0][1]
    return all(other.stood.design is one.stood.design and _same_section(other.met, one.met) for _, other in those)


def _same_section(one: Met, other: Met) -> bool:
    return one.shape == other.shape and all(abs(a - b) < 1e-6 for a, b in zip(one[1:], other[1:], strict=True))


def _spread(those: Sequence[Lettered]) -> tuple[float, float]:
    xs, ys = zip(*(one.opening.centre for _, one in those), strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def envelope(those: Sequence[Lettered]) -> Document:
    """The opening that holds theirs, without a name: about the middle of their centres, larger by how far these are
    apart. Of circles it is a circle, or a rectangle where that takes less."""
    xs, ys = zip(*(one.opening.centre for _, one in those), strict=True)
    wide, high = _spread(those)
    met, note = those[0][1].met, those[0][1].opening.note
    held: Document = {
        "shape": met.shape,
        "centre_in": [round((max(xs) + min(xs)) / 2, 6), round((max(ys) + min(ys)) / 2, 6)],
        "clearance_in": met.clearance_in,
    }
    around = met.width_in + math.hypot(wide, high)
    if met.shape == "circle" and math.pi / 4 * around**2 <= (met.width_in + wide) * (met.height_in + high):
        held["diameter_in"] = round(around, 6)
    else:
        sizes = {"width_in": met.width_in + wide, "height_in": met.height_in + high}
        held |= {"shape": "rectangle", **{name: round(size, 6) for name, size in sizes.items()}}
    return held | ({"note": note} if note else {})


def _told(name: str, one: Crossing) -> Document:
    """A crossing as its page tells it."""
    return {
        "letter": name,
        "copy": one.stood.number,
        "at_in": list(one.place_in),
        "height_in": round(one.height_in, 4),
        "verdict": one.verdict,
    }


def into_itself(
    crossed: Crossed, copies: Sequence[Stood], cut: Iterable[AsCut], *, together: bool = False
) -> Coded | None:
    """That a run comes into a piece of its own, or that two of its openings come into each other in a copy that it
    crosses twice, where each is as large as what shares it asks for; a `cut` copy shares none."""
    if there := itself(crossed.run, copies):
        beside = [held.name if held else None for held in bay_of(there.at, copies)]
        within = list(there.within_in)
        return coded("run-meets-itself", beside=beside, path_in=there.path_in, within_in=within, by_in=there.by_in)
    if not _any_twice(one for _, one in lettered(crossed)):
        return None
    done = {one.name for one in cut}
    asked = [those for met in by_mark(crossed, but=done).values() for those in groups(met, together=together)]
    asked += [[one] for one in lettered(crossed) if one[1].stood.name in done]
    least = _twice(asked)
    if least is None or least[0] >= -TOUCH_IN:
        return None
    free, first, second = least
    name, by = first.stood.name, gap(first.opening, second.opening)
    if by >= -TOUCH_IN:
        return coded("run-shares-itself", name=name, by_in=-free)
    path = min(first.path_in, second.path_in)
    return coded("run-meets-itself", beside=[name, name], path_in=path, within_in=[path, path], by_in=-by)


def refuse_itself(crossed: Crossed, copies: Sequence[Stood], cut: Iterable[AsCut], at: str, *, together: bool) -> None:
    """Raises Refused for a run that comes into itself."""
    if own := into_itself(crossed, copies, cut, together=together):
        raise Refused(own["code"], "asks", at, **own["values"])


def refuse_nothing(crossed: Crossed, cut: Collection[AsCut], at: str) -> None:
    """Raises Refused for a run that goes through nothing but cut copies, and through none of these."""
    if len(cut) == len(lettered(crossed)) and not any(one.fits for one in cut):
        raise Refused("run-asks-nothing", "asks", at)


def untaken(job: Job, crossed: Crossed, cut: Collection[AsCut], *, together: bool) -> str:
    """The code by which a run would be refused along this line, whichever cut copies it is asked without; empty where
    it can be asked for. Not of marks that can't change any more: that is no line's fault."""
    try:
        refuse_run(crossed, "")
        refuse_itself(crossed, copies_on(job, crossed.run.level), cut, "", together=together)
        refuse_nothing(crossed, cut, "")
    except Refused as refused:
        return refused.code
    return ""


def closed(job: Job, crossed: Crossed, cut: Iterable[AsCut]) -> dict[str, Coded]:
    """Of marks whose last day for changes is over, though copies that it crosses aren't cut, why nothing changes."""
    marks = by_mark(crossed, but={one.name for one in cut})
    rows = Truss.objects.filter(job=job, mark__in=marks, current__isnull=False).select_related("job")
    return {truss.mark: why for truss in rows if (why := truss.past_change)}


def in_wood(crossed: Crossed) -> bool:
    """Whether a corner of it stands in a truss, or a leg lies in the wood of one that it runs along."""
    return bool(crossed.cramped) or any(one.verdict != "fits" for one in crossed.between)


def refuse_run(crossed: Crossed, at: str) -> None:
    """Raises Refused for a run that crosses nothing, or stands or lies in the wood of a truss."""
    if not lettered(crossed):
        raise Refused("run-crosses-nothing", "asks", at, level=crossed.run.level)
    for tight in crossed.cramped:
        about = {"has_in": tight.has_in, "needs_in": tight.needs_in, "moves": [list(by) for by in tight.moves]}
        raise Refused("run-corner", "asks", at, corner=tight.corner + 1, name=tight.stood.name, **about)
    for one in crossed.between:
        if one.verdict != "fits":
            beside = [held.name for held in (one.left, one.right) if held]
            raise Refused(
                "run-beside", "asks", at, leg=one.leg + 1, names=beside, bay_in=one.bay_in, needs_in=one.needs_in
            )


def refuse(wish: Wish, at: str) -> None:
    """An opening that is larger than its truss is a slip here too."""
    if wish.truss is not None:
        opening.refuse(wish, at)


def refuse_both(wish: Wish, other: Wish, at: str, at_other: str) -> None:
    opening.refuse_both(wish, other, at, at_other)


def answer(case: Case) -> Answered:
    """Where all that it goes through is cut already, whether it still fits there as built; else as openings are."""
    (wish, *_) = case.wishes
    if wish.truss is not None or wish.run is None:
        return opening.answer(case)
    through = {one["letter"] for one in (wish.wish or {})["crossings"]}
    path = read_path(wish.run["wish"], ("run",))
    try:
        crossed = lettered(crossing(case.job, path))
    except Refused:  # its level is gone, or is called otherwise
        crossed = []
    met = [one for name, one in crossed if name in through]
    as_it_was = len(met) == len(through) and not made_anew(case.job, path.level, wish.run["as_cut"])
    if as_it_was and all(one.verdict == "fits" for one in met):
        return Answered([Answer(Answers.FITS, [coded("run-as-built", trusses=len(met))])])
    return Answered([Answer(Answers.NEVER, [coded("run-as-built-no-more")])])


def lacks(document: Document, wishes: Iterable[Wish]) -> str:
    return opening.lacks(document, wishes)


def turned(wanted: Document, over: Over) -> Document:
    """Its crossings are places of the plan."""
    return wanted
