"""What people type of a sealed drawing and of what a job asks of one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, cast

from django import forms

from trusses.forms import AloneForm
from trusses.models import Job
from trusses.sealing.files import MOST_BYTES
from trusses.sealing.judge import MOST_PAGES
from trusses.sealing.models import NO_STATE, STATES, SealRecord, SealRule

COVERING = {"plates": "its plates: size and place at each joint", "restraint": "its permanent restraint and bracing"}
"""What a drawing may cover beside the lumber, as whoever says so reads it."""
_STATES = [("", "Choose"), *((one, one) for one in STATES)]
_NO_DAY = {"required": "Give the day.", "invalid": "Give the day as the calendar has it."}
_DAY = forms.DateInput(attrs={"type": "date"})


class SealerForm(AloneForm):
    """Who sealed a drawing, by which license, and when."""

    sealed_by = forms.CharField(
        max_length=120,
        label="Sealed by",
        help_text="The name on the seal.",
        error_messages={"required": "Give the name on the seal."},
    )
    licence = forms.CharField(
        max_length=40, label="License number", error_messages={"required": "Give the number on the seal."}
    )
    state = forms.ChoiceField(
        label="State of the license", choices=_STATES, error_messages={"required": "Choose the state on the seal."}
    )
    sealed_on = forms.DateField(label="Sealed on", widget=_DAY, error_messages=_NO_DAY)

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.initial.get("sealed_by"):
            self.fields["sealed_by"].help_text += " Filled in from the last drawing that you attached in this job."
        if job.is_demo:
            state = cast(forms.ChoiceField, self.fields["state"])
            state.choices = [*_STATES, (NO_STATE, "none: a demonstration")]
        if job.place and not job.is_demo:
            self.fields["state"].help_text = f"The job stands at {job.place}."


class DrawingForm(AloneForm):
    """A PDF, and what it covers."""

    A_FILE = f"up to {MOST_PAGES} pages and {MOST_BYTES // 1024**2} MB, without a password. It is kept as it is."
    COVERS = "Tick only what the drawing itself says. Without both of these the sheet stays at “No”."

    drawing = forms.FileField(
        label="The sealed drawing",
        help_text=f"A PDF that shows this truss, {A_FILE}",
        allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": "application/pdf"}),
        error_messages={"required": "Choose the PDF of the sealed drawing."},
    )
    covers = forms.MultipleChoiceField(
        label="Beside the lumber it covers",
        required=False,
        help_text=COVERS,
        choices=[(one, f"{says[0].upper()}{says[1:]}") for one, says in COVERING.items()],
        widget=forms.CheckboxSelectMultiple,
    )
    also_shows = forms.BooleanField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, shows: str, **kwargs: Any) -> None:
        """`shows`: what a drawing that is attached here has to show."""
        super().__init__(*args, **kwargs)
        self.fields["also_shows"].label = f"This file also shows {shows}"
        if self.data.get(self.add_prefix("also_shows")):
            self.add_tick()

    def add_tick(self) -> None:
        """The tick is asked for once a file is on record elsewhere; before that nobody says it by the way."""
        self.fields["also_shows"].widget = forms.CheckboxInput()

    def add_error(self, field: str | None, error: Any) -> None:
        if field == "also_shows":
            self.add_tick()
        super().add_error(field, error)


class AttachForm(SealerForm, DrawingForm):
    """A PDF, who sealed it and when, and what it covers; where it replaces another, why."""

    field_order = ("drawing", "sealed_by", "licence", "state", "sealed_on", "covers", "reason", "also_shows")

    reason = forms.CharField(
        max_length=500,
        label="Why it replaces the other",
        help_text="The record keeps both.",
        error_messages={"required": "Say why, in one line."},
    )

    def __init__(self, *args: Any, replaces: bool, repair: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not replaces:
            del self.fields["reason"]
        if repair:
            del self.fields["covers"]


class OneOfSeveralForm(DrawingForm):
    """The PDF of one revision among several, named in its label; left empty, it is attached later."""

    def __init__(self, *args: Any, shows: str, **kwargs: Any) -> None:
        super().__init__(*args, shows=shows, **kwargs)
        self.fields["drawing"].required = False
        self.fields["drawing"].label = f"Sealed drawing of {shows}"
        self.fields["covers"].label = f"Beside the lumber of {shows} it covers"
        for field in self.fields.values():
            field.help_text = ""  # said once of all

    def clean(self) -> dict[str, Any]:
        typed = self.cleaned_data
        if typed.get("covers") and not typed.get("drawing") and "drawing" not in self.errors:
            self.add_error("drawing", "Choose its PDF, or untick what it covers.")
        return typed


_WHOSE = {
    SealRecord.Kind.REVIEWED: ("The building designer who reviewed it", "Reviewed on"),
    SealRecord.Kind.ACCEPTED: ("The building department, and who accepted it there", "Accepted on"),
}


class RecordForm(AloneForm):
    """What somebody else decided of a drawing: who reviewed or accepted it, on which day, and what tells of it."""

    name = forms.CharField(
        max_length=120,
        help_text="Their name, not yours, as their paper has it.",
        error_messages={"required": "Give the name of who did it."},
    )
    on = forms.DateField(help_text="Their day, as their paper has it.", widget=_DAY, error_messages=_NO_DAY)
    told_by = forms.CharField(
        max_length=200,
        required=False,
        label="Paper, e-mail or number that tells of it",
        help_text="By which others find it. It may stay empty.",
    )

    def __init__(self, *args: Any, kind: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["name"].label, self.fields["on"].label = _WHOSE[SealRecord.Kind(kind)]


class OfSeveralForm(RecordForm):
    """The same of several drawings; left empty, it is recorded later."""

    of = forms.MultipleChoiceField(
        widget=forms.CheckboxSelectMultiple,
        label="Which drawings",
    )
    field_order = ("of", "name", "on", "told_by")
    left = ""
    """What is still to be recorded, in words, where some of what was ticked is on record by now."""

    def __init__(self, *args: Any, kind: str, drawings: Sequence[tuple[int, str]], **kwargs: Any) -> None:
        """`drawings`: those that it may be of, by id, each with what it is called."""
        super().__init__(*args, kind=kind, prefix=kind, empty_permitted=True, use_required_attribute=False, **kwargs)
        self.kind = SealRecord.Kind(kind)
        label = self.kind.label
        says = f"Under “{label[0].upper()}{label[1:]}”: tick each drawing that it is of."
        self.fields["of"].error_messages["required"] = says
        self.offer(drawings)

    def offer(self, drawings: Sequence[tuple[int, str]]) -> None:
        self.offers = bool(drawings)
        cast(forms.MultipleChoiceField, self.fields["of"]).choices = list(drawings)


class LookedAtForm(AloneForm):
    """On which day whoever records it looked at a repair that is carried out; the name is their own. What comes with
    another is told to the rule, which refuses it."""

    name = forms.CharField(max_length=120, required=False, widget=forms.HiddenInput)
    on = forms.DateField(label="Looked at on", widget=_DAY, error_messages=_NO_DAY)


class WithdrawForm(AloneForm):
    reason = forms.CharField(
        max_length=500, label="Why it counts no more", error_messages={"required": "Say why, in one line."}
    )


class RuleForm(AloneForm):
    """What a job asks of sealed drawings."""

    review = forms.BooleanField(required=False, label="The building designer reviews it")
    acceptance = forms.BooleanField(required=False, label="The building department accepts it")
    without = forms.ChoiceField(
        label="Without it",
        choices=SealRule.Without.choices,
        widget=forms.RadioSelect,
        initial="blocks",
        error_messages={"required": "Say what holds without it: choose one of the two."},
    )
