"""Reading a page as a person does: its words, and what its fields hold."""

from __future__ import annotations

import html
import re
from typing import Any

from django.urls import reverse


def url(name: str, *args: Any) -> str:
    return reverse(f"changes:{name}", args=args)


def text(answer: Any) -> str:
    """What a page says, without its tags; what no line's end may part has plain spaces."""
    says = html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode()))
    return says.replace("\N{NO-BREAK SPACE}", " ")


def shows(answer: Any, name: str, value: str) -> bool:
    """Whether a form on the page that people type into holds a value as it was typed."""
    body = answer.content.decode()
    fields = re.finditer(rf'<(input|textarea)([^>]*name="{name}"[^>]*)>(?:([^<]*)</textarea>)?', body)
    field = next((one for one in fields if 'type="hidden"' not in one[2]), None)
    assert field, f"no field {name}"
    if field[1] == "textarea":
        return html.unescape(field[3]).strip() == value
    held = re.search(r'value="([^"]*)"', field[0])
    return html.unescape(held[1] if held else "") == value


def words(answer: Any) -> str:
    """The same, with one space between any two words."""
    return " ".join(text(answer).split())
