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


def test_a_run_is_drawn_by_thumb_and_answered(builder):
    page = builder.page
    builder.press(page.get_by_role("navigation", name="Main").get_by_role("link", name="Plan"))
    expect(page.get_by_role("heading", level=1)).to_have_text("Roof, in plan")
    builder.press(page.get_by_role("link", name="Draw a run"))
    builder.press(page.get_by_role("button", name='8" round', exact=True))
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
    builder.press(page.get_by_role("button", name=re.compile("^Move it ")).first)
    expect(page.get_by_role("button", name=re.compile("^Move it "))).to_have_count(0)
    assert not page.get_by_label("Its line on the plan").input_value().split("\n")[1].startswith("46' 1\"")
    for _ in range(3):
        builder.press(page.get_by_role("button", name="Take back the last point"))
    builder.press(page.get_by_role("button", name="Tap it on the plan"))
    taps(builder, 12, 138)
    expect(page.get_by_label("Its line on the plan")).to_have_value(re.compile(r"^1' 0\", \d+' [\d /]+\"$"))
    taps(builder, 204, 139)
    # a leg that is nearly along x is along it, and a bay draws its end to the middle
    first, second = page.get_by_label("Its line on the plan").input_value().split("\n")
    assert first.split(", ")[1] == second.split(", ")[1]
    assert second.startswith("17' 0\"")
    expect(page.locator("#run-answer .note strong")).to_have_text(re.compile("8 trusses"))
    expect(page.locator(".crossings .letter")).to_have_text(["A", "H"])  # R1-1 to R1-8, all met alike
    expect(page.locator("#over .sign")).to_have_count(8)
    expect(page.locator("#run-asked li")).to_contain_text(re.compile(r"^R1, copies 1 to 8.*at A to H\."))
    assert page.evaluate("document.documentElement.scrollWidth") == PHONE.width
    page.get_by_label("What it is").fill("return")
    page.get_by_label("Why, in your own words").fill("The return for the bedrooms")
    builder.press(page.get_by_role("button", name="Send the request"))
    page.wait_for_url(re.compile(r"/requests/\d+/"))
    expect(page.locator(".tag").first).to_have_text("awaiting decision", timeout=ANSWERED_WITHIN_MS)
    expect(page.get_by_role("heading", name="The run on the plan")).to_be_visible()
    expect(page.locator("svg.plan .sign")).to_have_count(8)
    expect(page.get_by_text(re.compile("Asked at A, B, C, D, E, F, G, H"))).to_be_visible()


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
