"""The API's page and the records wear the project's own tokens, in light and in dark."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.people import DESK, Person

TOKEN = """(name) => { const probe = document.body.appendChild(document.createElement("i"));
  probe.style.color = `var(--${name})`; const seen = getComputedStyle(probe).color; probe.remove(); return seen; }"""


def token(page: Page, name: str) -> str:
    return page.evaluate(TOKEN, name)


def seen(page: Page, place: str, what: str) -> str:
    return page.locator(place).first.evaluate(f"(part) => getComputedStyle(part).{what}")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_page_for_programs(enters: Callable[..., Person], scheme: str) -> None:
    page = enters("designer", DESK, color_scheme=scheme).page
    page.goto("/api/v1/docs/")
    expect(page.locator(".opblock").first).to_be_visible(timeout=30_000)
    assert page.title() == "For programs · Chord Change"
    assert seen(page, "body", "backgroundColor") == token(page, "paper")
    assert seen(page, ".opblock", "backgroundColor") == token(page, "sheet")
    assert seen(page, ".opblock-summary-path", "color") == token(page, "ink")
    assert seen(page, ".opblock-post .opblock-summary-method", "backgroundColor") == token(page, "spruce")
    assert seen(page, ".head .name", "color") == token(page, "ink")
    assert seen(page, "section.models .model-title", "color") == token(page, "ink")


RECORDS = """<link rel="stylesheet" href="{0}/static/admin/css/base.css">
<link rel="stylesheet" href="{0}/static/admin/css/forms.css">
<link rel="stylesheet" href="{0}/static/project/tokens.css"><link rel="stylesheet" href="{0}/static/project/admin.css">
<body><header id="header"><div id="site-name"><a href="/">Chord Change</a></div></header><input type="submit"></body>"""
"""The sheets of a page of the records in their order (`tests/project/test_records_page.py` looks at a page itself)."""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_records(opens: Callable[..., Page], demo: str, scheme: str) -> None:
    page = opens(DESK, color_scheme=scheme)
    page.goto("/sign-in/")
    page.set_content(RECORDS.format(demo))
    page.wait_for_load_state("networkidle")
    assert seen(page, "body", "backgroundColor") == token(page, "paper")
    assert seen(page, "#header", "backgroundColor") == token(page, "sheet")
    assert seen(page, "[type=submit]", "backgroundColor") == token(page, "spruce")
    assert seen(page, "[type=submit]", "color") == token(page, "on-spruce")
