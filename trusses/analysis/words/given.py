"""Values of a document as a sentence quotes them."""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Iterable
from typing import Any

#: A number beyond this is told as very large.
LARGEST = 1e12
_LONGEST = 40
#: What makes the letters behind it run from right to left.
TURNING = frozenset("\u202b\u202e\u2067\u2068")


def seen(text: str) -> str:
    """`text` without what nobody sees of it (Unicode's category Cf: spaces of no width, soft hyphens), which a keyboard
    or a copied line brings along. What turns it round stays, for whoever asked to refuse: with that, what is seen isn't
    what stands there."""
    return text if text.isascii() else "".join(c for c in text if unicodedata.category(c) != "Cf" or c in TURNING)


def quoted(text: str) -> str:
    """`text` in double quotes, shortened, with what can't be printed escaped."""
    if len(text) <= _LONGEST and text.isprintable():
        return f'"{text}"'
    short = text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"
    return '"' + "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in short) + '"'


def told(value: Any) -> str:
    """What a wrong value is, in words."""
    match value:
        case None:
            return "null"
        case bool():
            return "true" if value else "false"
        case str():
            return f"the text {quoted(value)}"
        case list() | tuple():
            return "a list"
        case {"python": kind}:
            return str(kind)
        case dict():
            return "an object"
        case float() | int():
            return f"{value:.12g}" if abs(value) <= LARGEST else "a very large number"
    return type(value).__name__


def brief(value: Any) -> Any:
    """A wrong value as a refusal holds it, told alike: plain JSON, texts cut, lists and objects empty."""
    match value:
        case None | bool():
            return value
        case str():
            return value[: _LONGEST + 1]
        case list() | tuple():
            return []
        case dict():
            return {}
        case float() | int():
            return value if abs(value) <= LARGEST else 10 * LARGEST
    return {"python": type(value).__name__}


def nearest(word: str, words: Iterable[str]) -> str | None:
    """The one of `words` that was meant, where one is near."""
    return next(iter(difflib.get_close_matches(word[:60], list(words), n=1)), None)
