"""Why a weight has no place in a truss, or no rule shares it."""

from __future__ import annotations

from collections.abc import Mapping

from trusses.analysis.words.phrases import Says

_RULES = {"stiff": "a stiff beam", "continuous": "a platform that bends", "one": "no rule"}


def _lifts(rule: str, truss: int) -> str:
    return (
        f"There, {_RULES[rule]} would lift truss {truss} of those that share the weight: move it toward their middle,"
        " or let fewer share it."
    )


CAPACITY: Mapping[str, Says] = {
    "weight-beside-chord": "At {at_in:feet} there is no {chord:plain} to carry it.",
    "weight-beyond-trusses": (
        "The weight reaches from {low_in:feet} to {high_in:feet} across the trusses that share it, which stand within"
        " {row_in:feet} of the first."
    ),
    "weight-lifts-a-truss": _lifts,
}
