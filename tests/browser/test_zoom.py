"""Two fingers bring a drawing nearer, one moves it; the opening moves under a finger, the page under all others."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.people import PHONE, Person

Point = tuple[float, float]

SEEN = """() => [...document.querySelectorAll(".drawing :is(.for-phone, .for-desk) svg")]
  .filter((svg) => svg.checkVisibility())
  .map(({ viewBox: { baseVal: { x, width } }, dataset: { x0, scale } }) =>
    ({ wide: width, left: x - x0, scale: Number(scale) }))"""


class Fingers:
    def __init__(self, page: Page):
        self.page, self._touch = page, page.context.new_cdp_session(page)

    def _send(self, kind: str, *points: Point) -> None:
        touches = [{"x": x, "y": y, "id": n} for n, (x, y) in enumerate(points)]
        self._touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": touches})

    def spread(self, still: Point, start: Point, end: Point) -> None:
        """One finger stays where it is, the other goes from `start` to `end`."""
        self._send("touchStart", still)
        self._send("touchStart", still, start)
        for k in range(1, 9):
            self._send("touchMove", still, (start[0] + (end[0] - start[0]) * k / 8, start[1]))
        self._send("touchEnd")

    def swipe(self, start: Point, by: Point) -> None:
        self._send("touchStart", start)
        for k in range(1, 9):
            self._send("touchMove", (start[0] + by[0] * k / 8, start[1] + by[1] * k / 8))
        self._send("touchEnd")

    def seen(self) -> list[dict[str, float]]:
        """Of each drawing in sight: how wide a part is seen and how far right of its origin that begins."""
        return self.page.evaluate(SEEN)


def _inside(person: Person, down: float) -> Point:
    """On the screen, so far below the upper edge of the drawing as it stands now, beside the opening."""
    box = person.page.locator("#stage svg:visible").first.bounding_box()
    assert 0 < box["y"] + down < person.size.height, f"the drawing left the screen: {box}"
    return box["x"] + 40, box["y"] + down


def test_fingers_zoom_and_move_the_drawing_and_not_the_page(enters: Callable[..., Person]) -> None:
    builder = enters("builder", PHONE)
    page, fingers = builder.page, Fingers(builder.page)
    page.goto("/jobs/1/trusses/4/ask/")
    builder.grip.scroll_into_view_if_needed()
    expect(page.get_by_role("button", name="Nearer", exact=True)).to_be_visible()
    [whole] = fingers.seen()
    on, start = builder.on_screen(builder.centre), builder.centre
    fingers.spread(on, (on[0] + 60, on[1]), (on[0] + 150, on[1]))  # one finger on the opening: still a pinch
    [near] = fingers.seen()
    assert near["wide"] == pytest.approx(whole["wide"] * 60 / 150, rel=0.02)
    assert builder.centre == start
    assert page.evaluate("visualViewport.scale") == 1
    # the opening moves, by what the finger moves over at that size, and what comes from the server is seen as near
    to = (start[0] + 10, start[1])
    with builder.dragging(to):
        pass
    builder.waits_until_drawn_at(to)
    assert fingers.seen()[0]["wide"] == pytest.approx(near["wide"], rel=0.01)
    fingers.swipe(_inside(builder, 20), (60, 0))  # beside it one finger moves the drawing
    assert fingers.seen()[0]["left"] < near["left"] - 10
    assert builder.centre == pytest.approx(to, abs=1.5)
    before = page.evaluate("scrollY")
    for _ in range(12):  # at its lower edge the page goes on; a browser that is late takes a quick swipe for a tap
        fingers.swipe(_inside(builder, 170), (0, -150))
        page.wait_for_timeout(100)
        if page.evaluate("scrollY") > before + 40:
            break
    assert page.evaluate("scrollY") > before + 40
    page.get_by_role("button", name="All of it").tap()
    assert fingers.seen()[0]["wide"] == whole["wide"]
    nearer = page.get_by_role("button", name="Nearer", exact=True)
    nearer.tap()
    assert fingers.seen()[0]["wide"] == pytest.approx(whole["wide"] / 1.6, rel=0.01)
    expect(page.get_by_role("button", name="Look further left")).to_be_visible()
    for _ in range(5):
        nearer.press("Enter")
    expect(nearer).to_have_attribute("aria-disabled", "true")  # as near as it comes
    expect(nearer).to_be_focused()
    assert fingers.seen()[0]["wide"] == pytest.approx(whole["wide"] / 8, rel=0.01)


def test_a_thumb_comes_to_the_places_that_it_means_and_gets_on(enters: Callable[..., Person]) -> None:
    builder = enters("builder", PHONE)
    page, snapped = builder.page, builder.page.locator("#snapped")
    page.goto("/jobs/1/trusses/4/ask/")
    expect(snapped).to_contain_text("At mid-span")  # where it begins; level with one that another asked for, too
    start = builder.centre
    middle = page.evaluate("snaps.near([start, 20], [4, 4], 2).x.at".replace("start", str(start[0] + 46)))
    with builder.dragging((middle + 4, start[1])):
        expect(snapped).to_contain_text("Centered in the open panel")
        held = page.locator("[name=along]").input_value()
    builder.waits_until_drawn_at((middle, start[1]), within=0.5)
    expect(snapped).to_contain_text("Centered in the open panel")
    assert held == page.locator("[name=along]").input_value()
    with builder.dragging((middle + 16, start[1])):
        expect(snapped).not_to_contain_text("Centered in")
    # keys go inch by inch, past every such place
    builder.waits_until_drawn_at((middle + 16, start[1]))
    builder.grip.focus()
    at = builder.centre[0]
    for _ in range(14):
        page.keyboard.press("ArrowLeft")
    builder.waits_until_drawn_at((at - 14, start[1]), within=0.5)


def test_before_and_after_are_looked_at_together(enters: Callable[..., Person]) -> None:
    builder = enters("builder", PHONE)
    page, fingers = builder.page, Fingers(builder.page)
    page.goto("/requests/1/")
    page.locator(".both .drawing:visible").scroll_into_view_if_needed()
    expect(page.get_by_role("button", name="Nearer", exact=True).first).to_be_visible()
    box = page.locator(".both .for-phone svg:visible").first.bounding_box()
    at = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 3)
    fingers.spread(at, (at[0] + 40, at[1]), (at[0] + 120, at[1]))
    [after] = fingers.seen()
    builder.press(page.locator(".sides label", has_text="Before"))
    [before] = fingers.seen()
    assert before["wide"] == pytest.approx(130, rel=0.05)
    assert (before["wide"], before["left"], before["scale"]) == pytest.approx(tuple(after.values()), abs=0.05)
