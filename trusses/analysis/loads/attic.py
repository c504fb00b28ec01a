"""Attics with limited storage (IRC Table R301.5, notes b and g): where the box fits, and what the bottom chord carries.

Between the webs of a roof truss stands room for a box 42 in. high and 24 in. wide, or it doesn't. Where it does, in two
like trusses side by side, the bottom chord there carries 20 psf together with the other live loads, and 10 psf beside
it; where it does nowhere, 10 psf that needn't act together with any other. A bottom chord steeper than 2 in 12 stores
nothing. What a truss can't tell is taken the careful way: that the next truss is like it, that the attic can be
reached, and that the insulation leaves the chord free (values.md §5.4; the last two and the 10 psf beside are from
secondary text and memory). Inches, psf.
"""

from __future__ import annotations

import copy
import itertools
from collections.abc import Iterable, Sequence
from typing import Any

import shapely

from trusses.analysis.clearance.free_space import Space, free_centres, space
from trusses.analysis.clearance.overlay import intersection, union
from trusses.analysis.clearance.pockets import clear_parts
from trusses.analysis.format.document import read
from trusses.analysis.format.model import AreaLoad, Member, Opening, Truss
from trusses.analysis.format.strict import tidy
from trusses.analysis.loads.windows import Window
from trusses.analysis.lumber import lookup, section
from trusses.analysis.words.phrases import Coded, coded

Document = dict[str, Any]

#: The clear box that tells an attic with limited storage.
BOX_WIDTH, BOX_HEIGHT = 24.0, 42.0
STORAGE_PSF, BESIDE_PSF = 20.0, 10.0
_STEEPEST = 2 / 12
_LIVE = ("live", "attic_storage")
_BOX = Opening("box", "rectangle", (0.0, 0.0), width_in=BOX_WIDTH, height_in=BOX_HEIGHT)
_CLOSE_IN = 1e-3
_HAIR_IN = 0.05


def box_places(truss: Truss) -> tuple[float, ...]:
    """The middle of one place for the box in each space that has room for it, x from left to right."""
    room = _room(truss)
    return tuple(sorted(float(part.representative_point().x) for part in _free(room))) if room else ()


def storage_windows(truss: Truss) -> tuple[Window, ...]:
    """The parts of the bottom chord, x from and to, over which the box fits: whole panels, and all that it reaches.

    Parts with less than the box's width between them are one.
    """
    room = _room(truss)
    parts = _free(room) if room else []
    if room is None or not parts:
        return ()
    pockets = clear_parts(room)
    windows = [window for part in parts for window in _level(truss, _under(truss, part, pockets))]
    return _merged(windows, BOX_WIDTH)


def lacking(truss: Truss) -> tuple[Window, ...]:
    """The parts over which the box fits and whose bottom chord carries less than the storage load."""
    if _stored_everywhere(truss):
        return ()
    return tuple(window for window in storage_windows(truss) if not carries(truss, window, STORAGE_PSF))


def stored(truss: Truss) -> tuple[Window, ...]:
    """The parts of a roof truss's bottom chord that carry the storage load, where others don't."""
    chord = _chord(truss)
    if truss.use != "roof" or chord is None:
        return ()
    parts = [part for part in _stretches(truss, chord, ()) if carries(truss, part, STORAGE_PSF)]
    merged = _merged(parts)
    return () if merged == (chord,) else merged


def opened(truss: Truss, known: Sequence[Window]) -> tuple[Window, ...]:
    """Of the parts that lack the storage load those that a change opened; `known` are what the truss before lacked.

    What a designer left as it was stays so, and a strip narrower than the box beside it is no new room.
    """
    new = [part for window in lacking(truss) for part in _without(window, known)]
    return tuple(part for part in new if part[1] - part[0] >= BOX_WIDTH)


def risen(before: Truss, after: Truss) -> tuple[Window, ...]:
    """The parts over which the box fits and whose bottom chord carries the storage load after a change, not before."""
    if _stored_everywhere(before):
        return ()
    edges = [(load.from_x_in, load.to_x_in) for load in _live_loads(before)]
    parts = [part for window in storage_windows(after) for part in _stretches(after, window, edges)]
    return _merged(
        part for part in parts if carries(after, part, STORAGE_PSF) and not carries(before, part, STORAGE_PSF)
    )


def with_storage(document: Document, windows: Sequence[Window]) -> Document:
    """A copy of `document` whose bottom chord carries 20 psf in `windows` and 10 psf beside them, together with the
    other loads: what it lacks is added as attic storage, nothing is taken away. Raises DocumentError."""
    truss = read(document)
    chord = _chord(truss)
    if not windows or chord is None:
        return document
    loads: list[Document] = []
    for left, right in _stretches(truss, chord, windows):
        inside = any(a - _CLOSE_IN <= left and right <= b + _CLOSE_IN for a, b in windows)
        lacks = round((STORAGE_PSF if inside else BESIDE_PSF) - _psf(truss, (left + right) / 2), 6)
        if lacks <= 0:
            continue
        if loads and loads[-1]["psf"] == lacks and loads[-1]["to_x_in"] == left:
            loads[-1]["to_x_in"] = right
        else:
            load = {"case": "attic_storage", "chord": "bottom_chord", "psf": tidy(lacks), "along": "plan"}
            loads.append(load | {"from_x_in": left, "to_x_in": right})
    changed = copy.deepcopy(document)
    changed.setdefault("loads", {}).setdefault("area", []).extend(
        load | {key: tidy(round(load[key], 4)) for key in ("from_x_in", "to_x_in")} for load in loads
    )
    return changed


def write_attic(document: Document) -> Document:
    """A copy of `document` with the storage load where its truss has room for the box, in the place of area loads that
    act alone on its bottom chord; as it was where there is no room. Raises DocumentError."""
    windows = storage_windows(read(document))
    if not windows:
        return document
    changed = copy.deepcopy(document)
    loads = changed.setdefault("loads", {})
    loads["area"] = [load for load in loads.get("area", []) if not _alone_below(load)]
    return with_storage(changed, windows)


def _alone_below(load: Document) -> bool:
    return load["case"] in _LIVE and load["chord"] == "bottom_chord" and "acts" in load


def carries(truss: Truss, window: Window, psf: float) -> bool:
    """Whether the bottom chord carries so much live load everywhere in `window`, together with the other loads."""
    return all(_psf(truss, (left + right) / 2) >= psf - 1e-6 for left, right in _stretches(truss, window, ()))


def rises_told(before: Truss, after: Truss) -> Coded | None:
    """For the designer, that a change raises the storage load; None where it doesn't."""
    windows = risen(before, after)
    if not windows:
        return None
    return coded("storage-raised", windows=along(after, windows), psf=STORAGE_PSF, beside_psf=BESIDE_PSF)


def opens_told(before: Truss, after: Truss) -> Coded | None:
    """That a change opens room for storage and the document after it doesn't carry it; else None."""
    windows = opened(after, lacking(before))
    return coded("storage-left-out", windows=along(after, windows), psf=STORAGE_PSF) if windows else None


def along(truss: Truss, windows: Sequence[Window]) -> list[list[float]]:
    """Where `windows` are, inches from the left bearing."""
    start = min(truss.joint(bearing.joint).x for bearing in truss.bearings)
    return [[a - start, b - start] for a, b in windows]


def _room(truss: Truss) -> Space | None:
    """The geometry of a roof truss that is high enough for the box; None of any other."""
    ys = [joint.y for joint in truss.joints]
    return space(truss) if truss.use == "roof" and max(ys) - min(ys) >= BOX_HEIGHT else None


def _free(room: Space) -> list[shapely.Polygon]:
    """The spaces in which the middle of the box may stand."""
    return [part for part in shapely.get_parts(free_centres(room, _BOX)) if not part.is_empty]


def _under(truss: Truss, part: shapely.Polygon, pockets: Sequence[shapely.Polygon]) -> Window:
    """What a box whose middle stands in `part` is over: its reach, and the panel on which its pocket stands."""
    reach = (part.bounds[0] - BOX_WIDTH / 2, part.bounds[2] + BOX_WIDTH / 2)
    middle = part.representative_point()
    pocket = next((pocket for pocket in pockets if pocket.buffer(_CLOSE_IN).contains(middle)), None)
    wood = [_wood(truss, member) for member in _bottom(truss)]
    standing = intersection(union(wood), pocket) if pocket is not None else shapely.Polygon()
    if standing.is_empty:
        return reach
    # along the chord a pocket ends at the wood of webs, a little beside their panel points
    points = [end.x for member in _bottom(truss) for end in truss.ends(member)]
    left, right = (min(points, key=lambda x, at=at: abs(x - at)) for at in (standing.bounds[0], standing.bounds[2]))  # type: ignore[misc]
    return min(reach[0], left), max(reach[1], right)


def _wood(truss: Truss, member: Member) -> shapely.Polygon:
    """A member's side view, a hair wider than it is."""
    line = shapely.LineString([(end.x, end.y) for end in truss.ends(member)])
    depth = section(lookup(member.lumber), member.flat).depth_in
    return line.buffer(depth / 2 + _HAIR_IN, cap_style="flat")


def _bottom(truss: Truss) -> list[Member]:
    return [member for member in truss.members if member.role == "bottom_chord"]


def _stored_everywhere(truss: Truss) -> bool:
    chord = _chord(truss)
    return chord is not None and carries(truss, chord, STORAGE_PSF)


def _chord(truss: Truss) -> Window | None:
    """x from and to of the bottom chord."""
    xs = [end.x for member in _bottom(truss) for end in truss.ends(member)]
    return (min(xs), max(xs)) if xs else None


def _level(truss: Truss, window: Window) -> Iterable[Window]:
    """The parts of `window` with a bottom chord of at most 2 in 12 under them."""
    for member in _bottom(truss):
        a, b = sorted(truss.ends(member), key=lambda joint: joint.x)
        run = b.x - a.x
        if run > _CLOSE_IN and abs(b.y - a.y) <= (_STEEPEST + 1e-4) * run:
            left, right = max(a.x, window[0]), min(b.x, window[1])
            if right - left > _CLOSE_IN:
                yield left, right


def _merged(windows: Iterable[Window], gap: float = _CLOSE_IN) -> tuple[Window, ...]:
    """`windows` from left to right, those less than `gap` apart as one."""
    merged: list[Window] = []
    for left, right in sorted(windows):
        if merged and left <= merged[-1][1] + gap:
            merged[-1] = (merged[-1][0], max(right, merged[-1][1]))
        else:
            merged.append((left, right))
    return tuple(merged)


def _without(window: Window, others: Sequence[Window]) -> Iterable[Window]:
    """What of `window` lies in none of `others`."""
    left = window[0]
    for a, b in _merged(others):
        if a > left:
            yield left, min(a, window[1])
        left = max(left, b)
        if left >= window[1]:
            return
    yield left, window[1]


def _live_loads(truss: Truss) -> list[AreaLoad]:
    """Live loads on the bottom chord that act together with the others."""
    return [load for load in truss.area_loads if load.case in _LIVE and load.chord == "bottom_chord" and not load.alone]


def _psf(truss: Truss, x: float) -> float:
    """The live load on the bottom chord at x: of each case the pattern with the most there."""
    total = 0.0
    for case in _LIVE:
        here = [load for load in _live_loads(truss) if load.case == case and load.from_x_in <= x <= load.to_x_in]
        always = sum(load.psf for load in here if load.pattern is None)
        by_pattern: dict[str, float] = {}
        for load in here:
            if load.pattern is not None:
                by_pattern[load.pattern] = by_pattern.get(load.pattern, 0.0) + load.psf
        total += always + max(by_pattern.values(), default=0.0)
    return total


def _stretches(truss: Truss, window: Window, others: Iterable[Window]) -> list[Window]:
    """`window` cut where a live load on the bottom chord or one of `others` begins or ends."""
    edges = {x for load in _live_loads(truss) for x in (load.from_x_in, load.to_x_in)} | {x for w in others for x in w}
    cuts = [window[0], *sorted(x for x in edges if window[0] + _CLOSE_IN < x < window[1] - _CLOSE_IN), window[1]]
    return [(a, b) for a, b in itertools.pairwise(cuts) if b - a > _CLOSE_IN]
