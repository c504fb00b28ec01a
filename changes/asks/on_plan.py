"""Runs that were asked for, as the job's plan and its set in three dimensions draw them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from changes.asks.holding import not_through, standing_runs
from changes.asks.run import read_path
from changes.models import Ask
from trusses.analysis.runs.parts import Part, parts
from trusses.analysis.runs.run import Run as CoreRun
from trusses.analysis.words.lengths import tape_inches
from trusses.analysis.words.phrases import copies, listed
from trusses.models import Job
from trusses.plan.overlays import Path
from trusses.solid.standing import NamedRun


def on_the_plan(job: Job, level: str) -> list[Path]:
    """The runs of a job that are open or approved, as its plan draws them: what a decision left of one as left, and
    cut copies that it was asked without."""
    return [
        Path(_named(name, part, without), part.run.points, part.run.section.outer[0], (), href, part.left)
        for name, found, without, href in _shown(job)
        for part in found
        if part.run.level == level
    ]


def in_the_set(job: Job) -> list[NamedRun]:
    """The same of every level, as the set in three dimensions shows them, without what was left."""
    return [
        (_named(name, part, without), part.run, href)
        for name, found, without, href in _shown(job)
        for part in found
        if not part.left
    ]


def _named(name: str, part: Part, without: str) -> str:
    """What a plan cuts short says first that it isn't all of it."""
    if part.left:
        return f"Left as it is: {name}"
    return f"Only in part: {name}, not through {without}" if without else name


def _shown(job: Job) -> Iterator[tuple[str, list[Part], str, str]]:
    """Of each run its name, its parts, what it was left through, in words, and where it leads."""
    for one, mine, left, _ in standing_runs(job):
        stays = [(ask.on_truss.mark, ask.copies) for ask in left]
        stays += [(row["mark"], row["copies"]) for row in not_through(one)]
        without = listed([f"{mark}, {copies(numbers)}" for mark, numbers in stays])
        run = read_path(one.wish, ("run",))
        yield (
            f"{called(one.name, run)}, request {one.request_id}",
            in_parts(run, mine, left, not_through(one)),
            without,
            f"/requests/{one.request_id}/",
        )


def crossings_of(ask: Ask) -> list[dict[str, Any]]:
    """Where a run's ask crosses its copies, as it was read."""
    return list((ask.wish or {}).get("crossings", ()))


def in_parts(
    run: CoreRun, asks: Iterable[Ask], left: Sequence[Ask], cut: Iterable[Mapping[str, Any]] = ()
) -> list[Part]:
    """A run parted where it was asked without cut copies, and where a decision left some of its crossings; each lies
    where it was asked. `cut`: the rows of `not_through`."""
    met = [(one["letter"], tuple(one["at_in"]), ask in left) for ask in asks for one in crossings_of(ask)]
    met += [(one["letter"], tuple(one["at_in"]), True) for row in cut for one in row["crossings"]]
    met.sort(key=lambda one: (len(one[0]), one[0]))
    return parts(run, [(at, was_left) for _, at, was_left in met])


def called(name: str, run: CoreRun) -> str:
    """A run as whoever asked for it calls it, else by its section."""
    wide, high = (tape_inches(bare) for bare in (run.section.width_in, run.section.height_in))
    return name or (f"{wide} round run" if run.section.shape == "circle" else f"{wide} × {high} run")
