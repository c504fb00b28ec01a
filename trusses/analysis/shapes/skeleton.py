"""From the lines of a truss to the joints, members, splices and restraints of its document.

A shape (`roof_shapes`, `floor_shapes`) says where the panel points are and what joins them; this file does what is
the same for every shape: names, pieces no longer than the stock, hinges, rows of restraint on long webs.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from trusses.analysis.format.strict import tidy
from trusses.analysis.words.refusal import Refusal

Point = tuple[float, float]

#: NDS 3.7.1.4: le/d of a compression member is at most 50; 1.5 in. is the thickness of one ply.
_LONGEST_UNRESTRAINED_WEB_IN = 50 * 1.5
#: More rows than this on one web are a truss that nobody builds.
_MOST_ROWS = 10
#: A piece shorter than this is not worth a splice where there is a choice.
_SHORT_PIECE_IN = 48.0


class ShapeError(Refusal):
    """Parameters that make no truss; `place` names the one that is to be changed."""


@dataclass
class Skeleton:
    """Lines of a truss. Joint coordinates in inches; a run is a chord's straight line of joints, left to right.

    Where two runs of one chord meet, the chord is hinged. `whole` are joints where no chord may be spliced.
    """

    joints: dict[str, Point] = field(default_factory=dict)
    top: list[list[str]] = field(default_factory=list)
    bottom: list[list[str]] = field(default_factory=list)
    webs: list[tuple[str, str]] = field(default_factory=list)
    bearings: tuple[str, str] = ("", "")
    whole: set[str] = field(default_factory=set)
    flat: bool = False

    def add(self, name: str, x: float, y: float) -> str:
        """Put a joint down, to the nearest 1/10,000 in., so that a document stays readable."""
        self.joints[name] = (tidy(x, 4), tidy(y, 4))
        return name

    def distance(self, a: str, b: str) -> float:
        return math.dist(self.joints[a], self.joints[b])

    @property
    def middle(self) -> float:
        return sum(self.joints[name][0] for name in self.bearings) / 2


def sixteenth(x: float) -> float:
    """`x` to the nearest 1/16 in., as a panel point is marked on the wood."""
    return math.floor(x * 16 + 0.5) / 16


def spread(start: float, end: float, panels: int) -> list[float]:
    """Panel points that part `start`..`end` into equal panels, each to 1/16 in.; both ends as given."""
    inner = [sixteenth(start + (end - start) * i / panels) for i in range(1, panels)]
    return [start, *inner, end]


def mirrored(half: Sequence[float], span: float) -> list[float]:
    """`half` (from the left end to the middle) and its mirror image."""
    return [*half, *(span - x for x in reversed(half[:-1]))]


def symmetric(xs: Sequence[float], span: float) -> list[float]:
    """`xs` with its right half replaced by the mirror image of its left, which rounding may have missed."""
    half = list(xs[: len(xs) // 2])
    middle = [span / 2] if len(xs) % 2 else []
    return [*half, *middle, *(span - x for x in reversed(half))]


def geometry(lines: Skeleton, lumber: dict[str, str], stock_in: float) -> dict[str, Any]:
    """The `joints`, `members`, `hinges` of a document. `lumber` by role. Raises ShapeError where stock is too short."""
    hinges: list[str] = []
    members: list[dict[str, Any]] = []
    for role, letter, runs in (("top_chord", "T", lines.top), ("bottom_chord", "B", lines.bottom)):
        panels = [pair for run in runs for pair in itertools.pairwise(run)]
        members += _pieces(lines, panels, role, letter, lumber[role])
        hinges += [after[0] for after in runs[1:]]
        for run in runs:
            hinges += splices(lines, run, role, stock_in)
    members += [_member(lines, f"W{i}", "web", pair, lumber["web"]) for i, pair in enumerate(lines.webs, 1)]
    ordered = sorted(lines.joints, key=lambda name: (name[0] != "t", lines.joints[name]))
    return {
        "joints": {name: list(lines.joints[name]) for name in ordered},
        "members": members,
        "hinges": [name for name in ordered if name in set(hinges)],
    }


def web_rows(lines: Skeleton) -> dict[str, int]:
    """Rows of lateral restraint that keep every web's le/d at 50 or less out of the truss's plane (NDS 3.7.1.4)."""
    rows = {}
    for i, pair in enumerate(lines.webs, 1):
        needed = math.ceil(lines.distance(*pair) / _LONGEST_UNRESTRAINED_WEB_IN - 1e-9) - 1
        if needed > _MOST_ROWS:
            raise ShapeError("shape-long-web", "pitch", length_in=lines.distance(*pair))
        if needed > 0:
            rows[f"W{i}"] = needed
    return rows


def splices(lines: Skeleton, run: Sequence[str], role: str, stock_in: float) -> list[str]:
    """The panel points of `run` where its chord is spliced so that no piece is longer than the stock.

    The fewest pieces win; then those without a short piece; then those spliced farthest from the middle of the span,
    where a parallel chord's force is largest; a top chord is then spliced to the left, a bottom chord to the right, so
    that one panel doesn't get both. Lengths are those of the centrelines.
    """
    stations = [0.0, *itertools.accumulate(lines.distance(a, b) for a, b in itertools.pairwise(run))]
    if stations[-1] <= stock_in:
        return []
    spliceable = [i for i in range(1, len(run) - 1) if run[i] not in lines.whole and run[i] not in lines.bearings]
    # the cheapest way to every panel point that can be an end of a piece: costs add up, so the best way to one goes on
    # from the best way to the one before
    best: dict[int, tuple[tuple[int, ...], list[int]]] = {0: ((0, 0, 0, 0), [])}
    for end in [*spliceable, len(run) - 1]:
        reach = [start for start in best if stations[end] - stations[start] <= stock_in]
        ways = [_added(lines, run, stations, best[start], start, end, role) for start in reach]
        if ways:
            best[end] = min(ways)
    if len(run) - 1 in best:
        return [run[i] for i in best[len(run) - 1][1][:-1]]
    raise ShapeError("shape-splices", "stock", role=role, length_in=stations[-1], stock_in=stock_in)


def _added(
    lines: Skeleton,
    run: Sequence[str],
    stations: Sequence[float],
    way: tuple[tuple[int, ...], list[int]],
    start: int,
    end: int,
    role: str,
) -> tuple[tuple[int, ...], list[int]]:
    """A way of cutting a chord with one more piece: its cost, in pieces, short pieces, nearness of the splices to the
    middle and how far to the wrong side they are, thousandths of an inch, and the panel points where pieces end."""
    pieces, short, nearness, sideways = way[0]
    short += stations[end] - stations[start] < _SHORT_PIECE_IN
    if end < len(run) - 1:
        x = lines.joints[run[end]][0]
        nearness -= round(1000 * abs(x - lines.middle))
        sideways += round(1000 * x) * (1 if role == "top_chord" else -1)
    return (pieces + 1, short, nearness, sideways), [*way[1], end]


_TAILS = {"tl": "tail-left", "tr": "tail-right"}


def _pieces(
    lines: Skeleton, panels: Sequence[tuple[str, str]], role: str, letter: str, lumber: str
) -> list[dict[str, Any]]:
    """Chord members, numbered from the left; an overhang is called a tail, so that it doesn't shift the numbers."""
    members, number = [], 0
    for pair in panels:
        tail = next((name for name in pair if name in ("tl", "tr")), None)
        number += tail is None
        members.append(_member(lines, _TAILS[tail] if tail else f"{letter}{number}", role, pair, lumber))
    return members


def _member(lines: Skeleton, name: str, role: str, pair: tuple[str, str], lumber: str) -> dict[str, Any]:
    member = {"id": name, "role": role, "joints": list(pair), "lumber": lumber}
    return member | {"flat": True} if lines.flat else member
