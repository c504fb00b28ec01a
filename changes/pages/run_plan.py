"""Runs on the plan, with their crossings lettered: for the page that asks and for a request's page."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from changes import workflow
from changes.asks.on_plan import crossings_of, in_parts, left_of
from changes.asks.run import crossing, lettered, read_path
from changes.models import Ask, Request, Run
from trusses import kept_drawings
from trusses.analysis.runs.crossing import Crossed, Crossing
from trusses.analysis.runs.pieces import rigid
from trusses.analysis.words.runs import VERDICT_WORDS
from trusses.models import Job
from trusses.plan.copies import standing
from trusses.plan.level import Level
from trusses.plan.overlays import Met, Path
from trusses.plan.page import level_of

TONES = {"fits": "good", "moves": "look", "redesign": "look", "never": "stop", "clear": "good"}


def told_crossing(name: str, one: Crossing) -> dict[str, Any]:
    """A crossing as a list tells it."""
    return {
        "letter": name,
        "name": one.stood.name,
        "word": VERDICT_WORDS[one.verdict],
        "tone": TONES[one.verdict],
        "verdict": one.verdict,
        "says": one.says,
        "x_in": one.opening.centre[0] - one.stood.design.left,
        "height_in": one.height_in,
        "width_in": one.met.width_in,
        "high_in": one.met.height_in,
    }


def drawn_path(crossed: Crossed, name: str = "", href: str = "") -> Path:
    """A run as the plan draws it."""
    met = [Met(mark, one.place_in, one.verdict) for mark, one in lettered(crossed)]
    return Path(name, crossed.run.points, crossed.run.section.outer[0], met, href)


def runs_of(change: Request, asks: Iterable[Ask]) -> list[dict[str, Any]]:
    """The runs of a request's asks as they cross the set today: the plan with every crossing lettered and its
    verdict."""
    asks = list(asks)
    return [
        _run_of(change, one, [ask for ask in asks if ask.run == one])
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
        return {"run": one, "path": path, "trouble": refused.says}
    left = left_of(change, asks)
    drawn = [
        replace(drawn_path(crossed), points=part.run.points, left=part.left, met=())
        for part in in_parts(path, asks, left)
    ]
    drawn[-1] = replace(drawn[-1], met=drawn_path(crossed).met)
    whole = Level(plan.name, plan.walls, plan.copies, drawn, plan.north_deg)
    left_at = [tuple(met["at_in"]) for ask in left for met in crossings_of(ask)]
    return {
        "run": one,
        "path": path,
        "picture": kept_drawings.level(whole),
        "met": [
            told_crossing(name, each) | {"left": any(math.dist(each.place_in, at) < 1 for at in left_at)}
            for name, each in lettered(crossed)
        ],
        "drop": path.height_in - path.height_at(path.length_in),
        "pieces": rigid(crossed),
    }
