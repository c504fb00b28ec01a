"""What a designer types of the plan: places, walls, points as people write them."""

from __future__ import annotations

from typing import Any

from django import forms

from trusses.analysis.format.lengths import UnitsError, parse_length
from trusses.analysis.words.lengths import feet_inches
from trusses.forms import AloneForm, LengthField, refused_length, refusing
from trusses.models import Placement
from trusses.plan.placing import MOST_POINTS


class PointsField(forms.CharField):
    """Points in plan, one a line: how far along x, a comma, how far along y, such as ``24' 0", 12' 6"``. To [[x, y], …]
    in inches."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 100 * MOST_POINTS)
        kwargs.setdefault("error_messages", {"required": "Give two points or more, one a line."})
        kwargs.setdefault("widget", forms.Textarea(attrs={"rows": 4, "autocomplete": "off", "spellcheck": "false"}))
        super().__init__(**kwargs)

    def clean(self, value: Any) -> list[list[float]]:
        found = []
        for n, line in enumerate(filter(None, map(str.strip, (super().clean(value) or "").splitlines())), 1):
            parts = line.replace(";", ",").split(",")
            if len(parts) != 2:
                raise forms.ValidationError(
                    f"Point {n}: write two lengths with a comma between, such as 24' 0\", 12' 6\"."
                )
            try:
                found.append([parse_length(part, negative=True) for part in parts])
            except UnitsError as trouble:
                raise refused_length(trouble, f"Point {n}") from trouble
        return found

    def prepare_value(self, value: Any) -> Any:
        return typed_points(value) if isinstance(value, list | tuple) else value


def typed_points(points: Any) -> str:
    return "\n".join(f"{feet_inches(x)}, {feet_inches(y)}" for x, y in points)


def _level() -> forms.CharField:
    return forms.CharField(
        max_length=60,
        widget=forms.TextInput(attrs={"list": "levels"}),
        error_messages={"required": "Say on which level, such as Roof."},
    )


class WallForm(AloneForm):
    label = forms.CharField(
        max_length=60,
        label="Wall, header or beam",
        help_text="As the plan names it.",
        error_messages={"required": "Name the wall, header or beam as the plan does."},
    )
    level = _level()
    points = PointsField(
        label="Its line",
        help_text="One point a line: how far right, comma, how far up, such as 24' 0\", 12' 6\". Or tap it.",
    )


class PlacementForm(AloneForm):
    """One row of places of a mark."""

    level = _level()
    x_in = LengthField(negative=True, label="The first begins so far right")
    y_in = LengthField(negative=True, label="The first begins so far up")
    direction = forms.ChoiceField(
        choices=[("x", "across the plan"), ("y", "up the plan")],
        label="Its span runs",
        error_messages=dict.fromkeys(("required", "invalid_choice"), "Say how its span runs: choose one of the two."),
    )
    spacing_in = LengthField(size=True, label="Spacing, on center")
    count = forms.IntegerField(
        min_value=1,
        max_value=500,
        label="How many",
        error_messages=refusing("Say how many stand in this row: a whole number, 1 to 500."),
    )
    turned = forms.BooleanField(
        required=False, label="Turned end for end", help_text="The marked end, its left one, is the far end."
    )
    note = forms.CharField(max_length=200, required=False, help_text="Which part of the house.")

    @staticmethod
    def said(row: Placement) -> dict[str, Any]:
        return {
            "level": row.level,
            "x_in": row.origin_x_in,
            "y_in": row.origin_y_in,
            "direction": row.direction,
            "spacing_in": row.spacing_in,
            "count": row.count,
            "turned": row.turned,
            "note": row.note,
        }


class NorthForm(AloneForm):
    north_deg = forms.FloatField(
        required=False,
        label="North, degrees clockwise from up",
        help_text="0: north is up. Empty: not said.",
        error_messages={"invalid": "A number of degrees, 0 to 360."},
    )
