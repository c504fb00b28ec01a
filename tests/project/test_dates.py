"""One way to write a day and a moment on every page."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

from django.utils.formats import date_format

from trusses.words import day

TEMPLATES = Path(__file__).resolve().parents[2] / "templates"
DAYS = ("M j", "D, M j", "M j, Y")
CLOCKS = ("g a", "g:i a", "g:i a T")


def test_every_template_writes_days_and_moments_alike():
    """A month in three letters without a point, its day, the year where it is told, then the clock."""
    told = {
        (path.name, found[2])
        for path in TEMPLATES.rglob("*.html")
        for found in re.finditer(r"""\|date:(["'])(.*?)\1""", path.read_text())
    }
    alike = {*DAYS, *(f"{one}, {clock}" for one in DAYS for clock in CLOCKS)}
    assert len(told) > 20
    assert [(name, form) for name, form in sorted(told) if form not in alike] == []


def test_what_forms_and_words_write_is_written_so_too():
    on = date(2026, 12, 4)
    assert date_format(on) == day(on.isoformat()) == "Dec 4, 2026"
