"""Reading the set's pages: their words, and hostile ones to put into them."""

from __future__ import annotations

import re

HOSTILE = "<script>alert('O&\"')</script>"
LONG = "N" * 150


def text(response) -> str:
    """The page's words, without its marks, spaces run together."""
    return " ".join(
        re.sub(r"<[^>]+>", " ", response.content.decode()).replace("&#x27;", "'").replace("&quot;", '"').split()
    )
