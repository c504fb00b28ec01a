"""A run as people type it: its line on the plan, its height and slope, its section."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any, cast

from django import forms

from trusses.analysis.runs.run import Run
from trusses.analysis.words.lengths import feet_inches, tape_inches
from trusses.analysis.words.runs import storey as told_storey
from trusses.forms import LengthField, SectionForm, said_length
from trusses.plan.forms import PointsField, typed_points
from trusses.solid.heights import OverFloor

DATUM_WORDS = {
    "bearing": "the top of the wall plate",
    "storey": "the floor of the storey below",
    "ceiling": "the ceiling",
    "floor": "the floor on these trusses",
}
"""Short enough for a field on a phone; what each is stands below it."""
_DATUM_HINT = "The ceiling: the underside of the bottom chord. The floor on these trusses: a storey's, or an attic's."


SUPPOSED: Mapping[str, Mapping[str, float]] = {"circle": {"diameter": 8.0}, "rectangle": {"width": 14.0, "height": 8.0}}
"""Sizes that a run is answered for while nobody has chosen one, inches: common ones. Nothing is sent with them."""


class LineForm(forms.Form):
    """Where a run goes: its line on the plan, how high it begins, what it goes up at its corners."""

    points = PointsField(
        label="Its line on the plan",
        help_text="One point a line: how far right, comma, how far up, such as 24' 0\", 12' 6\". On the plan a truss"
        " starts at the middle of its bearing, not at the wall's face.",
    )
    up = LengthField(
        negative=True,
        label="Its middle, at the first point",
        initial="1'-8\"",
        help_text="Up from what is chosen next.",
    )
    rises = forms.CharField(
        required=False,
        max_length=400,
        label="Goes up at each corner",
        help_text='In order, such as 0", 8", -4". A minus: down. Empty: at none.',
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        for name, field in self.fields.items():
            if isinstance(field, LengthField):
                hint = f"id_{name}_helptext " if field.help_text else ""
                field.widget.attrs["aria-describedby"] = f"{hint}id_{name}_error"

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if "points" not in self.errors and len(data.get("points") or ()) < 2:
            self.add_error("points", "Give two points or more: tap them on the plan, or type them, one a line.")
        return data

    def clean_rises(self) -> list[float]:
        """A length for each corner. Raises ValidationError."""
        typed = (self.cleaned_data["rises"] or "").strip()
        length = LengthField(size=True, negative=True)
        return [cast(float, length.clean(one)) for one in typed.split(",")] if typed else []

    def line(self) -> dict[str, Any]:
        """As a run has it."""
        data = self.cleaned_data
        rises = {"rises_in": data["rises"]} if data["rises"] else {}
        return {"points_in": data["points"], "height_in": data["up"], **rises}


class RunForm(SectionForm, LineForm):
    """A duct, a pipe or a drain through several trusses. `supposes`: where no size is chosen yet a common one is
    supposed, and `supposed` then."""

    level = forms.ChoiceField(error_messages={"invalid_choice": "Choose a level of the plan."})
    insulation = LengthField(size=True, required=False, label="Insulation, each side", initial='0"')
    clearance = LengthField(size=True, required=False, label="Clear space around it", initial='1/2"')
    datum = forms.ChoiceField(label="Measured from", choices=tuple(DATUM_WORDS.items()), help_text=_DATUM_HINT)
    slope = LengthField(
        size=True,
        negative=True,
        required=False,
        label="Falls, for each foot",
        initial='0"',
        help_text='A drain: 1/4". A minus: it rises.',
    )
    together = forms.BooleanField(
        required=False,
        label="One design for each mark",
        help_text="One larger opening that serves all its copies, where they are crossed differently.",
    )
    without = forms.CharField(required=False, max_length=4_000, label="Without cut copies")
    carries = forms.CharField(required=False, max_length=100, label="What it is", help_text="Such as: supply trunk.")

    def __init__(
        self, *args: Any, levels: Sequence[str], storey: OverFloor | None = None, supposes: bool = False, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.storey, self.supposes, self.supposed = storey, supposes, False
        for name in (name for sizes in SUPPOSED.values() for name in sizes):
            self.fields[name].initial = None  # a size is chosen by whoever asks
            self.fields[name].needed = True  # type: ignore[attr-defined]  # `_field.html` says so
        if storey or not self.is_bound:
            words = {key: says for key, says in DATUM_WORDS.items() if storey or key != "storey"}
            if storey:
                high = told_storey(storey.inches, storey.assumed)
                self.fields["datum"].help_text = f"The floor of the storey below: {high}. {_DATUM_HINT}"
            cast(forms.ChoiceField, self.fields["datum"]).choices = list(words.items())
        cast(forms.ChoiceField, self.fields["level"]).choices = [(one, one) for one in levels]

    def clean(self) -> dict[str, Any]:
        sizes = SUPPOSED.get(self.cleaned_data.get("shape", ""), {})
        if self.supposes and sizes and not any(str(self.data.get(name, "")).strip() for name in sizes):
            self.cleaned_data |= sizes
            self.supposed = True
        return super().clean()

    def clean_datum(self) -> str:
        """Raises ValidationError where heights can't be told from what is chosen."""
        datum = str(self.cleaned_data["datum"])
        if datum == "storey" and self.storey is None:
            raise forms.ValidationError(
                "Nobody said how high these trusses bear above a floor below: measure from the top of the wall plate."
            )
        return datum

    def clean_without(self) -> list[str]:
        """The names of cut copies that it is asked without, as the page wrote them. Raises ValidationError."""
        try:
            names = json.loads(self.cleaned_data["without"] or "[]")
        except (ValueError, RecursionError):
            names = None
        if not isinstance(names, list) or not all(isinstance(one, str) for one in names):
            raise forms.ValidationError("Tick the box on this page once more.")
        return names

    def run(self) -> dict[str, Any]:
        """As the API takes it."""
        data = self.cleaned_data
        section: dict[str, Any] = {"shape": data["shape"]}
        if data["shape"] == "circle":
            section["diameter_in"] = data["diameter"]
        else:
            section |= {"width_in": data["width"], "height_in": data["height"]}
        section |= {"insulation_in": data["insulation"] or 0, "clearance_in": data["clearance"] or 0}
        storey = {}
        if data["datum"] == "storey" and self.storey:
            storey = {"bearing_above_floor_in": self.storey.inches, "bearing_assumed": self.storey.assumed}
        return {
            "level": data["level"],
            **self.line(),
            "datum": data["datum"],
            **storey,
            "slope_in_per_ft": data["slope"] or 0,
            "section": section,
            "note": ": ".join(filter(None, [data["carries"], self.size])),
        }

    @property
    def size(self) -> str:
        """Bare, as people call it: 8" round; 14" × 8"."""
        data = self.cleaned_data
        if data["shape"] == "circle":
            return f"{tape_inches(data['diameter'])} round"
        return f"{tape_inches(data['width'])} × {tape_inches(data['height'])}"

    @property
    def speaks_of(self) -> str:
        """For which size the page answers, insulation with it, and whether that is only supposed."""
        around = self.cleaned_data["insulation"]
        size = f"{self.size} with {tape_inches(around)} insulation" if around else self.size
        return f"If it is {size}" if self.supposed else size

    @property
    def typed_points(self) -> list[str]:
        """The lines of its line, as they were typed."""
        return [one for one in str(self.data.get("points", "")).splitlines() if one.strip()]

    @property
    def understood(self) -> dict[str, str]:
        """How each length that could be read was read."""
        read = dict(self.cleaned_data) if hasattr(self, "cleaned_data") else {}
        if self.supposed:
            read = {name: value for name, value in read.items() if str(self.data.get(name, "")).strip()}
        lengths = {name: field for name, field in self.fields.items() if isinstance(field, LengthField)}
        return {
            name: said_length(read[name], size=field.size)
            for name, field in lengths.items()
            if read.get(name) is not None
        }


def typed_run(run: Run) -> Mapping[str, str]:
    """What the fields of a line and its heights say of a run: an offered line is taken by them."""
    rises = ", ".join(feet_inches(one) for one in run.rises)
    return {"points": typed_points(run.points), "up": feet_inches(run.height_in), "rises": rises}
