"""An invented sealed drawing, and what is said with it."""

from __future__ import annotations

import io

from trusses.sealing.drawn_pdf import pdf

SAID = {"sealed_by": "An invented engineer", "licence": "12 345", "state": "CO"}


def drawing(words: str = "demonstration, no seal") -> io.BytesIO:
    """A PDF; other words make it another file."""
    sent = io.BytesIO(pdf([f"% {words}"]))
    sent.name = "<b>.pdf"
    return sent
