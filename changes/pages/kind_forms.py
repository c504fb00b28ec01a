"""What people type of a weight, a bearing or something between trusses, and the form of each kind."""

from __future__ import annotations

from typing import Any, cast

from django import forms

from changes.asks.load import MOST_LB
from changes.asks.load import WHAT as WEIGHTS
from changes.asks.passage import WHAT as PASSAGES
from changes.asks.passage import row_of
from changes.pages.kind_form import MOST_COPIES, Ask, KindForm, along_field, copies_field
from changes.pages.telling_forms import DamageForm, QuestionForm
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.words.lengths import feet_inches
from trusses.forms import LengthField
from trusses.models import Truss


class LoadForm(KindForm):
    """A weight: what it is, where, and who shares it."""

    KIND = "load"
    TAPS = ("along",)

    what = forms.ChoiceField(label="What", choices=[(one, one.capitalize()) for one in WEIGHTS])
    weight = forms.FloatField(
        label="Weight in all, pounds",
        min_value=0.1,
        max_value=MOST_LB,
        help_text="As the submittal has it, full of water where it holds any; a gallon of water weighs 8.34 lb.",
    )
    how = forms.ChoiceField(
        label="Hung or set", choices=(("hung", "Hung from it"), ("set", "Set on it, on a platform"))
    )
    chord = forms.ChoiceField(label="On", choices=(("bottom_chord", "Bottom chord"), ("top_chord", "Top chord")))
    shape = forms.ChoiceField(
        label="It bears on each truss",
        choices=(
            ("point", "At one point"),
            ("pair", "At two points"),
            ("line", "Along a line"),
            ("area", "Over an area, on all the copies named"),
        ),
    )
    along = along_field("To its middle")
    length = LengthField(
        size=True, required=False, label="Length along the span", help_text="Between the two points, or of the line."
    )
    copies = copies_field("Those that share it, side by side, like 4-6. Empty: each one that can still change.")
    shared = forms.ChoiceField(
        label="How they share it",
        choices=(
            ("one", "No rule: each may carry all of it"),
            ("stiff", "A stiff beam or platform across them: by statics, even in the middle"),
            ("continuous", "A platform that bends over them: the middle one carries most"),
        ),
    )
    case = forms.ChoiceField(
        label="For how long",
        choices=(("dead", "For good (dead load)"), ("live", "At times (live load, such as a hoist)")),
    )
    note = forms.CharField(required=False, max_length=120, label="Model, or a word more")
    second_what = forms.ChoiceField(
        label="A second weight beside it",
        required=False,
        choices=[("", "None"), *((one, one.capitalize()) for one in WEIGHTS)],
        help_text="On the same trusses, hung or set and shared alike; both are answered together. For a third, ask"
        " again after these.",
    )
    second_weight = forms.FloatField(
        label="The second in all, pounds", min_value=0.1, max_value=MOST_LB, required=False
    )
    second_along = along_field("To the middle of the second", required=False)

    def clean(self) -> Ask:
        data = super().clean() or {}
        if data.get("second_what"):
            for name, says in (("second_weight", "Give its weight."), ("second_along", "Say where it is.")):
                if data.get(name) is None and name not in self.errors:
                    self.add_error(name, says)
        return data

    def asks(self, photos: list[int]) -> list[Ask]:
        first, data = self.ask(photos), self.cleaned_data
        if not data.get("second_what"):
            return [first]
        beside = {"what": data["second_what"], "weight_lb": data["second_weight"], "note": ""}
        beside |= {"at_in": self.left_in + data["second_along"], "shape": "point", "length_in": 0.0}
        return [first, {**first, self.KIND: {**first[self.KIND], **beside}}]

    def wanted(self) -> Ask:
        data = self.cleaned_data
        keys = ("what", "how", "chord", "shape", "shared", "case", "note")
        return {
            **{key: data[key] for key in keys},
            "weight_lb": data["weight"],
            "at_in": self.left_in + data["along"],
            "length_in": data["length"] or 0.0,
        }


class BearingForm(KindForm):
    """A bearing moved, added, taken away, or the walls as they were measured."""

    KIND = "bearing"
    TAPS = ("along",)

    change = forms.ChoiceField(
        label="What changes",
        choices=(
            ("moved", "A bearing moves"),
            ("added", "A bearing is added"),
            ("taken away", "A bearing is taken away"),
            ("measured", "The walls stand as measured"),
        ),
        widget=forms.RadioSelect,
        initial="moved",
    )
    joint = forms.ChoiceField(label="Which bearing", required=False)
    along = along_field("To the middle of the new bearing", required=False)
    width = LengthField(size=True, required=False, label="Its width along the span", initial='3 1/2"')
    copies = copies_field()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        design = cast(Design, self.design)
        self.bearings = sorted(design.bearings, key=lambda bearing: design.joint(bearing.joint).x)
        choices = []
        for bearing in self.bearings:
            x = design.joint(bearing.joint).x - self.left_in
            choices.append((bearing.joint, f"{bearing.joint}, at {feet_inches(x)}"))
            for name, what in (("off", "off its line, to the right"), ("rise", "above where it was drawn")):
                self.fields[f"{name}-{bearing.joint}"] = LengthField(
                    size=True,
                    negative=True,
                    required=False,
                    label=f"Wall at {bearing.joint}: {what}",
                    help_text="A minus means to the left." if name == "off" else "A minus means lower.",
                )
        cast(forms.ChoiceField, self.fields["joint"]).choices = choices

    def clean(self) -> Ask:
        data = super().clean() or {}
        change = data.get("change")
        needs = {"moved": ("along",), "added": ("along", "width")}.get(str(change), ())
        for name in needs:
            if data.get(name) is None and name not in self.errors:
                self.add_error(name, "Type a length, such as 12' 3 1/2\".")
        return data

    def wanted(self) -> Ask:
        data, design = self.cleaned_data, cast(Design, self.design)
        change = data["change"]
        if change == "moved":
            return {"change": change, "joint": data["joint"], "to_in": self.left_in + data["along"]}
        if change == "added":
            return {"change": change, "at_in": self.left_in + data["along"], "width_in": data["width"]}
        if change == "taken away":
            return {"change": change, "joint": data["joint"]}
        walls = []
        for bearing in self.bearings:
            at = design.joint(bearing.joint)
            off, rise = (data.get(f"{name}-{bearing.joint}") or 0.0 for name in ("off", "rise"))
            walls.append({"joint": bearing.joint, "x_in": at.x + off, "y_in": at.y + rise})
        return {"change": change, "walls": walls}


class PassageForm(KindForm):
    """A hatch, a flue or a stair between the trusses of a row."""

    KIND = "passage"
    TAPS = ("along",)

    what = forms.ChoiceField(label="What", choices=[(one, one.capitalize()) for one in PASSAGES])
    through = forms.ChoiceField(
        label="Through", choices=(("ceiling", "The ceiling"), ("roof", "The roof"), ("both", "Both"))
    )
    copy = forms.IntegerField(
        label="After copy",
        min_value=1,
        max_value=MOST_COPIES,
        help_text="The number of the truss from which the next length is measured.",
    )
    across = LengthField(label="From that truss to its middle", help_text="Across the row, toward the next number.")
    along = along_field("To its middle along the span")
    width = LengthField(size=True, label="Width, across the row", initial='22 1/2"')
    length = LengthField(size=True, label="Length, along the span", initial='30"')
    clearance = LengthField(
        size=True,
        required=False,
        initial='0"',
        label="Clear of wood all around",
        help_text="What its listing asks for, such as a flue's distance to combustibles.",
    )
    most_gap = LengthField(
        label="Widest gap that the sheathing and ceiling span",
        help_text="What your sheathing and ceiling board are rated for, centerline to centerline.",
    )
    note = forms.CharField(required=False, max_length=120, label="A word more")

    def wanted(self) -> Ask:
        data = self.cleaned_data
        return {
            "what": data["what"],
            "through": data["through"],
            "note": data["note"],
            "across_in": self.row_start(data["copy"]) + data["across"],
            "along_in": self.left_in + data["along"],
            "width_in": data["width"],
            "length_in": data["length"],
            "clearance_in": data["clearance"] or 0.0,
            "most_gap_in": data["most_gap"],
        }

    def ask(self, photos: list[int]) -> Ask:
        return {**super().ask(photos), "copies": [self.cleaned_data["copy"]]}

    def row_start(self, number: int) -> float:
        """How far along its row a copy stands."""
        row = row_of(cast(Truss, self.truss), [number], "copies")
        return row.places_in[row.numbers.index(number)]


FORMS: dict[str, type[KindForm]] = {
    form.KIND: form for form in (LoadForm, BearingForm, PassageForm, DamageForm, QuestionForm)
}
