"""Why parameters make no truss. `label` is the name of a field, as a form shows it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from trusses.analysis.words.phrases import Says, plain


def _no_field(shape: str, name: str, meant: str | None) -> str:
    return f"A {shape} truss has no {plain(name)}{f'; did you mean {plain(meant)}?' if meant else '.'}"


def _unknown(shown: str, meant: str | None, shapes: Sequence[str]) -> str:
    hint = f"did you mean {meant}?" if meant else f"it is one of {', '.join(shapes)}."
    return f"{shown} is not a shape here; {hint}"


def _number(label: str, shown: str, least: float, most: float, unit: str) -> str:
    bounds = f"{least:g} to {most:g}{f' {unit}' if unit else ''}"
    return f"{label}: {shown} won't do; give a number, {bounds}."


SHAPES: Mapping[str, Says] = {
    "shape-unknown": _unknown,
    # one field
    "shape-no-field": _no_field,
    "shape-field-empty": "{label}: say how much, such as 36'.",
    "shape-field-refused": "{label}: {why}",
    "shape-field-unreadable": "{label}: this can't be read.",
    "shape-number": _number,
    "shape-whole-number": "{label}: {shown} is not a whole number.",
    "shape-choice": "{label}: {shown} is not one of {choices:names}.",
    "shape-text-too-long": "{label}: at most {most:g} characters.",
    "shape-text-refused": lambda why: f"{why.rstrip('.')}.",
    # fields together
    "shape-overhang": lambda side: f'{side.capitalize()} overhang: it is none, or 1" at least.',
    "shape-panels": "Panels: {panels} won't do; this shape needs an even number, {least} or more.",
    "shape-bottom-pitch": (
        "Bottom pitch: {bottom:g} in 12 must be at least 1 in 12 less than the top chord's {top:g} in 12."
    ),
    "shape-heel-height": (
        "Heel height: {height_in:feet} is less than the {chords_in:feet} that the two chords take one above the other;"
        " leave it empty for a plain heel."
    ),
    "shape-depth": "Depth: {depth_in:feet} leaves no room for webs between the chords.",
    "shape-level-part": (
        "Level part: {level_in:feet} leaves less than 2'-0\" at each end of a span of {span_in:feet} for the chord to"
        " rise in."
    ),
    "shape-setback": (
        "Setback: {setback_in:feet} at each end leaves {level_in:feet} of a span of {span_in:feet} level; a hip truss"
        " needs 2'-0\" at least."
    ),
    "shape-chase": (
        "Chase: {width_in:feet} wide about {center_in:feet} comes nearer than 1'-0\" to a bearing of a span of"
        " {span_in:feet}."
    ),
    "shape-long-web": ("A web of this truss would be {length_in:feet} long: lower the pitch or shorten the span."),
    "shape-splices": (
        "The {role:plain} is {length_in:feet} long, and pieces of {stock_in:feet} can't be spliced at panel points"
        " where a splice may stand: add panels, or allow longer stock."
    ),
    "shape-no-room": (
        "The pieces have no room beside each other: {why}. Give the truss more height, or shallower lumber."
    ),
    # loads by rule
    "shape-roof-live-reduced": (
        "Roof live reduced: it starts from {whole_psf:g} psf, so Roof live must be {whole_psf:g} psf too."
    ),
    "shape-attic-by-room": (
        "Attic load: by the room between the webs, Bottom chord live must be {beside_psf:g} psf and Attic storage"
        " empty."
    ),
    "shape-snow-twice": ("Give the snow on the ground or the snow on the roof, not both: one follows from the other."),
}
