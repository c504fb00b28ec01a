"""Why loads can't be combined, arranged, or written from a rule."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from trusses.analysis.words.phrases import Says, plain


def _arrangement(case: str, lacking: Sequence[str]) -> str:
    names = " and ".join(f"{case}/{name}" for name in lacking)
    return (
        f"the {plain(case)} load can't be arranged as {names}: it presses down in one place and lifts in another within"
        " the same stretch, so that no part of it is the whole. Write that arrangement by hand."
    )


def _number(label: str, unit: str, least: float, most: float) -> str:
    bounds = f"more than 0, up to {most:g}" if least == 0 else f"{least:g} to {most:g}"
    return f"{label} must be a number, {bounds}{unit and f' {unit}'}."


LOADS: Mapping[str, Says] = {
    "cases-alike": 'the patterns are named so that two arrangements are both called "{name}"',
    "too-many-combinations": "the patterns make {count:,} combinations, more than the limit of {most:,}",
    "too-many-pieces": "the loads cut the members into too many pieces to analyse",
    "arrangement-impossible": _arrangement,
    # roof live load and snow by rule
    "roof-live-on-floor": "Roof live load is for roofs; this truss is a floor's.",
    "roof-live-on-broken-chord": (
        "The top chord is not one line from eave to eave, so its roof live load has to be typed."
    ),
    "snow-on-floor": "Snow is for roofs; this truss is a floor's.",
    "snow-on-broken-chord": "The top chord is not one line from eave to eave, so its snow has to be typed.",
    "snow-in-valley": ("The roof falls to a valley, where snow gathers (ASCE 7 §7.6.3); its snow has to be typed."),
    "snow-title": "The title must leave room for where the snow comes from: {over} characters too many.",
    "snow-number": _number,
    "snow-importance": "Importance factor Is must be 0.8, 1.0, 1.1 or 1.2 (risk category I to IV).",
    "snow-surface": "The surface must be one of {surfaces:names}.",
    "snow-edition": "The edition of ASCE 7 must be one of {editions:names}.",
    "winter-wind-needless": "The winter wind parameter W2 belongs to ASCE 7-22; leave it out with 7-16.",
    "winter-wind-missing": "ASCE 7-22 needs the winter wind parameter W2 of the site for the unbalanced snow.",
}
