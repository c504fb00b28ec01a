"""What people type of a weight, a bearing or something between trusses, and the form of each kind."""

from __future__ import annotations

from typing import Any, cast

from django import forms

from changes.asks import new_walls, on_walls
from changes.asks.load import MOST_LB
from changes.asks.load import WHAT as WEIGHTS
from changes.asks.passage import WHAT as PASSAGES
from changes.asks.passage import row_of
from changes.pages.kind_form import MOST_COPIES, Ask, KindForm, along_field, copies_field
from changes.pages.telling_forms import DamageForm, QuestionForm
from trusses.analysis.bearings.edits import chord_on
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.words.lengths import feet_inches
from trusses.forms import LengthField, refusing
from trusses.models import CHANGEABLE_STAGES, Truss
from trusses.plan.feet import called_under

_SOME_IN = 1.0
"""How far a bearing goes of which only that it moves is typed yet."""
SAME_IN = 1 / 16
"""Two ways of saying a place that differ by less are one: what a tape shows."""
_WEIGHT = f"Say how much it weighs: pounds as a number, such as 350, more than 0 and up to {MOST_LB:,.0f}."


class LoadForm(KindForm):
    """A weight: what it is, where, and who shares it."""

    KIND = "load"
    TAPS = ("along",)

    what = forms.ChoiceField(label="What", choices=[(one, one.capitalize()) for one in WEIGHTS])
    weight = forms.FloatField(
        label="Weight in all, pounds",
        min_value=0.1,
        max_value=MOST_LB,
        error_messages=refusing(_WEIGHT),
        help_text="As the submittal has it, full of water where it holds any; a gallon of water weighs 8.34 lb.",
        widget=forms.NumberInput(attrs={"inputmode": "decimal"}),
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
            ("one", "Straps or hangers on each, or not known yet: any one may carry all of it"),
            ("stiff", "A stiff beam or platform across them, hung or set: by statics, even in the middle"),
            ("continuous", "A beam or platform that bends across them: the middle one carries most"),
        ),
        widget=forms.RadioSelect,
        initial="one",
    )
    case = forms.ChoiceField(
        label="For how long",
        choices=(("dead", "It stays there (dead load)"), ("live", "At times (live load, such as a hoist)")),
        help_text="It isn’t counted on to hold the truss down: even what stays may be taken away one day.",
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
        label="The second in all, pounds",
        min_value=0.1,
        max_value=MOST_LB,
        required=False,
        error_messages=refusing(_WEIGHT),
        widget=forms.NumberInput(attrs={"inputmode": "decimal"}),
    )
    second_along = along_field("To the middle of the second", required=False)

    def spots(self) -> list[tuple[float, float]]:
        data = self.cleaned_data
        typed = [data.get("along"), data.get("second_along") if data.get("second_what") else None]
        chord = data.get("chord", "bottom_chord")
        return [spot for along in typed if along is not None for spot in self.on_chord(chord, self.left_in + along)]

    def clean(self) -> Ask:
        data = super().clean() or {}
        if data.get("second_what"):
            for name, says in (("second_weight", _WEIGHT), ("second_along", "Say where it is.")):
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
    EITHER = ("along", "by")

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
    joint = forms.ChoiceField(label="Which bearing", required=False, widget=forms.RadioSelect)
    along = along_field("To the middle of the new bearing", required=False)
    by = LengthField(size=True, required=False, label="Or by how much it moves", help_text="From where it stands now.")
    toward = forms.ChoiceField(
        label="Toward",
        required=False,
        choices=(("left", "The left end"), ("right", "The right end")),
        widget=forms.RadioSelect,
    )
    width = LengthField(size=True, required=False, label="Its width along the span", initial='3 1/2"')
    copies = copies_field()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        design = cast(Design, self.design)
        self.stands = called_under(cast(Truss, self.truss))
        self.bearings = sorted(design.bearings, key=lambda bearing: design.joint(bearing.joint).x)
        choices = []
        for bearing in self.bearings:
            called = self._called(bearing.joint)
            choices.append((bearing.joint, f"{called}, at {feet_inches(self._now(bearing.joint))}"))
            for name, what in (("off", "off its line, to the right"), ("rise", "above where it was drawn")):
                self.fields[f"{name}-{bearing.joint}"] = LengthField(
                    size=True,
                    negative=True,
                    required=False,
                    label=f"{called[:1].upper()}{called[1:]}: {what}",
                    help_text="A minus means to the left." if name == "off" else "A minus means lower.",
                )
        self.fields["copies"] = self.fields.pop("copies")  # which copies comes last, after what is asked
        cast(forms.ChoiceField, self.fields["joint"]).choices = choices

    def _now(self, joint: str) -> float:
        """Where a bearing stands today, inches from the left one."""
        return cast(Design, self.design).joint(joint).x - self.left_in

    def _called(self, joint: str) -> str:
        xs = [self._now(bearing.joint) for bearing in self.bearings]
        ends = {min(xs): "left bearing", max(xs): "right bearing"}
        return f"{self.stands.get(joint) or ends.get(self._now(joint), 'bearing between')} ({joint})"

    def _moved_to(self, data: Ask) -> float | None:
        """Where a moved bearing goes by how far it was said to move; None where that isn't said."""
        if data.get("by") is None or not data.get("toward") or not data.get("joint"):
            return None
        return self._now(data["joint"]) + (data["by"] if data["toward"] == "right" else -data["by"])

    @property
    def understood(self) -> dict[str, str]:
        """Of a bearing that moves each way of saying it tells the other."""
        told, data = super().understood, getattr(self, "cleaned_data", {})
        if data.get("change") != "moved" or not data.get("joint"):
            return told
        if (to := self._moved_to(data)) is not None and "by" not in self.errors:
            told["by"] += f" toward the {data['toward']} end: to {feet_inches(to)} from the left bearing"
        if data.get("along") is not None:
            by = data["along"] - self._now(data["joint"])
            way = f", {feet_inches(abs(by))} toward the {'right' if by > 0 else 'left'} end" if by else ", where it is"
            told["along"] += way
        return told

    def beside(self) -> list[Any]:
        """The walls that the bearings would leave and that other trusses bear on."""
        data, truss = getattr(self, "cleaned_data", {}), cast(Truss, self.truss)
        change = data.get("change")
        if change in ("moved", "taken away") and not data.get("joint"):
            return []
        unsaid = False
        if change == "moved" and data.get("along") is None:
            unsaid = (along := self._moved_to(data)) is None
            data = {**data, "along": self._now(data["joint"]) + _SOME_IN if along is None else along}
        if change == "added" and data.get("along") is not None:
            these = truss.copies.filter(stage__in=CHANGEABLE_STAGES).values_list("number", flat=True)
            return list(new_walls.under(truss, self.left_in + data["along"], data.get("copies") or these))
        if change not in ("moved", "taken away", "measured"):
            return []
        stages = dict(truss.copies.values_list("number", "stage"))
        every = [number for number, stage in stages.items() if stage in CHANGEABLE_STAGES]
        document = truss.current.document
        those = on_walls.leaving(truss, self._wanted(data), document, data.get("copies") or every)
        told = on_walls.wherever(those) if unsaid else those
        return [one for one in (on_walls.shared(truss.job, each) for each in told) if one.others or one.also]

    def spots(self) -> list[tuple[float, float]]:
        data, design = self.cleaned_data, cast(Design, self.design)
        along = data.get("along")
        if data.get("change") == "moved" and along is None:
            along = self._moved_to(data)
        if data.get("change") not in ("moved", "added") or along is None:
            return []
        role = chord_on(design, data.get("joint") or self.bearings[0].joint)
        return self.on_chord(role, self.left_in + along)

    def clean(self) -> Ask:
        data = super().clean() or {}
        change = data.get("change")
        if change in ("moved", "taken away") and not data.get("joint") and "joint" not in self.errors:
            self.add_error("joint", "Say which bearing.")
        needs = {"moved": ("along",), "added": ("along", "width")}.get(str(change), ())
        if change == "moved" and data.get("by") is not None:
            self._clean_by(data)
            needs = ()
        for name in needs:
            if data.get(name) is None and name not in self.errors:
                self.add_error(name, "Type a length, such as 12' 3 1/2\".")
        return data

    def _clean_by(self, data: Ask) -> None:
        """By how far it moves says where it goes; both together have to agree."""
        if not data.get("toward") and "toward" not in self.errors:
            self.add_error("toward", "Say toward which end it moves.")
        to, along = self._moved_to(data), data.get("along")
        if to is None:
            return
        if along is None:
            data["along"] = to
        elif abs(along - to) > SAME_IN:
            self.add_error("by", f"That is at {feet_inches(to)}, and {feet_inches(along)} is typed above: empty one.")

    def wanted(self) -> Ask:
        return self._wanted(self.cleaned_data)

    def _wanted(self, data: Ask) -> Ask:
        design = cast(Design, self.design)
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
    COPIES = "copy"
    TAPS = ("along",)

    what = forms.ChoiceField(label="What", choices=[(one, one.capitalize()) for one in PASSAGES])
    through = forms.ChoiceField(
        label="Through", choices=(("ceiling", "The ceiling"), ("roof", "The roof"), ("both", "Both"))
    )
    copy = forms.IntegerField(
        label="After copy",
        min_value=1,
        max_value=MOST_COPIES,
        error_messages=refusing("Say after which truss it is: the number of a copy, such as 3, as its label has it."),
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

    def spots(self) -> list[tuple[float, float]]:
        along, through = (self.cleaned_data.get(name) for name in ("along", "through"))
        if along is None:
            return []
        chords = {"ceiling": ("bottom_chord",), "roof": ("top_chord",)}.get(str(through), ("bottom_chord", "top_chord"))
        return [spot for chord in chords for spot in self.on_chord(chord, self.left_in + along)]

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
