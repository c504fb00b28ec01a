"""On a phone from a job's page to a sent opening in few taps; a length typed by its own keys; a slip taken back."""

from __future__ import annotations

import re
from collections.abc import Callable

from playwright.sync_api import Locator, Route, expect

from tests.browser.people import PHONE, Person

MOST_TAPS = 8


def _as_if_taken(route: Route) -> None:
    """The refusal that is meant here, without its status, which tells of a trouble otherwise."""
    answer = route.fetch()
    route.fulfill(body=answer.body(), content_type="text/html", status=200)


def test_an_opening_is_sent_with_few_taps_and_no_key(enters: Callable[..., Person]) -> None:
    builder = enters("builder", PHONE)
    page, taps = builder.page, []

    def tap(what: Locator) -> None:
        taps.append(str(what))
        what.tap()

    page.goto("/")
    tap(page.locator("a", has=page.locator('.mark:text-is("R4")')))
    tap(page.get_by_role("link", name="Ask for a change"))
    tap(page.get_by_role("link", name=re.compile("^An opening")))
    tap(page.get_by_role("button", name='6" round', exact=True))
    builder.waits_until_drawn(diameter="6")
    start = builder.centre
    with builder.dragging((start[0] + 20, start[1])):
        taps.append("the opening, dragged")
    builder.waits_until_drawn_at((start[0] + 20, start[1]))
    tap(page.get_by_role("button", name="Bath fan duct"))
    expect(page.get_by_label("Why, in your own words")).to_have_value("Bath fan duct has to run through here.")
    assert not page.evaluate("document.activeElement.matches('input, textarea')"), "no keyboard comes up"
    tap(page.get_by_role("button", name="Send the request"))
    page.wait_for_url("**/requests/*/")
    assert len(taps) <= MOST_TAPS, taps
    expect(page.locator(".lede")).to_contain_text("Bath fan duct has to run through here.")
    page.get_by_role("link", name="Withdraw the request").tap()  # other files ask of this mark as well
    page.get_by_role("button", name=re.compile("^Withdraw")).tap()
    expect(builder.state).to_have_text("withdrawn")

    # what was asked for last stands first the next time
    page.goto("/")
    builder.asks_about("R4")
    last = page.get_by_role("group", name="Asked for last").get_by_role("button")
    expect(last.first).to_have_text('6" round')
    # and nothing that was refused
    page.get_by_label("Diameter").fill("abc")
    page.route("**/ask/", _as_if_taken)
    page.get_by_role("button", name="Send the request").tap()
    expect(page.locator("#troubles")).to_be_visible()
    page.unroute("**/ask/", _as_if_taken)
    builder.asks_about("R4")
    expect(last.first).to_have_text('6" round')
    expect(page.get_by_role("button", name=re.compile("abc"))).to_have_count(0)

    # every round size is in sight at once
    ducts = page.get_by_role("group", name="Round ducts")
    assert ducts.evaluate("row => [row.scrollWidth - row.clientWidth, row.querySelectorAll('button').length]") == [
        0,
        11,
    ]

    # the sign at a row's edge shows what goes on, and picks nothing
    row = page.get_by_role("group", name="Trunks, width by height")
    row.evaluate("row => row.scrollIntoView({ block: 'center' })")
    expect(row).to_have_attribute("data-more", re.compile("after"))
    at = row.evaluate("row => row.scrollLeft")
    picked, box = page.get_by_label("Diameter").input_value(), row.bounding_box()
    page.touchscreen.tap(box["x"] + box["width"] - 12, box["y"] + box["height"] / 2 - 4)
    page.wait_for_function("([row, at]) => row.scrollLeft > at", arg=[row.element_handle(), at])
    expect(page.get_by_label("Diameter")).to_have_value(picked)

    # a length by its own keys, and one step back
    diameter, undo = page.get_by_label("Diameter"), page.get_by_role("button", name="Undo the last move")
    before = diameter.input_value()
    expect(undo).to_be_hidden()
    diameter.tap()
    pad = page.get_by_role("group", name="Feet and inches", exact=True)
    for key in ("9", "space", "1", "over", "2", "inches"):
        pad.get_by_role("button", name=key, exact=True).tap()
    expect(diameter).to_have_value('9 1/2"')
    assert diameter.get_attribute("inputmode") == "none"
    under, above = diameter.bounding_box(), pad.bounding_box()
    assert under["y"] + under["height"] <= above["y"], "what is typed is in sight"
    pad.get_by_role("button", name="Delete the last").tap()
    expect(diameter).to_have_value("9 1/2")
    pad.get_by_role("button", name="Done").tap()
    expect(page.locator("#keypad")).to_be_hidden()
    builder.waits_until_drawn(diameter="9.5")
    builder.press(undo)
    expect(diameter).to_have_value(before)
    builder.waits_until_drawn(diameter=before.strip('"'))
    expect(undo).to_be_hidden()


def test_what_is_typed_below_a_drawing_is_in_sight(enters: Callable[..., Person]) -> None:
    """The drawing that is tapped stays in sight until a thumb types: beside the keys there is no room for both."""
    page = enters("site-lead", PHONE).page
    page.goto("/jobs/1/trusses/9/ask/damage/")
    for field in page.locator("#need :is(input[data-length], textarea)").all():
        if not field.is_visible():
            continue
        field.tap()
        assert field.evaluate(_IN_SIGHT), field.get_attribute("name")


_IN_SIGHT = """(field) => {
  const box = field.getBoundingClientRect();
  return document.elementFromPoint(box.left + box.width / 2, box.top + 12) === field;
}"""
