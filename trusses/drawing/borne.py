"""What a truss bears at single places and along parts of its chords, as a drawing shows it. Inches and pounds.

The document says where each load acts; whoever knows what was asked may say besides what it is called, whether it hangs
or stands, and what carries it across several trusses (`Weight`). Else what acts on a bottom chord is drawn under it and
what acts on a top chord on it.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from textwrap import wrap
from typing import Any, Literal

from trusses.drawing.measures import wood_at
from trusses.drawing.outline import Outline
from trusses.drawing.shape import Piece, Point, Shape
from trusses.drawing.text import TAG_LETTERS, clean, magnitude

_SAME_IN = 1.0
_LEAST_LB = 0.5
_LEAST_COS = 0.3  # what acts on a steeper piece pushes it sideways and has no place under or on it
_FOOT = 12.0
_ALONE = "/alone"
_LETTERS, _LINE, _LINES = 36, 18, 2
_MOST_NUMBERED = 4  # groups of loads that stood there before; more would be a thicket

Cases = tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class Weight:
    """A weight that somebody asked for: `at_in` its middle, `length_in` between a pair's points or a line's ends;
    `across` what carries it over several trusses, in words. `asked`: it is drawn whatever the document holds."""

    name: str
    pounds: float
    chord: str
    shape: str
    at_in: float
    length_in: float = 0.0
    how: Literal["hung", "set"] = "hung"
    case: str = "dead"
    across: str = ""
    asked: bool = False

    @property
    def xs(self) -> tuple[float, ...]:
        half = self.length_in / 2
        return (self.at_in - half, self.at_in + half) if half and self.shape != "point" else (self.at_in,)

    @property
    def is_band(self) -> bool:
        return self.shape not in ("point", "pair") and self.length_in > 0


@dataclass(frozen=True)
class Load:
    """Alike loads: at each of `xs`, or along a band from the first to the last of them. `side` is 1 for what stands on
    the chord and -1 for what hangs under it; `feet` are where it meets the wood, of a band also where the chord bends.
    `state` is "added", "asked" or "" for what was there before."""

    role: str
    xs: tuple[float, ...]
    band: bool
    cases: Cases
    note: str
    state: str = ""
    side: int = -1
    feet: tuple[Point, ...] = ()
    across: str = ""
    over: str = ""
    """The panel points that an option put under or over it."""
    turned: frozenset[float] = frozenset()
    """Those of `xs` where a wall is below: nothing hangs there, so there it is drawn on the chord."""

    def side_at(self, x: float) -> int:
        return 1 if x in self.turned else self.side

    @property
    def up(self) -> bool:
        return all(pounds < 0 for _, pounds in self.cases)

    @property
    def both_ways(self) -> bool:
        """Whether one case presses and another lifts."""
        return len({pounds < 0 for _, pounds in self.cases}) > 1

    @property
    def pounds(self) -> tuple[str, ...]:
        """``2 × 65 lb``, ``dead load``; of several cases the first, what acts most the other way, how many more."""
        if self.state == "asked":
            return (f"{magnitude(self.cases[0][1])} in all",)
        many = f"{len(self.xs)} × " if len(self.xs) > 1 and not self.band else ""
        case, pounds = self.cases[0]
        others = len({name for name, _ in self.cases} - {case})
        if self.both_ways:
            other, most = max((one for one in self.cases if (one[1] < 0) != (pounds < 0)), key=lambda one: abs(one[1]))
            others -= other != case
            told = [f"{many}{magnitude(lb)} {_way(lb)}, {_said(name)}" for name, lb in
                    ((case, pounds), (other, most))]  # fmt: skip
            return (*told, f"and {others} more") if others else tuple(told)
        along = " in all" if self.band else ""
        name = f"{_said(case)} and {others} more" if others else _said(case, " load")
        return f"{many}{magnitude(pounds)}{along}", name

    @property
    def words(self) -> tuple[str, ...]:
        """The lines of its label."""
        name = wrap(clean(self.note.partition(":")[0], _LETTERS), _LINE, max_lines=_LINES, placeholder="…")
        across, _, over = self.across.partition(" over ")
        return tuple(line for line in (*name, *self.pounds, across, over and f"over {over}", self.over) if line)


def _case(load: Mapping[str, Any]) -> str:
    """What acts alone is a case of its own beside the rest of its case, as in an analysis."""
    return f"{load['case']}{_ALONE}" if load.get("acts") == "alone" else str(load["case"])


def _said(case: str, what: str = "") -> str:
    return case.removesuffix(_ALONE).replace("_", " ") + what + (" alone" if case.endswith(_ALONE) else "")


def _way(pounds: float) -> str:
    return "up" if pounds < 0 else "down"


def borne(
    shape: Shape, outlines: dict[str, Outline], before: Shape | None = None, weights: Sequence[Weight] = ()
) -> list[Load]:
    """What the truss bears, from the left, what is new or asked for first."""
    found = _loads(shape)
    if before is not None:
        there = Counter(map(_key, _each(_loads(before))))
        new = [one for one in _each(found) if not _taken_from(there, _key(one))]
        keys = {_key(one) for one in new}
        found = [
            replace(part, state="added" if is_new else "")
            for one in found
            for is_new, part in _split(one, keys)
        ]  # fmt: skip
    asked = [
        Load(one.chord, one.xs, one.is_band, ((one.case, one.pounds),), one.name, "asked", _side(one), (), one.across)
        for one in weights
        if one.asked
    ]
    named = [_named(one, weights, compared=before is not None) for one in found]
    if before is not None:
        named = [replace(one, over=_new_points(shape, before, one)) if one.state else one for one in named]
    placed = [(load, _feet(shape, outlines, load)) for load in (*asked, *named)]
    stand = [_off_bearings(shape, outlines, replace(load, feet=feet)) for load, feet in placed if feet]
    return sorted(stand, key=lambda load: (not load.state, load.xs))


def numbered(loads: Sequence[Load]) -> list[Load]:
    """Those that have room for their numbers."""
    old = [load for load in loads if not load.state]
    return [load for load in loads if load.state] + (old if len(old) <= _MOST_NUMBERED else [])


def _side(weight: Weight) -> int:
    return 1 if weight.how == "set" else -1


def _named(load: Load, weights: Sequence[Weight], *, compared: bool) -> Load:
    """With what was asked said of it, where it is what was asked for."""
    if compared and not load.state:
        return load
    for one in weights:
        same = (one.chord, one.case, one.is_band) == (load.role, load.cases[0][0], load.band)
        if same and all(min(abs(x - its) for its in one.xs) <= _SAME_IN for x in load.xs):
            return replace(load, note=one.name or load.note, side=_side(one), across=one.across)
    return load


def _new_points(shape: Shape, before: Shape, load: Load) -> str:
    chord = {name for piece in shape.chords(load.role) for name in piece.joints} - before.joints.keys()
    met = [name for name in sorted(chord) if min(abs(shape.joints[name][0] - x) for x in load.xs) <= _SAME_IN]
    names = " and ".join(clean(name, TAG_LETTERS) for name in met[:2])
    return f"new panel point{'s' if len(met) > 1 else ''} {names}" if names else ""


def _key(load: Load) -> tuple[Any, ...]:
    return load.role, tuple(round(x, 1) for x in load.xs), load.band, _rounded(load.cases), load.note


def _rounded(cases: Cases) -> Cases:
    return tuple((case, round(pounds)) for case, pounds in cases)


def _each(loads: Sequence[Load]) -> Iterator[Load]:
    """Groups of points as single ones."""
    for load in loads:
        yield from [load] if load.band else [replace(load, xs=(x,)) for x in load.xs]


def _taken_from(there: Counter[tuple[Any, ...]], key: tuple[Any, ...]) -> bool:
    there[key] -= 1
    return there[key] >= 0


def _split(load: Load, new: set[tuple[Any, ...]]) -> list[tuple[bool, Load]]:
    """The part of a group that is new, and the part that isn't."""
    if load.band:
        return [(_key(load) in new, load)]
    parts = defaultdict(list)
    for one in _each([load]):
        parts[_key(one) in new].append(one.xs[0])
    return [(is_new, replace(load, xs=tuple(xs))) for is_new, xs in parts.items()]


def _loads(shape: Shape) -> list[Load]:
    said: Mapping[str, Any] = shape.document.get("loads", {})
    return [*_points(shape, said.get("point", ())), *_bands(shape, said.get("line", ()))]


def _points(shape: Shape, points: Sequence[Mapping[str, Any]]) -> Iterator[Load]:
    """Alike points together: those of one note that carry the same."""
    places: dict[tuple[str, float, str], dict[str, dict[str, float]]] = defaultdict(dict)
    for point in points:
        at = _place(shape, point)
        if at is not None:
            patterns = places[(*at, str(point.get("note", "")))].setdefault(_case(point), defaultdict(float))
            patterns[str(point.get("pattern", ""))] += float(point["down_lb"])
    groups: dict[tuple[str, str, Cases], list[float]] = defaultdict(list)
    for (role, x, note), by_case in places.items():
        if cases := _by_case(by_case):
            groups[role, note, cases].append(x)
    for (role, note, cases), xs in groups.items():
        yield Load(role, tuple(sorted(xs)), False, cases, note, side=_usual(role))


def _by_case(by_case: Mapping[str, Mapping[str, float]]) -> Cases:
    """Dead load first; a case twice where one of its arrangements presses and another lifts."""
    names = sorted(by_case, key=lambda case: (case != "dead", case))
    return tuple((case, pounds) for case in names for pounds in _most(by_case[case]) if abs(pounds) >= _LEAST_LB)


def _most(patterns: Mapping[str, float]) -> list[float]:
    """The largest of a case, what is in all of its arrangements and the one that adds most, and so the other way."""
    always = patterns.get("", 0.0)
    sums = [always + pounds for name, pounds in patterns.items() if name] or [always]
    most = {max(sums), min(sums)} if min(sums) < 0 < max(sums) else {max(sums, key=abs)}
    return sorted(most, key=abs, reverse=True)


def _place(shape: Shape, point: Mapping[str, Any]) -> tuple[str, float] | None:
    """The chord and the x of a point; None for what isn't on a chord."""
    if "joint" in point:
        x = shape.joints[point["joint"]][0]
        chords = [piece for piece in shape.at[point["joint"]] if _lies(piece)]
        roles = sorted({piece.role for piece in chords})
        return (roles[0], round(x, 3)) if roles else None
    piece = shape.pieces.get(point.get("member", ""))
    return (piece.role, round(_x_along(piece, point["at_in"]), 3)) if piece is not None and _lies(piece) else None


def _bands(shape: Shape, lines: Sequence[Mapping[str, Any]]) -> Iterator[Load]:
    """Lines that carry on from member to member as one."""
    found: list[tuple[str, str, str, float, float, float]] = []
    for line in lines:
        piece = shape.pieces.get(line["member"])
        if piece is None or not _lies(piece):
            continue
        start, end = line.get("from_in", 0.0), line.get("to_in", piece.length)
        low, high = sorted((_x_along(piece, start), _x_along(piece, end)))
        pounds = line["plf"] * (end - start) / _FOOT
        if high > low:
            found.append((piece.role, _case(line), str(line.get("pattern", "")), low, high, pounds))
    runs: list[tuple[str, str, str, float, float, float]] = []
    for one in sorted(found):
        role, case, pattern, low, high, pounds = one
        last = runs[-1] if runs else None
        if last and last[:3] == one[:3] and abs(last[4] - low) < _SAME_IN and _even(last, one):
            runs[-1] = (role, case, pattern, last[3], high, last[5] + pounds)
        else:
            runs.append(one)
    for role, case, _, low, high, pounds in runs:
        if abs(pounds) < _LEAST_LB:
            continue
        yield Load(role, (round(low, 3), round(high, 3)), True, ((case, pounds),), "", side=_usual(role))


def _even(one: Sequence[Any], other: Sequence[Any]) -> bool:
    mine, theirs = one[5] / (one[4] - one[3]), other[5] / (other[4] - other[3])
    return abs(mine - theirs) <= 0.01 * abs(mine)


def _usual(role: str) -> int:
    return -1 if role == "bottom_chord" else 1


def _lies(piece: Piece) -> bool:
    return not piece.is_web and abs(piece.along[0]) >= _LEAST_COS


def _x_along(piece: Piece, distance: float) -> float:
    return piece.a[0] + (piece.b[0] - piece.a[0]) * distance / piece.length


def _feet(shape: Shape, outlines: dict[str, Outline], load: Load) -> tuple[Point, ...]:
    """Where a load meets the edge of its chord; none where the chord isn't there."""
    chord = [piece for piece in shape.chords(load.role) if _lies(piece)]
    xs = list(load.xs)
    if load.band:
        bends = {end[0] for piece in chord for end in (piece.a, piece.b)}
        xs = sorted({*xs, *(x for x in bends if load.xs[0] < x < load.xs[-1])})
    feet = []
    for x in xs:
        near = [p for p in chord if min(p.a[0], p.b[0]) - _SAME_IN <= x <= max(p.a[0], p.b[0]) + _SAME_IN]
        wood = wood_at({piece.id: outlines[piece.id] for piece in near}, x) or _at_end(shape, outlines, near, x)
        if wood is not None:
            feet.append((x, wood[1] if load.side_at(x) > 0 else wood[0]))
    return tuple(feet)


def _at_end(shape: Shape, outlines: dict[str, Outline], near: Sequence[Piece], x: float) -> tuple[float, float] | None:
    """The wood where a chord is cut short of the joint that it is loaded from, as at a heel: of the chords that meet
    there, else where its own begins."""
    ends = {name for piece in near for name in piece.joints if abs(shape.joints[name][0] - x) <= _SAME_IN}
    met = {piece.id: outlines[piece.id] for name in ends for piece in shape.at[name] if not piece.is_web}
    own = {piece.id: outlines[piece.id] for piece in near}
    begins = [u for outline in own.values() for u, _ in outline.corners]
    return wood_at(met, x) or (wood_at(own, min(begins, key=lambda u: abs(u - x))) if begins else None)


def _off_bearings(shape: Shape, outlines: dict[str, Outline], load: Load) -> Load:
    """Nothing hangs where a wall is: over a bearing it is drawn on the chord, of a band all of it."""
    if load.side > 0:
        return load
    walls = [(support.at[0], support.width / 2 + _SAME_IN) for support in shape.held_up]
    met = frozenset(x for x in load.xs for at, reach in walls if abs(x - at) <= reach)
    across = load.band and (met or any(load.xs[0] < at < load.xs[-1] for at, _ in walls))
    if not met and not across:
        return load
    over = replace(load, side=1) if across or met == set(load.xs) else replace(load, turned=met)
    return replace(over, feet=_feet(shape, outlines, over))
