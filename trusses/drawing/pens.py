"""Line weights, sizes and colours of a drawing, for each size at which it is looked at.

Lines come in two weights, one twice the other (ISO 128-2: wide for what is seen, narrow for dimensions, hatching
and centerlines). One user unit of a drawing is one CSS pixel at the width that it was made for.

Nothing is told by colour alone, and the colours are defaults for where no stylesheet reaches. A page recolours by
class: `color` of the SVG (ink) and of `.tone-opening`, `.tone-tension`, `.tone-compression`; `fill` of `.paper`,
`.wood` and `.marked`.
"""

from __future__ import annotations

from dataclasses import dataclass

FACE = "Bahnschrift, 'DIN Alternate', 'Roboto Condensed', 'Liberation Sans Narrow', 'Arial Narrow', sans-serif"

INK = "currentColor"
PAPER = "#ffffff"
WOOD = "#f3ead6"
MARKER = "#ffe08a"  # a highlighter over what a change touches; a light grey in print
OPENING = "#6b2d82"
THEIRS = "#55605c"  # what another request asks for
TONE_OPENING = {"class_": "tone-opening", "color": OPENING}
TONE_THEIRS = {"class_": "tone-theirs", "color": THEIRS}
TENSION = "#0b6670"
COMPRESSION = "#a04a12"

CHAIN = "10 3 2 3"  # centrelines (ISO 128-2 type 04)
CENTRE = "6 2 1.5 2"
GHOST = {"removed": "6 3.5", "moved-from": "1.2 2.6"}
"""What is no longer there: dashed (type 02) what was taken out, dotted (type 07) where something was that moved."""
CLEAR = "2 2.5"
ASKED = "13 4"  # twice as long as what was taken out: in grey nothing else tells them apart
NOWHERE = "2.5 2"
OF_OTHERS = "11 2.5 1 2.5 1 2.5"
"""Another request's opening: long dashes with two dots (ISO 128-2 type 05, of what stands beside), told apart from what
is asked here without any colour."""

FAINT = 0.7  # opacity of lines that stand behind others


@dataclass(frozen=True)
class Pens:
    """Sizes in user units; `names`, `dimensions` and `legend` say what there is room for."""

    detail: str
    width: float
    wide: float
    narrow: float
    text: float
    small: float
    margin: float
    left: float
    right: float
    names: bool
    dimensions: bool
    legend: bool

    @property
    def tick(self) -> float:
        return self.small * 0.36

    @property
    def tier(self) -> float:
        """From one dimension line to the next."""
        return self.small * 2.1


# printed 188 mm wide (A4 between its margins), 14 units of SHEET make capitals of 1.8 mm, the least of ISO 3098
SHEET = Pens("sheet", 1000, 1.5, 0.75, 14.5, 14.2, 16, 58, 88, True, True, True)
PHONE = Pens("phone", 390, 1.1, 0.6, 14.5, 13, 8, 17, 17, True, False, True)
THUMB = Pens("thumb", 160, 0.8, 0.4, 9, 9, 5, 5, 5, False, False, False)
# an enlarged detail, lettered as on a phone
DETAIL = Pens("phone", 390, 1.5, 0.6, 12.5, 11.5, 10, 0, 0, True, False, False)
BY_DETAIL = {pens.detail: pens for pens in (SHEET, PHONE, THUMB)}
