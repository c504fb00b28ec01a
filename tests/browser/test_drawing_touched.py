"""The drawing under a thumb: what is dragged takes its dimensions along, what is tapped says what it is."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from tests.browser.people import PHONE, Person, Size
from trusses.analysis.format.lengths import parse_length

MARK = "R4"
BOX = """(part) => { const b = part.getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2] }"""
HIDDEN = "all => all.every((one) => getComputedStyle(one).visibility === 'hidden')"
COVERED = """() => [...document.querySelectorAll("#stage svg.dragging")].flatMap((svg) => {
  if (!svg.getClientRects().length) return [];
  const seen = [...svg.querySelectorAll("text")].filter((text) => getComputedStyle(text).visibility !== "hidden");
  const moves = seen.filter((text) => text.closest(".opening-label:not(.not-mine), .live-dim"));
  const box = (text) => text.getBoundingClientRect();
  return seen.filter((text) => !moves.includes(text)).flatMap((text) => moves.filter((one) => {
    const [a, b] = [box(text), box(one)];
    return a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1 && b.top < a.bottom - 1;
  }).map((one) => [text.textContent, one.textContent]));
})"""
"""Names of the truss that what goes along lies over, and what that says."""
SHOWN = "#stage :is(.for-desk, .for-phone) svg:visible"


def test_name_leader_and_dimensions_follow_the_thumb(enters: Callable[..., Person], size: Size) -> None:
    builder = enters("builder", size)
    page = builder.page
    builder.asks_about(MARK)
    x, y = builder.centre
    label = page.locator(f"{SHOWN} .opening-label")
    before, wood = label.evaluate(BOX), builder.on_screen((x, y))
    with builder.dragging((x + 24, y + 12)):
        moved = builder.on_screen((x + 24, y + 12))
        now = label.evaluate(BOX)
        assert [now[i] - before[i] for i in (0, 1)] == pytest.approx([moved[i] - wood[i] for i in (0, 1)], abs=1.5)
        # the server's own dimensions would tell where it was
        assert page.locator(f"{SHOWN} .dim-opening:not(.live-dim)").evaluate_all(HIDDEN)
        live = page.locator(f"{SHOWN} .live-dim")
        expect(live).to_have_count(2)
        # nor does anything else of the last answer stay
        assert page.locator(f"{SHOWN} :is(.extension.of-opening, .label.touched)").evaluate_all(HIDDEN)
        assert page.evaluate(COVERED) == []
        read = sorted(parse_length(words) for words in live.locator("text").all_text_contents())
        typed = sorted(parse_length(page.locator(f"[name={name}]").input_value()) for name in ("along", "up"))
        assert read == pytest.approx(typed, abs=1 / 16)
        # its line ends at the opening
        ends = page.locator(f"{SHOWN} .dims .live-dim path").first.evaluate(
            """(line) => { const b = line.getBBox(), m = line.getScreenCTM();
              return [new DOMPoint(b.x, b.y), new DOMPoint(b.x + b.width, b.y)].map((p) => p.matrixTransform(m).x) }"""
        )
        assert min(abs(end - moved[0]) for end in ends) < 2
    builder.waits_until_drawn_at((x + 24, y + 12))
    expect(page.locator(f"{SHOWN} .live-dim")).to_have_count(0)
    expect(page.locator(f"{SHOWN} .dim-opening").first).to_be_visible()


def test_the_enlarged_detail_looks_where_the_thumb_is(enters: Callable[..., Person], size: Size) -> None:
    builder = enters("builder", size)
    page = builder.page
    builder.asks_about(MARK)
    x, y = builder.centre
    detail = page.locator("#stage .enlarged svg")
    opening = detail.locator(".opening.ask .edge")
    place = """(edge) => { const b = edge.getBoundingClientRect(), s = edge.ownerSVGElement.getBoundingClientRect();
      return [(b.x + b.width / 2 - s.x) / s.width, (b.y + b.height / 2 - s.y) / s.height] }"""
    start = opening.evaluate(place)
    looked = detail.get_attribute("viewBox")
    with builder.dragging((x + 60, y + 6)):
        assert opening.evaluate(place) == pytest.approx(start, abs=0.02)
        assert detail.get_attribute("viewBox") != looked
    builder.waits_until_drawn_at((x + 60, y + 6), within=9)  # it may have come to a place near


def test_a_tap_beside_a_web_says_what_it_is(enters: Callable[..., Person], size: Size) -> None:
    person = enters("site-lead", size)
    page = person.page
    person.opens_mark(MARK)
    shown = page.locator(":is(.for-desk, .for-phone):visible")
    shown.first.scroll_into_view_if_needed()
    # 6 px off the middle of the web's line: a thumb's aim
    x, y = shown.locator('[data-member="W3"] .edge').evaluate(BOX)
    (page.touchscreen.tap if size.touch else page.mouse.click)(x + 6, y)
    expect(shown.locator(".tapped")).to_have_text(re.compile(r"^W3, web, 2x\d .*between joints"))
    (page.touchscreen.tap if size.touch else page.mouse.click)(*shown.locator('[data-member="B2"] .edge').evaluate(BOX))
    expect(shown.locator(".tapped")).to_have_text(re.compile(r"^B1\.2, bottom chord"))


LETTERS = """() => [...document.querySelectorAll(".for-phone svg text")].filter((text) => text.getClientRects().length)
  .map((text) => [text.getScreenCTM(), parseFloat(getComputedStyle(text).fontSize)])
  .map(([to, size]) => size * Math.hypot(to.a, to.b))"""
"""The size of each letter of the drawings, CSS pixels."""


def test_the_letters_of_a_drawing_are_as_large_on_a_phone_as_they_are_drawn(enters: Callable[..., Person]) -> None:
    builder = enters("builder", PHONE)
    for mark in ("R4", "F1"):
        builder.opens_mark(mark)
        letters = builder.page.evaluate(LETTERS)
        assert len(letters) > 10
        assert min(letters) > 12.9
        assert builder.page.evaluate("document.documentElement.scrollWidth <= innerWidth")
