"""The answer while a run is drawn: what it crosses, what each truss says; better lines on demand. Nothing is stored."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from changes.asks.as_cut import AsCut, as_cut
from changes.asks.holding import TAKEN
from changes.asks.meets import Meets, meets, not_compared
from changes.asks.rows_met import rows_met
from changes.asks.run import closed, copies_on, crossing, into_itself, lettered, read_path, untaken, with_storey
from changes.asks.run_verdicts import Answers, answers, counts, worst
from changes.models import Run as FiledRun
from changes.refusals import Refused
from trusses.analysis.runs.bends import Bent, NotSearched, bent
from trusses.analysis.runs.cleared import Cleared, cleared, stands_in
from trusses.analysis.runs.corners import Cramped, Ended, ended
from trusses.analysis.runs.crossing import Between, Crossed, Crossing
from trusses.analysis.runs.lines import SIDEWAYS_IN, UP_IN, Line, changes, lines, moves_sideways
from trusses.analysis.runs.passing import Heights, Passed, heights, passed_all
from trusses.analysis.runs.pieces import rigid
from trusses.analysis.runs.run import Run
from trusses.analysis.runs.written import as_written
from trusses.analysis.words.phrases import Coded, as_counted, coded, tell
from trusses.analysis.words.runs import LINES, MEETING
from trusses.models import Job


def run_answer(job: Job, run: Any, *, offers: bool = False, together: bool = False) -> dict[str, Any]:
    """What `RunAnswerSerializer` tells; inches. `offers`: also the lines at which fewer trusses need a change;
    `together`: it is to be asked with one opening for all copies of a mark. Raises Refused."""
    try:
        path = read_path(with_storey(job, run), ("run",))
    except Refused as refused:
        raise Refused(refused.code, "run", refused.place, **refused.values) from refused
    crossed = crossing(job, path)
    in_cut = as_cut(job, path.level, lettered(crossed))
    cut = {one.letter: one for one in in_cut}
    answered = answers(crossed, in_cut, together=together)
    told_so = counts(crossed, answered)
    own = into_itself(crossed, copies_on(job, path.level), in_cut, together=together)
    told = {
        "crossings": [_crossing(name, one, path) | _cut(cut.get(name)) for name, one in lettered(crossed)],
        "passes_by": [one.stood.name for one in crossed.crossings if one.verdict == "clear"],
        "passes": [_passed(one, found) for one, found in passed_all(crossed)],
        "other_heights": _heights(job, crossed),
        "between": [_between(one) for one in crossed.between],
        "corners": [_corner(one) for one in crossed.cramped],
        "ends": [_ended(one) for one in ends_in(crossed)],
        "meets": [one.document() for one in runs_met(job, path)],
        "rows": rows_met(job, crossed),
        "not_compared": [one.document() for one in not_compared(job, path)],
        "meets_itself": tell(MEETING, [own] if own else []),
        "pieces": [one._asdict() for one in rigid(crossed)],
        "changes": told_so.short,
        "never": told_so.never,
        "verdict": worst(crossed, answered),
    }
    if offers:
        found, lacks = better(job, crossed, together=together)
        told |= {"lines": [_line(one) for one in found], "lines_lack": lacks}
    return told


ITSELF = "itself"
"""What a run comes into that nobody can ask for."""


class Offer(NamedTuple):
    """A better line; `after`: what was moved before it was looked for, so that nothing of it stands in a truss."""

    way: Line | Bent
    after: Cleared | None = None


def may_be_better(crossed: Crossed, told: Mapping[str, Answers]) -> bool:
    """Whether better lines are looked for: where all trusses are met as they are there is nothing to look for. `told`:
    what each answers (`answers`)."""
    return bool(crossed.cramped) or counts(crossed, told).short > 0


def better(job: Job, crossed: Crossed, *, together: bool, instead: FiledRun | None = None) -> tuple[list[Offer], str]:
    """Lines that ask for fewer changes, or of which nothing stands in a truss where something of this one does, best
    first, the one with bends among them; and in words what was not looked for, or that there is none. Each of them can
    be asked for, by the rule that a request is read by: with one opening for all copies of a mark where `together`.
    None lies in what goes through a cut copy already. `instead`: the run that was asked for, of which they are other
    lines."""
    cut = _cut_of(job, crossed, instead)
    told = answers(crossed, cut, together=together)
    if not may_be_better(crossed, told):
        return [], ""
    asked = counts(crossed, told).order
    if over := closed(job, crossed, cut):
        return [], tell(LINES, [coded("run-better-lines-closed", marks=sorted(over, key=as_counted))])
    copies = copies_on(job, crossed.run.level)
    after = cleared(crossed, copies) if stands_in(crossed, copies) else None
    if crossed.cramped and after is None:
        tight = crossed.cramped[0]
        return [], tell(LINES, [coded("run-no-clear-corner", corner=tight.corner + 1, name=tight.stood.name)])
    wish = after.crossed if after else crossed
    ways: list[Line | Bent] = [*lines(wish.run, copies, wish)]
    lacks = None
    try:
        if path := bent(wish.run, copies):
            ways.append(path)
    except NotSearched as not_searched:
        lacks = not_searched.told
    if after:
        never, short = changes(wish)
        ways.append(Line(wish.run, "x", 0.0, 0.0, short, never, wish))
    found = []
    why: Coded | None = None
    for way in ways:
        if (to := as_written(way, copies)) is None:
            continue
        there = _cut_of(job, to.crossed, instead)
        count = counts(to.crossed, answers(to.crossed, there, together=together))
        if not crossed.cramped and count.order >= asked:
            continue
        if refused := _refused(job, to.crossed, there, instead, together=together):
            why = why or refused
            continue
        found.append(Offer(replace(to, never=count.never, changes=count.short), after))
    if not found and not lacks:
        lacks = why
    if not found and not lacks:
        sideways = moves_sideways(crossed)
        lacks = coded("run-no-better-line", sideways=sideways, sideways_in=SIDEWAYS_IN, up_in=UP_IN)
    return sorted(found, key=lambda one: (one.way.never, one.way.changes)), tell(LINES, [lacks] if lacks else [])


_UNTAKEN = {
    "run-meets-itself": "run-better-lines-itself",
    "run-shares-itself": "run-better-lines-shared",
    "run-beside": "run-better-lines-beside",
}


def _cut_of(job: Job, crossed: Crossed, instead: FiledRun | None) -> list[AsCut]:
    return as_cut(job, crossed.run.level, lettered(crossed), instead=instead)


def _refused(
    job: Job, crossed: Crossed, cut: Sequence[AsCut], instead: FiledRun | None, *, together: bool
) -> Coded | None:
    """Why a better line isn't offered, of `LINES`; None where it is."""
    if over := closed(job, crossed, cut):
        return coded("run-better-lines-past", marks=sorted(over, key=as_counted))
    if any(one.how == TAKEN for one in cut):
        return coded("run-better-lines-taken")
    if code := untaken(job, crossed, cut, together=together):
        return coded(_UNTAKEN.get(code, "run-better-lines-stuck"))
    if any(not one.there.joins for one in runs_met(job, crossed.run, instead)):
        return coded("run-better-lines-meet")
    return None


Takes = Callable[[Run], bool]


def takes(job: Job, crossed: Crossed, cut: Sequence[AsCut], *, together: bool) -> Takes:
    """Whether a line that is offered with one tap can be asked for, or nothing keeps it back but what keeps this one
    back today."""

    def may(to: Run) -> bool:
        code = _keeps_back(job, to, together=together)
        return not code or code == untaken(job, crossed, cut, together=together)

    return may


def _keeps_back(job: Job, run: Run, *, together: bool) -> str:
    try:
        crossed = crossing(job, read_path(run.document(), ("run",)))
    except Refused as refused:
        return refused.code
    return untaken(job, crossed, _cut_of(job, crossed, None), together=together)


def other_heights(job: Job, crossed: Crossed) -> Heights | None:
    """At which heights a run that goes through nothing would go through what its line lies over; None where it lies
    over nothing, or meets something where it is."""
    if crossed.worst != "clear" or not crossed.crossings:
        return None
    return heights(crossed, copies_on(job, crossed.run.level))


def runs_met(job: Job, run: Run, asked: FiledRun | None = None) -> list[Meets]:
    """Other runs that it comes into, in a truss or between two; `asked` as `meets` has it."""
    return meets(job, run, copies_on(job, run.level), asked)


def meets_told(
    job: Job, crossed: Crossed, cut: Sequence[AsCut], *, together: bool, asked: FiledRun | None = None
) -> tuple[list[str], str, set[int]]:
    """The same in sentences, with where it comes into itself and what it isn't held against; what it comes into
    without joining it, if anything: itself, which nobody can ask for, else another run; and whose runs it meets."""
    own = into_itself(crossed, copies_on(job, crossed.run.level), cut, together=together)
    found, unsaid = runs_met(job, crossed.run, asked), not_compared(job, crossed.run, asked)
    every = [*([own] if own else []), *(one.told for one in found), *(one.told for one in unsaid)]
    told = [tell(MEETING, [one]) for one in every]
    others = any(not one.there.joins for one in found)
    return told, ITSELF if own else "another run" if others else "", {one.request for one in found}


def ends_in(crossed: Crossed) -> list[Ended]:
    """The ends of the run that stand in a truss that it crosses."""
    long = crossed.run.length_in
    near = [one for one in crossed.crossings if one.verdict != "clear" and _at_an_end(one, crossed.run, long)]
    return list(ended(crossed.run, [one.stood for one in near])) if near else []


def _at_an_end(one: Crossing, run: Run, long: float) -> bool:
    """Whether it is as near to an end of a run as one may be that stands in its truss."""
    far = (one.stood.design.thickness_in + run.section.room_in) / 2 / one.sine
    return one.path_in < far or one.path_in > long - far


def _crossing(name: str, one: Crossing, run: Run) -> dict[str, Any]:
    moves = one.moves
    return {
        "letter": name,
        "truss": one.stood.mark,
        "copy": one.stood.number,
        "at_in": list(one.place_in),
        "x_in": one.opening.centre[0],
        "height_in": one.height_in,
        "falls_in": run.height_in - one.height_in,
        "width_in": one.met.width_in,
        "opening_height_in": one.met.height_in,
        "verdict": one.verdict,
        "spare_in": one.fit.spare_in,
        "touches": list(one.fit.touches),
        "moves_in": list(moves) if moves else None,
        "says": one.says,
    }


def _passed(one: Crossing, found: Passed) -> dict[str, Any]:
    return {"truss": one.stood.mark, "copy": one.stood.number, "side": found.side, "clear_in": found.clear_in}


def _heights(job: Job, crossed: Crossed) -> dict[str, Any] | None:
    if (found := other_heights(job, crossed)) is None:
        return None
    through = [
        {
            "height_in": one.height_in,
            "fits": [each.name for each in one.fits],
            "changes": [each.name for each in one.changes],
        }
        for one in found.through
    ]
    return {"meets_in": list(found.meets) if found.meets else None, "through": through}


def _cut(one: AsCut | None) -> dict[str, Any]:
    held = one.holds._asdict() if one and one.holds else None
    return {"as_cut": one.how if one else None, "taken_by": held, "built_to": one.stands.built_to if one else None}


def _between(one: Between) -> dict[str, Any]:
    return {
        "leg": one.leg + 1,
        "trusses": [held.name for held in (one.left, one.right) if held],
        "bay_in": one.bay_in,
        "needs_in": one.needs_in,
        "spare_in": [None if spare is None else spare for spare in one.spare_in],
        "verdict": one.verdict,
    }


def _corner(one: Cramped) -> dict[str, Any]:
    return {
        "corner": one.corner + 1,
        "truss": one.stood.name,
        "has_in": one.has_in,
        "needs_in": one.needs_in,
        "clear_at_in": [list(place) for place in one.clear_at],
    }


def _ended(one: Ended) -> dict[str, Any]:
    return {"point": one.point + 1, "truss": one.stood.name, "past_in": one.past_in, "short_in": one.short_in}


def _line(offer: Offer) -> dict[str, Any]:
    one, after = offer
    told: dict[str, Any] = {"run": one.run.document(), "changes": one.changes, "never": one.never}
    shifts = after.shifts if after else ()
    told["cleared"] = [{"point": each.point + 1, "by_in": [*each.by], "out_of": [*each.out_of]} for each in shifts]
    if isinstance(one, Line):
        return told | {
            "along": one.along,
            "sideways_in": one.sideways_in,
            "up_in": one.up_in,
            "bends": 0,
            "longer_in": 0.0,
        }
    return told | {"along": "", "sideways_in": 0.0, "up_in": 0.0, "bends": one.bends, "longer_in": one.longer_in}
