"""How one design of a truss departs from another in what it is designed for: loads, bearings, use, restraint.

Members, joints and their forces are compared elsewhere (`compare`). Here is what a person who looks at ratios alone
would miss: a truss that passes because less is asked of it. Loads are compared at their true places in the truss, so a
load that only changed hands, because a panel point moved under it, is no departure. Inches, pounds, psf, plf.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from trusses.analysis.format.model import AreaLoad, LineLoad, PointLoad, Truss

_SAME_IN = 0.01
"""Places closer than this are one."""
_SAME_SHARE = 1e-6
"""Loads that differ by less than this share of the larger are the same."""


@dataclass(frozen=True)
class Departure:
    """One difference: a code with its values, `words.departures` has the sentence. `falls`: a design load is smaller
    than before, or one that holds down is counted on more; then the ratios of the two can't be compared as they are."""

    code: str
    values: Mapping[str, Any]
    falls: bool = False


def departures(before: Truss, after: Truss) -> list[Departure]:
    """How `after` departs from `before`, in the order of the document."""
    return [
        *_stated(before, after),
        *_bearings(before, after),
        *_spread(before, after, _area),
        *_spread(before, after, _line),
        *_points(before, after),
        *_restraint(before, after),
    ]


def _stated(before: Truss, after: Truss) -> Iterator[Departure]:
    for code in ("use", "ceiling"):
        was, now = getattr(before, code), getattr(after, code)
        if was != now:
            yield Departure(code, {"before": was, "after": now})
    if before.plies != after.plies:
        yield Departure("plies", {"before_plies": before.plies, "after_plies": after.plies})
    if before.spacing_in != after.spacing_in:
        # what one truss carries of an area load is its share of the area
        falls = after.spacing_in < before.spacing_in and bool(before.area_loads)
        yield Departure("spacing", {"before_in": before.spacing_in, "after_in": after.spacing_in}, falls)
    was_share, now_share = before.uplift_dead_share, after.uplift_dead_share
    if was_share != now_share:
        # what isn't stated is all of it
        falls = (1.0 if now_share is None else now_share) > (1.0 if was_share is None else was_share)
        yield Departure("uplift-dead-share", {"before_share": was_share, "after_share": now_share}, falls)
    for code in ("ply_fastening", "service"):
        was, now = before.document.get(code), after.document.get(code)
        if was != now:
            yield Departure(code.replace("_", "-"), {"before": was, "after": now})


def _bearings(before: Truss, after: Truss) -> Iterator[Departure]:
    """Bearings that stand at one place are one, whatever their joint is called; of the others, those of one joint."""
    was = {bearing.joint: (before.joint(bearing.joint), bearing) for bearing in before.bearings}
    left = {bearing.joint: (after.joint(bearing.joint), bearing) for bearing in after.bearings}
    pairs = {}
    for name, (place, _) in was.items():
        near = [other for other, (at, _) in left.items() if math.dist((at.x, at.y), (place.x, place.y)) <= _SAME_IN]
        if near:
            pairs[name] = near[0], left.pop(near[0])
    for name, (place, bearing) in was.items():
        if name not in pairs and name in left:
            pairs[name] = name, left.pop(name)
        if name not in pairs:
            yield Departure("bearing-gone", {"joint": name, "x_in": place.x, "y_in": place.y})
            continue
        at_name, (at, now) = pairs[name]
        if math.dist((at.x, at.y), (place.x, place.y)) > _SAME_IN:
            moved = {"joint": at_name, "right_in": at.x - place.x, "up_in": at.y - place.y}
            yield Departure("bearing-moved", moved)
        if now.width_in != bearing.width_in:
            yield Departure(
                "bearing-width", {"joint": at_name, "before_in": bearing.width_in, "after_in": now.width_in}
            )
        if now.restrains != bearing.restrains:
            yield Departure(
                "bearing-restrains", {"joint": at_name, "before": bearing.restrains, "after": now.restrains}
            )
    for name, (at, now) in left.items():
        yield Departure("bearing-new", {"joint": name, "x_in": at.x, "y_in": at.y, "width_in": now.width_in})


Key = tuple[Any, ...]
Spread = tuple[Key, float, float, float]
"""What it is, and how much of it from where to where along the span."""


def _area(truss: Truss) -> Iterator[Spread]:
    for load in truss.area_loads:
        yield (*_shared("area", load), load.chord, load.along), load.psf, load.from_x_in, load.to_x_in


def _line(truss: Truss) -> Iterator[Spread]:
    """Those on chords by where they lie along the span; one on a web, or on an upright piece, by that piece's place."""
    for load in truss.line_loads:
        member = truss.member(load.member)
        a, b = truss.ends(member)
        length = truss.length(member)
        ends = (load.from_in, length if load.to_in is None else min(load.to_in, length))
        start, end = (a.x + (b.x - a.x) * at / length for at in ends)
        if member.is_chord and abs(end - start) > _SAME_IN:
            yield (*_shared("line", load), member.role, ""), load.plf, min(start, end), max(start, end)
        else:
            place = tuple(round(value, 1) for end in (a, b) for value in (end.x, end.y))
            yield (*_shared("line", load), member.role, load.member, *place), load.plf, *ends


def _shared(kind: str, load: AreaLoad | LineLoad | PointLoad) -> Key:
    return kind, load.case, load.pattern, load.alone


def _spread(before: Truss, after: Truss, spread: Any) -> Iterator[Departure]:
    """Loads that act along the truss, window by window: neighbouring windows that differ alike are one."""
    was, now = _by_key(spread(before)), _by_key(spread(after))
    low, high = _reach(before, after)
    for key in dict.fromkeys([*was, *now]):
        for start, end, old, new in _windows(was.get(key, ()), now.get(key, ())):
            kind, case, pattern, alone, chord, along, *_ = key
            # what lies wholly beside the truss acts on nothing
            if kind == "area" and (end <= low or start >= high):
                continue
            unit = "psf" if kind == "area" else "plf"
            values = {"case": case, "pattern": pattern, "alone": alone, "chord": chord}
            if kind == "area" and not old and _arranged_otherwise(was, now, key, (start, end, new)):
                reach = {"from_in": None if start <= low else start, "to_in": None if end >= high else end}
                yield Departure("arrangement-new", {**values, "along": along, "psf": new, **reach})
                continue
            values |= {f"before_{unit}": old, f"after_{unit}": new}
            values |= {"along": along} if kind == "area" else {"member": along}
            values |= {
                "from_in": None if start <= low else start,
                "to_in": None if end >= high else end,
            }
            falls = _falls(old, new)
            if kind == "area":
                # less on each square foot is no less on a truss that carries so many more of them
                falls = falls and _falls(old * before.spacing_in, new * after.spacing_in)
            yield Departure(f"{kind}-load", values, falls)


def _arranged_otherwise(
    was: Mapping[Key, Any], now: Mapping[Key, Any], key: Key, window: tuple[float, float, float]
) -> bool:
    """Whether a load that is new in its arrangement acts there in another one, today and then: as much of the same."""
    start, end, much = window
    alike = [other for other in was if other[:2] == key[:2] and other[3:] == key[3:] and other != key]
    return any(
        all(
            _same(sum(psf for a, b, psf in side.get(other, ()) if a <= start and b >= end), much) for side in (was, now)
        )
        for other in alike
    )


def _reach(before: Truss, after: Truss) -> tuple[float, float]:
    xs = [joint.x for truss in (before, after) for joint in truss.joints]
    return min(xs), max(xs)


def _by_key(spread: Iterable[Spread]) -> dict[Key, list[tuple[float, float, float]]]:
    held: dict[Key, list[tuple[float, float, float]]] = {}
    for key, how_much, start, end in spread:
        held.setdefault(key, []).append((start, end, how_much))
    return held


def _windows(
    was: Iterable[tuple[float, float, float]], now: Iterable[tuple[float, float, float]]
) -> Iterator[tuple[float, float, float, float]]:
    """(from, to, before, after) of every stretch on which the two differ."""
    was, now = list(was), list(now)
    edges = sorted({edge for start, end, _ in (*was, *now) for edge in (start, end)})
    found: list[tuple[float, float, float, float]] = []
    for start, end in itertools.pairwise(edges):
        if end - start <= _SAME_IN:
            continue
        old, new = (sum(much for a, b, much in held if a <= start and b >= end) for held in (was, now))
        if _same(old, new):
            continue
        if found and found[-1][2:] == (old, new) and start - found[-1][1] <= _SAME_IN:
            found[-1] = (found[-1][0], end, old, new)
        else:
            found.append((start, end, old, new))
    return iter(found)


def _points(before: Truss, after: Truss) -> Iterator[Departure]:
    was, now = (_by_place(truss) for truss in (before, after))
    for key in dict.fromkeys([*was, *now]):
        old, new = was.get(key, (0.0, 0.0)), now.get(key, (0.0, 0.0))
        if all(map(_same, old, new)):
            continue
        _, case, pattern, alone, x, y = key
        values = {"case": case, "pattern": pattern, "alone": alone, "x_in": x, "y_in": y}
        values |= {"before_lb": old[0], "after_lb": new[0], "right_before_lb": old[1], "right_after_lb": new[1]}
        yield Departure("point-load", values, any(map(_falls, old, new)))


def _by_place(truss: Truss) -> dict[Key, tuple[float, float]]:
    """Pounds (down, right) at each place of each case and arrangement."""
    held: dict[Key, tuple[float, float]] = {}
    for load in truss.point_loads:
        if load.joint is not None:
            joint = truss.joint(load.joint)
            x, y = joint.x, joint.y
        else:
            member = truss.member(str(load.member))
            a, b = truss.ends(member)
            share = (load.at_in or 0.0) / truss.length(member)
            x, y = a.x + (b.x - a.x) * share, a.y + (b.y - a.y) * share
        key = (*_shared("point", load), round(x, 1), round(y, 1))
        down, right = held.get(key, (0.0, 0.0))
        held[key] = down + load.down_lb, right + load.right_lb
    return held


def _restraint(before: Truss, after: Truss) -> Iterator[Departure]:
    was, now = before.lateral_restraint, after.lateral_restraint
    for chord in ("top_chord", "bottom_chord"):
        old, new = (getattr(held, f"{chord}_in") for held in (was, now))
        if old != new:
            yield Departure("chord-restraint", {"chord": chord, "before_in": old, "after_in": new})
    for web in dict.fromkeys([*was.webs, *now.webs]):
        rows = was.webs.get(web, 0), now.webs.get(web, 0)
        if rows[0] != rows[1]:
            there = [web in truss.member_index for truss in (before, after)]
            values = {
                "web": web,
                "before_rows": rows[0],
                "after_rows": rows[1],
                "new": not there[0],
                "gone": not there[1],
            }
            yield Departure("web-restraint", values)


def _same(old: float, new: float) -> bool:
    return abs(new - old) <= _SAME_SHARE * max(abs(old), abs(new))


def _falls(old: float, new: float) -> bool:
    """Whether less acts than before, or the other way."""
    return not _same(old, new) and (abs(new) < abs(old) or old * new < 0)
