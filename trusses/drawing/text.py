"""Words on a drawing: what people typed, made safe to draw, and lengths as they are read aloud."""

from __future__ import annotations

import math
import unicodedata
from fractions import Fraction
from functools import lru_cache

from trusses.analysis.words.phrases import pounds

#: Letters kept of a member's or an opening's name on the drawing; attributes keep more.
TAG_LETTERS = 14
LINE_LETTERS = 90
NAME_LETTERS = 200

# controls, invisible formatting (bidirectional overrides among them), surrogates, private use, unassigned
_UNDRAWABLE = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
_MOST_MARKS = 2
# of the letter size, a little over those of DIN-like and condensed faces
_WIDTH = dict.fromkeys(" .,'\"/iljI|:;", 0.29) | dict.fromkeys("-ftr", 0.38) | dict.fromkeys("mwMW×", 0.8)


def clean(text: object, most: int = LINE_LETTERS) -> str:
    """`text` on one line, printable, at most `most` letters (an ellipsis tells that some are gone).

    Control characters would make the file unreadable, bidirectional ones turn its neighbours round, and piled
    accents cover other text: all of them go. Markup is escaped where the drawing is written.
    """
    text = str(text)
    if len(text) <= most and text.isascii() and text.isprintable():
        return " ".join(text.split())
    kept: list[str] = []
    marks = 0
    for character in text[: 4 * most + 64]:
        kind = unicodedata.category(character)
        if kind in _UNDRAWABLE:
            kept.append(" " if character.isspace() else "")
            continue
        marks = marks + 1 if kind in {"Mn", "Me"} else 0
        if marks <= _MOST_MARKS:
            kept.append(character)
    line = " ".join("".join(kept).split())
    return line if len(line) <= most else line[: most - 1].rstrip() + "…"


def spoken(inches: float) -> str:
    """`inches` to the nearest 1/16 in. as it is read aloud: ``12 feet 3 1/2 inches``."""
    sixteenths = math.floor(abs(inches) * 16 + 0.5)
    feet, rest = divmod(sixteenths, 12 * 16)
    whole, part = divmod(rest, 16)
    words = []
    if feet:
        words.append(f"{feet} {'foot' if feet == 1 else 'feet'}")
    if whole or part or not feet:
        number = " ".join(str(n) for n in (whole, Fraction(part, 16)) if n) or "0"
        words.append(f"{number} {'inch' if (whole, part) == (1, 0) else 'inches'}")
    return ("minus " if inches < 0 and sixteenths else "") + " ".join(words)


def twelfths(rise: float) -> str:
    """A rise in 12 to the nearest 1/16: ``6``, ``4 1/2``."""
    whole, part = divmod(math.floor(abs(rise) * 16 + 0.5), 16)
    return " ".join(str(n) for n in (whole, Fraction(part, 16)) if n) or "0"


def magnitude(force: float) -> str:
    """A force without its sense, which the drawing tells in another way."""
    return pounds(abs(force))


@lru_cache(maxsize=4096)
def width_of(text: str, size: float) -> float:
    """How wide `text` may come out at `size`, on the safe side of the narrow faces that drawings are lettered in."""
    return sum(_WIDTH.get(c, 0.64 if c.isupper() else 0.53) for c in text) * size
