"""Why something can't go between the trusses of a row."""

from __future__ import annotations

from collections.abc import Mapping

from trusses.analysis.words.phrases import Says

PASSAGES: Mapping[str, Says] = {
    "passage-beside-row": (
        "With its clearance it reaches from {low_in:feet} to {high_in:feet} across the row, whose trusses stand from"
        " {first_in:feet} to {last_in:feet}."
    ),
    "passage-beside-truss": (
        "With its clearance it reaches from {from_in:feet} to {to_in:feet} along the span, beyond the ends of {mark}."
    ),
}
