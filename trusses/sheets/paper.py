"""What stands on the edge of every printed page, as a stylesheet: paper gets separated."""

from __future__ import annotations

from trusses.models import Revision
from trusses.sheets.sheet import Status, Verdict, code

_FONT = "font: 7.5pt system-ui, sans-serif; color: #000"
_LOUD = "font: 800 15pt system-ui, sans-serif; color: #000"
_LONGEST = 60


def margins(revision: Revision, status: Status, verdict: Verdict) -> str:
    """Of a sheet: on top of each page mark, revision, code and whether it is current or dead; below whether to build
    from it. Where a browser prints no edges (`edges.js`), each heading after the first page names it, as far as never
    changes."""
    named = f"{revision.truss.mark} revision {revision.number} · code {code(revision)}"
    # one page by itself on the saw must not read as leave to build
    loud = f"{status.word}, DO NOT BUILD" if status.current and not verdict.build else status.word
    heads = f".no-edges .after-first h2::after {{ content: {_string(named)}; {_FONT}; display: block; }}\n"
    return edges(named, revision.truss.job.name, verdict.whole, loud=loud) + heads


def edges(named: str, job: str, foot: str, *, loud: str = "", on: str = "") -> str:
    """A stylesheet for print: `named` and `job` on top of each page with what must be `loud` between them, else the day
    `on` which the page was made, `foot` and the page's number among all of them below."""
    boxes = {
        "top-left": (_string(named), _FONT),
        "top-center": (_string(loud), _LOUD) if loud else (_string(on), _FONT),
        "top-right": (_string(job[:_LONGEST] + ("…" if len(job) > _LONGEST else "")), _FONT),
        "bottom-left": (_string(foot), _FONT),
        "bottom-right": ('"page " counter(page) " of " counter(pages)', f"{_FONT}; white-space: nowrap"),
    }
    written = " ".join(f"@{box} {{ content: {content}; {font}; }}" for box, (content, font) in boxes.items())
    return f"@page {{ margin: 14mm 11mm; {written} }}\n"


def _string(text: str) -> str:
    """Text as a string of CSS: what is no plain letter or digit by its number and a space, so that nothing ends it."""
    plain = "".join(c if c.isascii() and (c.isalnum() or c == " ") else f"\\{ord(c):x} " for c in text)
    return f'"{plain}"'
