"""A request on a desk: before and after in sight, each mark lit for itself, every check one tap from its member."""

from __future__ import annotations

import re
from collections.abc import Callable

from playwright.sync_api import Locator, Page, expect

from tests.browser.people import DESK, PHONE, Person, Size

_FILE = """async ({asks, token}) => {
  const reply = await fetch("/api/v1/requests/", {method: "POST", body: JSON.stringify(
    {job: 1, reason: "One run through two marks.", needed_by: token, asks}),
    headers: {"Content-Type": "application/json",
      "X-CSRFToken": JSON.parse(document.body.getAttribute("hx-headers"))["X-CSRFToken"]}});
  return reply.json();
}"""


def _request_of_two_marks(builder: Person) -> str:
    """A request for an opening in each of two marks, where each form offers one; its address."""
    page, asks = builder.page, []
    for mark in ("R4", "R8"):
        builder.asks_about(mark)
        x, y = builder.centre
        opening = {"id": "O1", "shape": "circle", "centre_in": [x, y], "diameter_in": 6, "clearance_in": 0.5}
        asks.append(
            {
                "truss": int(page.locator("#stage").get_attribute("data-truss") or 0),
                "kind": "opening",
                "opening": opening,
            }
        )
    day = page.get_by_label("Answer needed by").input_value()
    told = page.evaluate(_FILE, {"asks": asks, "token": day})
    page.goto(f"/requests/{told['id']}/")
    builder.waits_for_the_answer()
    return page.url


def test_a_member_is_lit_in_its_own_mark_alone(enters: Callable[..., Person]) -> None:
    builder = enters("builder", DESK)
    address = _request_of_two_marks(builder)
    builder.becomes("designer")
    page = builder.page
    page.goto(address)
    sections = page.locator("section[data-truss]")
    expect(sections).to_have_count(2)
    for section in sections.all():  # the drawings of several marks come after the page
        expect(section.locator(".both .for-desk svg")).to_have_count(2)
    for folded in page.get_by_text("Forces before and after: alike in every member").all():
        folded.click()
    sections.nth(0).locator("tr[data-member=W1] th a").click()
    expect(sections.nth(0).locator(".both .for-desk svg .lit")).to_have_count(2)
    expect(sections.nth(1).locator("[data-member].lit")).to_have_count(0)
    sections.nth(1).locator("tr[data-member=W2] th a").click()
    expect(sections.nth(1).locator("tr[data-member].lit")).to_have_attribute("data-member", "W2")
    expect(sections.nth(0).locator("tr[data-member].lit")).to_have_attribute("data-member", "W1")
    # who prints before the drawings came, or with the forces folded, has them on paper all the same
    page.goto(address, wait_until="domcontentloaded")
    late = page.locator("[data-apart]").count()
    page.evaluate("() => dispatchEvent(new Event('beforeprint'))")
    assert (late >= 2, page.locator("[data-apart]").count()) == (True, 0)
    assert all(section.locator("details figure svg").count() >= 2 for section in sections.all())


def _to_decide(designer: Person) -> Page:
    designer.page.goto("/requests/5/")
    designer.waits_for_the_answer()
    return designer.page


def test_before_and_after_stay_in_sight_and_the_decision_is_one_press_away(enters: Callable[..., Person]) -> None:
    page = _to_decide(enters("designer", DESK))
    rows = page.locator("table[data-sortable] tbody tr")
    rows.last.scroll_into_view_if_needed()
    drawn = page.locator(".both .for-desk svg")
    expect(drawn).to_have_count(2)
    for svg in drawn.all():
        wood = svg.locator("g[data-member=T1]")
        expect(wood).to_be_in_viewport(ratio=0.9)
    expect(rows.last).to_be_in_viewport(ratio=0.95)  # a border's breadth may lie under the bar
    decide = page.get_by_role("link", name="Decide", exact=True)
    expect(decide).to_be_in_viewport(ratio=1)
    decide.click()
    head = page.locator("#decision").get_by_role("heading", name="Decide", exact=True)
    page.wait_for_function("head => Math.abs(head.getBoundingClientRect().top) < 160", arg=head.element_handle())
    expect(
        page.get_by_role("button", name="Issue", exact=False).or_(page.get_by_role("button", name="Approve")).first
    ).to_be_in_viewport()


def test_every_check_of_a_member_is_one_tap_away(enters: Callable[..., Person], size: Size) -> None:
    designer = enters("designer", size)
    page = _to_decide(designer)
    table = page.locator("table[data-sortable]")
    if size == PHONE:
        fold = page.locator("summary", has_text="Forces before and after: ")
        designer.press(fold)
    expect(page.locator(".folds:not([open])")).to_have_count(0 if size == DESK else page.locator(".folds").count() - 1)
    designer.press(table.locator("tr[data-member=T5] th a"))
    told = table.locator("tr.detail")
    expect(told).to_contain_text("Strength and stability: ")
    expect(told).to_contain_text("Slenderness, a limit of its own: ")
    numbers = told.locator("table", has=page.get_by_text(re.compile("^Compression and bending, NDS 3.9.2"))).first
    for letter in ("CD", "CP", "Cr", "CL", "le in plane", "FcE in plane", "fc", "fb", "Fc'", "Fb'"):
        row = numbers.locator("tr", has=page.locator(f'var:text-is("{letter}")'))
        expect(row.locator("td")).to_have_text([re.compile(r"\d")] * 2)
    expect(
        numbers.locator("tr", has_text="critical buckling stress in the truss's plane").locator("td").last
    ).to_contain_text(" psi")
    expect(table.locator("tr[data-member=T5]")).to_be_in_viewport()
    designer.press(table.locator("tr[data-member=T5] th a"))
    expect(told).to_have_count(0)

    # under dead load alone: its duration is 0.9 (NDS Table 2.3.2)
    page.get_by_role("combobox", name="Combination").select_option("D")
    expect(page.locator(".forces caption")).to_contain_text("Under D alone.")
    designer.press(table.locator("tr[data-member=T5] th a"))
    expect(told).to_contain_text("under D alone")
    durations = told.locator("tr", has=page.locator('var:text-is("CD")')).locator("td")
    assert set(durations.all_inner_texts()) == {"0.900"}
    # the same from the drawing
    if size == DESK:
        page.locator(".both .for-desk svg .label[data-for=W2]").first.click()
        expect(told).to_contain_text("W2, web, under D alone")


def test_a_members_checks_read_without_scripts(enters: Callable[..., Person]) -> None:
    page = _to_decide(enters("designer", PHONE))
    address = page.locator("tr[data-member=T5] th a").get_attribute("href")
    assert address is not None
    page.goto(address)
    expect(page.get_by_role("heading", level=1)).to_have_text("What governs T1.5 of F1")
    expect(page.locator("main")).to_contain_text("effective length in the truss's plane")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE.width


def test_the_editors_drawing_names_every_joint_of_its_form(enters: Callable[..., Person]) -> None:
    page = _to_decide(enters("designer", DESK))
    page.get_by_role("link", name="Edit").first.click()
    joints = page.locator("table", has=page.get_by_text("Joints, from the truss's own origin")).locator("tbody th")
    expect(joints.first).to_be_visible()
    expect(page.locator("#picture svg:visible").first).to_be_visible()
    names = joints.all_inner_texts()
    assert len(names) > 15
    drawn = page.locator("#picture svg:visible .joint-name-text").all_text_contents()
    assert sorted(names) == sorted(drawn)


def test_before_and_after_are_whole_where_they_stand_and_a_strip_of_both_stays(enters: Callable[..., Person]) -> None:
    page = _to_decide(enters("designer", DESK))
    drawings = page.locator(".both .drawing")
    expect(drawings).to_have_count(2)
    hidden = "one => [one.scrollHeight - one.clientHeight, one.scrollTop]"
    assert [one.evaluate(hidden) for one in drawings.all()] == [[0, 0]] * 2
    for one in drawings.all():
        named = one.locator(".for-desk svg text", has_text=re.compile("^O1")).first
        assert named.evaluate(
            "(name) => name.getBoundingClientRect().top >= name.closest('.drawing').getBoundingClientRect().top"
        )
    tall = page.evaluate("document.documentElement.scrollHeight")
    page.locator("table[data-sortable] tbody tr").last.scroll_into_view_if_needed()
    expect(page.locator(".both.aligned")).to_have_count(1)
    # nothing below moves when the drawings give way
    assert page.evaluate("document.documentElement.scrollHeight") == tall
    # a wheel that turns over the strip turns the page
    strip = drawings.last.evaluate("one => one.scrollTop")
    assert _turned(page, page.locator(".both.aligned .drawing").last, -400) < 0
    assert drawings.last.evaluate("one => one.scrollTop") == strip
    page.evaluate("scrollTo(0, 0)")
    expect(page.locator(".both.aligned")).to_have_count(0)
    assert [one.evaluate(hidden) for one in drawings.all()] == [[0, 0]] * 2
    # and over a plan, once that is at its end
    page.goto("/jobs/1/plan/")
    plan = page.locator(".plan-sheet").first
    plan.evaluate("one => one.scrollTop = one.scrollHeight")
    assert _turned(page, plan, 600) > 0


def _turned(page: Page, over: Locator, by_px: int) -> int:
    """By how much the page scrolls when the wheel turns over something, pixels."""
    over.hover()
    was = page.evaluate("scrollY")
    page.mouse.wheel(0, by_px)
    page.wait_for_function("was => scrollY !== was", arg=was, timeout=5_000)
    return int(page.evaluate("scrollY")) - int(was)


_ON_TOP = """(grip) => {
  const { left, top, width, height } = grip.getBoundingClientRect();
  return document.elementFromPoint(left + width / 2, top + height / 2).closest(".opening.ask") === grip;
}"""
"""Whether a thumb in the middle of the opening holds it, and no line or name that lies over it."""


def test_a_phones_ask_is_drawing_and_answer_and_leaves_room_to_type(enters: Callable[..., Person]) -> None:
    builder = enters("builder", PHONE)
    page = builder.page
    for mark in ("R4", "R2", "R6"):  # however high the drawing is, the wood and the answer are in sight at once
        builder.asks_about(mark)
        page.evaluate("scrollTo(0, 0)")
        expect(builder.verdict).to_be_in_viewport(ratio=1)
        wood = page.locator("#stage .for-phone .members:visible").first.evaluate(
            "one => one.getBoundingClientRect().bottom"
        )
        assert builder.grip.evaluate(_ON_TOP), mark
        assert wood < page.locator("#answer").evaluate("one => one.getBoundingClientRect().top"), mark
    up = page.locator("#id_up")
    up.focus()
    up.scroll_into_view_if_needed()
    expect(up).to_be_in_viewport(ratio=1)
    expect(builder.verdict).to_be_in_viewport(ratio=1)
    expect(page.locator("#stage .enlarged:visible")).to_be_in_viewport(ratio=0.9)
    # what stays in sight leaves half of the screen to what is typed
    bottom = page.locator("#picture").evaluate("one => one.getBoundingClientRect().bottom")
    assert bottom <= PHONE.height / 2


def test_a_phone_folds_each_mark_of_several_under_its_answer(enters: Callable[..., Person]) -> None:
    """What is answered of each stands on its fold; the link from the top opens it, its drawings in it."""
    builder = enters("builder", PHONE)
    address = _request_of_two_marks(builder)
    page = builder.page
    folds = page.locator("details.of-mark")
    expect(folds).to_have_count(2)
    for fold, says in zip(folds.all(), page.locator("#in-short > span").all(), strict=True):
        expect(fold).not_to_have_attribute("open", "")
        expect(fold.locator("> summary")).to_contain_text(says.inner_text())
    assert page.evaluate("document.documentElement.scrollHeight") < 3 * PHONE.height
    builder.becomes("designer")
    page.goto(address)
    assert page.evaluate("document.documentElement.scrollHeight") < 5 * PHONE.height
    second = page.locator("#in-short a").nth(1)
    builder.press(second)
    expect(folds.nth(1)).to_have_attribute("open", "")
    drawing = folds.nth(1).locator(".both .for-phone svg:visible").first
    expect(drawing).to_be_visible()
    expect(folds.nth(0)).not_to_have_attribute("open", "")


def test_what_is_typed_below_the_drawings_stays_under_the_eyes(enters: Callable[..., Person]) -> None:
    page = enters("designer", DESK).page
    page.goto("/requests/2/#decision")
    expect(page.locator(".both.pins")).to_have_count(1)
    reason = page.locator("#decision textarea")
    for above in (0, 150):  # at the top, and where the last drawing has just left
        page.evaluate("up => scrollBy(0, -up)", above)
        at = reason.bounding_box() or {}
        page.mouse.click(at["x"] + 40, at["y"] + 20)
        page.keyboard.type("No", delay=60)
        page.wait_for_timeout(200)
        assert reason.bounding_box() == at
    expect(reason).to_have_value("NoNo")
