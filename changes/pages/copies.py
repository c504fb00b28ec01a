"""Which copies of a mark an ask is about, chosen on its page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

from django import forms

from changes.asks.wishes import carried_marks
from trusses.models import Copy, Truss
from trusses.words import runs


class CopiesForm(forms.Form):
    """The copies that can still change, all of them chosen at first; those that are cut are told. `copies` in an
    address, such as 2,3, is what it starts with. A mark that carries others changes whole, so there is nothing to
    choose."""

    copies = forms.TypedMultipleChoiceField(
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "Choose at least one copy.",
            "invalid_choice": "%(value)s is no copy that can still change.",
        },
    )
    shown = forms.BooleanField(required=False, initial=True, widget=forms.HiddenInput)

    def __init__(self, data: Mapping[str, Any] | None, *, truss: Truss, start: str = "") -> None:
        every = list(Copy.objects.filter(truss=truss).order_by("number"))
        self.free = [copy.number for copy in every if copy.can_change]
        self.over = runs(copy.number for copy in every if not copy.can_change)
        self.with_all = ", ".join(carried_marks(truss))
        self.asks = len(self.free) > 1 and not self.with_all
        # a form that was sent without the list is about all of them
        bound = data if data is not None and "shown" in data and self.asks else None
        typed = [int(word) for word in start.replace(" ", "").split(",") if word.isdecimal() and len(word) < 6]
        chosen = [number for number in typed if number in self.free] or self.free
        super().__init__(bound, initial={"copies": chosen}, label_suffix="")
        choices = [(number, f"Copy {number}") for number in self.free]
        cast(forms.TypedMultipleChoiceField, self.fields["copies"]).choices = choices

    @property
    def sound(self) -> bool:
        return not self.is_bound or self.is_valid()

    def chosen(self) -> dict[str, list[int]]:
        """What it adds to an ask: nothing where all are meant."""
        copies = self.cleaned_data["copies"] if self.is_bound else self.free
        return {} if set(copies) == set(self.free) else {"copies": sorted(copies)}
