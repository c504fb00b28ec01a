"""Pictures in a form: several, or none."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from changes.asks.wanted import MOST_PHOTOS

SENT_PX = 2000
"""The longer side of what a browser sends, where it can make it smaller; the server keeps less (`photos.KEPT_PX`)."""


class SeveralFiles(forms.ClearableFileInput):
    allow_multiple_selected = True


class PhotosField(forms.FileField):
    """Several pictures, or none."""

    def __init__(self, *, label: str = "Photos", **kwargs: Any) -> None:
        more = {"multiple": True, "data-longest-px": SENT_PX}
        widget = SeveralFiles(attrs={"accept": "image/jpeg,image/png,image/webp", **more})
        super().__init__(
            label=label,
            required=False,
            widget=widget,
            help_text=f"Up to {MOST_PHOTOS}. Where and when they were taken is not kept.",
            **kwargs,
        )

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        sent = [super(PhotosField, self).clean(one, initial) for one in data or [] if one]
        if len(sent) > MOST_PHOTOS:
            raise ValidationError(f"{len(sent)} photos were sent; {MOST_PHOTOS} can be.")
        return sent
