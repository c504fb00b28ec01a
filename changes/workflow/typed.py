"""People's own words, bounded. They are kept as text, whatever they look like; the pages escape them."""

from __future__ import annotations

import unicodedata
from typing import Any

from trusses.revisions import Refused


def words(text: Any, field: str, *, longest: int = 2000, needed: str = "") -> str:
    """The text without blank ends. Raises Refused on `field`: `needed` says what is missing when it is empty."""
    if text is None:
        text = ""
    if not isinstance(text, str):
        raise Refused("must be text.", field, field)
    text = text.replace("\r\n", "\n").strip()
    if not text and needed:
        raise Refused(needed, field)
    if len(text) > longest:
        raise Refused(f"{len(text):,} characters are more than the limit of {longest:,}.", field, field)
    for character in text:
        if unicodedata.category(character) in ("Cc", "Cs") and character not in "\n\t":
            raise Refused("holds a character that can't be printed.", field, field)
    return text
