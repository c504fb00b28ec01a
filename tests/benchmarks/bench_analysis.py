"""How many truss documents the analysis does in a second, beside a general-purpose frame library in the same run.

Run by hand:  .venv/bin/python tests/benchmarks/bench_analysis.py [seconds for each figure]

Three things are timed on every example document, in one process: reading, solving all cases, combining and checking
one document; the same for a stack of copies; and the frame alone, once by us and once by PyNite, which gets its model
ready built and does all cases too. Medians of processor time, so that a busy machine tells nearly the same as an idle
one; nothing is asserted, since machines differ.
"""

from __future__ import annotations

import json
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.pynite_oracle import Oracle
from trusses.analysis.analysis import analyse, analyse_many
from trusses.analysis.format.document import read
from trusses.analysis.frame.solve import solve, solve_stack
from trusses.analysis.loads.combinations import cases

EXAMPLES = Path(__file__).resolve().parents[1] / "analysis" / "examples"
STACK = 64
LEAST_RUNS = 3


def median_seconds(work: Callable[[], object], budget: float) -> float:
    """The median of as many runs as fit the budget, after one to warm up."""
    work()
    runs: list[float] = []
    end = time.process_time() + budget
    while len(runs) < LEAST_RUNS or time.process_time() < end:
        start = time.process_time()
        work()
        runs.append(time.process_time() - start)
    return statistics.median(runs)


def measure(path: Path, budget: float) -> dict[str, float]:
    """Milliseconds a document, by what was done."""
    text = path.read_text()
    document = json.loads(text)
    truss = read(document)
    its_cases = cases(truss)
    many = [truss] * STACK
    oracle = Oracle(document)
    seconds = {
        "whole": median_seconds(lambda: analyse(read(text)), budget),
        "whole, stacked": median_seconds(lambda: analyse_many(many), budget) / STACK,
        "frame": median_seconds(lambda: solve(truss, its_cases), budget),
        "frame, stacked": median_seconds(lambda: solve_stack(many, its_cases), budget) / STACK,
        "PyNite": median_seconds(lambda: oracle.solve(), budget),
    }
    return {what: 1000 * value for what, value in seconds.items()}


def main() -> None:
    budget = float(sys.argv[1]) if len(sys.argv) > 1 else 0.5
    paths = sorted(EXAMPLES.glob("*.truss.json"), key=lambda path: int(path.name.split(".")[0][1:]))
    rows = {path.name.split(".")[0]: measure(path, budget) for path in paths}
    names = list(next(iter(rows.values())))
    print("milliseconds of processor time a document (median)")
    print(f"{'':6}" + "".join(f"{name:>16}" for name in names) + f"{'PyNite / frame':>16}")
    for document, row in rows.items():
        ratio = row["PyNite"] / row["frame"]
        print(f"{document:6}" + "".join(f"{row[name]:16.3f}" for name in names) + f"{ratio:16.0f}")
    print()
    for name in names:
        per_second = 1000 / statistics.median(row[name] for row in rows.values())
        print(f"{name:16}{per_second:10.0f} documents a second of processor time, at the median document")
    ratios = {name: [row["PyNite"] / row[name] for row in rows.values()] for name in ("frame", "frame, stacked")}
    for name, values in ratios.items():
        print(f"PyNite takes {statistics.median(values):.0f} times as long as our {name} (median)")


if __name__ == "__main__":
    main()
