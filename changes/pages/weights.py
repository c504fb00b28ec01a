"""Weights that are asked for, as the drawings of a request show them: before as asked, after by what the option's
document bears."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from changes.models import Ask, Kind, Option
from trusses.drawing import Weight

_ACROSS = {"stiff": "stiff cross-beam", "continuous": "platform"}


def weights(asks: Sequence[Ask], shown: Option | None = None) -> tuple[Weight, ...]:
    """Those of some asks; with an option, as that carries them."""
    asked = [ask for ask in asks if ask.kind == Kind.LOAD.value and ask.wish]
    beam = _cross_beam(shown.titled) if shown is not None else 0
    found = (_weight(ask, ask.wish or {}, beam) for ask in asked)
    return tuple(found if shown is not None else (replace(one, asked=True) for one in found))


def _weight(ask: Ask, wish: Mapping[str, Any], beam: int) -> Weight:
    over = len(ask.lies_over or ask.copies)
    across = f"{_ACROSS[wish['shared']]} over {over} trusses" if wish["shared"] in _ACROSS and over > 1 else ""
    if beam:
        across = f"{_ACROSS['stiff']} over {beam} trusses"
    name = wish["what"] if wish["what"] != "other" else wish["note"] or "weight"
    places = (wish["chord"], wish["shape"], wish["at_in"], wish["length_in"])
    return Weight(name, wish["weight_lb"], *places, wish["how"], wish["case"], across)


def _cross_beam(said: Any) -> int:
    """To how many trusses an option hands the weight by a cross-beam of its own, from what leads to it."""
    if isinstance(said, Mapping):
        if said.get("code") == "cross-beam":
            return int(said["values"]["trusses"])
        return _cross_beam(list(said.values()))
    return max(map(_cross_beam, said), default=0) if isinstance(said, list) else 0
