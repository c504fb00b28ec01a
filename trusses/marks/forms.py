"""What people type for the set: a shape's parameters, a document's file. Bad input keeps what was typed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from django import forms
from django.conf import settings

from trusses.analysis.format.lengths import UnclearError
from trusses.analysis.shapes import fields as shape_fields
from trusses.analysis.shapes.shapes import KINDS, Kind, ShapeError, build
from trusses.forms import refused_length, refusing, said_length
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
_MARKED = re.compile(r"[^\d\s./+-]")
"""What a length is typed with that says its own unit: 24", 2', 24 in."""


class QuantityForm(forms.Form):
    """How many, and until when the mark can change."""

    quantity = forms.IntegerField(
        min_value=1,
        max_value=MOST_COPIES,
        initial=1,
        help_text="How many of this mark the job needs.",
        error_messages=refusing(f"Say how many of this mark the job needs: a whole number, 1 to {MOST_COPIES:,}."),
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
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        self.kind = kind
        self.understood: dict[str, str] = {}
        for field in kind.fields:
            self.fields[field.name] = _field(field)
        self.fields["mark"].needed = True  # type: ignore[attr-defined]  # for the template; its page asks for it
        self.order_fields([field.name for field in kind.fields])
        for field in kind.fields:
            if field.unit == shape_fields.SIZE and _MARKED.search(str(self[field.name].value() or "")):
                self.fields[field.name].unit = ""  # type: ignore[attr-defined]  # the value says its own: 24"

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
                says = refused_length(trouble.__cause__, field.label) if unclear else trouble.says  # type: ignore[arg-type]
                self.add_error(field.name, says)
                continue
            if field.sort == "length" and data.get(field.name):
                self.understood[field.name] = said_length(read[field.name], size=field.unit == shape_fields.SIZE)
        return data

    def document(self) -> dict[str, Any] | None:
        """The truss document of a form whose fields can all be read, but for the mark; None, with the error added,
        where they clash."""
        given = {field.name: self.cleaned_data.get(field.name, "") for field in self.kind.fields}
        try:
            return build(self.kind.key, **given)
        except ShapeError as trouble:
            named = trouble.place if trouble.place in self.fields else None
            self.add_error(named, trouble.says)
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
    made.unit = "" if field.unit == "ft-in" else field.unit  # type: ignore[attr-defined]  # for the template
    return made


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
