"""What a person does in a browser: signs in, drags with a thumb or a mouse, reads what the page says."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from playwright.sync_api import Locator, Page, expect

JOB_ZONE = ZoneInfo("America/Denver")
"""Where the demo's house stands: its days begin and end there."""

PASSWORD = "a password for the tests"
ANSWERED_WITHIN_MS = 40_000
"""From sending a request to its answer on the page. It takes a second or two on an idle machine."""


@dataclass(frozen=True)
class Size:
    name: str
    width: int
    height: int
    touch: bool


PHONE = Size("phone", 390, 844, touch=True)
DESK = Size("desk", 1440, 900, touch=False)

_CLIENT_OF_INCHES = """(svg, [x, y]) => {
  const { scale, x0, y0 } = svg.dataset;
  const at = new DOMPoint(Number(x0) + x * Number(scale), Number(y0) - y * Number(scale));
  const on = at.matrixTransform(svg.getScreenCTM());
  return [on.x, on.y];
}"""

_ALL_DRAWN_AT = """([x, y, within]) => [...document.querySelectorAll("#stage .opening.ask")].every((grip) =>
  Math.hypot(grip.dataset.centreX - x, grip.dataset.centreY - y) < within && !grip.hasAttribute("transform"))"""


class Person:
    """Somebody with a browser of one size."""

    def __init__(self, page: Page, size: Size):
        self.page, self.size = page, size

    def sign_in(self, username: str) -> None:
        self.page.goto("/sign-in/")
        self.press(self.page.locator(f'main form[action$="/demo/enter/{username}/"] button'))
        self.page.wait_for_url(lambda url: "/sign-in/" not in url)

    def becomes(self, username: str) -> None:
        """Switches in the demo's bar, which stands on every page."""
        self.press(self.page.locator(f'.demo-bar form[action$="/demo/enter/{username}/"] button'))
        expect(self.page.locator(".demo-bar button[aria-pressed=true]")).to_have_count(1)
        self.page.wait_for_load_state()

    def press(self, what: Locator) -> None:
        if self.size.touch:
            what.tap()
        else:
            what.click()

    def opens_mark(self, mark: str) -> None:
        self.page.goto("/")
        self.press(self.page.locator("a", has=self.page.locator(f'.mark:text-is("{mark}")')))
        expect(self.page.get_by_role("heading", level=1)).to_have_text(mark)

    def asks_about(self, mark: str) -> None:
        self.opens_mark(mark)
        self.press(self.page.get_by_role("link", name="Ask for a change"))
        self.press(self.page.get_by_role("link", name=re.compile("^An opening")))
        expect(self.page.get_by_role("heading", level=1)).to_contain_text(mark)

    @property
    def grip(self) -> Locator:
        """What of the opening can be dragged; the drawing is on the page twice, and one of the two is shown."""
        return self.page.locator("#stage :is(.for-desk, .for-phone) .opening.ask:visible")

    @property
    def centre(self) -> tuple[float, float]:
        """The centre of the opening on the drawing, inches."""
        data = self.grip.evaluate("grip => [Number(grip.dataset.centreX), Number(grip.dataset.centreY)]")
        return data[0], data[1]

    @property
    def verdict(self) -> Locator:
        """What the page says of the opening where it is now, in bold."""
        return self.page.locator("#answer strong")

    def on_screen(self, inches: tuple[float, float]) -> tuple[float, float]:
        svg = self.page.locator("#stage :is(.for-desk, .for-phone) svg:visible")
        x, y = svg.evaluate(_CLIENT_OF_INCHES, list(inches))
        return x, y

    def waits_until_drawn(self, **attributes: str) -> None:
        """Until the drawing that came from the server shows the opening so, say `diameter="14"`."""
        for name, value in attributes.items():
            expect(self.grip).to_have_attribute(f"data-{name}", value)

    def waits_until_drawn_at(self, inches: tuple[float, float], within: float = 1.5) -> None:
        self.page.wait_for_function(
            _ALL_DRAWN_AT,
            arg=[*inches, within],
        )

    @contextmanager
    def dragging(self, to: tuple[float, float]) -> Iterator[None]:
        """The opening held at `to`, inches, by a real mouse or finger; let go at the end."""
        self.grip.scroll_into_view_if_needed()
        start, end = self.on_screen(self.centre), self.on_screen(to)
        path = [(start[0] + (end[0] - start[0]) * k / 12, start[1] + (end[1] - start[1]) * k / 12) for k in range(13)]
        if self.size.touch:
            touch = self.page.context.new_cdp_session(self.page)

            def send(kind: str, points: list[dict[str, float]]) -> None:
                touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

            send("touchStart", [{"x": start[0], "y": start[1]}])
            for x, y in path:
                send("touchMove", [{"x": x, "y": y}])
            yield
            send("touchEnd", [])
        else:
            self.page.mouse.move(*start)
            self.page.mouse.down()
            for x, y in path:
                self.page.mouse.move(x, y)
            yield
            self.page.mouse.up()

    def types_reason(self, reason: str, *, in_days: int = 9) -> None:
        self.page.get_by_label("Why, in your own words").fill(reason)
        self.page.get_by_label("Answer needed by").fill(
            (datetime.now(JOB_ZONE) + timedelta(days=in_days)).date().isoformat()
        )

    def sends(self) -> str:
        """Sends the request and waits for its answer; the address of its page."""
        self.press(self.page.get_by_role("button", name="Send the request"))
        self.page.wait_for_url("**/requests/*/")
        self.waits_for_the_answer()
        return self.page.url

    def waits_for_the_answer(self) -> None:
        """On a request's page, which loads itself anew when the answer is there."""
        expect(self.state).to_have_text("awaiting decision", timeout=ANSWERED_WITHIN_MS)
        expect(self.page.locator("#progress")).to_have_count(0, timeout=ANSWERED_WITHIN_MS)

    def opens_folds(self) -> None:
        """What a phone folds of a request; on a desk it stands open."""
        closed = self.page.locator(".folds:not([open]) > summary:visible")
        while closed.count():
            self.press(closed.first)

    def opens_answered(self, address: str) -> None:
        """A page, once it no longer loads itself anew because an answer is on its way to it, whatever that says."""
        self.page.goto(address)
        expect(self.page.locator("#progress")).to_have_count(0, timeout=ANSWERED_WITHIN_MS)
        self.page.wait_for_load_state()

    @property
    def state(self) -> Locator:
        return self.page.locator("h1 + .tag")
