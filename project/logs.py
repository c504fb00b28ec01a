"""What the log leaves out: the tokens that stand in addresses, each of which opens something to whoever reads it."""

from __future__ import annotations

import logging
import re

_TOKEN = re.compile(r"/(inspect|paper)/[^/\s\"'?]+")


class WithoutTokens(logging.Filter):
    """Writes the addresses of inspectors' links and of printed sheets' codes without their tokens."""

    def filter(self, record: logging.LogRecord) -> bool:
        said = record.getMessage()
        bare = _TOKEN.sub(r"/\1/…", said)
        if bare != said:
            record.msg, record.args = bare, ()
        return True
