"""What the forms of all kinds of ask have alike: each makes an ask as a program would send it, so that one reading
refuses both."""

from __future__ import annotations

import re
from typing import Any, ClassVar, cast

from django import forms
from django.core.exceptions import ValidationError

from trusses.analysis.format.model import Truss as Design
from trusses.forms import LengthField, said_length
from trusses.models import Truss

Ask = dict[str, Any]
_RANGE = re.compile(r"(\d{1,4})(?:-(\d{1,4}))?")
MOST_COPIES = 500


def numbers(text: str) -> list[int]:
    """“1-3, 7” as numbers. Raises ValidationError."""
    found: list[int] = []
    for part in re.split(r"[,;\s]+", re.sub(r"\s*[-–]\s*", "-", text.strip())):
        match = _RANGE.fullmatch(part)
        if match is None:
            raise ValidationError("Write the numbers of copies like 1-3, 7.")
        first, last = int(match[1]), int(match[2] or match[1])
        if not first <= last < first + MOST_COPIES:
            raise ValidationError("Write the numbers of copies like 1-3, 7.")
        found += range(first, last + 1)
    return found


class KindForm(forms.Form):
    """One kind's fields. `KIND` is its key in an ask; `copies` says which copies of the mark, all that can still change
    where it is left empty."""

    KIND: ClassVar[str]
    COPIES: ClassVar[str] = "copies"
    """The field that says which copies, where any does."""
    TAPS: ClassVar[tuple[str, ...]] = ()
    """The fields that a tap on the drawing fills: where along the span, and how high."""
    EITHER: ClassVar[tuple[str, ...]] = ()
    """Fields that say one thing in two ways: typing one empties the others."""

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

    @property
    def understood(self) -> dict[str, str]:
        """How each length that could be read was read."""
        fields = {name: field for name, field in self.fields.items() if isinstance(field, LengthField)}
        read = {name: getattr(self, "cleaned_data", {}).get(name) for name in fields}
        return {
            name: said_length(inches, size=fields[name].size) for name, inches in read.items() if inches is not None
        }

    def beside(self) -> list[Any]:
        """What else what is typed concerns, as its template tells it."""
        return []

    def spots(self) -> list[tuple[float, float]]:
        """Where on the drawing, or on the plan, what is typed lies, inches; nothing of what can't be read yet."""
        return []

    def on_chord(self, role: str, x: float) -> list[tuple[float, float]]:
        """The place on the centerline of a chord at x, inches, in a list; an empty one where it has none there."""
        design = cast(Design, self.design)
        for member in design.members:
            a, b = sorted(design.ends(member), key=lambda joint: joint.x)
            if member.role == role and a.x < b.x and a.x <= x <= b.x:
                return [(x, a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x))]
        return []

    def clean_copies(self) -> list[int] | None:
        typed = self.cleaned_data.get("copies", "")
        return numbers(typed) if typed.strip() else None

    def wanted(self) -> Ask:
        """What is wanted, as the ask has it under its kind."""
        raise NotImplementedError

    def in_short(self) -> str:
        """What the request is for, where what is wanted says so itself and nobody is asked; else empty."""
        return ""

    def ask(self, photos: list[int]) -> Ask:
        ask: Ask = {"kind": self.KIND, self.KIND: self.wanted()}
        if self.truss is not None:
            ask["truss"] = self.truss
        if (copies := self.cleaned_data.get("copies")) is not None:
            ask["copies"] = copies
        return ask | ({"photos": photos} if "photos" in self.fields else {})

    def asks(self, photos: list[int]) -> list[Ask]:
        """What is sent: one ask, or several that are answered together."""
        return [self.ask(photos)]


def copies_field(help_text: str = "Their numbers, like 1-3, 7. Empty: all that can still change.") -> forms.CharField:
    return forms.CharField(required=False, max_length=200, label="Which copies", help_text=help_text)


def along_field(label: str, **more: Any) -> LengthField:
    return LengthField(
        label=label, negative=True, help_text="From the middle of the left bearing, level along the span.", **more
    )
