"""The scene of a job from what its plan knows: placements with their copies, walls, and the runs that others add."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.urls import reverse

from trusses.analysis.alike import begins_off
from trusses.analysis.format.document import sha256 as digest
from trusses.analysis.lumber import LumberError, lookup
from trusses.analysis.runs.run import Run as CoreRun
from trusses.models import Job, Revision, WallLine
from trusses.plan.copies import Stands, designs_of, standing
from trusses.solid.bodies import Body, body
from trusses.solid.heights import Height, LevelDepth, heights
from trusses.solid.scene import AFTER, BEFORE, TOUCHED, UNTOUCHED, Placed, Run, Scene, Wall

_BEAM_IN = 11.25
_POST_IN = 12.0
"""How deep a beam is drawn, and up to which length a line without a plate is a post. The plan keeps walls, headers and
beams as lines alike: one is a beam where its label says beam or header, or says no wall and has no plate either."""
_WALL_IN = 5.5  # where the plate isn't said
_FOOTING_IN = 96.0  # how far the lowest walls are drawn down
_GROUND_IN = 12.0  # how far below the lowest floor's bearing the ground is drawn

NamedRun = tuple[str, CoreRun, str]
"""A run's name, the run, and where it leads when it is tapped."""

runs_of: list[Callable[[Job], Sequence[NamedRun]]] = []
"""What shows runs in a job's set; the app that has them adds itself when it starts."""
weights_of: list[Callable[[Job, Scene], Iterable[Wall]]] = []
"""What shows signs of weights, and of walls that are lower than drawn, on the copies of a job's scene: likewise."""


@dataclass(frozen=True)
class Change:
    """What a request does to one copy: the document that it has, with what is asked of it, and the one that an option
    gives it, if any. `turned`: it was turned end for end for another design since these were drawn."""

    before: Mapping[str, Any]
    after: Mapping[str, Any] | None = None
    turned: bool = False


def levels_of(job: Job) -> dict[str, Height]:
    """How high each level bears, and whether a designer said so; the lowest first."""
    known = bodies_of({one.sha256 for those in standing(job).values() for one in those})
    depths = []
    for level, copies in standing(job).items():
        floor = any(known[one.sha256].floor for one in copies)
        depths.append(LevelDepth(level, floor, max(known[one.sha256].bounds[3] for one in copies)))
    return heights(depths, job.bearing_heights)


_BODIES: dict[str, Body] = {}
_MOST_BODIES = 500


def bodies_of(hashes: Collection[str]) -> dict[str, Body]:
    """By the SHA-256 of their documents; each is made once in a process."""
    unknown = set(hashes) - _BODIES.keys()
    if unknown:
        if len(_BODIES) + len(unknown) > _MOST_BODIES:
            _BODIES.clear()
            unknown = set(hashes)
        for sha256, document in Revision.objects.filter(sha256__in=unknown).values_list("sha256", "document"):
            _BODIES[sha256] = body(document)
    return {sha256: _BODIES[sha256] for sha256 in hashes}


def scene(job: Job, changes: Mapping[int, Change] | None = None, runs: Sequence[NamedRun] = ()) -> Scene:
    """All that stands in a job. `changes` are what a request does to copies, by their ids: one that an option changes
    stands twice, as before and as after. `runs` are shown besides, each with a name and where it leads."""
    there = standing(job)
    copies = [one for those in there.values() for one in those]
    bodies = bodies_of({one.sha256 for one in copies})
    high = levels_of(job)
    placed = []
    for one in copies:
        z, change = high[one.level].bearing, (changes or {}).get(one.copy or 0)
        if change is None:
            placed.append(_placed(job, one, one.sha256, bodies[one.sha256], z, UNTOUCHED))
            continue
        shown = ((change.before, BEFORE if change.after else TOUCHED), (change.after, AFTER))
        for document, look in shown:
            if document:
                key = digest(document)
                bodies.setdefault(key, body(document))
                placed.append(_placed(job, _as_drawn(one, change, document), key, bodies[key], z, look))
    lines = [line for line in job.wall_lines.all() if line.points and line.level in high]
    floors = _floors([one for one in placed if bodies[one.body].floor], bodies)
    ground = min((one.bearing for one in high.values()), default=0.0) - (_GROUND_IN if floors else _FOOTING_IN)
    walls = [wall for line in lines for wall in _walls(line, high, floors, ground)]
    used = {one.body for one in placed}
    paths = [along(run, name, href, there.get(run.level, ()), high) for name, run, href in runs]
    return Scene({key: bodies[key] for key in bodies if key in used}, placed, walls, paths, ground, list(high))


def _as_drawn(one: Stands, change: Change, document: Mapping[str, Any]) -> Stands:
    """A copy by a document of its change: its wood where it stands."""
    stands = designs_of({one.sha256})[one.sha256].truss.document
    off = begins_off(stands, document, turned=one.turned)
    x, y = (one.x + off, one.y) if one.along == "x" else (one.x, one.y + off)
    return replace(one, x=x, y=y, turned=one.turned != change.turned)


def along(run: CoreRun, name: str, href: str, there: Sequence[Stands], high: Mapping[str, Height]) -> Run:
    """A run as prisms along its path. It keeps its height above what it is measured from in the truss nearest to where
    it begins: others may differ by the depth of a chord."""
    base, (x, y) = high[run.level].bearing if run.level in high else 0.0, run.points[0]
    if there:
        nearest = min(there, key=lambda one: math.dist((one.x, one.y), (x, y)))
        design = designs_of({nearest.sha256})[nearest.sha256]
        base += design.begins_y(run) - design.datum_y("bearing")
    steps = [leg.before for leg in run.legs()] + [run.length_in]
    risen = [0.0, *(run.rises or [0.0] * (len(steps) - 2)), 0.0]
    points: list[tuple[float, float, float]] = []
    for (px, py), far, rise in zip(run.points, steps, risen, strict=True):
        z = base + run.height_at(far)
        points += [(px, py, z - rise), (px, py, z)] if rise else [(px, py, z)]
    return Run(name, points, *run.section.outer, run.section.shape == "circle", href, run.level)


def _placed(job: Job, one: Stands, sha256: str, made: Body, z: float, shown: str) -> Placed:
    href = reverse("trusses:mark", args=(job.pk, one.truss))
    over = made.span_in if one.turned else 0.0  # from where its line begins to its left bearing
    x, y = (one.x + over, one.y) if one.along == "x" else (one.x, one.y + over)
    copy = one.truss, one.mark, one.number, one.level, one.along
    return Placed(sha256, *copy, x, y, z, one.stage, shown, href, one.turned)


Box = tuple[float, float, float, float]


def _floors(placed: Sequence[Placed], bodies: Mapping[str, Body]) -> dict[str, Box]:
    """The box in plan that the floor trusses of each level cover."""
    found: dict[str, Box] = {}
    for one in placed:
        left, _, right, _ = bodies[one.body].bounds
        (ax, ay, _), (bx, by, _) = one.at(left, 0.0, 0.0), one.at(right, 0.0, 0.0)
        x0, y0, x1, y1 = found.get(one.level, (ax, ay, ax, ay))
        found[one.level] = min(x0, ax, bx), min(y0, ay, by), max(x1, ax, bx), max(y1, ay, by)
    return found


def _walls(line: WallLine, high: Mapping[str, Height], floors: Mapping[str, Box], ground: float) -> list[Wall]:
    top = high[line.level].bearing
    below = [(high[level].top, box) for level, box in floors.items() if high[level].top < top]
    found = []
    for a, b in itertools.pairwise(line.points):
        x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        decks = [deck for deck, (x0, y0, x1, y1) in below if x0 - 12 <= x <= x1 + 12 and y0 - 12 <= y <= y1 + 12]
        bottom = max(decks, default=ground if below else top - _FOOTING_IN)
        if _is_beam(line) and math.dist(a, b) > _POST_IN:
            bottom = top - _BEAM_IN
        found.append(Wall(line.label, line.level, (a[0], a[1]), (b[0], b[1]), bottom, top, _thick(line.plate)))
    return found


def _is_beam(line: WallLine) -> bool:
    label = line.label.lower()
    return "beam" in label or "header" in label or ("wall" not in label and not line.plate)


def _thick(plate: str) -> float:
    """As wide as a wall's plate."""
    try:
        return lookup(plate).width_in if plate else _WALL_IN
    except LumberError:
        return _WALL_IN
