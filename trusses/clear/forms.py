"""The size that somebody asks the map for."""

from __future__ import annotations

from typing import Any

from django import forms

from trusses.analysis.format.model import Opening
from trusses.forms import LengthField, said_length


class SizeForm(forms.Form):
    """A round or rectangular size with what must stay clear around it; sent by GET, so that it can be passed on."""

    shape = forms.ChoiceField(
        choices=(("circle", "Round"), ("rectangle", "Rectangular")),
        widget=forms.RadioSelect,
        initial="circle",
        error_messages={"invalid_choice": "Choose round or rectangular."},
    )
    diameter = LengthField(size=True, required=False, label="Diameter", initial='8"')
    width = LengthField(size=True, required=False, label="Width", initial='14"')
    height = LengthField(size=True, required=False, label="Height", initial='8"')
    clearance = LengthField(
        size=True,
        required=False,
        label="Clear space around it",
        initial='1/2"',
        help_text="Insulation and air between it and any wood.",
    )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for name in ("diameter",) if data.get("shape") == "circle" else ("width", "height"):
            if name not in self.errors and not data.get(name):
                self.add_error(name, f"Give the {name}, more than 0 in.")
        return data

    def opening(self) -> Opening:
        data = self.cleaned_data
        clear = data.get("clearance") or 0.0
        if data["shape"] == "circle":
            return Opening("", "circle", (0.0, 0.0), diameter_in=data["diameter"], clearance_in=clear)
        size = {"width_in": data["width"], "height_in": data["height"]}
        return Opening("", "rectangle", (0.0, 0.0), **size, clearance_in=clear)

    @property
    def understood(self) -> dict[str, str]:
        names = [name for name, field in self.fields.items() if isinstance(field, LengthField)]
        lengths = {name: getattr(self, "cleaned_data", {}).get(name) for name in names}
        return {name: said_length(value, size=True) for name, value in lengths.items() if value is not None}
