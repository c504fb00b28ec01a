"""What people type of damage, or ask in their own words: nothing of it asks for another design."""

from __future__ import annotations

from copy import copy
from functools import cached_property
from typing import Any, cast

from django import forms

from changes.asks.damage import ACTING
from changes.asks.question import LONGEST
from changes.asks.wanted import MOST_PHOTOS
from changes.pages.from_look import look_of
from changes.pages.kind_form import Ask, KindForm, copies_field
from changes.pages.photo_field import PhotosField
from changes.words.kinds import harm
from trusses.analysis.damage.damaged import HOW, DamageError
from trusses.analysis.damage.places import SLACK_IN, OnPiece, counted_from, on_member, on_piece
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.piece_names import SawnPiece, sawn_pieces
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import as_counted, sentence
from trusses.analysis.words.phrases import copies as told_copies
from trusses.copies.models import Look
from trusses.forms import LengthField
from trusses.models import Truss

_CALLED = {"cut": "cut or broken through"}
_UP_THERE = {
    "live": "People or goods on the floor",
    "attic_storage": "Things stored in the attic",
    "roof_live": "People or material on the roof",
    "snow": "Snow",
    "rain": "Water standing on the roof",
}
"""What a load case is to whoever looks up at it."""
CHOOSE = ("", "Choose")
"""Nothing names wood before somebody does."""


def from_end(design: Design, piece: SawnPiece) -> str:
    """From which end of a piece its lengths count, which is marked on the drawing."""
    return f"From its {counted_from(design.document, piece)}: the square on the drawing."


class DamageForm(KindForm):
    """Which copy, which piece, where and how."""

    KIND = "damage"
    TAPS = ("piece", "at")

    copies = copies_field("Its number, like 7, or several.")
    piece = forms.ChoiceField(
        label="Which piece",
        help_text="As the drawing names it; tap it there.",
        error_messages={
            "required": "Say which piece is damaged: choose it, or tap it on the drawing.",
            "invalid_choice": "The truss as these copies were built has no such piece: choose it anew.",
        },
    )
    how = forms.ChoiceField(
        label="How",
        choices=[CHOOSE, *((one, _CALLED.get(one, one).capitalize()) for one in HOW)],
        error_messages={"required": "Say how it is damaged."},
    )
    at = LengthField(
        label="Along the piece to the damage",
        help_text="From its left end; from its lower end where it stands plumb.",
        error_messages={"required": "Say how far along the piece the damage is."},
    )
    size = LengthField(size=True, required=False, label="How deep, or how far bowed", help_text="Of a notch or a bow.")
    acting = forms.MultipleChoiceField(
        required=False,
        label="On it now, besides its own weight",
        choices=[(case, _UP_THERE[case]) for case in ACTING],
        widget=forms.CheckboxSelectMultiple,
    )
    note = forms.CharField(
        required=False, max_length=500, label="What you see", widget=forms.Textarea(attrs={"rows": 3})
    )
    photos = PhotosField()
    look = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        design = cast(Design, self.design)
        self.fields["copies"].required = True
        self.fields["copies"].error_messages["required"] = "Say which copy is damaged: its number stands on its label."
        names = sorted((one.name for one in sawn_pieces(design.document)), key=as_counted)
        cast(forms.ChoiceField, self.fields["piece"]).choices = [CHOOSE, *((name, name) for name in names)]
        if "member" in self.data and "piece" not in self.data and (place := self._on_piece()):
            told = cast(dict[str, Any], copy(self.data))
            told["piece"], told["at"] = place.name, feet_inches(place.along_in)
            self.data = told
        chosen = next((one for one in sawn_pieces(design.document) if one.name == self["piece"].value()), None)
        if chosen:
            self.fields["at"].help_text = from_end(design, chosen)

    def _on_piece(self) -> OnPiece | None:
        """What a phone may hold from before damage was told of by its piece: a member by its id, and how far along it
        from its left or lower end. None where it can't be read, so that the piece is chosen anew."""
        design, at = cast(Design, self.design), self.fields["at"]
        member = next((one for one in design.members if one.id == self.data["member"]), None)
        try:
            along_in = at.clean(self.data.get("at"))
        except forms.ValidationError:
            return None
        if member is None or along_in > design.length(member) + SLACK_IN:
            return None
        first, second = design.ends(member)
        from_first = along_in if (first.x, first.y) <= (second.x, second.y) else design.length(member) - along_in
        return on_piece(design.document, member.id, from_first)

    @cached_property
    def found(self) -> Look | None:
        """What was found of the copy before, whose photos go with what is told."""
        return look_of(cast(Truss, self.truss), self["look"].value())

    def clean_photos(self) -> list[Any]:
        sent, along = self.cleaned_data["photos"], len(self.found.photos) if self.found else 0
        if sent and len(sent) + along > MOST_PHOTOS:
            raise forms.ValidationError(f"{along} come along already: {MOST_PHOTOS - along} more can be sent.")
        return list(sent)

    def clean(self) -> Ask:
        """Where it is on the drawing is read as the computation has it: on one member of the piece."""
        data = super().clean() or {}
        if data.get("piece") and data.get("at") is not None:
            try:
                data["place"] = on_member(cast(Design, self.design).document, data["piece"], data["at"])
            except DamageError as refused:
                self.add_error("at", sentence(refused.says))
        return data

    def spots(self) -> list[tuple[float, float]]:
        if "place" not in self.cleaned_data:
            return []
        design = cast(Design, self.design)
        member, at_in = self.cleaned_data["place"]
        a, b = design.ends(design.member(member))
        share = at_in / design.length(design.member(member))
        return [(a.x + (b.x - a.x) * share, a.y + (b.y - a.y) * share)]

    def in_short(self) -> str:
        """Which piece of which copies and what became of it, and what whoever tells of it sees."""
        data = self.cleaned_data
        of = f"{harm(data['piece'], data['how'])}, {told_copies(data['copies'])}"
        return f"{of}: {data['note']}" if data["note"] else of

    def wanted(self) -> Ask:
        data = self.cleaned_data
        member, at_in = data["place"]
        return {
            "member": member,
            "how": data["how"],
            "at_in": at_in,
            "size_in": data["size"] or 0.0,
            "acting": data["acting"],
            "note": data["note"],
        }


class QuestionForm(KindForm):
    """Free words, photos, a place tapped."""

    KIND = "question"
    TAPS = ("along", "up", "x", "y")

    says = forms.CharField(
        label="Your question",
        max_length=LONGEST,
        widget=forms.Textarea(attrs={"rows": 4}),
        error_messages={"required": "Ask something."},
    )
    along = LengthField(
        required=False,
        negative=True,
        label="Where: along the span",
        help_text="Tap the place on the drawing, or leave it empty.",
    )
    up = LengthField(required=False, negative=True, label="… and up from the bearing")
    level = forms.CharField(required=False, max_length=60, widget=forms.HiddenInput)
    x = LengthField(
        required=False,
        negative=True,
        label="Where: to the right of the plan's zero",
        help_text="Tap the place on the plan, or leave it empty.",
    )
    y = LengthField(required=False, negative=True, label="… and up the plan from its zero")
    copies = copies_field("Their numbers, like 1-3, 7. Empty: all.")
    photos = PhotosField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.pair = ("x", "y") if self.truss is None else ("along", "up")
        for name in ("along", "up", "copies") if self.truss is None else ("x", "y", "level"):
            del self.fields[name]

    def clean(self) -> Ask:
        data = super().clean() or {}
        first, second = (data.get(name) for name in self.pair)
        if (first is None) != (second is None) and not self.errors:
            self.add_error(self.pair[1] if second is None else self.pair[0], "Give both, or neither.")
        return data

    def in_short(self) -> str:
        return str(self.cleaned_data["says"])

    def spots(self) -> list[tuple[float, float]]:
        first, second = (self.cleaned_data.get(name) for name in self.pair)
        if first is None or second is None:
            return []
        return [(self.left_in + first, self.level_in + second)] if self.design is not None else [(first, second)]

    def wanted(self) -> Ask:
        data = self.cleaned_data
        wanted: Ask = {"says": data["says"]}
        if self.design is not None and data.get("along") is not None:
            x, y = self.left_in + data["along"], self.level_in + data["up"]
            wanted["place"] = {"on": "drawing", "x_in": x, "y_in": y}
        if self.design is None and data.get("x") is not None:
            wanted["place"] = {"on": "plan", "x_in": data["x"], "y_in": data["y"]}
            wanted["place"] |= {"level": data["level"]} if data["level"] else {}
        return wanted
