"""Weights that stand or hang on a truss: dead load at a place, which may be gone again."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from trusses.analysis.format.model import LineLoad, PointLoad, Truss

Document = dict[str, Any]
#: Loads of other cases that are so much of the dead load at their place come with it: of what lies on another truss the
#: snow or live load is as much as the dead load, or more. This project's choice.
_CARRIED = 0.25


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
        found[_at(load)] += abs(load.down_lb) + abs(load.right_lb) if isinstance(load, PointLoad) else abs(load.plf)
    return found


def _at(load: PointLoad | LineLoad) -> tuple[object, ...]:
    if isinstance(load, PointLoad):
        return load.joint, load.member, None if load.at_in is None else round(load.at_in, 2)
    return load.member, round(load.from_in, 2), None if load.to_in is None else round(load.to_in, 2)
