"""Weights that stand or hang on a truss: dead load at a place, which may be gone again."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from trusses.analysis.format.model import LineLoad, PointLoad, Truss

Document = dict[str, Any]
#: Loads of other cases that are so much of the dead load at their place come with it: of what lies on another truss the
#: snow or live load is as much as the dead load, or more. This project's choice.
_CARRIED = 0.25
#: Pieces of one line end where the next begins, in., and weigh alike, plf.
_MEETS = 1e-3

Load = TypeVar("Load", PointLoad, LineLoad)


@dataclass(frozen=True)
class Weight:
    """One weight of a truss, by its places among the point loads and the line loads; `pounds` of it in all, `note` of
    the document, `member` or joint that it lies on."""

    points: tuple[int, ...]
    lines: tuple[int, ...]
    pounds: float
    note: str
    on: str


def each_weight(truss: Truss) -> list[Weight]:
    """The weights of a truss, each by itself: dead load that is one (`weights`), and live load at places where nothing
    else lies. The pieces of a line along a chord are one, the two points of a pair are two."""
    if not truss.point_loads and not truss.line_loads:
        return []
    found = [
        Weight((i,), (), load.down_lb, load.note, load.joint or load.member or "")
        for i, load in enumerate(truss.point_loads)
        if _goes(load, truss.point_loads)
    ]
    lines = [i for i, load in enumerate(truss.line_loads) if _goes(load, truss.line_loads)]
    runs: list[list[int]] = []
    for i in lines:
        if runs and _goes_on(truss, truss.line_loads[runs[-1][-1]], truss.line_loads[i]):
            runs[-1].append(i)
        else:
            runs.append([i])
    for run in runs:
        pieces = [truss.line_loads[i] for i in run]
        found.append(Weight((), tuple(run), sum(_pounds(truss, one) for one in pieces), "", pieces[0].member))
    return [one for one in found if one.pounds]


def taken_off(truss: Truss, gone: Collection[Weight]) -> Truss:
    """The truss without some of its weights, whatever its document says: their loads stay, of no pounds, so that it is
    solved in one stack with it."""
    points, lines = _places(gone)
    return replace(
        truss,
        point_loads=tuple(_none_of(load) if i in points else load for i, load in enumerate(truss.point_loads)),
        line_loads=tuple(_none_of(load) if i in lines else load for i, load in enumerate(truss.line_loads)),
    )


def _places(those: Collection[Weight]) -> tuple[set[int], set[int]]:
    return {i for one in those for i in one.points}, {i for one in those for i in one.lines}


def _none_of(load: Load) -> Load:
    return load._replace(down_lb=0.0, right_lb=0.0) if isinstance(load, PointLoad) else load._replace(plf=0.0)


def _goes(load: PointLoad | LineLoad, those: Sequence[PointLoad | LineLoad]) -> bool:
    """Whether a load is a weight that may be gone, of all of its sort."""
    if load.case not in ("dead", "live"):
        return False
    others = sum(_size(one) for one in those if one.case != load.case and _at(one) == _at(load))
    if load.case == "live":
        return others == 0
    return others < _CARRIED * sum(_size(one) for one in those if one.case == "dead" and _at(one) == _at(load))


def _goes_on(truss: Truss, one: LineLoad, other: LineLoad) -> bool:
    """Whether two lines are pieces of one along a chord."""
    kinds = [(load.case, load.pattern, load.alone, truss.member(load.member).role) for load in (one, other)]
    (start, end), (after, _) = (sorted(_x(truss, load)) for load in (one, other))
    return kinds[0] == kinds[1] and abs(one.plf - other.plf) < _MEETS and start < end and abs(end - after) < _MEETS


def _x(truss: Truss, load: LineLoad) -> tuple[float, float]:
    """Where a line begins and ends along the span."""
    member = truss.member(load.member)
    (first, second), length = truss.ends(member), truss.length(member)
    ends = (load.from_in, length if load.to_in is None else load.to_in)
    return (first.x + (second.x - first.x) * ends[0] / length, first.x + (second.x - first.x) * ends[1] / length)


def _pounds(truss: Truss, load: LineLoad) -> float:
    end = truss.length(truss.member(load.member)) if load.to_in is None else load.to_in
    return load.plf * (end - load.from_in) / 12


def weights(truss: Truss) -> Document | None:
    """The `loads` of the truss's document that are weights alone; None where there are none. Where
    loads of other cases are a good part of the dead load at its place, it is what the truss carries, which stays."""
    return _parted(truss)[0]


def without_weights(truss: Truss) -> Document:
    """The truss's document without its weights."""
    return {**truss.document, "loads": {**truss.document.get("loads", {}), **_parted(truss)[1]}}


def _parted(truss: Truss) -> tuple[Document | None, Document]:
    """The point and line loads that are weights, None for none, and the others."""
    held = truss.document.get("loads", {})
    alone: Document = {}
    kept: Document = {}
    for sort, loads in (("point", truss.point_loads), ("line", truss.line_loads)):
        dead = _by_place(load for load in loads if load.case == "dead")
        others = _by_place(load for load in loads if load.case != "dead")
        are = [load.case == "dead" and others[_at(load)] < _CARRIED * dead[_at(load)] for load in loads]
        for to, which in ((alone, True), (kept, False)):
            if some := [one for one, is_one in zip(held.get(sort, ()), are, strict=True) if is_one is which]:
                to[sort] = some
            elif sort in held:
                to[sort] = []
    return (alone if any(alone.values()) else None), kept


def _by_place(loads: Iterable[PointLoad | LineLoad]) -> dict[tuple[object, ...], float]:
    """How much there is at each place, in lb or plf, whichever way it acts; zero elsewhere."""
    found: dict[tuple[object, ...], float] = defaultdict(float)
    for load in loads:
        found[_at(load)] += _size(load)
    return found


def _size(load: PointLoad | LineLoad) -> float:
    """lb or plf, whichever way it acts."""
    return abs(load.down_lb) + abs(load.right_lb) if isinstance(load, PointLoad) else abs(load.plf)


def _at(load: PointLoad | LineLoad) -> tuple[object, ...]:
    if isinstance(load, PointLoad):
        return load.joint, load.member, None if load.at_in is None else round(load.at_in, 2)
    return load.member, round(load.from_in, 2), None if load.to_in is None else round(load.to_in, 2)
