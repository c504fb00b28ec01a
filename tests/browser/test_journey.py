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


SNAPPED_IN = 8
"""How far a place may be that an opening is drawn to: others ask for openings in the same truss."""


def test_the_whole_journey(enters: Callable[..., Person], size: Size, wish: Wish) -> None:
    person = enters("builder", size)
    request = _the_builder_asks(person, wish)
    person.becomes("designer")
    _the_designer_looks(person, wish)
    title = _the_designer_edits(person, wish)
    revision = _the_designer_approves(person, title)
    person.becomes("site-lead")
    _the_site_lead_reads(person, wish, revision)
    person.becomes("builder")
    person.page.goto(request)
    expect(person.state).to_have_text("revision issued, not sealed")
    expect(person.page.get_by_label("Decision")).to_contain_text("New revision issued, not sealed, by Designer")


def _the_builder_asks(builder: Person, wish: Wish) -> str:
    """Drags a duct into a web, out of it again by one tap, back into it, and sends; the address of the request."""
    page = builder.page
    builder.asks_about(wish.mark)
    builder.press(page.get_by_role("button", name=f'{wish.diameter}" round', exact=True))
    builder.waits_until_drawn(diameter=str(wish.diameter))
    expect(builder.verdict).to_have_text("Fits as it is")

    with builder.dragging(wish.at):
        expect(builder.verdict).to_have_text(f"Touches {wish.web}")
    builder.waits_until_drawn_at(wish.at, within=SNAPPED_IN)
    expect(page.locator("#answer-says")).to_contain_text(f"Web {wish.web} is in the way")

    offer = page.get_by_role("button", name=re.compile("Move it .* to where it fits"))
    builder.press(offer)
    expect(builder.verdict).to_have_text("Fits as it is")
    expect(offer).to_have_count(0)

    with builder.dragging(wish.at):
        expect(builder.verdict).to_have_text(f"Touches {wish.web}")
    builder.waits_until_drawn_at(wish.at, within=SNAPPED_IN)
    expect(offer).to_be_visible()
    builder.types_reason(wish.reason)
    builder.sends()
    expect(page.get_by_text("Takes a redesign", exact=True)).to_be_visible()
    for words in ("Before: revision", "After: a proposal"):
        if builder.size == PHONE:  # one at a time, in one place
            builder.press(page.locator(".sides label", has_text=words.split(":")[0]))
        figure = page.locator("figure", has=page.get_by_text(words))
        expect(figure.locator(":is(.for-desk, .for-phone) svg:visible")).to_have_count(1)
    expect(page.get_by_text("not acknowledged yet")).to_be_visible()
    return page.url


def _the_designer_looks(designer: Person, wish: Wish) -> None:
    page = designer.page
    designer.press(page.get_by_role("link", name="Requests"))
    designer.press(page.locator("a.row", has_text=wish.reason))
    designer.press(page.get_by_role("button", name=f"The saw waits for {wish.mark}"))
    expect(page.get_by_text("acknowledged by Designer")).to_be_visible()

    designer.opens_folds()
    before, after = page.locator(f".both .drawing {'.for-phone' if designer.size.touch else '.for-desk'} svg").all()
    scales = [svg.get_attribute("data-scale") for svg in (before, after)]
    assert scales[0] == scales[1], "before and after are drawn at one scale"

    table = page.locator("table[data-sortable]")
    rows = table.locator("tbody tr")
    members = rows.count()
    assert members >= after.locator("g[data-member]").count()
    designer.press(page.get_by_label("sign reversed", exact=True))
    reversing = table.locator("tr[data-reverses]").count()
    expect(table.locator("tbody tr:visible")).to_have_count(reversing)
    expect(page.get_by_text(f"No member of {wish.mark} is like that.")).to_be_visible(visible=reversing == 0)
    designer.press(page.get_by_label("all", exact=True))
    expect(table.locator("tbody tr:visible")).to_have_count(members)

    # on a phone each row stands for itself, without the headings that sort
    if designer.size.touch:
        page.get_by_label("Sorted by").select_option("strength after")
    else:
        designer.press(table.get_by_role("button", name="Strength after"))
        expect(page.get_by_label("Sorted by")).to_be_hidden()
    ratios = [float(value) for value in rows.locator("td:nth-child(9)").evaluate_all(_VALUES) if value]
    assert len(set(ratios)) > 2
    assert ratios == sorted(ratios, reverse=True)

    designer.press(table.get_by_role("link", name=wish.web, exact=True))
    for svg in (before, after):
        expect(svg.locator(".lit")).to_have_count(1)
        expect(svg.locator(".lit")).to_have_attribute("data-member", wish.web)
    if designer.size.touch:
        designer.press(page.locator(".sides label", has_text="Before"))
    chord = "B1"
    designer.press(before.locator(f"g[data-member={chord}]"))
    for part in (after.locator(".lit"), table.locator("tr.lit")):
        expect(part).to_have_attribute("data-member", chord)


_VALUES = "cells => cells.map((cell) => cell.dataset.value)"


def _the_designer_edits(designer: Person, wish: Wish) -> str:
    """Another lumber for one member of the first option, computed by the worker; the new option's title."""
    page = designer.page
    designer.opens_folds()
    designer.press(page.get_by_role("link", name="Edit").first)
    lumber = page.get_by_label(f"Lumber of {wish.web}", exact=True)
    now = lumber.input_value()
    depth = now.split(" ")[0]  # no less wood than the option has there
    other = next(f"{depth} {rest}" for rest in ("DF-L Select Structural", "DF-L No.1") if not now.endswith(rest))
    lumber.fill(other)
    lumber.blur()
    title = f"{wish.web} to {other}"
    expect(page.locator("#picture")).to_contain_text(title)
    designer.press(page.get_by_role("button", name="Compute this"))
    page.wait_for_url("**/requests/*/?option=*")
    designer.waits_for_the_answer()
    drawn = page.locator("tr[aria-current=true]", has_text="drawn by Designer")
    expect(drawn).to_contain_text(title)
    expect(drawn).to_contain_text("lumber passes, clear")
    return title


def _the_designer_approves(designer: Person, title: str) -> str:
    page = designer.page
    decision = page.locator("#decision")
    expect(decision).to_contain_text(title)
    expect(decision).to_contain_text("It is not a seal")
    decision.get_by_label("Reason").fill("Least change to the webs; the joint stays on the stock length.")
    designer.press(decision.get_by_role("button", name="Issue this revision"))
    expect(designer.state).to_have_text("revision issued, not sealed")
    return page.get_by_label("Decision").get_by_role("link").inner_text()


def _the_site_lead_reads(lead: Person, wish: Wish, revision: str) -> None:
    page = lead.page
    number = int(revision.removeprefix(f"{wish.mark} revision "))
    assert number >= 1
    lead.press(page.get_by_role("link", name="Sheets"))
    line = page.locator("main a", has=page.locator(f'.mark:text-is("{wish.mark}")'))
    expect(line).to_contain_text(f"revision {number}")
    lead.press(line)
    expect(page.locator(".second-line")).to_have_text(re.compile(r"^No\. Do not build from this: no sealed drawing"))
    expect(page.get_by_role("heading", level=1)).to_contain_text(f"revision {number}")
    current = page.url
    page.goto(current.replace(f"/revisions/{number}/", f"/revisions/{number - 1}/"))
    expect(page.locator(".first-line")).to_have_text("DEAD")
    expect(page.locator(".second-line")).to_have_text(f"No. Superseded by revision {number}: do not build from this.")
    lead.press(page.locator(".verdict-line").get_by_role("link", name="Go to revision"))
    page.wait_for_url(current)
