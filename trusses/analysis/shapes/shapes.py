"""The shapes of the trade: from a few parameters to a whole truss document.

The span runs between the bearing joints, each in the middle of its bearing, because that is what a document's x
measures; `measured="outside"` takes it out to out of the bearings instead, and subtracts their half widths. What is
built is a starting point with ordinary lumber and the loads that were given: whether it carries them is the
analysis's answer.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType
from typing import Any

from trusses.analysis.format.document import read
from trusses.analysis.format.strict import DocumentError, tidy
from trusses.analysis.loads.arrangements import arrange
from trusses.analysis.lumber import lookup
from trusses.analysis.shapes import fields as shape_fields
from trusses.analysis.shapes import floor as floor_shapes
from trusses.analysis.shapes import load_fields
from trusses.analysis.shapes import roof as roof_shapes
from trusses.analysis.shapes.fields import Field, read_values
from trusses.analysis.shapes.loads import typed_loads, write_derived
from trusses.analysis.shapes.skeleton import ShapeError, Skeleton, geometry, web_rows
from trusses.analysis.words.lengths import feet_inches

__all__ = ["KINDS", "Field", "Kind", "ShapeError", "build", "kind_named"]

Document = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Kind:
    """One shape: its key, what it is called, a sentence about it, its parameters and the function of its lines."""

    key: str
    label: str
    says: str
    lines: Callable[[Mapping[str, Any]], Skeleton]
    fields: tuple[Field, ...]
    use: str = "roof"


def _fields(own: tuple[Field, ...], loads: tuple[Field, ...]) -> tuple[Field, ...]:
    parts = (shape_fields.SPAN, own, shape_fields.LUMBER, loads, shape_fields.MAKE, shape_fields.RESTRAINT)
    return sum(parts, shape_fields.NAMING)


def _gable(key: str, label: str, says: str, lines: Callable[..., Skeleton], *own: Field) -> Kind:
    slope = (shape_fields.PITCH, *own, shape_fields.TAIL_LEFT, shape_fields.TAIL_RIGHT, shape_fields.HEEL)
    return Kind(key, label, says, lines, _fields(slope, load_fields.ROOF_LOADS))


_PANELS, _BOTTOM = shape_fields.PANELS, shape_fields.BOTTOM_PITCH

#: Every shape by its key, in the order in which a list shows them.
KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        kind.key: kind
        for kind in (
            _gable(
                "king-post",
                "king post",
                "One post from the peak to the middle of the bottom chord.",
                roof_shapes.king_post,
            ),
            _gable(
                "queen-post",
                "queen post",
                "Two posts and a straining beam between their heads; the middle panel is open.",
                roof_shapes.queen_post,
            ),
            _gable("w", "W", "Two panels a side, webs in a W.", partial(roof_shapes.fink, panels_a_side=2)),
            _gable(
                "double-w",
                "double W",
                "Three panels a side, webs in two Ws.",
                partial(roof_shapes.fink, panels_a_side=3),
            ),
            _gable("fan", "fan", "Three webs spread from each third point of the bottom chord.", roof_shapes.fan),
            _gable("howe", "Howe", "Posts, and diagonals that fall to the middle.", roof_shapes.howe, _PANELS),
            _gable("pratt", "Pratt", "Posts, and diagonals that rise to the middle.", roof_shapes.pratt, _PANELS),
            _gable(
                "scissors", "scissors", "The bottom chord rises to the middle.", roof_shapes.scissors, _BOTTOM, _PANELS
            ),
            _gable(
                "cambered",
                "cambered",
                "The bottom chord rises to a level middle part.",
                roof_shapes.cambered,
                _BOTTOM,
                shape_fields.LEVEL,
            ),
            Kind(
                "mono",
                "mono",
                "One slope, up to a vertical end at the right bearing.",
                roof_shapes.mono,
                _fields(
                    (shape_fields.PITCH, _PANELS, shape_fields.TAIL_LEFT, shape_fields.HEEL), load_fields.ROOF_LOADS
                ),
            ),
            _gable(
                "hip",
                "hip",
                "Slopes up to the setback, level between; panels count the level part.",
                roof_shapes.hip,
                shape_fields.SETBACK,
                _PANELS,
            ),
            Kind(
                "flat",
                "flat roof",
                "Level parallel chords on edge, with posts.",
                roof_shapes.flat,
                _fields((shape_fields.DEPTH, _PANELS), load_fields.ROOF_LOADS),
            ),
            Kind(
                "floor",
                "floor",
                "Parallel chords of lumber laid flat, webs up and down, a chase panel where one is asked for.",
                floor_shapes.floor,
                _fields((shape_fields.DEPTH, shape_fields.PANEL, *shape_fields.CHASE), load_fields.FLOOR_LOADS),
                use="floor",
            ),
        )
    }
)
_ALSO_CALLED = {"fink": "w", "double-fink": "double-w", "scissor": "scissors", "parallel-chord-floor": "floor"}


def kind_named(name: str) -> Kind:
    """The shape that `name` means, whatever its case and hyphens. Raises ShapeError."""
    key = "-".join(name.casefold().replace("_", " ").replace("-", " ").split())
    key = _ALSO_CALLED.get(key, key)
    if key not in KINDS:
        meant = next(iter(difflib.get_close_matches(key, KINDS, n=1)), None)
        raise ShapeError("shape-unknown", "kind", shown=name[:40], meant=meant, shapes=list(KINDS))
    return KINDS[key]


def build(kind: str, *, arranged: bool = True, **given: Any) -> Document:
    """The truss document of one shape.

    `given` are the kind's fields by name, as numbers (inches, psf, in 12) or as typed text; what is left out starts
    from the field's own value. With `arranged` the usual load arrangements are written in (`arrangements`).
    Raises ShapeError, with the field as its place.
    """
    shape = kind_named(kind)
    values = read_values(shape.fields, given, shape.label)
    if values["measured"] == "outside":
        values["span"] -= (values["bearing_left"] + values["bearing_right"]) / 2
    values["span"] = round(values["span"], 4)
    for role in ("top", "bottom", "web"):
        lumber = lookup(values[f"{role}_lumber"])
        values |= {f"{role}_depth": lumber.width_in, f"{role}_thickness": lumber.thickness_in}
    lines = shape.lines(values)
    document: Document = {
        "format": "chordchange.truss",
        "version": 1,
        "mark": values["mark"] or ("F1" if shape.use == "floor" else "R1"),
        "title": values["title"] or _title(shape, values),
        "use": shape.use,
        "ceiling": values["ceiling"],
        "plies": values["plies"],
        "spacing_in": tidy(values["spacing"]),
        **geometry(lines, _lumber_by_role(values), values["stock"]),
        "bearings": [
            {"joint": joint, "restrains": restrains, "width_in": tidy(values[f"bearing_{side}"])}
            for joint, restrains, side in zip(lines.bearings, ("xy", "y"), ("left", "right"), strict=True)
        ],
        "loads": {"area": typed_loads(values, shape.use)},
        "lateral_restraint": {
            "top_chord_in": tidy(values["top_restraint"]),
            "bottom_chord_in": tidy(values["bottom_restraint"]),
            "webs": {} if lines.flat else web_rows(lines),
        },
    }
    if values["ply_fastening"]:
        document["ply_fastening"] = values["ply_fastening"]
    if values.get("uplift_dead_share") is not None:
        document["uplift_dead_share"] = tidy(values["uplift_dead_share"])
    try:
        read(document)
    except DocumentError as refusal:
        # a mark or title that no document may hold
        about = refusal.place or refusal.values.get("key")
        if about in ("mark", "title", "ply_fastening"):
            raise ShapeError("shape-text-refused", about, why=refusal.coded) from None
        # pieces too deep for the room between the chords
        field = next(name for name in ("heel_height", "pitch", "depth") if values.get(name))
        raise ShapeError("shape-no-room", field, why=refusal.coded) from None
    document = write_derived(document, values)
    return arrange(document) if arranged else document


def _title(shape: Kind, values: Mapping[str, Any]) -> str:
    label = shape.label[0].upper() + shape.label[1:]
    kind = "truss" if shape.key in ("flat", "floor") else f"{shape.use} truss"
    size = f"{feet_inches(values['depth'])} deep" if "depth" in values else f"{values['pitch']:g} in 12"
    return f"{label} {kind}, {feet_inches(values['span'])} span, {size}"


def _lumber_by_role(values: Mapping[str, Any]) -> dict[str, str]:
    return {
        "top_chord": values["top_lumber"],
        "bottom_chord": values["bottom_lumber"],
        "web": values["web_lumber"],
    }
