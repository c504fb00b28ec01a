"""The whole journey: the builder asks with a thumb, the designer decides, the site lead reads what is current."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import pytest
from playwright.sync_api import expect

from tests.browser.people import DESK, PHONE, Person, Size


@dataclass(frozen=True)
class Wish:
    """What the builder wants at one size of screen: a mark of the demo, a round duct, a web that stands in its way."""

    mark: str
    diameter: int
    web: str
    at: tuple[float, float]
    reason: str


WISHES = {
    PHONE: Wish("R1", 14, "W3", (275, 20), "The supply trunk crosses the attic here. Drawn on the phone."),
    DESK: Wish("R8", 10, "W3", (180, 18), "A return to the study. Drawn at the desk."),
}


@pytest.fixture
def wish(size: Size) -> Wish:
    return WISHES[size]


def test_the_whole_journey(enters: Callable[..., Person], size: Size, wish: Wish) -> None:
    person = enters("builder", size)
    request = _the_builder_asks(person, wish)


def _the_builder_asks(builder: Person, wish: Wish) -> str:
    page = builder.page
    builder.asks_about(wish.mark)
    builder.press(page.get_by_role("button", name=f'{wish.diameter}" round', exact=True))
    builder.waits_until_drawn(diameter=str(wish.diameter))
    expect(builder.answer).to_contain_text("Fits as it is")

    with builder.dragging(wish.at):
        expect(builder.answer.locator("strong")).to_have_text(f"Touches {wish.web}")
    builder.waits_until_drawn_at(wish.at)
    expect(page.locator("#answer-says")).to_contain_text(f"Web {wish.web} is in the way")

    offer = page.get_by_role("button", name=re.compile("Move it .* to where it fits"))
    builder.press(offer)
    expect(builder.answer.locator("strong")).to_have_text("Fits as it is")
    expect(offer).to_have_count(0)

    with builder.dragging(wish.at):
        expect(builder.answer.locator("strong")).to_have_text(f"Touches {wish.web}")
    builder.waits_until_drawn_at(wish.at)
    expect(offer).to_be_visible()
    builder.types_reason(wish.reason)
    return builder.sends()
