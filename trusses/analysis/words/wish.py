"""Why the openings that a document asks for have no option, and where they would fit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from trusses.analysis.words import options, refusal
from trusses.analysis.words.phrases import Coded, Says, moved, stopped, tell


def _fits_moved(opening: str, right_in: float, up_in: float) -> str:
    steps = moved(right_in, up_in)
    where = f"Moved {steps}" if steps else "A hair beside that place"
    return f"{where}, opening {opening} fits in today's truss."


def _stops(why: Sequence[Coded]) -> str:
    return stopped(f"No redesign passes. What stops the best: {tell(options.TOLD, why)}")


NONE: Mapping[str, Says] = {
    "asked": options.TOLD["opening"],
    "arrangements-first": (
        "Its loads lack the arrangements {lacking:listed}; no redesign is offered until they are written in."
    ),
    "not-searched": lambda why: stopped(refusal.told(why)),
    "stops": _stops,
    "fits-nowhere": "Opening {opening} fits nowhere in today's truss.",
    "fits-moved": _fits_moved,
}
"""Sentences of a wish that has no option."""
