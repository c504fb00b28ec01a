"""Runs on the plan, with their crossings lettered: for the page that asks and for a request's page."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from changes import workflow
from changes.asks.as_cut import AsCut, as_cut
from changes.asks.holding import DAMAGED, FITS, HOW, IN_ITS_WAY, left_of, left_out, not_through
from changes.asks.live_run import meets_told
from changes.asks.on_plan import crossings_of, in_parts
from changes.asks.run import Lettered, by_mark, crossing, envelope, groups, lettered, read_path, shared
from changes.asks.run_verdicts import WORSE, Answers, answers, counts
from changes.models import Ask, Request, Run
from changes.pages.in_line import said
from changes.words.asking import taken_by
from trusses import kept_drawings
from trusses.analysis.runs.crossing import Crossed, Crossing
from trusses.analysis.runs.pieces import rigid
from trusses.analysis.runs.run import Run as CoreRun
from trusses.analysis.words.lengths import feet_inches, tape_inches
from trusses.analysis.words.phrases import copies, counted, listed, moved, sentence, tell
from trusses.analysis.words.runs import BESIDE_ITS_WORD, VERDICT_WORDS, above, storey
from trusses.models import Job
from trusses.plan.copies import marked_end, standing
from trusses.plan.level import Level
from trusses.plan.overlays import Met, Path
from trusses.plan.page import level_of
from trusses.plan.ways import higher, side_of_plan, way
from trusses.words.copies import letter_runs

_CUT_SAYS = {
    FITS: ("cut already", "", "Fits as built: nothing changes in it, and nothing is asked of it."),
    IN_ITS_WAY: ("cut, in its way", "stop", "It can't change. Move the run; else a repair or a new truss is needed."),
    DAMAGED: ("cut, damaged", "stop", "Damage was told of it, so that it isn't as drawn; a designer looks first."),
}


def cut_says(one: AsCut) -> tuple[str, str, str]:
    """Of a cut copy: the word, its tone, the sentence."""
    if one.holds:
        held = taken_by(**one.holds._asdict())
        return "cut, taken", "stop", f"The run would lie in what goes through there already: {held}. Move one of them."
    return _CUT_SAYS[one.how]


SHORT_IN = 1 / 32
"""What no tape tells."""
TONES = {"fits": "good", "moves": "look", "redesign": "look", "never": "stop", "clear": "look", "cut": "stop"}
_BY_ITSELF = {
    "fits": "it fits",
    "moves": "it fits if moved",
    "redesign": "webs are in the way",
    "never": "it never fits",
}


def tone_of(crossed: Crossed, told: Mapping[str, Answers], *, left_out: bool = False) -> str:
    """Of a run, by the worst of what its crossings answer, and where it runs along trusses. `left_out`: it is asked
    without the cut copies that don't take it."""
    tones = [TONES[one.verdict] for one in crossed.between if one.verdict != "fits"]
    tones += ["look" if one == "cut" and left_out else TONES[one] for one in told.values()]
    return max(tones, key=("good", "look", "stop").index, default="look")


def told_crossing(
    name: str, one: Crossing, run: CoreRun, north_deg: float | None = None, answered: Answers | None = None
) -> dict[str, Any]:
    """A crossing as a list tells it; `marked`: to which side of the plan the end
    lies from which `x_in` counts; `falls`: how far below its first point the run is there, inches. `answered`: what
    it answers where that isn't only its own."""
    verdict = answered or one.verdict
    says = _answers(one, north_deg)
    if verdict not in (one.verdict, "cut"):
        says = f"By itself {_BY_ITSELF[one.verdict]}; the one opening for all copies of {one.stood.mark} is larger."
    return {
        "letter": name,
        "name": one.stood.name,
        # what a cut copy answers stands beside that it is cut
        "word": VERDICT_WORDS.get(verdict, ""),
        "tone": TONES[verdict],
        "verdict": verdict,
        "says": " ".join(filter(None, [says, said(one)])),
        "marked": side_of_plan(marked_end(one.stood.along, one.stood.turned), north_deg),
        "x_in": one.opening.centre[0] - one.stood.design.left,
        "height_in": one.height_in,
        "falls": run.height_in - one.height_in,
        "above": above(run.datum, one.stood.design.truss.use),
        "takes": takes(one, run),
    }


def _answers(one: Crossing, north_deg: float | None) -> str:
    """What a crossing answers beside its word. A move is told on the plan, as every line that is offered: the truss's
    own left and right are another's; and what it would cut as it runs, though it fits where it is moved."""
    if one.verdict not in ("moves", "never") or not (by := one.moves):
        return tell(BESIDE_ITS_WORD, [one.coded])
    along = by[0] * one.stood.turn
    steps = [way(one.stood.along, along, north_deg)] if abs(along) >= SHORT_IN else []
    steps += [higher(by[1])] if abs(by[1]) >= SHORT_IN else []
    says = f"It would fit {' and '.join(steps) or 'a hair off'}."
    if one.fit.cuts_chord:
        return f"{says} As it runs it would cut {listed(one.fit.called, 6)}, and a chord is never cut."
    return f"{says} As it runs it would leave the truss." if one.fit.outside else says


def takes(one: Crossing, run: CoreRun) -> str:
    """What a truss keeps free for the run: an opening 14" round with 1" clear around it; and why that is larger than
    the run where it is."""
    met, (wide, high) = one.met, run.section.outer
    size = f"{tape_inches(met.width_in)} round"
    if met.shape == "rectangle":
        size = f"{tape_inches(met.width_in)} wide and {tape_inches(met.height_in)} high"
    clear = f", with {tape_inches(met.clearance_in)} clear around it" if met.clearance_in else ""
    larger = met.width_in - wide >= SHORT_IN or met.height_in - high >= SHORT_IN
    why = [on for on, is_so in (("crosses on the skew", one.sine < 1 - 1e-6), ("falls", bool(run.slope))) if is_so]
    because = f"; larger than the run, which {' and '.join(why)}" if larger and why else ""
    return f"an opening {size}{clear}{because}"


def rows_of(
    run: CoreRun,
    met: Sequence[Lettered],
    answered: Mapping[str, Answers],
    left_at: Sequence[Sequence[float]] = (),
    cut: Iterable[AsCut] = (),
    north_deg: float | None = None,
) -> list[dict[str, Any]]:
    """The crossings as a list tells them, in the order of the path. Copies of one mark that stand one behind the other
    and answer alike share a row; `answered`: what each answers, by its letter; `left_at`: where a decision left some;
    `cut`: those of cut copies."""
    rows: list[dict[str, Any]] = []
    how = {one.letter: cut_says(one) for one in cut}
    for name, one in met:
        told = told_crossing(name, one, run, north_deg, answered[name]) | {
            "left": any(math.dist(one.place_in, at) < 1 for at in left_at)
        }
        told["cut"] = how.get(name)
        if answered[name] == "cut" and one.verdict == "fits":  # its wood isn't in the way, something else is
            told["says"] = how[name][2]
        keys = ("word", "says", "marked", "x_in", "height_in", "takes", "left", "cut")
        alike = [one.stood.mark, *(told[key] for key in keys)]
        if rows and rows[-1]["alike"] == alike:
            rows[-1]["to"] = told
        else:
            rows.append(told | {"alike": alike})
    return rows


def asked_of(
    crossed: Crossed, cut: Sequence[AsCut], closed: Mapping[str, str], *, together: bool
) -> list[dict[str, Any]]:
    """What a request for the run would ask, to be confirmed before it goes: the copies of each mark that share an
    opening; those that are cut already, of which nothing is asked; and marks whose copies can't change any more for
    another reason, in words by `closed`."""
    order = {name: i for i, (name, _) in enumerate(lettered(crossed))}
    done = {one.name for one in cut}
    rows: list[dict[str, Any]] = []
    open_ones = by_mark(crossed, but=done)
    for mark in by_mark(crossed):
        for those in groups(open_ones.get(mark, []), together=together):
            late = {"word": "too late", "tone": "stop", "says": closed[mark]} if mark in closed else {}
            verdict = {"word": VERDICT_WORDS[shared(those)], "tone": TONES[shared(those)]}
            rows.append(_asked(mark, those, order) | verdict | {"size": size_of(envelope(those))} | late)
        of_mark: dict[tuple[str, str, str], list[Lettered]] = {}
        for one in sorted(cut, key=lambda one: HOW.index(one.how)):
            if one.stands.mark == mark:
                of_mark.setdefault(cut_says(one), []).append((one.letter, one.met))
        for (word, tone, says), those in of_mark.items():
            rows.append(_asked(mark, those, order) | {"word": word, "tone": tone, "says": says})
    return rows


def _asked(mark: str, those: Sequence[Lettered], order: Mapping[str, int]) -> dict[str, Any]:
    at, numbers = [order[name] for name, _ in those], sorted({one.stood.number for _, one in those})
    behind = len(at) > 2 and at == list(range(at[0], at[0] + len(at)))
    letters = f"{those[0][0]} to {those[-1][0]}" if behind else listed([name for name, _ in those], 6)
    return {"called": f"{mark}, {copies(numbers)}", "letters": letters}


def size_of(opening: Mapping[str, Any]) -> str:
    """8" round; 12" × 8"."""
    if opening["shape"] == "circle":
        return f"{tape_inches(opening['diameter_in'])} round"
    return f"{tape_inches(opening['width_in'])} × {tape_inches(opening['height_in'])}"


def drawn_path(crossed: Crossed, answered: Mapping[str, Answers]) -> Path:
    """A run as the plan draws it, with the sign of what each crossing answers by its letter: of a cut copy that doesn't
    take it that it never does."""
    signs = {name: "never" if one == "cut" else one for name, one in answered.items()}
    met = [Met(name, one.place_in, signs[name]) for name, one in lettered(crossed)]
    return Path("", crossed.run.points, crossed.run.section.outer[0], met)


def runs_of(
    change: Request, asks: Iterable[Ask], lines: Mapping[str, Mapping[str, Any]] | None = None
) -> list[dict[str, Any]]:
    """The runs of a request's asks as they cross the set today: the plan with every crossing lettered and its
    verdict. `lines`: other lines of theirs that the builder is asked about, as a decision has them."""
    asks = list(asks)
    return [
        _run_of(change, one, [ask for ask in asks if ask.run == one])
        | {"along": _along(change, one, lines[str(one.pk)]) if lines and str(one.pk) in lines else None}
        for one in {ask.run.pk: ask.run for ask in asks if ask.run}.values()
    ]


def place_asked(job: Job, place: Mapping[str, Any]) -> str:
    """The plan of the level on which the place of a question was tapped, with a mark there; empty where no level was
    said, or nothing stands on it any more."""
    here = standing(job).get(place.get("level", ""), [])
    if place.get("on") != "plan" or not here:
        return ""
    at = place["x_in"], place["y_in"]
    plan = level_of(job, place["level"], here)
    return kept_drawings.level(replace(plan, paths=[Path("", [at], 12.0, [Met("?", at, "redesign")])]))


def _run_of(change: Request, one: Run, asks: Sequence[Ask]) -> dict[str, Any]:
    path = read_path(one.wish, ("run",))
    plan = level_of(change.job, path.level, standing(change.job).get(path.level, []))
    try:
        crossed = crossing(change.job, path)
    except workflow.Refused as refused:
        return {"run": one, "path": path, "above": _begins_above(path), "trouble": refused.says}
    left = left_of(change, asks)
    cut = as_cut(change.job, path.level, lettered(crossed), asked=one)
    told = answers(crossed, cut, together=one.together)
    drawn = [
        replace(drawn_path(crossed, told), points=part.run.points, left=part.left, met=())
        for part in in_parts(path, asks, left, not_through(one))
    ]
    drawn[-1] = replace(drawn[-1], met=drawn_path(crossed, told).met)
    whole = Level(plan.name, plan.walls, plan.copies, drawn, plan.north_deg)
    left_at = [tuple(met["at_in"]) for ask in left for met in crossings_of(ask)]
    return {
        "run": one,
        "path": path,
        "above": _begins_above(path, crossed),
        "picture": kept_drawings.level(whole),
        "count": len({met.stood.name for _, met in lettered(crossed)}),
        "in_short": _in_short(crossed, told),
        "met": rows_of(
            path,
            lettered(crossed),
            told,
            left_at,
            cut,
            change.job.north_deg,
        ),
        "as_cut": [_recorded(row) for row in one.as_cut],
        "drop": path.height_in - path.height_at(path.length_in),
        "pieces": rigid(crossed),
        "meets": meets_told(change.job, crossed, cut, together=one.together, asked=one)[0],
    }


def _in_short(crossed: Crossed, told: Mapping[str, Answers]) -> str:
    """R1 fits if moved; R3 fits: the worst that the copies of each mark answer, in the words of the list below it."""
    marks = {mark: max((told[name] for name, _ in met), key=WORSE.index) for mark, met in by_mark(crossed).items()}
    return "; ".join(f"{mark} {VERDICT_WORDS.get(worst, 'cut already')}" for mark, worst in marks.items())


def _begins_above(path: CoreRun, crossed: Crossed | None = None) -> str:
    """What its heights count from, with how far the bearing is above that where it is a floor below."""
    use = next((one.stood.design.truss.use for one in crossed.crossings), "") if crossed else ""
    says = above(path.datum, use)
    if path.datum != "storey":
        return says
    return f"{says} ({storey(path.bearing_above_floor_in, path.bearing_assumed)})"


def _along(change: Request, run: Run, line: Mapping[str, Any]) -> dict[str, Any]:
    """Another line of a run, drawn and told beside the one that was asked for."""
    was, to = read_path(run.wish, ("run",)), read_path(line, ("run",))
    try:
        crossed = crossing(change.job, to)
    except workflow.Refused as refused:
        return {"says": said_difference(was, to), "trouble": refused.says}
    cut = as_cut(change.job, to.level, lettered(crossed), instead=run)
    for one in cut:
        if one.holds and one.name not in left_out(run):
            return {"says": said_difference(was, to), "trouble": f"{one.name} is cut already. {cut_says(one)[2]}"}
    told = answers(crossed, cut, together=run.together)
    short = counts(crossed, told).short
    fewer = f"{counted(short, 'truss', 'trusses')} would have to change" if short else "every truss stays as it is"
    plan = level_of(change.job, to.level, standing(change.job).get(to.level, []))
    picture = kept_drawings.level(replace(plan, paths=[drawn_path(crossed, told)]))
    return {"says": f"{said_difference(was, to)}: as the trusses are today, {fewer}.", "picture": picture}


def said_difference(was: CoreRun, to: CoreRun) -> str:
    """How another line of a run differs from the one that was asked for."""
    steps = []
    by = {
        tuple(round(b - a, 6) for a, b in zip(*pair, strict=True)) for pair in zip(was.points, to.points, strict=False)
    }
    if len(was.points) == len(to.points) and len(by) == 1:
        if across := moved(*by.pop()):
            steps.append(f"moved {across} on the plan")
    else:
        longer = to.length_in - was.length_in
        far = f"{feet_inches(abs(longer))} {'longer' if longer > 0 else 'shorter'}"
        far = far if abs(longer) >= SHORT_IN else "as long"
        steps.append(f"with {counted(len(to.points) - 2, 'bend', 'bends')}, {far}")
    if abs(up := to.height_in - was.height_in) >= SHORT_IN:
        steps.append(f"{feet_inches(abs(up))} {'higher' if up > 0 else 'lower'} where it begins")
    if was.rises != to.rises:
        steps.append(f"going up at its corners by {listed([feet_inches(one) for one in to.rises]) or 'nothing'}")
    return sentence(listed(steps)).removesuffix(".") if steps else "As it was asked"


def _recorded(row: Mapping[str, Any]) -> dict[str, Any]:
    """Cut copies that a run was recorded to go through, or to be asked without, when it was filed."""
    letters = letter_runs([one["letter"] for one in row["crossings"]])
    called = f"{row['mark']}, {copies(row['copies'])}, built to revision {row['revision']}, at {letters}"
    taken = taken_by(**row["holds"]) if "holds" in row else ""
    return {"called": called, "fits": row["how"] == FITS, "damaged": row["how"] == DAMAGED, "taken": taken}
