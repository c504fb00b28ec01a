"""What people type for the set: a shape's parameters, a document's file. Bad input keeps what was typed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.conf import settings

from trusses.analysis.format.lengths import UnclearError, UnitsError, parse_length
from trusses.analysis.shapes import fields as shape_fields
from trusses.analysis.shapes.shapes import KINDS, Kind, ShapeError, build
from trusses.analysis.words.lengths import feet_inches, tape_inches
from trusses.models import Truss
from trusses.revisions import MOST_COPIES

_GROUPS = (
    ("name", "What it is called"),
    ("shape", "Shape"),
    ("lumber", "Lumber"),
    ("loads", "Loads it is designed for"),
    ("snow", "Snow from the snow on the ground"),
    ("restraint", "Held sideways"),
)
START_KIND = "w"
START_SPAN = "20'"
"""What a new truss spans until somebody types otherwise, so that a drawing is there from the start."""
LONGEST = 200
LONGEST_CHORD_IN = 960.0
"""No place along a member is farther than this from its end, so a larger bare number can't be feet."""


def refused_length(trouble: UnitsError, label: str = "") -> forms.ValidationError:
    """As a form's error; a number that could be feet or inches brings both ways to write it along."""
    says = f"{label}: {trouble}" if label else str(trouble)
    if isinstance(trouble, UnclearError):
        return forms.ValidationError(says, code="unclear", params={"readings": trouble.values["readings"]})
    return forms.ValidationError(says)


def said_length(inches: float, *, size: bool) -> str:
    """What was understood, as a tape shows it: 14" of a size, 1'-2" of a distance; told where it is rounded."""
    written = tape_inches(inches) if size else feet_inches(inches)
    return written if abs(inches * 16 - round(inches * 16)) < 1e-6 else f"about {written}"


class LengthField(forms.CharField):
    """Feet and inches as people write them, to inches: `12' 3 1/2"`, `147.5`, `12-3`.

    A `size` is said in inches, as ducts and lumber are; of any other length a bare number that could be feet, up to
    `feet_to_in`, is asked about.
    """

    def __init__(self, *, negative: bool = False, size: bool = False, **kwargs: Any) -> None:
        self.negative, self.size = negative, size
        self.feet_to_in: float | None = None
        kwargs.setdefault("max_length", 40)
        kwargs.setdefault("error_messages", {"required": "Type a length, such as 12' 3 1/2\"."})
        super().__init__(**kwargs)
        self.widget.attrs.setdefault("autocomplete", "off")

    def clean(self, value: Any) -> float | None:
        text = super().clean(value)
        if text in self.empty_values:
            return None
        try:
            return parse_length(text, negative=self.negative, feet_to_in=self.feet_to_in)
        except UnitsError as error:
            raise refused_length(error) from error

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, int | float):
            return value
        return tape_inches(value) if self.size else feet_inches(value)


class QuantityForm(forms.Form):
    """How many, and until when the mark can change."""

    quantity = forms.IntegerField(
        min_value=1, max_value=MOST_COPIES, initial=1, help_text="How many of this mark the job needs."
    )
    can_change_until = forms.DateField(
        required=False,
        label="Last day for changes",
        help_text="That day included. Left empty, there is none.",
        widget=forms.DateInput(attrs={"type": "date"}),
    )


class ShapeForm(QuantityForm):
    """The parameters of one shape of the trade; the fields are those of `shapes.KINDS[kind]`.

    `understood` says of each length that could be read how it was read.
    """

    def __init__(self, kind: Kind, *args: Any, **kwargs: Any):
        super().__init__(*args, label_suffix="", **kwargs)
        self.kind = kind
        self.understood: dict[str, str] = {}
        for field in kind.fields:
            self.fields[field.name] = _field(field)
        self.order_fields([field.name for field in kind.fields])

    @classmethod
    def started(cls, kind: Kind, typed: Mapping[str, str]) -> ShapeForm:
        """The form as it first stands, with what was typed of another shape: already a truss that can be drawn."""
        blank = {name: field.initial for name, field in cls(kind).fields.items() if field.initial is not None}
        return cls(kind, {**blank, "span": START_SPAN, **{name: value for name, value in typed.items() if value}})

    def groups(self) -> list[tuple[str, str, list[Any]]]:
        """(key, heading, bound fields), in the order of the page."""
        own = {field.name: field.group for field in self.kind.fields}
        groups = [
            (key, heading, [self[name] for name, group in own.items() if group == key]) for key, heading in _GROUPS
        ]
        groups[0][2].extend((self["quantity"], self["can_change_until"]))
        return [group for group in groups if group[2]]

    def clean(self) -> dict[str, Any]:
        """Read each parameter by itself, so that every wrong one says so at once."""
        data = super().clean() or {}
        for field in self.kind.fields:
            if field.name in self.errors:
                continue
            try:
                read = shape_fields.read_values([field], {field.name: data.get(field.name)}, self.kind.label)
            except ShapeError as trouble:
                unclear = isinstance(trouble.__cause__, UnclearError)
                says = refused_length(trouble.__cause__, field.label) if unclear else str(trouble)  # type: ignore[arg-type]
                self.add_error(field.name, says)
                continue
            if field.sort == "length" and data.get(field.name):
                self.understood[field.name] = said_length(read[field.name], size=field.unit == shape_fields.SIZE)
        return data

    def document(self) -> dict[str, Any] | None:
        """The truss document of a form whose fields can all be read; None, with the error added, where they clash."""
        given = {field.name: self.cleaned_data[field.name] for field in self.kind.fields}
        try:
            return build(self.kind.key, **given)
        except ShapeError as trouble:
            named = trouble.field if trouble.field in self.fields else None
            self.add_error(named, str(trouble))
            return None


def kind_of(name: str) -> Kind:
    """The shape of that key; the usual one where there is no such shape."""
    return KINDS.get(name, KINDS[START_KIND])


def _field(field: shape_fields.Field) -> forms.Field:
    common: dict[str, Any] = {
        "label": field.label,
        "help_text": field.says,
        "required": field.required,
        "initial": field.shown_start,
    }
    if field.sort == "choice":
        return forms.ChoiceField(choices=field.choices, **common)
    attrs = {"list": "lumber-keys"} if field.sort == "lumber" else {}
    if field.sort in ("pitch", "load", "factor", "whole"):
        attrs["inputmode"] = "decimal"
    attrs |= {"autocomplete": "off"}
    if field.required:
        common["error_messages"] = {"required": f"{field.label}: say how much, such as 36'."}
    made = forms.CharField(max_length=LONGEST, widget=forms.TextInput(attrs=attrs), **common)
    made.unit = "" if field.unit == "ft-in" else field.unit
    return made


class BearingForm(forms.Form):
    """What one bearing stands on: a wall line by its name, or a mark of the job."""

    joint = forms.CharField(max_length=40, widget=forms.HiddenInput)
    wall = forms.CharField(
        required=False,
        max_length=60,
        label="Wall line",
        help_text="As the plan names it; a new name makes a new line.",
        widget=forms.TextInput(attrs={"list": "wall-lines", "autocomplete": "off"}),
    )
    plate = forms.CharField(
        required=False,
        max_length=40,
        label="Its top plate",
        help_text="Lumber, such as 2x4 SPF No.1/No.2; empty where it isn't known.",
        show_hidden_initial=True,
        widget=forms.TextInput(attrs={"list": "lumber-keys", "autocomplete": "off"}),
    )
    carrier = forms.ModelChoiceField(
        queryset=Truss.objects.none(), required=False, label="Or a mark that carries it", empty_label="none"
    )
    places = forms.CharField(
        required=False,
        max_length=4000,
        label="Where it hangs, if the plan can't tell",
        help_text="One place a line for each copy: a bottom-chord member of the carrier and how far along it, such as"
        " B2 3' 6\".",
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args: Any, marks: Any, **kwargs: Any):
        super().__init__(*args, label_suffix="", **kwargs)
        self.fields["carrier"].queryset = marks

    def clean_places(self) -> list[dict[str, Any]]:
        """[{"member", "at_in"}], inches."""
        found = []
        for line in filter(None, map(str.strip, self.cleaned_data["places"].splitlines())):
            member, _, length = line.partition(" ")
            try:
                found.append({"member": member, "at_in": parse_length(length, feet_to_in=LONGEST_CHORD_IN)})
            except UnclearError as trouble:
                raise forms.ValidationError(f"{member[:20]}: {trouble}") from trouble
            except UnitsError as trouble:
                raise forms.ValidationError(
                    f"{line[:60]}: write a member and a length, such as B2 3' 6\"."
                ) from trouble
        return found


class UploadForm(QuantityForm):
    """A truss document from a file, judged by what is in it and not by its name."""

    file = forms.FileField(
        label="Truss document",
        help_text="One truss in the format chordchange.truss, version 1.",
        allow_empty_file=True,
        error_messages={"required": "Choose the file of a truss document."},
    )
    field_order = ("file", "quantity", "can_change_until")

    def clean_file(self) -> bytes:
        file = self.cleaned_data["file"]
        most = settings.DOCUMENT_MAX_BYTES
        if file.size > most:
            raise forms.ValidationError(f"The file has {file.size:,} bytes; a truss document can have {most:,}.")
        return file.read()
