"""The search for redesigns beside a long one on the same pairs of truss and opening.

Run by hand:  .venv/bin/python tests/benchmarks/bench_search.py [tune|held|wide|a seed] [count] [seconds] [long|chance]

Two searches tell whether a pair can be answered at all. The `long` one has wider limits everywhere, tries each layout
with the best lumber, rows and plies that there are; the one by `chance` shares no move with the product's, and gets a
sixth of its seconds where the product has an answer already. Seconds are the processor's, so that a busy machine finds
as much as an idle one. What is found is kept in a temporary file by the pairs' seed, so that it runs once. Pairs of
`held`, `wide` and of further seeds are for measuring alone: nothing is tuned on them.
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
from dataclasses import replace
from pathlib import Path
from typing import Any
from unittest import mock

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.long_search import long_search
from tests.benchmarks.random_search import random_search
from tests.benchmarks.search_pairs import Pair, pairs
from trusses.analysis.piece_names import sawn_pieces
from trusses.analysis.redesign.search import LIMITS, search
from trusses.analysis.shapes.shapes import KINDS

SEEDS = {"tune": 11, "held": 2027, "wide": 40961}
STOCK_IN = 240.0


class Known:
    """What one of the two other searches found of each pair of a seed: members touched and board feet of all that
    passed; kept in a file."""

    def __init__(self, seed: int, seconds: float, how: str) -> None:
        self.seconds, self.how = seconds, how
        self._kept = Path(tempfile.gettempdir()) / f"{how}-search-{seed}.json"
        self._rows: dict[str, Any] = json.loads(self._kept.read_text()) if self._kept.exists() else {}

    def of(self, number: int, pair: Pair, answered: bool) -> list[tuple[int, float]]:
        key = str(number)
        if key not in self._rows and self.seconds > 0:
            if self.how == "chance":
                found = random_search(pair.truss, pair.opening, self.seconds / (6 if answered else 1))
            else:
                with mock.patch("time.monotonic", time.process_time):
                    found = long_search(pair.truss, pair.opening, self.seconds)
            self._rows[key] = found
            self._kept.write_text(json.dumps(self._rows))
        return [(one[0], one[1]) for one in self._rows.get(key, ())]


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
    seed = SEEDS[which] if which in SEEDS else int(which)
    known = Known(seed, seconds, sys.argv[4] if len(sys.argv) > 4 else "long")
    rows = []
    for number, pair in enumerate(pairs(seed, count)):
        row = measure(pair)
        row["known"] = known.of(number, pair, bool(row["first"])) + row["every"]
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
