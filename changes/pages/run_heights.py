"""What a run passes by on its page, and other heights of a run that goes through nothing, each with one tap."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from changes.asks.live_run import Takes, other_heights
from changes.pages.run_form import typed_run
from trusses.analysis.runs.crossing import Crossed
from trusses.analysis.runs.passing import Height, passed_all
from trusses.analysis.runs.stood import Stood
from trusses.analysis.words.phrases import Coded, coded, counted, listed, sentence, tell
from trusses.analysis.words.runs import PASSING, above, at_height, storey
from trusses.models import Job
from trusses.plan.ways import higher


def passes(crossed: Crossed) -> Coded | None:
    """On which side of which trusses it passes, and how far off; None where it passes by none."""
    sides: dict[str, list[tuple[Stood, float]]] = {}
    for one, (side, clear) in passed_all(crossed):
        sides.setdefault(side, []).append((one.stood, clear))
    rows = [
        [side, min(clear for _, clear in those), max(clear for _, clear in those), called(one for one, _ in those)]
        for side, those in sides.items()
    ]
    return coded("run-passes", sides=rows) if rows else None


def called(those: Iterable[Stood]) -> list[str]:
    """In the order of the path; copies of a mark that follow each other as one: R1-12; R3-1 to R3-4."""
    runs: list[list[Stood]] = []
    for one in those:
        last = runs[-1][-1] if runs else None
        if last and last.mark == one.mark and abs(last.number - one.number) == 1:
            runs[-1].append(one)
        else:
            runs.append([one])
    ends = [[one[0].name] if len(one) == 1 else [one[0].name, one[-1].name] for one in runs]
    return [" to ".join(names) for names in ends]


def height_told(crossed: Crossed) -> str:
    """How high its middle is, from where that was typed: 9'-0" above the floor of the storey below (bearing at
    8'-1 1/8" above the bare floor …)."""
    run = crossed.run
    says = at_height(run.height_in, told_above(crossed))
    return f"{says} ({storey(run.bearing_above_floor_in, run.bearing_assumed)})" if run.datum == "storey" else says


def told_above(crossed: Crossed) -> str:
    """What its heights count from, in the trusses that its line lies over."""
    return above(crossed.run.datum, next((one.stood.design.truss.use for one in crossed.crossings), ""))


def heights_told(job: Job, crossed: Crossed, takes: Takes) -> dict[str, Any]:
    """Of a run that goes through nothing: at which heights its line would, and the nearest as the fields say them, of
    those at which it can be asked for."""
    if (found := other_heights(job, crossed)) is None:
        return {"meets": "", "heights": []}
    says = []
    if found.meets:
        low, high = found.meets
        says.append(coded("run-meets", low=low, high=high, above=told_above(crossed)))
    if not found.through:
        says.append(coded("run-no-height"))
    there = [(one, replace(crossed.run, height_in=one.height_in)) for one in found.through]
    offers = [{"typed": typed_run(to), "says": _height(one, crossed)} for one, to in there if takes(to)]
    return {"meets": tell(PASSING, says), "heights": offers}


def _height(one: Height, crossed: Crossed) -> str:
    """At 3'-3 3/4" above the attic floor it fits in R3, copies 1 to 4 as they are; R1, copy 12 would change."""
    there = f"{at_height(one.height_in, told_above(crossed))}, {higher(one.height_in - crossed.run.height_in)}"
    parts = []
    if one.fits:
        parts.append(f"it fits through {_listed(one.fits)} as {'it is' if len(one.fits) == 1 else 'they are'}")
    if one.changes:
        parts.append(f"{counted(len(one.changes), 'truss', 'trusses')} would have to change: {_listed(one.changes)}")
    return sentence(f"at {there}: {'; '.join(parts)}")


def _listed(those: Sequence[Stood]) -> str:
    return listed(called(those))
