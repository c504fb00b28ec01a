"""The pictures of README.md, taken from a running demo: `python tests/browser/screenshots.py http://127.0.0.1:8000`.

No test. The builder drags an opening into a web and files the request; the designer opens it.
"""

from __future__ import annotations

import sys
from pathlib import Path

from playwright.sync_api import Browser, expect, sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.browser.conftest import CHROMIUM
from tests.browser.people import DESK, PHONE, Person, Size

PICTURES = Path(__file__).resolve().parents[2] / ".screenshots"


def enter(browser: Browser, address: str, username: str, size: Size) -> Person:
    context = browser.new_context(
        base_url=address,
        viewport={"width": size.width, "height": size.height},
        has_touch=size.touch,
        is_mobile=size.touch,
    )
    person = Person(context.new_page(), size)
    person.sign_in(username)
    return person


def the_builder(browser: Browser, address: str) -> str:
    builder = enter(browser, address, "builder", PHONE)
    builder.asks_about("R1")
    builder.press(builder.page.get_by_role("button", name='14" round', exact=True))
    builder.waits_until_drawn(diameter="14")
    with builder.dragging((126, 28)):
        expect(builder.verdict).to_have_text("Touches W1")
    builder.waits_until_drawn_at((126, 28))
    builder.page.evaluate("scrollTo(0, 0)")
    builder.page.screenshot(path=PICTURES / "builder.png")
    builder.types_reason("The supply trunk has to cross the bedroom attic here to reach the far rooms.")
    builder.sends()
    return builder.page.url


def the_designer(browser: Browser, address: str, request: str) -> None:
    designer = enter(browser, address, "designer", DESK)
    designer.page.goto(request)
    designer.page.get_by_role("button", name="The saw waits").click()
    designer.page.locator("figcaption").first.evaluate("c => scrollTo(0, c.getBoundingClientRect().top + scrollY - 90)")
    designer.page.locator("figure svg:visible g[data-member=W1]").first.hover(force=True)
    designer.page.screenshot(path=PICTURES / "designer.png")


def main() -> None:
    address = sys.argv[1] if len(sys.argv) > 1 else "http://127.0.0.1:8000"
    PICTURES.mkdir(exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        request = the_builder(browser, address)
        the_designer(browser, address, request)
        browser.close()


if __name__ == "__main__":
    main()
