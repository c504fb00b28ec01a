"""People's own words, bounded. They are kept as text, whatever they look like; the pages escape them."""

from __future__ import annotations

import unicodedata
from typing import Any

from changes.refusals import Refused


def words(text: Any, field: str, *, longest: int = 2000, needed: str = "") -> str:
    """The text without blank ends. Raises Refused on `field`; `needed` is its code for an empty one."""
    if text is None:
        text = ""
    if not isinstance(text, str):
        raise Refused("not-text", field, field)
    text = text.replace("\r\n", "\n").strip()
    if not text and needed:
        raise Refused(needed, field)
    if len(text) > longest:
        raise Refused("too-many-characters", field, field, length=len(text), most=longest)
    for character in text:
        if unicodedata.category(character) in ("Cc", "Cs") and character not in "\n\t":
            raise Refused("unprintable", field, field)
    return text
