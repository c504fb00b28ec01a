"""Combinations of loads in words, for whoever doesn't read an engineer's letters."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from trusses.analysis.words.phrases import Coded, listed, pounds

_LOADS: Mapping[str, str] = {
    "D": "dead load",
    "L": "live load",
    "Lr": "live load on the roof",
    "S": "snow",
    "W": "wind",
    "R": "rain",
}
_WITHOUT = " without "
_PART = re.compile(r"(?P<factor>\d*\.?\d*)(?P<letter>[A-Z]r?)(?:[/ ].*)?")


def acting(combination: str) -> str:
    """“D + 0.75L + 0.75S/left” → “dead load, part of the live load and part of the snow”. A name that isn't made of
    such letters stays as it is."""
    letters, without, gone = combination.partition(_WITHOUT)
    found = [_PART.fullmatch(one) for one in letters.split(" + ")]
    if not all(one and one["letter"] in _LOADS for one in found):
        return combination
    each = [(float(one["factor"] or 1), _LOADS[one["letter"]]) for one in found if one]
    acts = listed(list(dict.fromkeys(f"part of the {load}" if factor < 1 else load for factor, load in each)))
    return f"{acts}{without}{gone}"


def weights_called(those: Sequence[tuple[float, str, str]]) -> str:
    """Weights by their pounds, their notes and what they lie on: “the 500 lb stone”, “the 500 lb on T1 and the 60 lb
    tub”."""
    return listed([f"the {pounds(lb)} {note}" if note else f"the {pounds(lb)} on {on}" for lb, note, on in those], 3)


def without(combination: str, gone: str) -> str:
    """A combination where some weights, as `weights_called` has them, aren't there."""
    return f"{combination}{_WITHOUT}{gone}"


def is_without(combination: str) -> bool:
    return _WITHOUT in combination


def plainly(sentences: Iterable[str | Coded]) -> list[str | Coded]:
    """The same codes with their combinations in words."""
    return [_plain(one) for one in sentences]


def _plain(value: Any, name: str = "") -> Any:
    if isinstance(value, Mapping):
        return {key: _plain(one, key) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return acting(value) if name == "combination" and isinstance(value, str) else value
