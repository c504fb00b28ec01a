"""A run drawn by thumb on a phone, from the plan to the answer."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.people import ANSWERED_WITHIN_MS, PHONE, Person


def taps(builder: Person, x: float, y: float) -> None:
    """A tap on the plan at a place in plan inches, panned to under the thumb."""
    at = builder.page.evaluate(
        """([x, y]) => {
          const svg = document.querySelector("svg.plan"), sheet = svg.closest(".plan-sheet");
          const { scale, left, low } = svg.dataset, tall = svg.viewBox.baseVal.height;
          const px = 82 + (x - left) * scale, py = tall - 82 - (y - low) * scale;
          sheet.scrollIntoView({ block: "center" });
          sheet.scrollTo(px - sheet.clientWidth / 2, py - sheet.clientHeight / 2);
          const on = new DOMPoint(px, py).matrixTransform(svg.getScreenCTM());
          return [on.x, on.y];
        }""",
        [x, y],
    )
    builder.page.touchscreen.tap(*at)


@pytest.fixture
def builder(enters):
    return enters("builder", PHONE)


def test_a_run_is_drawn_by_thumb_answered_and_decided_as_one(builder):
    page = builder.page
    builder.press(page.get_by_role("navigation", name="Main").get_by_role("link", name="Plan"))
    expect(page.get_by_role("heading", level=1)).to_have_text("Roof, in plan")
    builder.press(page.get_by_role("link", name="Draw a run"))
    pressed = page.locator("#sizes [aria-pressed=true]")
    builder.press(page.get_by_role("button", name='3" drain', exact=True))
    expect(pressed).to_have_text('3" drain')
    builder.press(page.get_by_role("button", name='8" round', exact=True))
    expect(pressed).to_have_text('8" round')
    expect(page.get_by_label("What it is")).to_have_value("")  # no drain any more, and level again
    expect(page.get_by_label("Falls, for each foot")).to_have_value('0"')
    page.get_by_label("Diameter").fill("0' 9\"")
    expect(pressed).to_have_text('9" round')
    page.get_by_label("Diameter").fill('8"')
    more = "row => getComputedStyle(row, '::after').content"
    row = page.get_by_role("group", name="Trunks, width by height")
    assert "›" in row.evaluate(more)  # a row that goes on says so, until its end
    row.evaluate("row => row.scrollTo(row.scrollWidth, 0)")
    expect(row).to_have_attribute("data-more", "before")
    assert "›" not in row.evaluate(more)
    page.get_by_label("Its middle, at the first point").fill("3' 8\"")
    expect(page.get_by_label("Width", exact=True)).to_be_hidden()
    expect(page.get_by_label("Diameter")).to_have_value('8"')
    # typed, it comes in sight; a corner that stands in a truss is moved out of it by one tap
    page.get_by_label("Its line on the plan").fill("1', 11' 6\"\n46' 1\", 11' 6\"\n46' 1\", 20'")
    page.get_by_label("Its line on the plan").blur()
    expect(page.locator("#run-answer .note")).to_contain_text("Corner 2 stands in")
    point = page.locator("svg.plan .tapped-point").last
    # there is none for a moment, while the plan is drawn anew
    drawn = next(box for box in (point.bounding_box() for _ in range(50)) if box)
    assert 0 < drawn["x"] < PHONE.width
    builder.press(page.get_by_role("button", name=re.compile("^Move corner ")).first)
    expect(page.get_by_role("button", name=re.compile("^Move corner "))).to_have_count(0)
    assert not page.get_by_label("Its line on the plan").input_value().split("\n")[1].startswith("46' 1\"")
    for _ in range(3):
        builder.press(page.get_by_role("button", name="Take back the last point"))
    # a tap draws from the start, and opens no truss
    taps(builder, 276, 132)
    expect(page.get_by_label("Its line on the plan")).to_have_value(re.compile(r"^23' 0\", \d+' [\d /]+\"$"))
    taps(builder, 492, 133)
    # a leg that is nearly along x is along it, and a bay draws its end to the middle
    first, second = page.get_by_label("Its line on the plan").input_value().split("\n")
    assert first.split(", ")[1] == second.split(", ")[1]
    assert second.startswith("41' 0\"")
    expect(page.locator("#run-answer .note strong")).to_have_text('8" round: fits through all 9 trusses as they are')
    page.get_by_label("Its middle, at the first point").scroll_into_view_if_needed()
    expect(page.locator("#run-line")).to_be_in_viewport()
    expect(page.locator("#run-line b")).to_have_text('8" round: fits through all 9 trusses as they are')
    # R1-12, then R3-1 to R3-4 and R2-1 to R2-4, each met alike
    expect(page.locator(".crossings .letter")).to_have_text(list("ABEFI"))
    expect(page.locator("#over .sign")).to_have_count(9)
    asked = ["R1, copy 12", "R3, copies 1 to 4", "R2, copies 1 to 4"]
    expect(page.locator("#run-asked b")).to_have_text(asked)
    assert page.evaluate("document.documentElement.scrollWidth") == PHONE.width
    page.get_by_label("What it is").fill("return")
    page.get_by_label("Why, in your own words").fill("The return for the bedrooms")
    builder.press(page.get_by_role("button", name="Send the request"))
    page.wait_for_url(re.compile(r"/requests/\d+/"))
    expect(page.locator(".tag").first).to_have_text("awaiting decision", timeout=ANSWERED_WITHIN_MS)
    expect(page.get_by_role("heading", name="The run on the plan")).to_be_visible()
    expect(page.locator("svg.plan .sign")).to_have_count(9)
    asked = page.get_by_text(re.compile("Asked at F–"))
    expect(asked).to_be_hidden()  # each mark is folded under its answer
    page.locator("details.of-mark", has=asked).locator("> summary").tap()
    expect(asked).to_be_visible()
    _is_decided_as_one(builder, page.url)


def _is_decided_as_one(person: Person, request: str) -> None:
    """Three marks by one decision: of two some copies become variants, of one all are revised."""
    page = person.page
    person.becomes("designer")
    page.goto(request)
    decision = page.locator("#decision")
    expect(decision).to_contain_text("What it makes")
    decision.get_by_label("Reason").fill("Clear of all webs.")
    person.press(decision.get_by_role("button", name="Issue these revisions"))
    # three marks are analysed and split by it, beside a whole suite of tests
    expect(page.locator(".tag").first).to_have_text("revision issued, not sealed", timeout=ANSWERED_WITHIN_MS)
    issued = page.get_by_label("Decision").get_by_role("link")
    expect(issued).to_have_count(3)
    told = sorted(issued.all_inner_texts())
    assert [one.split()[0] for one in told] == ["R1-b", "R2-b", "R3"]
    assert [one.split()[2] for one in told[:2]] == ["0", "0"]
    page.goto("/jobs/1/plan/?level=Roof")
    expect(page.locator("svg.plan .run title", has_text="return: 8")).to_have_count(1)
    for mark, copy in (("R1", 11), ("R1-b", 12), ("R2-b", 4), ("R2", 5), ("R3", 1)):
        expect(page.locator(f'svg.plan a.copy[aria-label^="{mark}-{copy},"]')).to_have_count(1)


def test_a_wall_is_tapped_by_its_designer(enters):
    designer = enters("designer", PHONE)
    page = designer.page
    page.goto("/jobs/1/plan/?level=Roof&edit=wall-new#draw")
    page.get_by_label("Wall, header or beam").fill("closet wall")
    designer.press(page.get_by_role("button", name="Tap it on the plan"))
    taps(designer, 300, 300)
    taps(designer, 420, 303)
    designer.press(page.get_by_role("button", name="Take back the last point"))
    taps(designer, 420, 303)
    designer.press(page.get_by_role("button", name="The wall is there"))
    expect(page.get_by_role("status")).to_have_text("The wall is drawn.")
    expect(page.locator("svg.plan .wall title", has_text="closet wall")).to_have_count(1)
    page.goto("/jobs/1/plan/?level=Roof")
    page.locator("#draw").get_by_role("link", name="closet wall").click()
    designer.press(page.get_by_role("button", name="Take it down"))
    expect(page.get_by_role("status")).to_have_text("closet wall is gone.")
