"""Rows of restraint across the webs of trusses that stand side by side: how far each runs, and what a change breaks.

A row holds a web only because it goes on to like webs of the next trusses, and is braced diagonally. It goes on where
the next truss has a web with a row in the same place, within what the crew can build it off by.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from trusses.analysis.alike import begins_off
from trusses.analysis.format.model import Truss
from trusses.analysis.words import rows as words
from trusses.analysis.words.lengths import tape_inches

#: How far the places of a row on two neighbours may be apart for one board to hold both, along the web's truss and up,
#: inches. This project's choice, not a standard's.
BUILD_TOLERANCE_IN = 0.5
#: Trusses farther apart than this aren't neighbours, inches: no row is nailed across such a gap. This project's choice.
NEXT_IN = 48.0
#: Trusses that share less of their span than this don't stand side by side, inches.
_BESIDE_IN = 12.0
_SAME_LINE_IN = 1.0


@dataclass(frozen=True, eq=False)
class Standing:
    """One truss in plan: `across_in` where it stands among its neighbours, `along_in` where its leftmost bearing's
    joint is along the span, inches. `label` and `number` name it: R1, 4. `turned`: it stands end for end, so that
    `truss` is the mirror image of its drawing."""

    label: str
    number: int
    truss: Truss
    across_in: float
    along_in: float
    turned: bool = False

    @property
    def name(self) -> str:
        return f"{self.label}-{self.number}"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a row crosses a web, inches in the plane that the trusses share; `row` of `rows` from its first joint."""

    web: str
    row: int
    rows: int
    x_in: float
    y_in: float


@dataclass(frozen=True)
class Broken:
    """A row that a change cuts off: `trusses` keep their design and had it go on into `towards`, which change.

    `alone` where each of them has nothing left to run to; otherwise the rest of the row runs on among themselves. `why`
    is what became of the web beyond, a code of `words.rows.BECAME` and its values.
    """

    web: str
    trusses: tuple[Standing, ...]
    towards: tuple[Standing, ...]
    alone: bool
    why: tuple[str, Mapping[str, Any]]

    @property
    def says(self) -> str:
        return words.cut_off(self.web, told(self.trusses), told(self.towards), self.alone, self.single, *self.why)

    @property
    def single(self) -> bool:
        return len(self.trusses) == 1


def told(trusses: Sequence[Standing]) -> str:
    """Their names, runs of numbers shortened: R1-4 to R1-9 and R2-1."""
    groups: list[list[Standing]] = []
    for one in sorted(trusses, key=lambda one: (one.label, one.number)):
        if groups and groups[-1][-1].label == one.label and groups[-1][-1].number + 1 == one.number:
            groups[-1].append(one)
        else:
            groups.append([one])
    names = [group[0].name if len(group) == 1 else f"{group[0].name} to {group[-1].name}" for group in groups]
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else names[0]


def places(standing: Standing) -> list[Place]:
    """Where the rows of one truss cross its webs: evenly spaced along each."""
    truss = standing.truss
    left = min(truss.joint(bearing.joint).x for bearing in truss.bearings)
    found = []
    for web, rows in truss.lateral_restraint.webs.items():
        if web not in truss.member_index or truss.member(web).is_chord:
            continue
        a, b = truss.ends(truss.member(web))
        for row in range(1, rows + 1):
            share = row / (rows + 1)
            x, y = a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)
            found.append(Place(web, row, rows, x - left + standing.along_in, y))
    return found


def neighbours(line: Sequence[Standing]) -> Iterator[tuple[int, int]]:
    """Which trusses stand next to each other, as pairs of indices, the one with the smaller `across_in` first.

    Next to a truss stands, on each side, the nearest that shares some of its span: two halves of a ridge are two.
    """
    order = sorted(range(len(line)), key=lambda i: line[i].across_in)
    for n, i in enumerate(order):
        free = [_reach(line[i])]
        for j in order[n + 1 :]:
            gap = line[j].across_in - line[i].across_in
            if gap > NEXT_IN or not free:
                break
            if gap < _SAME_LINE_IN:
                continue
            low, high = _reach(line[j])
            if any(min(high, b) - max(low, a) >= _BESIDE_IN for a, b in free):
                yield i, j
            # what stands beyond it is hidden behind it
            free = [part for a, b in free for part in ((a, min(b, low)), (max(a, high), b)) if part[1] > part[0]]


def _reach(standing: Standing) -> tuple[float, float]:
    xs = [joint.x for joint in standing.truss.joints]
    left = min(standing.truss.joint(bearing.joint).x for bearing in standing.truss.bearings)
    return min(xs) - left + standing.along_in, max(xs) - left + standing.along_in


_Node = tuple[int, Place]
_Run = list[_Node]


def runs(line: Sequence[Standing]) -> list[list[tuple[Standing, Place]]]:
    """Every row as the places that one board crosses, in the order in which the trusses stand; a row of one truss runs
    to nothing."""
    found = _joined(line, list(neighbours(line))).runs()
    return [sorted(((line[i], place) for i, place in run), key=lambda one: one[0].across_in) for run in found]


class _Joined:
    """Places that one board crosses, put together pair by pair."""

    def __init__(self, held: Sequence[Sequence[Place]]) -> None:
        self._parent: dict[_Node, _Node] = {(i, place): (i, place) for i, its in enumerate(held) for place in its}
        self.pairs: list[tuple[_Node, _Node]] = []

    def join(self, one: _Node, other: _Node) -> None:
        self.pairs.append((one, other))
        self._parent[self._first(other)] = self._first(one)

    def runs(self) -> list[_Run]:
        found: dict[_Node, _Run] = {}
        for node in self._parent:
            found.setdefault(self._first(node), []).append(node)
        return list(found.values())

    def _first(self, node: _Node) -> _Node:
        while self._parent[node] != node:
            # halves the way for whoever comes next
            self._parent[node] = node = self._parent[self._parent[node]]
        return node


def _joined(line: Sequence[Standing], next_to: Sequence[tuple[int, int]]) -> _Joined:
    held = [places(standing) for standing in line]
    out = _Joined(held)
    for i, j in next_to:
        for place in held[i]:
            on = next((other for other in held[j] if _meet(place, other)), None)
            if on is not None:
                out.join((i, place), (j, on))
    return out


def _meet(one: Place, other: Place) -> bool:
    # what arithmetic adds to a whole half inch isn't off
    return max(abs(one.x_in - other.x_in), abs(one.y_in - other.y_in)) <= BUILD_TOLERANCE_IN + 1e-6


def broken(before: Sequence[Standing], changes: Mapping[int, Truss]) -> list[Broken]:
    """The rows that `changes`, trusses by their index in `before`, cut off for the trusses that stay as they are."""
    after = changed(before, changes)
    next_to = list(neighbours(before))
    now = {node: run for run in _joined(after, next_to).runs() for node in run}
    found: dict[tuple[object, ...], Broken] = {}
    for pair in _joined(before, next_to).pairs:
        for (stays, place), (goes, beyond) in (pair, pair[::-1]):
            if stays in changes or goes not in changes:
                continue
            left = {i for i, _ in now[stays, place]}
            if goes in left:
                continue
            why = _why(before[goes], after[goes], beyond)
            alone = len(left) == 1
            # what stands alone is told once for all of one web, and what runs on once for each rest of a row
            key = (place.web, *_without_its_truss(why)) if alone else (place.web, frozenset(left))
            was = found.get(key)
            kept = (after[stays],) if alone else tuple(after[i] for i in sorted(left) if i not in changes)
            if was is not None:
                kept = tuple(dict.fromkeys((*was.trusses, *kept)))
            towards = tuple(dict.fromkeys((*(was.towards if was else ()), before[goes])))
            found[key] = Broken(place.web, kept, towards, alone, was.why if was else why)
    return list(found.values())


def changed(line: Sequence[Standing], changes: Mapping[int, Truss]) -> list[Standing]:
    """The line with other trusses in some places, whose wood lies where that of those there does."""
    return [_anew(one, changes[i]) if i in changes else one for i, one in enumerate(line)]


def _anew(one: Standing, truss: Truss) -> Standing:
    by_in = begins_off(one.truss.document, truss.document, turned=one.turned)
    return replace(one, truss=truss, along_in=one.along_in + by_in)


def _why(before: Standing, after: Standing, was: Place) -> tuple[str, dict[str, Any]]:
    """What became of the web that a row went on to."""
    its = [place for place in places(after) if place.web == was.web]
    values: dict[str, Any] = {"truss": after.name, "web": was.web}
    if was.web not in after.truss.member_index:
        return "gone", values
    if not its:
        return "no-row", values
    if its[0].rows != was.rows:
        return "other-places", values | {"rows": its[0].rows, "were": was.rows}
    moved = min(math.hypot(place.x_in - was.x_in, place.y_in - was.y_in) for place in its)
    return "moved", values | {"moved_in": moved}


def _without_its_truss(why: tuple[str, Mapping[str, Any]]) -> tuple[object, ...]:
    """The same for trusses in which the same became of a web, to a tape's finest step."""
    code, values = why
    told = {key: tape_inches(value) if key == "moved_in" else value for key, value in values.items() if key != "truss"}
    return code, *sorted(told.items())


def alone(line: Sequence[Standing], which: Collection[int]) -> dict[str, list[Standing]]:
    """The webs of these trusses whose row runs to no neighbour, each with the trusses in which it doesn't."""
    lonely: dict[str, list[Standing]] = {}
    for run in _joined(line, list(neighbours(line))).runs():
        of = {i for i, _ in run}
        if len(of) > 1 or not of <= set(which):
            continue
        for i, place in run:
            if line[i] not in lonely.setdefault(place.web, []):
                lonely[place.web].append(line[i])
    return lonely
