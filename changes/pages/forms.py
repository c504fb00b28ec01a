"""What people type: an opening on a phone, a decision at a desk. Lengths are understood in feet and inches."""

from __future__ import annotations

import math
import uuid
from collections.abc import Iterator
from dataclasses import dataclass

from django import forms
from django.core.exceptions import ValidationError
from django.utils.formats import date_format

from changes.asks.reading import LONGEST_WAIT
from changes.models import Decision
from trusses.analysis.format.lengths import UnitsError, feet_inches, parse_length
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.lumber import LUMBER, section

# Stock round diameters and trunk sizes as duct charts list them; insulation as installed thickness. Common practice,
# from memory: R-8 wrap is about 3 in. nominal and 2 1/4 in. where it is compressed at installation.
ROUND_SIZES_IN = (4, 5, 6, 7, 8, 9, 10, 12, 14, 16, 18)
TRUNK_SIZES_IN = ((10, 8), (12, 8), (14, 8), (16, 8), (20, 8), (24, 8), (24, 12))
# Outside diameters of plastic drain pipe (from memory).
PIPE_SIZES_IN = ((1.5, 1.9), (2, 2.375), (3, 3.5), (4, 4.5))
INSULATION_IN = ((0, "none"), (1, "1 in."), (1.5, "1 1/2 in."), (2.25, "2 1/4 in. (R-8 wrap)"))

TAPE = 16
"""Parts of an inch that a field shows: a place that is offered must be one that the fields can say."""


class LengthField(forms.CharField):
    """Feet and inches as people write them, to inches: `12' 3 1/2"`, `147.5`, `12-3`."""

    def __init__(self, *, negative: bool = False, **kwargs):
        self.negative = negative
        kwargs.setdefault("max_length", 40)
        kwargs.setdefault("error_messages", {"required": "Type a length, such as 12' 3 1/2\"."})
        super().__init__(**kwargs)
        self.widget.attrs.setdefault("autocomplete", "off")

    def clean(self, value):
        text = super().clean(value)
        if text in self.empty_values:
            return None
        try:
            return parse_length(text, negative=self.negative)
        except UnitsError as error:
            raise ValidationError(str(error)) from error

    def prepare_value(self, value):
        return feet_inches(value) if isinstance(value, int | float) else value


@dataclass(frozen=True)
class Datum:
    """Where a tape starts, inches: the inside face of the left bearing, and a level edge that a person can reach."""

    left: float
    low: float
    level: str


def datum(design: Design) -> Datum:
    """As the drawing measures where it can: up from a level bottom chord's top edge, else from the wall's top."""
    bearing = min(design.bearings, key=lambda held: design.joint(held.joint).x)
    joint = design.joint(bearing.joint)
    chords = [m for m in design.members_at[bearing.joint] if m.is_chord]
    chord = next((m for m in chords if m.role == "bottom_chord"), chords[0])
    a, b = design.ends(chord)
    depth = section(LUMBER[chord.lumber], chord.flat, 1).depth_in
    left = joint.x + bearing.width_in / 2
    bottom = [design.ends(m) for m in design.members if m.role == "bottom_chord"]
    if chord.role == "bottom_chord" and all(end.y == joint.y for ends in bottom for end in ends):
        return Datum(left, joint.y + depth / 2, "the bottom chord's top edge")
    run = abs(b.x - a.x)
    return Datum(left, joint.y - (depth / 2 * design.length(chord) / run if run else depth / 2), "the top of the wall")


class OpeningForm(forms.Form):
    """A duct, a pipe or another clear opening: its size, what wraps it, how much air around it, and where."""

    shape = forms.ChoiceField(
        choices=(("circle", "Round"), ("rectangle", "Rectangular")), widget=forms.RadioSelect, initial="circle"
    )
    diameter = LengthField(required=False, label="Diameter", initial='8"')
    width = LengthField(required=False, label="Width", initial='14"')
    height = LengthField(required=False, label="Height", initial='8"')
    insulation = LengthField(
        required=False,
        label="Insulation, each side",
        initial='0"',
        help_text='Makes the opening larger on each side. R-8 wrap: about 2 1/4" installed.',
    )
    clearance = LengthField(
        required=False,
        label="Clear space around it",
        initial='1/2"',
        help_text='Air between the opening and any wood. 1/2" to 1" is common practice.',
    )
    along = LengthField(
        negative=True,
        label="From the left bearing's inside face",
        help_text="12' 3 1/2\", 12-3 and 147.5 are all understood.",
    )
    up = LengthField(negative=True, help_text="Down from there: with a minus.")
    carries = forms.CharField(
        required=False, max_length=120, label="What goes through it", help_text="Such as: supply trunk, dryer vent."
    )

    def __init__(self, *args, design: Design, **kwargs):
        self.design = design
        self.datum = datum(design)
        super().__init__(*args, label_suffix="", **kwargs)
        self.fields["up"].label = f"Up from {self.datum.level}"

    def clean(self):
        data = super().clean()
        wanted = ("diameter",) if data.get("shape") == "circle" else ("width", "height")
        for name in wanted:
            if name in self.errors:
                continue
            if not data.get(name):
                self.add_error(name, f"Give the {name}, more than 0 in.")
        return data

    def opening(self) -> dict:
        """The opening as a truss document writes it; the insulation is part of its size, the clearance is not."""
        data = self.cleaned_data
        wrap = 2 * (data.get("insulation") or 0)
        result = {
            "id": "O1",
            "shape": data["shape"],
            "centre_in": list(self.centre((data["along"], data["up"]))),
            "clearance_in": data.get("clearance") or 0,
        }
        if data["shape"] == "circle":
            result["diameter_in"] = data["diameter"] + wrap
            size = f"{feet_inches(data['diameter'])} round"
        else:
            result["width_in"], result["height_in"] = data["width"] + wrap, data["height"] + wrap
            size = f"{feet_inches(data['width'])} × {feet_inches(data['height'])}"
        wrapped = f", with {feet_inches(data['insulation'])} insulation" if wrap else ""
        result["note"] = f"{data.get('carries') or 'opening'}: {size}{wrapped}"[:200]
        return result

    @classmethod
    def first_place(cls, design: Design) -> dict[str, float]:
        """Where the opening stands before a thumb has moved it: the middle of the span, between the chords."""
        tape = datum(design)
        xs = [joint.x for joint in design.joints]
        middle = (min(xs) + max(xs)) / 2
        heights = sorted(_chord_heights(design, middle))
        # Low in the truss, where ducts run: a roof truss is tall, and its middle is out of reach.
        height = min((heights[0] + heights[-1]) / 2, heights[0] + 20) if len(heights) > 1 else tape.low + 12
        return {"along": _taped(middle - tape.left), "up": _taped(height - tape.low)}

    def centre(self, mark: tuple[float, float]) -> tuple[float, float]:
        """(along, up) in the truss's own coordinates, inches."""
        return round(self.datum.left + mark[0], 4), round(self.datum.low + mark[1], 4)

    def taped(self, centre: tuple[float, float]) -> Iterator[tuple[float, float]]:
        """The marks of a tape around a centre, (along, up), the closest first: what the fields can hold exactly."""
        along, up = centre[0] - self.datum.left, centre[1] - self.datum.low
        steps = [(i / TAPE, j / TAPE) for i in range(-2, 3) for j in range(-2, 3)]
        marks = [(_taped(along) + i, _taped(up) + j) for i, j in steps]
        yield from sorted(marks, key=lambda mark: math.dist(mark, (along, up)))


def _taped(inches: float) -> float:
    return round(inches * TAPE) / TAPE


def _chord_heights(design: Design, x: float) -> list[float]:
    heights = []
    for member in design.members:
        a, b = design.ends(member)
        low, high = min(a.x, b.x), max(a.x, b.x)
        if member.is_chord and low <= x <= high and high > low:
            heights.append(a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x))
    return heights


class FilingForm(forms.Form):
    """Why and until when; with what the opening is, this makes a request."""

    reason = forms.CharField(
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        label="Why, in your own words",
        error_messages={"required": "Say in a sentence what it is for; the designer decides by it."},
    )
    needed_by = forms.DateField(
        widget=forms.DateInput(attrs={"type": "date"}),
        label="Answer needed by",
        help_text="The day by which you need to know.",
        error_messages={"required": "Say by which day you need the answer."},
    )
    key = forms.CharField(max_length=200, widget=forms.HiddenInput)

    def __init__(self, *args, today, **kwargs):
        self.today = today
        super().__init__(*args, label_suffix="", **kwargs)
        self.fields["key"].initial = lambda: uuid.uuid4().hex
        self.fields["needed_by"].widget.attrs["min"] = today.isoformat()

    def clean_needed_by(self):
        day = self.cleaned_data["needed_by"]
        if day < self.today:
            raise ValidationError(f"{date_format(day)} is past; today at the job is {date_format(self.today)}.")
        if day > self.today + LONGEST_WAIT:
            raise ValidationError(f"{date_format(day)} is more than a hundred years away.")
        return day


class AnswerForm(forms.Form):
    says = forms.CharField(
        max_length=2000, label_suffix="", widget=forms.Textarea(attrs={"rows": 3}), label="Your answer"
    )


class DecisionForm(forms.Form):
    """What a designer decides. Which option answers which ask comes beside it, as `option-<ask id>`."""

    verdict = forms.ChoiceField(choices=Decision.Choice.choices)
    reason = forms.CharField(
        required=False,
        max_length=2000,
        label_suffix="",
        widget=forms.Textarea(attrs={"rows": 3}),
        label="Reason, or the question to the builder",
    )
    accepts = forms.MultipleChoiceField(required=False, choices=(), widget=forms.CheckboxSelectMultiple)

    def __init__(self, *args, acceptable=(), **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["accepts"].choices = [(rule, rule) for rule in acceptable]


class HoldForm(forms.Form):
    acknowledge = forms.TypedChoiceField(choices=(("yes", "yes"), ("no", "no")), coerce=lambda value: value == "yes")
    says = forms.CharField(required=False, max_length=500)
