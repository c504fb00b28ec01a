"""Other ways through the pages: by keyboard, twice, withdrawn, sent back, from outside."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.people import DESK, PHONE, Person, Size
from tests.browser.worker import Worker

# Each size has marks of its own, so that a request of one is never a repeat of the other's.
MARK = {PHONE: "R6", DESK: "R7"}
SENT_BACK = "R5"
UNTOUCHED = "R4"
"""Nobody's request changes it, so its webs stand where the demo puts them."""


def test_progress_shows_while_the_worker_computes(enters: Callable[..., Person], size: Size, worker: Worker) -> None:
    builder = enters("builder", size)
    page = builder.page
    builder.asks_about(MARK[size])
    builder.types_reason(f"A dryer vent, asked on the {size.name}.")
    with worker.held():
        builder.press(page.get_by_role("button", name="Send the request"))
        page.wait_for_url("**/requests/*/")
        waiting = page.locator("#progress")
        expect(waiting).to_contain_text("In line for the computation")
        with page.expect_response("**/progress/") as polled:
            pass
        assert polled.value.status == 200
        expect(waiting).to_be_visible()
    builder.waits_for_the_answer()
    expect(page.get_by_text("Fits as it is; not decided yet", exact=True)).to_be_visible()

    builder.press(page.get_by_role("link", name="Withdraw the request"))
    builder.press(page.get_by_role("button", name="Withdraw it"))
    expect(builder.state).to_have_text("withdrawn")
    expect(page.locator(".messages")).to_contain_text("Nothing changes on the truss")
    expect(page.locator(".story")).to_contain_text("Withdrawn")
    expect(page.get_by_role("link", name="Withdraw the request")).to_have_count(0)


def test_a_request_is_sent_back_and_answered(enters: Callable[..., Person]) -> None:
    builder = enters("builder", PHONE)
    page = builder.page
    reason = "A plumbing vent, asked on the phone."
    builder.asks_about(SENT_BACK)
    builder.types_reason(reason)
    builder.sends()
    request = page.url

    builder.becomes("designer")
    page.goto(request)
    question = "Does the vent have to be <b>here</b>, or may it move a bay?"
    page.get_by_label("Reason, or the question").fill(question)
    builder.press(page.get_by_role("button", name="Send back with the question"))
    expect(builder.state).to_have_text("sent back")

    builder.becomes("builder")
    page.goto(request)
    expect(page.get_by_label("Decision")).to_contain_text(question)
    page.get_by_label("Your answer").fill("It may not; the stack stands below.")
    builder.press(page.get_by_role("button", name="Answer and file again"))
    builder.waits_for_the_answer()
    story = page.locator(".story")
    for words in ("Sent back with a question", question, "Answered", "the stack stands below"):
        expect(story).to_contain_text(words)


def test_arrow_keys_move_the_opening(enters: Callable[..., Person]) -> None:
    builder = enters("builder", DESK)
    page = builder.page
    builder.asks_about(UNTOUCHED)
    x, y = builder.centre
    builder.grip.focus()
    for key in ("ArrowRight", "ArrowRight", "ArrowUp", "Shift+ArrowLeft", "Shift+ArrowDown"):
        page.keyboard.press(key)
    builder.waits_until_drawn_at((x + 1.75, y + 0.75), within=0.13)
    expect(builder.grip).to_be_focused()
    for _ in range(36):
        page.keyboard.press("ArrowRight")
    expect(builder.verdict).to_have_text("Touches W5")
    expect(page.locator("#spoken")).to_contain_text("Touches W5")


def test_a_finger_drags_straight_up_and_the_page_stays(enters: Callable[..., Person]) -> None:
    builder = enters("builder", PHONE)
    builder.asks_about(UNTOUCHED)
    x, y = builder.centre
    scrolled = builder.page.evaluate("scrollY")
    with builder.dragging((x, y + 70)):
        expect(builder.verdict).to_have_text("Touches W4, W5")
    builder.waits_until_drawn_at((x, y + 70))
    with builder.dragging((x, y - 14)):
        expect(builder.verdict).to_have_text("Not possible here")
        expect(builder.page.locator("#answer-says")).to_contain_text("A chord is never cut")
    builder.waits_until_drawn_at((x, y - 14))
    assert builder.page.evaluate("scrollY") == scrolled


def test_a_finger_beside_the_opening_scrolls_the_page(enters: Callable[..., Person]) -> None:
    builder = enters("builder", PHONE)
    builder.asks_about(UNTOUCHED)
    x, y = builder.centre
    start = builder.on_screen((x - 140, y))
    touch = builder.page.context.new_cdp_session(builder.page)
    send = lambda kind, points: touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})  # noqa: E731
    send("touchStart", [{"x": start[0], "y": start[1]}])
    for k in range(1, 9):
        send("touchMove", [{"x": start[0], "y": start[1] - 20 * k}])
    send("touchEnd", [])
    builder.page.wait_for_function("() => scrollY > 50")
    assert builder.centre == (x, y)


def test_a_double_click_sends_once(enters: Callable[..., Person]) -> None:
    builder = enters("builder", DESK)
    page = builder.page
    reason = "Sent with a double click."
    builder.asks_about("R3")
    builder.types_reason(reason)
    page.get_by_role("button", name="Send the request").dblclick()
    page.wait_for_url("**/requests/*/")
    builder.waits_for_the_answer()
    page.goto("/jobs/1/requests/?state=all")
    expect(page.locator("a.row", has_text=reason)).to_have_count(1)


def test_typed_places_and_sizes_answer_as_well(enters: Callable[..., Person], size: Size) -> None:
    builder = enters("builder", size)
    page = builder.page
    builder.asks_about(UNTOUCHED)
    builder.press(page.get_by_role("button", name="24 × 12"))
    builder.waits_until_drawn(shape="rectangle", width="24", height="12")
    along = page.get_by_role("textbox", name="From there to its near edge")
    along.fill("12' 13\"")
    along.blur()
    expect(builder.verdict).to_have_text("Can't tell yet")
    expect(page.locator("#answer")).to_contain_text("12' 13\"")
    # from the wall's inside face, 1 3/4 in. from the joint, to the near edge of a duct 24 in. wide
    along.fill("18-10")
    along.blur()
    builder.waits_until_drawn_at((1.75 + 226 + 12, builder.centre[1]), within=0.1)
    expect(builder.verdict).to_have_text("Fits as it is")


@pytest.mark.parametrize("path", ["/jobs/1/", "/jobs/1/trusses/1/", "/jobs/1/trusses/1/ask/", "/requests/1/"])
def test_an_outsider_finds_nothing(enters: Callable[..., Person], path: str) -> None:
    outsider = enters("outsider", PHONE)
    page: Page = outsider.page
    page.expected_status = 404
    answer = page.goto(path)
    assert answer is not None
    assert answer.status == 404
    expect(page.get_by_role("heading", level=1)).to_have_text("There is nothing here")
    expect(page.locator("main")).not_to_contain_text(re.compile("R1|Builder"))


def test_who_may_not_ask_is_not_offered_it(enters: Callable[..., Person], size: Size) -> None:
    lead = enters("site-lead", size)
    lead.opens_mark("R1")
    expect(lead.page.get_by_role("link", name="Ask for a change")).to_have_count(0)


def test_a_word_without_end_breaks_on_a_phone(enters: Callable[..., Person]) -> None:
    builder = enters("builder", PHONE)
    page = builder.page
    builder.asks_about(UNTOUCHED)
    builder.types_reason("x" * 200)
    builder.sends()
    page.goto("/jobs/1/requests/?state=all")
    expect(page.locator("main")).to_contain_text("xxxxxxxx")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE.width
    page.go_back()
    builder.press(page.get_by_role("link", name="Withdraw the request"))
    builder.press(page.get_by_role("button", name="Withdraw it"))


def test_the_lines_of_a_small_plan_are_no_thinner_on_a_phone(enters: Callable[..., Person]) -> None:
    page = enters("site-lead", PHONE).page
    page.goto("/jobs/1/trusses/12/")
    lines = page.locator(".plan-drawing line")
    assert lines.count() > 40
    thinnest = lines.evaluate_all(
        """all => Math.min(...all.map((one) => {
             const { strokeWidth, vectorEffect } = getComputedStyle(one);
             return parseFloat(strokeWidth) * (vectorEffect === "non-scaling-stroke" ? 1 : one.getScreenCTM().a);
           }))"""
    )
    assert thinnest >= 0.7
