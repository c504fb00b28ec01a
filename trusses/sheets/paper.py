"""What stands on the edge of every printed page of a sheet, as a stylesheet: paper gets separated."""

from __future__ import annotations

from trusses.models import Revision
from trusses.sheets.sheet import Verdict, code

_FONT = "font: 7.5pt system-ui, sans-serif; color: #000"


def margins(revision: Revision, verdict: Verdict) -> str:
    """A stylesheet for print: mark, revision and code on top of each page, below it whether to build and its number."""
    named = f"{revision.truss.mark} revision {revision.number} · code {code(revision)}"
    job = revision.truss.job.name
    boxes = {
        "top-left": _string(named),
        "top-right": _string(job[:60] + ("…" if len(job) > 60 else "")),
        "bottom-left": _string(verdict.says),
        "bottom-right": '"page " counter(page) " of " counter(pages)',
    }
    written = " ".join(f"@{box} {{ content: {content}; {_FONT}; }}" for box, content in boxes.items())
    return f"@page {{ margin: 14mm 11mm; {written} }}\n"


def _string(text: str) -> str:
    """Text as a string of CSS: what is no plain letter or digit by its number and a space, so that nothing ends it."""
    plain = "".join(c if c.isascii() and (c.isalnum() or c == " ") else f"\\{ord(c):x} " for c in text)
    return f'"{plain}"'
