"""What people type: an opening on a phone, a decision at a desk. Lengths are understood in feet and inches."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.utils.formats import date_format
from django.utils.html import format_html

from changes.asks.reading import LONGEST_WAIT
from changes.models import Decision, Hold
from changes.pages.datum import Datum, Face, Size, on_tape
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.words.lengths import tape_inches
from trusses.forms import AloneForm, LengthField, SectionForm, said_length

# Stock round diameters and trunk sizes as duct charts list them; insulation as installed thickness. Common practice,
# from memory: R-8 wrap is about 3 in. nominal and 2 1/4 in. where it is compressed at installation.
ROUND_SIZES_IN = (4, 5, 6, 7, 8, 9, 10, 12, 14, 16, 18)
TRUNK_SIZES_IN = ((10, 8), (12, 8), (14, 8), (16, 8), (20, 8), (24, 8), (24, 12))
# Outside diameters of plastic drain pipe (from memory).
PIPE_SIZES_IN = ((1.5, 1.9), (2, 2.375), (3, 3.5), (4, 4.5))
INSULATION_IN = ((0, "none"), (1, "1 in."), (1.5, "1 1/2 in."), (2.25, "2 1/4 in. (R-8 wrap)"))
REASONS = tuple(
    (what, f"{what} has to run through here.")
    for what in ("Supply duct", "Return duct", "Bath fan duct", "Range hood duct", "Dryer vent", "Drain", "Vent stack")
)
"""What openings are mostly for: a word to tap, and the sentence that it puts into the reason."""

_WHAT_COUNTS = {
    edge: format_html('<span class="if-middle">its middle</span><span class="if-edge">its {} edge</span>', edge)
    for edge in ("near", "lower")
}
"""Of a round opening and of any other one; the stylesheet shows the one that is chosen."""


class OpeningForm(SectionForm):
    """A duct, a pipe or another clear opening: its size, what wraps it, how much air around it, and where."""

    insulation = LengthField(
        size=True,
        required=False,
        label="Insulation, each side",
        initial='0"',
        help_text='Makes the opening larger on each side. R-8 wrap: about 2 1/4" installed.',
    )
    clearance = LengthField(
        size=True,
        required=False,
        label="Clear space around it",
        initial='1/2"',
        help_text='Air between the opening and any wood. 1/2" to 1" is common practice.',
    )
    face = forms.ChoiceField(required=False, label="Measured from")
    along = LengthField(negative=True, label=format_html("From there to {}", _WHAT_COUNTS["near"]))
    up = LengthField(negative=True, help_text="A minus means down from there.")
    carries = forms.CharField(
        required=False, max_length=120, label="What goes through it", help_text="Such as: supply trunk, dryer vent."
    )

    def __init__(self, *args: Any, design: Design, datum: Datum | None = None, **kwargs: Any) -> None:
        self.design, self.datum = design, datum or Datum(design.document)
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        fields = self.fields
        cast(forms.ChoiceField, fields["face"]).choices = [(face.key, face.says) for face in self.datum.faces]
        fields["face"].initial = self.datum.faces[0].key
        fields["up"].label = format_html("Up from {} to {}", self.datum.level, _WHAT_COUNTS["lower"])
        xs, ys = zip(*((joint.x, joint.y) for joint in design.joints), strict=True)
        # a bare number that would be feet within the truss could be meant so
        cast(LengthField, fields["along"]).feet_to_in = max(xs) - min(xs)
        cast(LengthField, fields["up"]).feet_to_in = max(ys) - min(ys)
        for name, field in fields.items():
            if isinstance(field, LengthField):
                hint = f"id_{name}_helptext " if field.help_text else ""
                field.widget.attrs["aria-describedby"] = f"{hint}id_{name}_error"

    def opening(self) -> dict:
        """The opening as a truss document writes it; the insulation is part of its size, the clearance is not."""
        data = self.cleaned_data
        wrap = 2 * (data.get("insulation") or 0)
        result = {
            "id": "O1",
            "shape": data["shape"],
            "clearance_in": data.get("clearance") or 0,
        }
        if data["shape"] == "circle":
            result["diameter_in"] = data["diameter"] + wrap
            size = f"{tape_inches(data['diameter'])} round"
        else:
            result["width_in"], result["height_in"] = data["width"] + wrap, data["height"] + wrap
            size = f"{tape_inches(data['width'])} × {tape_inches(data['height'])}"
        wrapped = f", with {tape_inches(data['insulation'])} insulation" if wrap else ""
        result["note"] = ": ".join(filter(None, [data.get("carries"), f"{size}{wrapped}"]))[:200]
        marks = (data["along"], data["up"])
        result["centre_in"] = list(self.datum.centre(self.hooked, marks, Size.of(result)))
        return result

    @property
    def hooked(self) -> Face:
        """Where the tape of these fields is hooked."""
        return self.datum.face(self.data.get("face") or "")

    @property
    def understood(self) -> dict[str, str]:
        """How each length that could be read was read."""
        read = self.cleaned_data if hasattr(self, "cleaned_data") else {}
        lengths = {name: field for name, field in self.fields.items() if isinstance(field, LengthField)}
        return {
            name: said_length(read[name], size=field.size)
            for name, field in lengths.items()
            if read.get(name) is not None
        }

    @classmethod
    def first_place(cls, design: Design, tape: Datum) -> dict[str, float | str]:
        """Where the opening stands before a thumb has moved it: the middle of the span, between the chords."""
        xs = [joint.x for joint in design.joints]
        middle = (min(xs) + max(xs)) / 2
        heights = sorted(_chord_heights(design, middle))
        # Low in the truss, where ducts run: a roof truss is tall, and its middle is out of reach.
        low = tape.low(middle)
        height = min((heights[0] + heights[-1]) / 2, heights[0] + 20) if len(heights) > 1 else low + 12
        return cls.typed(tape, (middle, height), Size())

    @staticmethod
    def typed(datum: Datum, centre: tuple[float, float], size: Size) -> dict[str, float | str]:
        """What the fields of a place say of an opening about that centre."""
        face = datum.nearest_face(centre[0])
        along, up = datum.marks(face, centre, size)
        return {"face": face.key, "along": on_tape(along), "up": on_tape(up)}


def _chord_heights(design: Design, x: float) -> list[float]:
    heights = []
    for member in design.members:
        a, b = design.ends(member)
        low, high = min(a.x, b.x), max(a.x, b.x)
        if member.is_chord and low <= x <= high and high > low:
            heights.append(a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x))
    return heights


USUAL_WAIT = timedelta(days=7)
"""From asking to the day an answer is needed by, unless the builder says otherwise or changes end earlier. Our own."""


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

    def __init__(self, *args: Any, today: date, last_day: date | None = None, **kwargs: Any) -> None:
        self.today = today
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        self.fields["key"].initial = lambda: uuid.uuid4().hex
        self.fields["needed_by"].widget.attrs["min"] = today.isoformat()
        week = today + USUAL_WAIT
        self.fields["needed_by"].initial = min(week, last_day) if last_day and last_day >= today else week
        if last_day and last_day >= today:
            self._warns_after(last_day)

    def _warns_after(self, last_day: date) -> None:
        """A later day is taken all the same: it is said that the answer may be of no use by then."""
        field, last = self.fields["needed_by"], date_format(last_day)
        field.help_text = f"The day by which you need to know. The last day for changes is {last}."
        field.widget.attrs["data-last"] = last_day.isoformat()
        field.widget.attrs["data-late"] = "That is after the last day for changes: it may be cut by then."

    @property
    def day(self) -> date | None:
        """The day that stands in the field; None where that is no date."""
        try:
            return cast(date | None, self.fields["needed_by"].clean(self["needed_by"].value()))
        except ValidationError:
            return None

    def asks_what_happened(self) -> None:
        """Of damage: nobody wants it for anything, and it waits for no later day."""
        self.fields["needed_by"].help_text = "The day by which you need to know."
        for name in ("data-last", "data-late"):
            self.fields["needed_by"].widget.attrs.pop(name, None)
        self.fields["reason"].label = "What happened"
        self.fields["reason"].help_text = "Left empty, what is typed above is told."
        self.fields["reason"].required = False
        self.fields["needed_by"].initial = self.today

    def asks_nothing_besides(self) -> None:
        """Of a question: its own words are what it is for."""
        del self.fields["reason"]

    def clean_needed_by(self) -> date:
        day = self.cleaned_data["needed_by"]
        if day < self.today:
            raise ValidationError(f"{date_format(day)} is past; today at the job is {date_format(self.today)}.")
        if day > self.today + LONGEST_WAIT:
            raise ValidationError(f"{date_format(day)} is more than a hundred years away.")
        return day


class AnswerForm(AloneForm):
    says = forms.CharField(
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        label="Your answer",
        error_messages={"required": "Write an answer first."},
    )


class DecisionForm(AloneForm):
    """What a designer decides. Which option answers which ask comes beside it, as `option-<ask id>`."""

    verdict = forms.ChoiceField(choices=Decision.Choice.choices)
    reason = forms.CharField(
        required=False,
        max_length=2000,
        label_suffix="",
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    accepts = forms.MultipleChoiceField(required=False, choices=(), widget=forms.CheckboxSelectMultiple)
    ends_by = forms.ChoiceField(
        required=False,
        label="What ends the damage",
        label_suffix="",
        choices=Decision.EndsBy.choices,
        widget=forms.RadioSelect,
    )

    leave = forms.MultipleChoiceField(required=False, choices=(), widget=forms.CheckboxSelectMultiple)
    unharmed = forms.MultipleChoiceField(required=False, choices=(), widget=forms.CheckboxSelectMultiple)

    def __init__(
        self,
        *args: Any,
        acceptable: Sequence[tuple[str, str]] = (),
        leavable: Sequence[tuple[str, str]] = (),
        unharmed: Sequence[tuple[str, str]] = (),
        repairable: bool = True,
        words_alone: bool = False,
        asker: str = "",
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        # nobody asks oneself
        other = f"the question to {asker}" if asker else "what you have to find out first"
        self.fields["reason"].label = f"Reason, or {other}"
        self.fields["reason"].needed = words_alone  # type: ignore[attr-defined]
        cast(forms.MultipleChoiceField, self.fields["leave"]).choices = leavable
        cast(forms.MultipleChoiceField, self.fields["unharmed"]).choices = unharmed
        if not repairable:
            ends_by = cast(forms.ChoiceField, self.fields["ends_by"])
            ends_by.choices = [one for one in Decision.EndsBy.choices if one[0] != Decision.EndsBy.REPAIR]
        cast(forms.MultipleChoiceField, self.fields["accepts"]).choices = acceptable

    @property
    def leaves(self) -> list[int]:
        """The ids of the asks that are left as they are, damage that is none among them."""
        ticked = (*self.cleaned_data["leave"], *self.cleaned_data["unharmed"])
        return [int(pk) for one in ticked for pk in one.split()]


WAITS_OR_NOT = "Say whether the saw waits or can't."


class HoldForm(AloneForm):
    """The answer to one hold. Where it was refused and the hold is still asked for, it can be answered again."""

    acknowledge = forms.TypedChoiceField(
        label="Your answer",
        choices=(("yes", "yes"), ("no", "no")),
        coerce=lambda value: value == "yes",
        error_messages={"required": WAITS_OR_NOT, "invalid_choice": WAITS_OR_NOT},
    )
    says = forms.CharField(label="A word about the hold", required=False, max_length=500)
    after_all = forms.BooleanField(required=False)

    def __init__(self, *args: Any, hold: Hold, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.hold = hold

    @property
    def may_again(self) -> bool:
        return self.hold.standing == Hold.Standing.ASKED
