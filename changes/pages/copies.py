"""Which copies of a mark an ask is about, chosen on its page."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Any, cast

from django import forms
from django.utils.safestring import mark_safe

from trusses.bearings.apart import carried_marks, why_whole
from trusses.forms import number_of
from trusses.models import Copy, Truss
from trusses.plan.chooser import Pick, choose
from trusses.plan.copies import standing
from trusses.plan.page import level_of
from trusses.words import runs


class CopiesForm(forms.Form):
    """The copies that can still change, all of them chosen at first; those that are cut are told. `copies` in an
    address, such as 2,3, is what it starts with. Where nobody knows which trusses stand on which copy, a mark
    changes whole, and there is nothing to choose."""

    copies = forms.TypedMultipleChoiceField(
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "Choose at least one copy.",
            "invalid_choice": "%(value)s is no copy that can still change.",
        },
    )
    shown = forms.BooleanField(required=False, initial=True, widget=forms.HiddenInput)

    @cached_property
    def plans(self) -> list[dict[str, Any]]:
        """The mark's copies in plan, level by level, to choose by."""
        return plans_of(self.truss)

    def __init__(self, data: Mapping[str, Any] | None, *, truss: Truss, start: str = "") -> None:
        self.truss = truss
        every = list(Copy.objects.filter(truss=truss).order_by("number"))
        self.free = [copy.number for copy in every if copy.can_change]
        self.over = runs(copy.number for copy in every if not copy.can_change)
        trouble = why_whole(truss) if len(self.free) > 1 else None
        self.with_all = ", ".join(carried_marks(truss)) if trouble else ""
        self.whole_because = str(trouble) if trouble else ""
        self.asks = len(self.free) > 1 and not self.with_all
        # a form that was sent without the list is about all of them
        bound = data if data is not None and "shown" in data and self.asks else None
        typed = [number_of(word) for word in start.replace(" ", "").split(",")]
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


def plans_of(truss: Truss, *, cut: bool = False) -> list[dict[str, Any]]:
    """{"level", "picture", "cut"} of each level on which copies of a mark stand, the picture an SVG whose names are
    letters; those that are cut can be chosen too where `cut` says so, else they are drawn dashed, and the plan's own
    "cut" says that there are some."""
    found = []
    for level, here in standing(truss.job).items():
        mine = [i for i, one in enumerate(here) if one.truss == truss.pk and one.copy is not None]
        if len(mine) < 2:
            continue
        lines = level_of(truss.job, level, here).copies
        picks = [Pick(here[i].number, lines[i].start, lines[i].end, cut or here[i].can_change) for i in mine]
        others = [(line.start, line.end) for i, line in enumerate(lines) if i not in set(mine)]
        picture = mark_safe(choose(level, truss.mark, picks, others))
        found.append({"level": level, "picture": picture, "cut": any(not pick.free for pick in picks)})
    return found
