"""An inspector's link: handed out whole by whoever makes it, revoked beside it."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.people import DESK, PHONE, Person, Size

SHARES = "navigator.share = async (what) => { window.shared = what; }"
NO_CLIPBOARD = "Object.defineProperty(navigator, 'clipboard', { value: undefined });"
"""As on a page without TLS: what is copied is kept by the document alone."""
OVER = "(one) => one.scrollWidth - one.clientWidth"


@pytest.mark.parametrize("size", [PHONE, DESK], ids=lambda size: size.name)
@pytest.mark.parametrize("before", [SHARES, NO_CLIPBOARD], ids=["shares", "no clipboard"])
def test_a_link_is_shown_whole_and_copied_or_sent(enters: Callable[..., Person], size: Size, before: str) -> None:
    builder = enters("builder", size)
    page = builder.page
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.add_init_script(before)
    address = made(builder)
    shown = page.locator("#address")
    assert shown.evaluate(OVER) <= 0
    builder.press(page.get_by_role("button", name="Copy"))
    expect(page.locator("#copied")).to_have_text("Copied.")
    assert page.evaluate("String(getSelection())") == address
    if before == SHARES:
        assert page.evaluate("navigator.clipboard.readText()") == address
        builder.press(page.get_by_role("button", name="Send"))
        assert page.evaluate("window.shared.url") == address
    else:
        field = page.get_by_label("For whom")
        field.fill("")
        field.press("Control+v")
        expect(field).to_have_value(address)


def test_one_that_is_revoked_beside_its_address_opens_nothing(enters: Callable[..., Person]) -> None:
    builder = enters("builder", PHONE)
    page = builder.page
    address = made(builder)
    assert page.request.get(address).status == 200
    builder.press(page.locator("#made summary"))
    builder.press(page.get_by_role("button", name="Revoke this link"))
    expect(page.locator(".messages")).to_contain_text("is revoked")
    assert page.request.get(address).status == 410


def made(builder: Person) -> str:
    """The address of a link that is handed out now, as its page shows it."""
    page: Page = builder.page
    page.goto("/jobs/1/inspectors/")
    page.get_by_label("For whom").fill("Plans examiner")
    builder.press(page.get_by_role("button", name="Make the link"))
    shown = page.locator("#made #address")
    expect(shown).to_have_text(re.compile(r"^http://\S+/inspect/[\w-]{32}/$"))
    expect(page.locator("#made")).to_contain_text(re.compile(r"opens until \w{3} \d+, \d{4}"))
    return str(shown.text_content())
