"""The search for redesigns beside a long one on the same pairs of truss and opening.

Run by hand:  .venv/bin/python tests/benchmarks/bench_search.py [tune|held|wide] [count] [seconds of the long search]

The long search has wider limits everywhere and tries each layout with the best lumber, rows and plies that there are,
so that it tells whether a pair can be answered at all. Its seconds are the processor's, so that a busy machine finds as
much as an idle one. What it finds is kept in a temporary file by the pairs' seed and count, so that it runs once. Pairs
of `held` and `wide` are for measuring alone: nothing is tuned on them.
Printed: how many of those that the long search answers the ordinary one answers, by shape; how often its first offer
is worse in both members touched and board feet than another one that was found; offers with pieces over the stock's
length; seconds, by the clock and of the processor.
"""

from __future__ import annotations

import json
import statistics
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from unittest import mock

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.long_search import long_search
from tests.benchmarks.search_pairs import Pair, pairs
from trusses.analysis.piece_names import sawn_pieces
from trusses.analysis.redesign.search import LIMITS, search
from trusses.analysis.shapes.shapes import KINDS

SEEDS = {"tune": 11, "held": 2027, "wide": 40961}
STOCK_IN = 240.0


def known(which: str, count: int, seconds: float) -> Iterator[tuple[Pair, list[tuple[int, float]]]]:
    """Each pair with what the long search found of it: members touched and board feet of all that passed."""
    kept = Path(tempfile.gettempdir()) / f"long-search-{SEEDS[which]}-{count}.json"
    rows: list[Any] = json.loads(kept.read_text()) if kept.exists() else []
    for number, pair in enumerate(pairs(SEEDS[which], count)):
        if number >= len(rows) and seconds > 0:
            with mock.patch("time.monotonic", time.process_time):
                rows.append(long_search(pair.truss, pair.opening, seconds))
            kept.write_text(json.dumps(rows))
        yield pair, [tuple(one) for one in rows[number]] if number < len(rows) else []


def measure(pair: Pair) -> dict[str, Any]:
    began, clock = time.process_time(), time.monotonic()
    found = search(pair.truss, [pair.opening], limits=replace(LIMITS, seconds=300))
    took = {"cpu": time.process_time() - began, "clock": time.monotonic() - clock}
    passing = [one for one in found if one.passes]
    longest = max((piece.length_in for piece in sawn_pieces(pair.truss.document)), default=0.0)
    over = sum(
        max(piece.length_in for piece in sawn_pieces(one.document)) > max(STOCK_IN, longest) + 1e-3 for one in passing
    )
    first = (len(passing[0].change.touched), passing[0].change.board_feet) if passing else None
    every = [(len(one.change.touched), one.change.board_feet) for one in passing]
    return took | {"shape": pair.shape, "first": first, "offers": len(passing), "over": over, "every": every}


def main() -> None:
    which = sys.argv[1] if len(sys.argv) > 1 else "tune"
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 39
    seconds = float(sys.argv[3]) if len(sys.argv) > 3 else 150.0
    rows = []
    for number, (pair, long) in enumerate(known(which, count, seconds)):
        row = measure(pair)
        row["known"] = long + row["every"]
        rows.append(row)
        if not row["first"] or dominated(row):
            print(f"  {number:3} {pair.shape:10} first {row['first']} known {sorted(row['known'])[:4]} {pair.opening}")
        if (number + 1) % len(KINDS) == 0 and number + 1 < count:
            print(f"  {number + 1} of {count} pairs", flush=True)
    report(rows)


def dominated(row: dict[str, Any]) -> bool:
    touched, feet = row["first"]
    return any(t < touched and f < feet - 1e-6 for t, f in row["known"])


def report(rows: list[dict[str, Any]]) -> None:
    by_shape: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        by_shape[row["shape"]].append(row)
    print(
        f"\n{'shape':12}{'pairs':>6}{'can be':>8}{'answered':>10}{'share':>8}{'dominated':>11}{'over stock':>12}"
        f"{'median s':>10}{'95 % s':>8}{'cpu':>8}{'95 %':>8}"
    )
    for shape, those in [*by_shape.items(), ("all", rows)]:
        can = [row for row in those if row["known"]]
        yes = [row for row in can if row["first"]]
        bad = sum(dominated(row) for row in yes)
        clock, cpu = ([row[key] for row in those] for key in ("clock", "cpu"))
        share = len(yes) / len(can) if can else 1.0
        print(
            f"{shape:12}{len(those):6}{len(can):8}{len(yes):10}{share:8.0%}{bad:6}{bad / max(len(yes), 1):5.0%}"
            f"{sum(row['over'] for row in those):12}{statistics.median(clock):10.2f}"
            f"{_most(clock):8.2f}{statistics.median(cpu):8.2f}{_most(cpu):8.2f}"
        )


def _most(seconds: list[float]) -> float:
    """The 95th percentile; of few, the one below it."""
    return sorted(seconds)[int(0.95 * (len(seconds) - 1))]


if __name__ == "__main__":
    main()
