"""How a truss that can move freely is told of."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from trusses.analysis.words.phrases import Says, say

#: Why a joint can move.
BECAUSE: Mapping[str, Says] = {
    "apart": "since nothing joins it to the rest of the truss",
    "whole-turns": "since the bearings let the whole truss turn",
    "whole-slides": "since no bearing holds the truss {direction}",
    "hinge": "since the chord can turn in the hinge at joint {joint}",
    "no-tie": "since no member ties it to joint {joint}",
    "too-few": "since too few members hold it {direction}",
}


def moves(joint: str, direction: str, almost: bool, code: str, values: Mapping[str, Any]) -> str:
    """One sentence without a capital or a stop."""
    freely = "almost freely" if almost else "freely"
    verb = "slides" if direction == "sideways" else "moves"
    return f"the truss can move {freely}: joint {joint} {verb} {direction}, {say(BECAUSE, code, values)}"
