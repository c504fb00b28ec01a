"""The answer while a run is drawn: through 45 trusses of the demo's roof, level and falling. By hand; no test.

Prints medians of the time of this process and of the clock, in milliseconds: of the core alone (`cross`), of the better
lines, of a run of many points held against itself, and of the path with bends also through sets of 120 and 400 trusses,
with its memory. The first answer of a section works out where it is free in each design; later ones find that kept. On
a demo's data also of the whole request, as a phone sends it while the line is dragged, another place each time:

    MODE=demo DATA_DIR=.data/demo .venv/bin/python tests/benchmarks/bench_run.py
"""

from __future__ import annotations

import itertools
import os
import statistics
import sys
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.analysis.runs.standing import design, of_the_demo, row, run
from trusses.analysis.runs.bends import bent
from trusses.analysis.runs.crossing import cross
from trusses.analysis.runs.lines import lines
from trusses.analysis.runs.meeting import itself
from trusses.analysis.runs.run import Section, read_run
from trusses.analysis.runs.stood import Stood
from trusses.demo_set import ROOF

PATH: dict[str, Any] = {
    "level": ROOF,
    "points_in": [[12, 126], [708, 126], [708, 12], [960, 12], [960, 276]],
    "height_in": 29.75,
    "section": {"shape": "circle", "diameter_in": 14, "clearance_in": 1},
}


def timed(what: str, act: Callable[[], object], times: int = 9) -> None:
    own, clock = [], []
    for _ in range(times):
        a, b = time.process_time(), time.perf_counter()
        act()
        own.append(time.process_time() - a)
        clock.append(time.perf_counter() - b)
    print(f"{what:42} {statistics.median(own) * 1e3:7.1f} ms of the process {statistics.median(clock) * 1e3:7.1f} ms")


def large(count: int) -> None:
    """A run with a corner, falling, through so many trusses that lie one way and as many that lie the other way: each
    meets it at a height of its own, so that its places to try grow with the trusses."""
    end = 24.0 * count
    other = [Stood("X", i + 1, "Roof", design(), "x", end + 24, -40.0 - 24 * i) for i in range(count)]
    asked, copies = run((0, 126), (end + 240, 126), (end + 240, -40 - end), height=29.75, slope=0.02), row(count)
    timed(f"{count} + {count} trusses, the path with bends", lambda: bent(asked, [*copies, *other]), 3)
    tracemalloc.start()
    bent(asked, [*copies, *other])
    print(f"{'':42} {tracemalloc.get_traced_memory()[1] / 1e6:7.1f} MB at most")
    tracemalloc.stop()


def against_itself() -> None:
    """Of 40 points 24 in. apart: steps that go on, and turns that lie 24 in. beside each other; and 200 in. to and fro,
    in each other's way all along."""
    steps, turns = [(0.0, 60.0)], [(0.0, 60.0)]
    tangle = [(200.0 * (i % 2), 100 + 0.5 * i) for i in range(40)]
    for i in range(39):
        (x, y), (u, v) = steps[-1], turns[-1]
        steps.append((x + 24, y) if i % 2 else (x, y + 24))
        turns.append((u + 24, v) if i % 2 else (u, v + 24 * (1 if i % 4 == 0 else -1)))
    for name, points, wide in (
        ("steps", steps, 14),
        ("turns", turns, 14),
        ("too near", turns, 28),
        ("tangle", tangle, 14),
    ):
        for slope in (0.0, 3.0):
            asked = run(*points, section=Section("rectangle", wide, 8, 0, 1), slope=slope)
            timed(f"40 points, {name}, falling {slope:.0f} in. a foot", lambda asked=asked: itself(asked, row(6)))


def requests() -> None:
    """The request itself: the page's fragment and the API's answer, each with the sheet or the JSON that goes back."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "project.settings")
    os.environ["ALLOWED_HOSTS"] = "testserver"
    import django

    django.setup()
    from django.contrib.auth import get_user_model
    from django.test import Client

    from project.memory import collect_rarely
    from trusses.models import Job

    collect_rarely()  # as the server does
    client, job, dragged = Client(), Job.objects.get(is_demo=True), itertools.count(1)
    client.force_login(get_user_model().objects.get(username="builder"))

    def points() -> list[list[float]]:
        aside = next(dragged) * 1.37 % 60
        return [[x, y + aside if y == 126 else y] for x, y in PATH["points_in"]]

    def page(slope: float) -> None:
        typed = {
            "level": ROOF,
            "shape": "circle",
            "diameter": "14",
            "clearance": "1",
            "up": "29.75",
            "datum": "bearing",
        }
        line = "\n".join(f"{x}, {y}" for x, y in points())
        sent = typed | {"points": line, "slope": slope}
        answer = client.post(f"/jobs/{job.pk}/run/", sent, HTTP_HX_REQUEST="true")
        assert 'class="letter"' in answer.content.decode()

    def api(slope: float) -> None:
        body = {"job": job.pk, "run": {**PATH, "slope_in_per_ft": slope, "points_in": points()}}
        told = client.post("/api/v1/run/", body, content_type="application/json").json()
        assert len(told["crossings"]) + len(told["passes_by"]) >= 40

    for name, slope in (("level", 0.0), ("falling 1/4 in. a foot", 0.25)):
        page(slope)
        timed(f"the page's answer, {name}", lambda slope=slope: page(slope), 15)
        timed(f"the API's answer, {name}", lambda slope=slope: api(slope), 15)


def main() -> None:
    copies = of_the_demo()
    for name, slope in (("level", 0.0), ("falling 1/4 in. a foot", 0.25)):
        run = read_run({**PATH, "slope_in_per_ft": slope})
        crossed = cross(run, copies)
        print(f"{name}: {len(crossed.crossings)} trusses")
        timed("  what each answers", lambda run=run: cross(run, copies))
        timed("  better heights", lambda run=run, crossed=crossed: lines(run, copies, crossed), 3)
        timed("  the path with bends", lambda run=run: bent(run, copies), 3)
        straight = read_run({**PATH, "slope_in_per_ft": slope, "points_in": PATH["points_in"][:2]})
        timed("  better lines of its first leg", lambda run=straight: lines(run, copies), 3)
    against_itself()
    for count in (60, 200):
        large(count)
    if os.environ.get("MODE") == "demo":
        requests()


if __name__ == "__main__":
    main()
