"""The loads of a shape's document, from its parameters. psf."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from trusses.analysis.format.strict import tidy
from trusses.analysis.loads.attic import BESIDE_PSF, write_attic
from trusses.analysis.loads.roof_live import WHOLE_PSF, write_roof_live
from trusses.analysis.loads.snow import write_snow
from trusses.analysis.loads.snow_rules import Site, SnowError
from trusses.analysis.shapes.load_fields import SNOW
from trusses.analysis.shapes.skeleton import ShapeError

Document = dict[str, Any]


def typed_loads(values: Mapping[str, Any], use: str) -> list[Document]:
    """The area loads as they were given, for a roof or a floor."""
    return _floor_loads(values) if use == "floor" else _roof_loads(values)


def write_derived(document: Document, values: Mapping[str, Any]) -> Document:
    """`document` with the loads that follow from its shape: roof live and attic load by rule, snow from the ground's.

    Raises ShapeError, naming the parameter.
    """
    rule = values.get("roof_live_by", "given")
    if rule != "given":
        if values["roof_live"] != WHOLE_PSF:
            raise ShapeError("shape-roof-live-reduced", "roof_live_by", whole_psf=WHOLE_PSF)
        document = write_roof_live(document, rule)
    if values.get("attic_by", "given") != "given":
        if values["bottom_live"] != BESIDE_PSF or values["storage"]:
            raise ShapeError("shape-attic-by-room", "attic_by", beside_psf=BESIDE_PSF)
        document = write_attic(document)
    if not values.get("ground_snow"):
        return document
    if values["snow"]:
        raise ShapeError("shape-snow-twice", "ground_snow")
    try:
        return write_snow(document, Site(**{field.name: values[field.name] for field in SNOW}))
    except SnowError as trouble:
        raise ShapeError(trouble.code, trouble.place, **trouble.values) from None


def _area(values: Mapping[str, Any], name: str, case: str, chord: str, along: str, **more: Any) -> list[Document]:
    """One area load, or none where nothing is given for it."""
    psf = values[name]
    return [{"case": case, "chord": chord, "psf": tidy(psf), "along": along, **more}] if psf else []


def _roof_loads(values: Mapping[str, Any]) -> list[Document]:
    loads = _area(values, "top_dead", "dead", "top_chord", "slope")
    loads += _area(values, "bottom_dead", "dead", "bottom_chord", "slope")
    loads += _area(values, "roof_live", "roof_live", "top_chord", "plan")
    loads += _area(values, "snow", "snow", "top_chord", "plan")
    up = _area(values, "wind_up", "wind", "top_chord", "normal", pattern="up")
    loads += [load | {"psf": -load["psf"]} for load in up]
    loads += _area(values, "wind_down", "wind", "top_chord", "normal", pattern="down")
    loads += _area(values, "storage", "attic_storage", "bottom_chord", "plan")
    return loads + _area(values, "bottom_live", "attic_storage", "bottom_chord", "plan", acts="alone")


def _floor_loads(values: Mapping[str, Any]) -> list[Document]:
    loads = _area(values, "top_dead", "dead", "top_chord", "plan")
    loads += _area(values, "bottom_dead", "dead", "bottom_chord", "plan")
    return loads + _area(values, "floor_live", "live", "top_chord", "plan")
