"""The size that somebody asks the map for."""

from __future__ import annotations

from trusses.analysis.format.model import Opening
from trusses.forms import LengthField, SectionForm, said_length


class SizeForm(SectionForm):
    """A round or rectangular size with what must stay clear around it; sent by GET, so that it can be passed on."""

    clearance = LengthField(
        size=True,
        required=False,
        label="Clear space around it",
        initial='1/2"',
        help_text="Insulation and air between it and any wood.",
    )

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
