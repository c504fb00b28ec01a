"""Tables and bullets of plain text, as wide as a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

WIDTH = 118


def section(title: str, body: str) -> str:
    return f"{title}\n{'-' * len(title)}\n{body}" if body else ""


def whole(value: float) -> str:
    """Whole pounds without their unit, which stands in the heading; nothing where there is next to nothing."""
    return f"{value:,.0f}" if abs(value) >= 0.5 else "-"


def bullets(texts: Iterable[str]) -> str:
    return "\n".join(textwrap.fill(text, WIDTH, initial_indent="- ", subsequent_indent="  ") for text in texts)


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Columns as wide as they need; a heading that begins with > sets its column to the right."""
    if not rows:
        return ""
    right = [title.startswith(">") for title in head]
    titles = [title.removeprefix(">") for title in head]
    lines = [titles, *rows] if any(titles) else [*rows]
    widths = [max(len(line[i]) for line in lines) for i in range(len(head))]
    return "\n".join(
        "  ".join(
            cell.rjust(width) if to_right else cell.ljust(width)
            for cell, width, to_right in zip(line, widths, right, strict=True)
        ).rstrip()
        for line in lines
    )
