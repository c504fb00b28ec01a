"""The engine beside general-purpose frame libraries and bare LAPACK, on the same models and cases, in one run.

Run by hand:  .venv/bin/python tests/benchmarks/bench_libraries.py [repetitions]

Ours starts from a truss record, builds its arrays, solves all cases and superposes the combinations; reading and
refusing bad documents is timed on its own line, since the libraries do nothing like it. The libraries build their
model and solve the same cases. The limit is LAPACK's dpbsv alone on the matrices that the engine assembled. Medians of
processor time; nothing is asserted, since machines differ.
"""

from __future__ import annotations

import gc
import json
import resource
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np
from scipy.linalg.lapack import dpbsv

from project.memory import keep_freed
from tests.benchmarks import general
from tests.benchmarks.models import flat_truss, w_truss
from trusses.analysis.analysis import Analysis, analyse_many
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Truss
from trusses.analysis.frame import solve as frame
from trusses.analysis.loads.combinations import superposition

Job = list[dict[str, Any]]

#: Rows that the cases are superposed to, whatever their number in a model's own combinations.
COMBINATIONS = np.arange(12)


def median_us(make: Callable[[], Any], work: Callable[[Any], object], runs: int) -> float:
    """The median of `work` on what `make` made each time, microseconds; the first run, which warms up, is left out."""
    took = []
    # as timeit does, for everyone alike: to look through what was made before is no part of the work
    gc.collect()
    gc.disable()
    for _ in range(runs + 1):
        made = make()
        start = time.process_time()
        work(made)
        took.append(time.process_time() - start)
    gc.enable()
    return 1e6 * statistics.median(took[1:])


def solve_all(trusses: list[Truss]) -> None:
    """Every truss: cases solved, displacements, reactions and end forces of the combinations superposed."""
    for which, solution in frame.stacks(trusses):
        if solution.moving:
            raise next(iter(solution.moving.values()))
        factors = superposition(trusses[which[0]], solution.cases)[1]
        solution.combine(factors.take(COMBINATIONS, axis=0, mode="wrap"))


def everything(trusses: list[Truss]) -> None:
    """Every truss analysed and checked under all its combinations, and the envelope of its members and bearings."""
    solutions = {}
    for analysis in analyse_many(trusses):
        if not isinstance(analysis, Analysis):
            raise analysis
        if not analysis.worst_ratio > 0:
            raise ValueError("nothing was checked")
        solutions[id(analysis.solution)] = analysis.solution, analysis.checked.factors
    for solution, factors in solutions.values():
        combined = solution.combine(factors)
        for values in (combined.ends[:, :2], combined.reactions):
            values.max(axis=0), values.min(axis=0)


def verdicts(texts: list[str]) -> list[float]:
    """The largest ratio of each truss, from the text of its document."""
    return [one.worst_ratio for one in analyse_many([read(text) for text in texts]) if isinstance(one, Analysis)]


def memory() -> None:
    """The most that this process holds after 2,000 candidates of a 40-joint truss under 14 combinations, MB."""
    document = flat_truss(19, 18, 24)
    document["loads"]["area"] += [
        {"case": "snow", "psf": 25, "along": "plan", "pattern": half, "chord": "top_chord"} for half in ("all", "left")
    ]
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    trusses = [read(document | {"spacing_in": 12 + i / 500}) for i in range(2000)]
    held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    analyses = [one for one in analyse_many(trusses) if isinstance(one, Analysis)]
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    joints, combinations = len(trusses[0].joints), len(analyses[0].combinations)
    print(f"\nmemory: {len(analyses)} candidates, {joints} joints, {combinations} combinations, most held at once:")
    print(f"  {before:.0f} MB before, {held:.0f} with the trusses read, {after:.0f} with all analyses")


def assembled(job: Job) -> list[tuple[np.ndarray, np.ndarray]]:
    """The band (n, width) and the cases' loads (r, n) that the engine assembles for each of these documents."""
    caught: list[tuple[np.ndarray, np.ndarray]] = []
    original = frame.solve_band

    def spy(band: np.ndarray, sides: np.ndarray) -> Any:
        # the engine solves for one side more, by which it knows an ill-conditioned frame
        caught.extend((np.array(k), np.array(f[:-1])) for k, f in zip(band, sides, strict=True))
        return original(band, sides)

    frame.solve_band = spy
    try:
        solve_all([read(document) for document in job])
    finally:
        frame.solve_band = original

    return caught


def limit_us(job: Job, runs: int) -> float:
    """dpbsv alone on what the engine assembles for these documents."""

    def work(copies: list[tuple[np.ndarray, np.ndarray]]) -> None:
        for k, f in copies:
            dpbsv(k.T, f.T, lower=1, overwrite_ab=1, overwrite_b=1)

    caught = assembled(job)
    return median_us(lambda: [(k.copy(), f.copy()) for k, f in caught], work, runs)


def dense_us(job: Job, runs: int) -> float:
    """numpy's batched solution of the same systems, whole: what the solver would do without scipy."""
    wholes, sides = [], []
    for band, f in assembled(job):
        n, width = band.shape
        whole = np.zeros((n, n))
        for step in range(width):
            np.fill_diagonal(whole[step:], band[: n - step, step])
            np.fill_diagonal(whole[:, step:], band[: n - step, step])
        wholes.append(whole)
        sides.append(f.T)
    k, rhs = np.array(wholes), np.array(sides)
    return median_us(lambda: None, lambda _: np.linalg.solve(k, rhs), runs)


def measure(name: str, job: Job, runs: int, libraries: bool = True) -> None:
    count = len(job)
    ours = median_us(lambda: [read(document) for document in job], solve_all, runs) / count
    rows = {"ours": ours, "bare dpbsv": limit_us(job, runs) / count}
    rows["reading"] = median_us(lambda: None, lambda _: [read(document) for document in job], min(runs, 5)) / count
    texts = [json.dumps(document) for document in job]
    rows["reading text"] = median_us(lambda: None, lambda _: [read(text) for text in texts], min(runs, 5)) / count
    rows["text to verdict"] = median_us(lambda: None, lambda _: verdicts(texts), min(runs, 5)) / count
    rows["everything"] = median_us(lambda: [read(document) for document in job], everything, runs) / count
    if libraries:
        some = job[:5]
        for library, solve in general.LIBRARIES.items():
            took = median_us(lambda: None, lambda _, s=solve: [s(document) for document in some], min(runs, 5))
            rows[library] = took / len(some)
    print(f"\n{name}: µs a truss (median), and times ours")
    for what, us in rows.items():
        print(f"  {what:14}{us:12.1f}{us / ours:10.2f}")


def main() -> None:
    memory()
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    print("libraries:", ", ".join(general.LIBRARIES), "| not importable:", ", ".join(general.MISSING) or "none")
    measure("one W truss", [w_truss()], 4 * runs)
    measure("one 12-panel floor truss", [flat_truss()], 4 * runs)
    job = [flat_truss(12, 14 + i / 20, 20 + i / 25) for i in range(100)]
    measure("a job of 100 floor trusses of different sizes", job, runs)
    print(f"  numpy, whole  {dense_us(job, runs) / len(job):12.1f}   the same systems without scipy's band")
    mixed = [w_truss(240 + i, 60 + i / 2) if i % 4 == 0 else flat_truss(6 + i % 8, 14 + i / 20) for i in range(100)]
    measure("a job of 100 trusses of nine shapes", mixed, runs)
    measure("500 candidates of one floor truss", [flat_truss(12, 16 + i / 250) for i in range(500)], max(3, runs // 3))
    print("\ngrowth, one parallel-chord truss a twelfth as deep as long: µs an unknown")
    for panels in (10, 20, 40, 80, 160):
        document = flat_truss(panels, 2.0 * panels)
        unknowns = 6 * panels + 3
        took = median_us(lambda d=document: [read(d)], solve_all, runs)
        print(f"  {panels:4} panels {unknowns:5} unknowns {took:10.0f} µs {took / unknowns:8.2f}")


if __name__ == "__main__":
    keep_freed()  # as the worker does
    main()
