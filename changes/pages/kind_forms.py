"""What people type of a weight, a bearing, something between trusses, damage or a question; each makes an ask as a
program would send it, so that one reading refuses both."""

from __future__ import annotations

import re
from typing import Any, ClassVar, cast

from django import forms
from django.core.exceptions import ValidationError

from changes.asks.damage import ACTING
from changes.asks.load import MOST_LB
from changes.asks.load import WHAT as WEIGHTS
from changes.asks.passage import WHAT as PASSAGES
from changes.asks.passage import row_of
from changes.asks.question import LONGEST
from changes.pages.photo_field import PhotosField
from trusses.analysis.damage.damaged import HOW
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.piece_names import panel_names
from trusses.analysis.words.lengths import feet_inches
from trusses.forms import LengthField
from trusses.models import Truss

Ask = dict[str, Any]
_RANGE = re.compile(r"(\d{1,4})(?:-(\d{1,4}))?")
_MOST_COPIES = 500


def numbers(text: str) -> list[int]:
    """“1-3, 7” as numbers. Raises ValidationError."""
    found: list[int] = []
    for part in re.split(r"[,;\s]+", re.sub(r"\s*[-–]\s*", "-", text.strip())):
        match = _RANGE.fullmatch(part)
        if match is None:
            raise ValidationError("Write the numbers of copies like 1-3, 7.")
        first, last = int(match[1]), int(match[2] or match[1])
        if not first <= last < first + _MOST_COPIES:
            raise ValidationError("Write the numbers of copies like 1-3, 7.")
        found += range(first, last + 1)
    return found


class KindForm(forms.Form):
    """One kind's fields. `KIND` is its key in an ask; `copies` says which copies of the mark, all that can still change
    where it is left empty."""

    KIND: ClassVar[str]
    TAPS: ClassVar[tuple[str, ...]] = ()
    """The fields that a tap on the drawing fills: where along the span, and how high."""

    def __init__(self, *args: Any, truss: Truss | None, design: Design | None, **kwargs: Any) -> None:
        self.truss, self.design = truss, design
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        for name, field in self.fields.items():
            if isinstance(field, LengthField):
                hint = f"id_{name}_helptext " if field.help_text else ""
                field.widget.attrs["aria-describedby"] = f"{hint}id_{name}_error"
                if design is not None and not field.size:
                    field.feet_to_in = design.span_in

    @property
    def left_in(self) -> float:
        """The x of the leftmost bearing, from which lengths along the span are measured."""
        design = cast(Design, self.design)
        return min(design.joint(bearing.joint).x for bearing in design.bearings)

    @property
    def level_in(self) -> float:
        """The y of the same bearing."""
        design = cast(Design, self.design)
        return min((design.joint(bearing.joint).x, design.joint(bearing.joint).y) for bearing in design.bearings)[1]

    def clean_copies(self) -> list[int] | None:
        typed = self.cleaned_data.get("copies", "")
        return numbers(typed) if typed.strip() else None

    def wanted(self) -> Ask:
        """What is wanted, as the ask has it under its kind."""
        raise NotImplementedError

    def ask(self, photos: list[int]) -> Ask:
        ask: Ask = {"kind": self.KIND, self.KIND: self.wanted()}
        if self.truss is not None:
            ask["truss"] = self.truss
        if (copies := self.cleaned_data.get("copies")) is not None:
            ask["copies"] = copies
        return ask | ({"photos": photos} if "photos" in self.fields else {})


def copies_field(help_text: str = "Their numbers, like 1-3, 7. Empty: all that can still change.") -> forms.CharField:
    return forms.CharField(required=False, max_length=200, label="Which copies", help_text=help_text)


def along_field(label: str, **more: Any) -> LengthField:
    return LengthField(
        label=label, negative=True, help_text="From the middle of the left bearing, level along the span.", **more
    )


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
        max_value=_MOST_COPIES,
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


class DamageForm(KindForm):
    """Which copy, which piece, where and how."""

    KIND = "damage"
    TAPS = ("member", "at")

    copies = copies_field("Its number, like 7, or several.")
    member = forms.ChoiceField(label="Which piece", help_text="As the drawing names it; tap it there.")
    how = forms.ChoiceField(label="How", choices=[(one, one.capitalize()) for one in HOW])
    at = LengthField(label="Along the piece to the damage", help_text="From its left or lower end.", initial='0"')
    size = LengthField(size=True, required=False, label="How deep, or how far bowed", help_text="Of a notch or a bow.")
    acting = forms.MultipleChoiceField(
        required=False,
        label="On it now, besides its own weight",
        choices=[(case, case.replace("_", " ").capitalize()) for case in ACTING],
        widget=forms.CheckboxSelectMultiple,
    )
    note = forms.CharField(
        required=False, max_length=500, label="What you see", widget=forms.Textarea(attrs={"rows": 3})
    )
    photos = PhotosField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        design = cast(Design, self.design)
        called = panel_names(design.document)
        self.fields["copies"].required = True
        choices: list[tuple[str, str]] = [(member.id, called.get(member.id, member.id)) for member in design.members]
        choices.sort(key=lambda one: one[1])
        cast(forms.ChoiceField, self.fields["member"]).choices = choices

    def wanted(self) -> Ask:
        data, design = self.cleaned_data, cast(Design, self.design)
        member = design.member(data["member"])
        first, second = design.ends(member)
        at = data["at"]
        # where its first joint is its right or upper end; what is beyond the piece is told as it was typed
        if (second.x, second.y) < (first.x, first.y) and at <= design.length(member):
            at = design.length(member) - at
        return {
            "member": member.id,
            "how": data["how"],
            "at_in": at,
            "size_in": data["size"] or 0.0,
            "acting": data["acting"],
            "note": data["note"],
        }


class QuestionForm(KindForm):
    """Free words, photos, a place tapped."""

    KIND = "question"
    TAPS = ("along", "up", "x", "y")

    says = forms.CharField(
        label="Your question",
        max_length=LONGEST,
        widget=forms.Textarea(attrs={"rows": 4}),
        error_messages={"required": "Ask something."},
    )
    along = LengthField(
        required=False,
        negative=True,
        label="Where: along the span",
        help_text="Tap the place on the drawing, or leave it empty.",
    )
    up = LengthField(required=False, negative=True, label="… and up from the bearing")
    level = forms.CharField(required=False, max_length=60, widget=forms.HiddenInput)
    x = LengthField(
        required=False,
        negative=True,
        label="Where: to the right of the plan's zero",
        help_text="Tap the place on the plan, or leave it empty.",
    )
    y = LengthField(required=False, negative=True, label="… and up the plan from its zero")
    copies = copies_field("Their numbers, like 1-3, 7. Empty: all.")
    photos = PhotosField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.pair = ("x", "y") if self.truss is None else ("along", "up")
        for name in ("along", "up", "copies") if self.truss is None else ("x", "y", "level"):
            del self.fields[name]

    def clean(self) -> Ask:
        data = super().clean() or {}
        first, second = (data.get(name) for name in self.pair)
        if (first is None) != (second is None) and not self.errors:
            self.add_error(self.pair[1] if second is None else self.pair[0], "Give both, or neither.")
        return data

    def wanted(self) -> Ask:
        data = self.cleaned_data
        wanted: Ask = {"says": data["says"]}
        if self.design is not None and data.get("along") is not None:
            x, y = self.left_in + data["along"], self.level_in + data["up"]
            wanted["place"] = {"on": "drawing", "x_in": x, "y_in": y}
        if self.design is None and data.get("x") is not None:
            wanted["place"] = {"on": "plan", "x_in": data["x"], "y_in": data["y"]}
            wanted["place"] |= {"level": data["level"]} if data["level"] else {}
        return wanted


FORMS: dict[str, type[KindForm]] = {
    form.KIND: form for form in (LoadForm, BearingForm, PassageForm, DamageForm, QuestionForm)
}
