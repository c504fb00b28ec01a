"""Lengths and whole numbers as they are typed or sent, and forms that tell their own troubles."""

from __future__ import annotations

from typing import Any

from django import forms

from trusses.analysis.format.lengths import UnclearError, UnitsError, parse_length
from trusses.analysis.words.lengths import feet_inches, tape_inches

LONGEST_CHORD_IN = 960.0
"""No place along a member is farther than this from its end, so a larger bare number can't be feet."""


def number_of(sent: object) -> int | None:
    """What a form or an address brings as a whole number: of the figures 0 to 9 alone, and no more than any row's id
    has. None for all else, whatever it is."""
    text = str(sent)
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 19 else None


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


def refusing(says: str) -> dict[str, str]:
    """One sentence for a number that is missing, none, or beyond what it may be."""
    return dict.fromkeys(("required", "invalid", "min_value", "max_value"), says)


class AloneForm(forms.Form):
    """A form that tells its own troubles."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})

    @property
    def alone(self) -> list[forms.Form]:
        return [self]


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
        self.widget.attrs["data-length"] = ""  # a phone brings up a keypad of feet and inches for it

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


class SectionForm(forms.Form):
    """The round or rectangular section of what is to have room; of the two shapes only the chosen one's sizes count."""

    shape = forms.ChoiceField(
        choices=(("circle", "Round"), ("rectangle", "Rectangular")),
        widget=forms.RadioSelect,
        initial="circle",
        error_messages=dict.fromkeys(("required", "invalid_choice"), "Choose round or rectangular."),
    )
    diameter = LengthField(size=True, required=False, label="Diameter", initial='8"')
    width = LengthField(size=True, required=False, label="Width", initial='14"')
    height = LengthField(size=True, required=False, label="Height", initial='8"')

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for name in ("diameter",) if data.get("shape") == "circle" else ("width", "height"):
            if name not in self.errors and not data.get(name):
                self.add_error(name, f"Give the {name}, more than 0 in.")
        return data
