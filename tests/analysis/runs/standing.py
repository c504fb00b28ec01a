"""Trusses in plan for tests of runs: a W of 36 ft, 24 in. on center, the first at x = 24, spans along y from y = 0; and
the demo's house."""

from __future__ import annotations

from functools import lru_cache

from trusses.analysis.format.document import read
from trusses.analysis.runs.run import Run, Section
from trusses.analysis.runs.stood import Design, Stood
from trusses.analysis.shapes.shapes import build
from trusses.demo_set import marks

PIPE = Section("circle", 14, 14, 0, 1)


@lru_cache
def design(kind: str = "w", **more: object) -> Design:
    loads = {"top_dead": 10, "bottom_dead": 7, "roof_live": 20, "bottom_restraint": 48}
    wood = {f"{part}_lumber": "2x4 SPF No.1/No.2" for part in ("top", "bottom", "web")}
    return Design(read(build(kind, mark="A", title="", span=432, pitch=6, **loads, **wood, **more)))


def row(
    count: int, one: Design | None = None, mark: str = "A", first: float = 24.0, turned: bool = False
) -> list[Stood]:
    one = one or design()
    return [Stood(mark, i + 1, "Roof", one, "y", 0.0, first + 24 * i, turned) for i in range(count)]


def run(*points: tuple[float, float], height: float = 30.0, section: Section = PIPE, slope: float = 0.0) -> Run:
    return Run("Roof", points, height, "bearing", slope, section)


def of_the_demo() -> list[Stood]:
    """Every copy of the demo's house, each mark's numbered from 1."""
    found = []
    for mark in marks():
        one, number = Design(read(mark.document)), 0
        for stand in mark.stands:
            for i in range(stand.count):
                number, step = number + 1, i * stand.spacing_in
                start, across = (stand.x_in, stand.y_in) if stand.direction == "x" else (stand.y_in, stand.x_in)
                found.append(Stood(mark.mark, number, stand.level, one, stand.direction, start, across + step))
    return found
