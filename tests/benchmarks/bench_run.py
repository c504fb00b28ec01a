"""The answer while a run is drawn: through 40 trusses of the demo's roof, level and falling. By hand; no test.

Prints medians of the time of this process and of the clock, in milliseconds: of the core alone (`cross`), and of the
better lines. The first answer of a section works out where it is free in each design; later ones find that kept.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from trusses.analysis.format.document import read
from trusses.analysis.runs.crossing import cross
from trusses.analysis.runs.lines import lines
from trusses.analysis.runs.run import read_run
from trusses.analysis.runs.stood import Design, Stood
from trusses.demo_set import ROOF, marks

PATH: dict[str, Any] = {
    "level": ROOF,
    "points_in": [[12, 126], [708, 126], [708, 12], [960, 12], [960, 276]],
    "height_in": 29.75,
    "section": {"shape": "circle", "diameter_in": 14, "clearance_in": 1},
}


def standing() -> list[Stood]:
    found = []
    for mark in marks():
        design = Design(read(mark.document))
        for stand in mark.stands:
            for i in range(stand.count):
                step = i * stand.spacing_in
                start, across = (stand.x_in, stand.y_in) if stand.direction == "x" else (stand.y_in, stand.x_in)
                found.append(Stood(mark.mark, i + 1, stand.level, design, stand.direction, start, across + step))
    return found


def timed(what: str, act: Callable[[], object], times: int = 9) -> None:
    own, clock = [], []
    for _ in range(times):
        a, b = time.process_time(), time.perf_counter()
        act()
        own.append(time.process_time() - a)
        clock.append(time.perf_counter() - b)
    print(f"{what:42} {statistics.median(own) * 1e3:7.1f} ms of the process {statistics.median(clock) * 1e3:7.1f} ms")


def main() -> None:
    copies = standing()
    for name, slope in (("level", 0.0), ("falling 1/4 in. a foot", 0.25)):
        run = read_run({**PATH, "slope_in_per_ft": slope})
        crossed = cross(run, copies)
        print(f"{name}: {len(crossed.crossings)} trusses")
        timed("  what each answers", lambda run=run: cross(run, copies))
        timed("  better heights", lambda run=run, crossed=crossed: lines(run, copies, crossed), 3)
        straight = read_run({**PATH, "slope_in_per_ft": slope, "points_in": PATH["points_in"][:2]})
        timed("  better lines of its first leg", lambda run=straight: lines(run, copies), 3)


if __name__ == "__main__":
    main()
