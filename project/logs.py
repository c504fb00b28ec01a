"""What the log leaves out: the tokens that stand in addresses, each of which opens something to whoever reads it."""

from __future__ import annotations

import logging
import re

_TOKEN = re.compile(r"/(inspect|paper)/[^/\s\"'?]+")


class WithoutTokens(logging.Formatter):
    """Writes the addresses of inspectors' links and of printed sheets' codes without their tokens, in the text of
    an exception too."""

    def format(self, record: logging.LogRecord) -> str:
        return _TOKEN.sub(r"/\1/…", super().format(record))
