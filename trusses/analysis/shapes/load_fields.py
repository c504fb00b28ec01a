"""The parameters of the loads of a shape; see `shape_fields`.

They start from the residential code's least (roof live 20 psf, floor live 40 psf, 10 psf on a bottom chord acting
alone: IRC Tables R301.5 and R301.6) and a customary dead load of light framing (from memory); snow and wind belong to
a site and start empty.
"""

from __future__ import annotations

from trusses.analysis.shapes.fields import Field


def _load(name: str, label: str, start: float | None, most: float, says: str = "") -> Field:
    return Field(name, label, "load", start, "psf", says, 0, most, group="loads")


def _choice(name: str, label: str, says: str, choices: tuple[tuple[str, str], ...], group: str = "loads") -> Field:
    return Field(name, label, "choice", choices[0][0], "", says, choices=choices, group=group)


def _factor(name: str, label: str, start: float | None, least: float, most: float, says: str) -> Field:
    return Field(name, label, "factor", start, "", says, least, most, group="snow")


_LIVE_BY = (
    ("given", "as it stands above"),
    ("asce", "reduced by ASCE 7 §4.8"),
    ("irc", "from IRC Table R301.6"),
)
_ATTIC_BY = (("given", "as it stands above"), ("box", "by the room between the webs"))
_SURFACES = (("other", "shingles or other"), ("slippery", "slippery, unobstructed"))
_EDITIONS = (("7-16", "ASCE 7-16: as mapped there"), ("7-22", "ASCE 7-22: at strength level"))

#: Snow from the site's ground snow (`snow_rules.Site`); the names are those of its parameters.
SNOW = (
    Field(
        "ground_snow",
        "Snow on the ground",
        "load",
        None,
        "psf",
        "The site's pg, in the place of the snow on the roof: the balanced and unbalanced snow of ASCE 7 chapter 7"
        " follow from it and from the factors here.",
        0,
        400,
        group="snow",
    ),
    _choice(
        "snow_edition",
        "Ground snow of",
        "At strength level, 0.7 of the code's snow is written, which is what allowable-stress design takes.",
        _EDITIONS,
        "snow",
    ),
    _factor(
        "exposure",
        "Exposure factor Ce",
        1.0,
        0.7,
        1.2,
        "ASCE 7 Table 7.3-1. In terrain B 0.9 fully exposed, 1.0 partly, 1.2 sheltered; in C 0.9, 1.0, 1.1.",
    ),
    _factor(
        "thermal",
        "Thermal factor Ct",
        None,
        0.85,
        1.3,
        "ASCE 7 Table 7.3-2; in 7-16 1.0 heated, 1.2 unheated. Left empty, a cold ventilated attic of R-25 or more: 1.1"
        " by 7-16, 1.2 by 7-22.",
    ),
    _factor(
        "importance",
        "Importance factor Is",
        1.0,
        0.8,
        1.2,
        "0.8, 1.0, 1.1 or 1.2 for risk category I to IV; a house is II. With ASCE 7-22 it only tells the category.",
    ),
    _choice(
        "surface",
        "Roof surface",
        "Slippery only where nothing holds the snow and there is room below the eaves; with ASCE 7-16 and Ct of 1.0 or"
        " less, also R-30 (unventilated) or R-20 (ventilated).",
        _SURFACES,
        "snow",
    ),
    _factor("winter_wind", "Winter wind parameter W2", None, 0.1, 0.9, "The site's, for ASCE 7-22 alone."),
)
ROOF_LOADS = (
    _load("top_dead", "Top chord dead", 10, 200, "Along the slope; with the truss's own weight."),
    _load("bottom_dead", "Bottom chord dead", 10, 200, "With the truss's own weight."),
    _load("roof_live", "Roof live", 20, 100, "On the plan."),
    _choice(
        "roof_live_by",
        "Roof live reduced",
        "For the area that one truss carries and the roof's rise, from 20 psf.",
        _LIVE_BY,
    ),
    _load("snow", "Snow on the roof", None, 400, "Balanced, on the plan: the roof's, not the ground's."),
    *SNOW,
    _load("wind_up", "Net wind up", None, 200, "Perpendicular to the top chord, at strength level (ASCE 7)."),
    _load("wind_down", "Net wind down", None, 200, "Perpendicular to the top chord, at strength level (ASCE 7)."),
    _load("bottom_live", "Bottom chord live", 10, 100, "Acting alone, in no combination with another live load."),
    _load("storage", "Attic storage", None, 100, "On the bottom chord, together with the other loads."),
    _choice(
        "attic_by",
        "Attic load",
        "By the code: 10 psf alone, or 20 psf of storage in the panels where a box 42 in. high and 24 in. wide fits"
        " between the webs, with 10 psf beside them (IRC Table R301.5).",
        _ATTIC_BY,
    ),
    Field(
        "uplift_dead_share",
        "Dead load sure to be there",
        "share",
        None,
        "of 1",
        "Where wind lifts, only this share of the dead load is counted on to hold the truss down; left empty, all.",
        0,
        1,
        group="loads",
    ),
)
FLOOR_LOADS = (
    _load("top_dead", "Top chord dead", 12, 200, "With the truss's own weight."),
    _load("bottom_dead", "Bottom chord dead", 5, 200, "With the truss's own weight."),
    _load("floor_live", "Floor live", 40, 400, "On the top chord."),
)
