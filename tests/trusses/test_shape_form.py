"""The loads of the designer's form for a new truss: snow from the ground, roof live and attic load by rule."""

import pytest

from trusses.analysis.shapes.shapes import KINDS, build
from trusses.marks.forms import ShapeForm


def typed(kind, **given):
    """What a browser sends: every field as it starts, but for what was typed."""
    blank = ShapeForm(KINDS[kind])
    start = {name: field.initial for name, field in blank.fields.items() if field.initial is not None}
    return ShapeForm(KINDS[kind], start | {"span": "28'", "quantity": "1"} | given)


def test_the_form_builds_the_snow_of_the_ground():
    form = typed("w", ground_snow="40", exposure="0.9", thermal="1.0", importance="1.1", surface="slippery")
    assert form.is_valid(), form.errors
    given = {"ground_snow": 40, "exposure": 0.9, "thermal": 1.0, "importance": 1.1, "surface": "slippery"}
    assert form.document() == build("w", span=336, **given)
    assert "snow by ASCE 7-16" in form.document()["title"]


def test_a_form_as_it_starts_has_no_snow():
    form = typed("hip")
    assert form.is_valid(), form.errors
    assert "snow" not in {load["case"] for load in form.document()["loads"]["area"]}


def test_a_size_that_says_its_unit_has_none_beside_it():
    """The floor's depth starts as 24"; a bare number is inches and keeps the unit beside it."""
    unit = {value: typed("floor", depth=value).fields["depth"].unit for value in ('16"', "16 in.", "16", "")}
    assert unit == {'16"': "", "16 in.": "", "16": "in.", "": "in."}


def test_snow_stands_under_a_heading_of_its_own_and_floors_have_none():
    groups = {key: [field.name for field in fields] for key, _, fields in ShapeForm(KINDS["w"]).groups()}
    assert groups["snow"][0] == "ground_snow"
    assert {"exposure", "thermal", "importance", "surface", "snow_edition", "winter_wind"} < set(groups["snow"])
    assert {"snow", "roof_live_by", "attic_by"} <= set(groups["loads"])
    assert "snow" not in {key for key, _, _ in ShapeForm(KINDS["floor"]).groups()}


@pytest.mark.parametrize(
    ("given", "field", "says"),
    [
        ({"ground_snow": "40", "snow": "20"}, "ground_snow", "not both"),
        ({"ground_snow": "40", "snow_edition": "7-22"}, "winter_wind", "needs the winter wind parameter"),
        ({"ground_snow": "40", "winter_wind": "0.4"}, "winter_wind", "belongs to ASCE 7-22"),
        ({"ground_snow": "40", "importance": "1.05"}, "importance", "0.8, 1.0, 1.1 or 1.2"),
        ({"ground_snow": "much"}, "ground_snow", "won't do; give a number, 0 to 400 psf"),
        ({"exposure": "3"}, "exposure", "0.7 to 1.2"),
        ({"surface": "<script>"}, "surface", "Select a valid choice"),
        ({"roof_live": "30", "roof_live_by": "asce"}, "roof_live_by", "starts from 20 psf"),
        ({"storage": "20", "attic_by": "box"}, "attic_by", "Attic storage empty"),
    ],
)
def test_what_is_wrong_stands_beside_its_field(given, field, says):
    form = typed("w", **given)
    if form.is_valid():
        assert form.document() is None
    assert says in " ".join(form.errors[field])
