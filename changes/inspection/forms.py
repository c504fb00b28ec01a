"""What an inspector types: what is to be corrected, and a word on what was done."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms

from changes.inspection import corrections
from trusses.models import Truss
from trusses.sheets import fixing


def _name() -> forms.CharField:
    return forms.CharField(
        label="Your name", max_length=120, error_messages={"required": "Give your name: the record keeps who asked."}
    )


class CorrectionForm(forms.Form):
    """What an inspector wants corrected, of the job or one of its marks."""

    key = forms.UUIDField(widget=forms.HiddenInput)
    mark = forms.ChoiceField(label="About", required=False)
    says = forms.CharField(
        label="What is to be corrected",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 4}),
        error_messages={"required": "Say what is to be corrected, and where it is."},
    )
    by_name = _name()

    def __init__(self, *args: Any, trusses: Sequence[Truss], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.trusses = {str(one.pk): one for one in trusses}
        self.fields["mark"].choices = [("", "the whole job"), *((pk, one.mark) for pk, one in self.trusses.items())]  # type: ignore[attr-defined]


class OnMarkForm(CorrectionForm):
    """The same on the page of a mark, where copies and what is fixed can be chosen."""

    on = forms.IntegerField(widget=forms.HiddenInput)
    item = forms.ChoiceField(label="What it is about", required=False)
    copies = forms.TypedMultipleChoiceField(
        label="Which copies; none chosen is all of them",
        required=False,
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
    )
    field_order = ("key", "on", "mark", "item", "copies", "says", "by_name")

    def __init__(self, *args: Any, truss: Truss, listed: Sequence[fixing.Listed], **kwargs: Any) -> None:
        kwargs["initial"] = {"on": truss.pk, "mark": truss.pk, **kwargs.get("initial", {})}
        super().__init__(*args, trusses=[truss], **kwargs)
        self.fields["mark"].widget = forms.HiddenInput()
        numbers = truss.copies.order_by("number").values_list("number", flat=True)
        self.fields["copies"].choices = [(n, f"Copy {n}") for n in numbers]  # type: ignore[attr-defined]
        self.fields["item"].choices = [  # type: ignore[attr-defined]
            ("", f"{truss.mark}, none of its rows, hangers or ties"),
            *((one.item.key, corrections.called(one.item)) for one in listed),
        ]


class WordForm(forms.Form):
    """An inspector's word on what was done."""

    key = forms.UUIDField(widget=forms.HiddenInput)
    says = forms.CharField(
        label="What you saw, or what is still to be done",
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    by_name = _name()
