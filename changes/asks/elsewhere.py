"""“Moved so much, it fits”: today's truss with openings elsewhere than asked, an option like others.

It changes no wood; approved, the opening is written into the mark's next revision where it stands then, as every
approved opening is. What was asked stays as it was asked, and the option says first that it isn't that place.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from changes.asks.wishes import Document, Wish
from trusses.analysis.clearance.apart import overlap
from trusses.analysis.clearance.openings import Nearest
from trusses.analysis.format.document import read_opening
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.words.phrases import Coded, coded


def stood_elsewhere(
    truss: Design, openings: Sequence[Document], near: Mapping[str, Nearest | None]
) -> tuple[list[Document], list[Document]] | None:
    """The openings, each of `near` at its nearest place, and which stand elsewhere then, as `Option.elsewhere` has it.
    None where one has no such place, or would overlap another opening there."""
    placed: list[Document] = []
    moved: list[Document] = []
    for opening in openings:
        if opening["id"] in near:
            place = near[opening["id"]]
            if place is None:
                return None
            moved.append({"opening": opening["id"], "asked_in": opening["centre_in"], "centre_in": [*place.centre_in]})
            opening = opening | {"centre_in": [*place.centre_in]}
        others = [*truss.openings, *map(read_opening, placed)]
        if overlap(read_opening(opening), others):
            return None
        placed.append(opening)
    return (placed, moved) if moved else None


def titled(moved: Sequence[Document]) -> list[Coded]:
    return [coded("stands-elsewhere", moved=[_shift(one) for one in moved])]


def told(moved: Sequence[Document]) -> list[Coded]:
    """That it isn't where it was asked, before anything else is said."""
    return [coded("elsewhere-than-asked", moved=[_shift(one) for one in moved])]


def as_decided(wish: Wish, moved: Sequence[Document]) -> Wish:
    """A wish with its opening where an option has it, which may be elsewhere than asked."""
    if wish.opening is None:
        return wish
    to = next((one["centre_in"] for one in moved if _is_of(one, wish.opening)), None)
    return wish if to is None else replace(wish, opening=wish.opening | {"centre_in": to})


def _is_of(one: Document, opening: Document) -> bool:
    return bool(one["opening"] == opening["id"] and one["asked_in"] == opening["centre_in"])


def _shift(one: Document) -> Document:
    (x, y), (to_x, to_y) = one["asked_in"], one["centre_in"]
    return {"opening": one["opening"], "right_in": to_x - x, "up_in": to_y - y}
