"""What people type for the set: a shape's parameters, a document's file. Bad input keeps what was typed."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings

from trusses.analysis.format.lengths import UnitsError, parse_length
from trusses.analysis.shapes import fields as shape_fields
from trusses.analysis.shapes.shapes import KINDS, Kind, ShapeError, build
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
LONGEST = 200


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
    """The parameters of one shape of the trade; the fields are those of `shapes.KINDS[kind]`."""

    def __init__(self, kind: Kind, *args: Any, **kwargs: Any):
        super().__init__(*args, label_suffix="", **kwargs)
        self.kind = kind
        for field in kind.fields:
            self.fields[field.name] = _field(field)
        self.order_fields([field.name for field in kind.fields])

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
                shape_fields.read_values([field], {field.name: data.get(field.name)}, self.kind.label)
            except ShapeError as trouble:
                self.add_error(field.name, str(trouble))
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
    made.unit = "" if field.sort == "length" else field.unit
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
                found.append({"member": member, "at_in": parse_length(length)})
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
