"""What a bearing stands on, as people type it."""

from __future__ import annotations

from typing import Any, cast

from django import forms

from trusses.analysis.format.lengths import UnclearError, UnitsError, parse_length
from trusses.forms import LONGEST_CHORD_IN, AloneForm
from trusses.models import Truss


class BearingForm(AloneForm):
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
        super().__init__(*args, **kwargs)
        cast(forms.ModelChoiceField, self.fields["carrier"]).queryset = marks

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
