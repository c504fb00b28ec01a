"""How a design departs from today's truss, in words: each says what it is today and what it would be."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import Says, counted, moved, much, plain, say

if TYPE_CHECKING:
    from trusses.analysis.departures import Departure


def departure(one: Departure) -> str:
    """One sentence, both sides in it."""
    return say(DEPARTURES, one.code, one.values)


def _load(case: str, pattern: str | None, alone: bool) -> str:
    arranged = f" ({pattern})" if pattern else ""
    return f"{plain(case).capitalize()}{arranged}{', never together with other live loads' if alone else ''}"


def _where(from_in: float | None, to_in: float | None) -> str:
    if from_in is None and to_in is None:
        return ""
    start = "the left end" if from_in is None else feet_inches(from_in)
    end = "the right end" if to_in is None else feet_inches(to_in)
    return f", from {start} to {end} along"


def _much(value: float, unit: str) -> str:
    return much(value, unit) if value else "none"


_ALONG = {"plan": "of plan area", "slope": "along the slope", "normal": "square to it"}


def _area(
    case: str,
    pattern: str | None,
    alone: bool,
    chord: str,
    along: str,
    before_psf: float,
    after_psf: float,
    from_in: float | None,
    to_in: float | None,
) -> str:
    what = f"{_load(case, pattern, alone)} on the {plain(chord)}, {_ALONG[along]}{_where(from_in, to_in)}"
    if round(before_psf, 2) != round(after_psf, 2):
        before_psf, after_psf = round(before_psf, 2), round(after_psf, 2)
    return f"{what}: {_much(after_psf, 'psf')}, today {_much(before_psf, 'psf')}."


def _arrangement(
    case: str,
    pattern: str | None,
    alone: bool,
    chord: str,
    along: str,
    psf: float,
    from_in: float | None,
    to_in: float | None,
) -> str:
    what = f"{_load(case, None, alone)} on the {plain(chord)}, {_ALONG[along]}"
    which = f" ({pattern})" if pattern else ""
    return f"{what}: {much(psf, 'psf')}, as today, and taken in one more arrangement{which}{_where(from_in, to_in)}."


def _line(
    case: str,
    pattern: str | None,
    alone: bool,
    chord: str,
    member: str,
    before_plf: float,
    after_plf: float,
    from_in: float | None,
    to_in: float | None,
) -> str:
    on = f"{plain(chord)} {member}" if member else f"the {plain(chord)}"
    what = f"{_load(case, pattern, alone)} along {on}{_where(from_in, to_in)}"
    return f"{what}: {_much(after_plf, 'plf')}, today {_much(before_plf, 'plf')}."


def _point(
    case: str,
    pattern: str | None,
    alone: bool,
    x_in: float,
    y_in: float,
    before_lb: float,
    after_lb: float,
    right_before_lb: float,
    right_after_lb: float,
) -> str:
    what = f"{_load(case, pattern, alone)} at {feet_inches(x_in)} along and {feet_inches(y_in)} up"
    ways = (("down", before_lb, after_lb), ("to the right", right_before_lb, right_after_lb))
    sides = [
        f"{_much(round(now, 1), 'lb')} {way}, today {_much(round(was, 1), 'lb')}"
        for way, was, now in ways
        if was != now
    ]
    return f"{what}: {'; '.join(sides)}."


def _moved(joint: str, right_in: float, up_in: float) -> str:
    return f"Bearing {joint} stands {moved(right_in, up_in)} of where it is today."


_RESTRAINS = {"xy": "up, down and sideways", "y": "up and down", "x": "sideways"}


def _held(chord: str, before_in: float | None, after_in: float | None) -> str:
    def how(spacing: float | None) -> str:
        if spacing is None:
            return "held at its ends only"
        return "held all along" if spacing == 0 else f"held every {feet_inches(spacing)}"

    return f"{plain(chord).capitalize()}: {how(after_in)}, today {how(before_in)}."


def _rows(web: str, before_rows: int, after_rows: int, new: bool, gone: bool) -> str:
    if gone:
        return f"{web} is gone, and with it {counted(before_rows, 'row', 'rows')} of restraint."
    was = "it is new" if new else f"today {counted(before_rows, 'row', 'rows') if before_rows else 'none'}"
    return f"{web}: {counted(after_rows, 'row', 'rows') if after_rows else 'no row'} of restraint, {was}."


def _or_nothing(value: Any) -> str:
    return "not stated" if value is None else str(value)


def _share(value: float | None) -> str:
    return "a share that is not stated" if value is None else f"{100 * value:.3g}%"


DEPARTURES: Mapping[str, Says] = {
    "use": "It is a {after}, today a {before}: other loads, durations and deflection limits apply.",
    "ceiling": "Ceiling: {after}, today {before}; the deflection limit goes with it.",
    "plies": lambda before_plies, after_plies: (
        f"{counted(after_plies, 'ply', 'plies')}, today {counted(before_plies, 'ply', 'plies')}."
    ),
    "spacing": "Trusses {after_in:feet} apart, today {before_in:feet}: each carries its share of the area loads.",
    "uplift-dead-share": lambda before_share, after_share: (
        f"Of the dead load {_share(after_share)} is counted on to hold it down against uplift, today"
        f" {_share(before_share)}."
    ),
    "ply-fastening": lambda before, after: f"Plies fastened: “{_or_nothing(after)}”, today “{_or_nothing(before)}”.",
    "service": lambda before, after: f"Service conditions: {_or_nothing(after)}, today {_or_nothing(before)}.",
    "bearing-new": (
        "A new bearing, {joint} on the drawing, is {width_in:tape} wide at {x_in:feet} along and {y_in:feet} up."
    ),
    "bearing-gone": "The bearing at joint {joint}, {x_in:feet} along and {y_in:feet} up, is gone.",
    "bearing-moved": _moved,
    "bearing-width": "Bearing {joint} is {after_in:tape} wide, today {before_in:tape}.",
    "bearing-restrains": lambda joint, before, after: (
        f"Bearing {joint} holds {_RESTRAINS[after]}, today {_RESTRAINS[before]}."
    ),
    "area-load": _area,
    "arrangement-new": _arrangement,
    "line-load": _line,
    "point-load": _point,
    "chord-restraint": _held,
    "web-restraint": _rows,
}
"""For each code of `departures`, its sentence."""
