"""Each kind of ask on a phone, from the choice that comes first to the answer; a tap on the drawing says where."""

from __future__ import annotations

import io
import re

import pytest
from PIL import Image
from playwright.sync_api import expect

from tests.browser.people import ANSWERED_WITHIN_MS, PHONE, Person

CHOICE = {
    "load": "Something hung or set",
    "bearing": "A bearing",
    "passage": "Something between trusses",
    "damage": "Damage",
    "question": "A question",
}


def chooses(builder: Person, kind: str) -> None:
    builder.opens_mark("R1")
    builder.press(builder.page.get_by_role("link", name="Ask for a change"))
    expect(builder.page.get_by_role("heading", level=1)).to_have_text("What do you need?")
    builder.press(builder.page.get_by_role("link", name=re.compile(f"^{CHOICE[kind]}")))
    expect(builder.page.get_by_role("heading", level=1)).to_have_text(f"{CHOICE[kind]}: R1")


def taps(builder: Person, x: float, y: float) -> None:
    """A tap on the drawing at a place in inches, once the page has come to rest."""
    builder.page.wait_for_load_state("networkidle")
    svg = builder.page.locator("#stage .for-phone svg[data-scale]").first
    svg.scroll_into_view_if_needed()
    at = svg.evaluate(
        """(svg, [x, y]) => {
          const { scale, x0, y0 } = svg.dataset;
          const on = new DOMPoint(Number(x0) + x * scale, Number(y0) - y * scale).matrixTransform(svg.getScreenCTM());
          return [on.x, on.y];
        }""",
        [x, y],
    )
    builder.page.touchscreen.tap(*at)


def sends(builder: Person, why: str = "") -> None:
    page = builder.page
    if why:  # a question says it itself
        page.get_by_role("textbox", name=re.compile("Why, in your own words|What happened")).fill(why)
    builder.press(page.locator("#need .foot-actions button"))
    page.wait_for_url(re.compile(r"/requests/\d+/"))
    # the page that waits loads anew when the answer is there
    expect(page.locator(".tag").first).to_have_text("awaiting decision", timeout=ANSWERED_WITHIN_MS)


@pytest.fixture
def builder(enters):
    return enters("builder", PHONE)


def test_a_weight_is_tapped_and_answered_with_its_curve(builder):
    chooses(builder, "load")
    page = builder.page
    taps(builder, 144, 0)  # first, since what is read back of a field can move the drawing under the finger
    expect(page.get_by_label("To its middle")).to_have_value(re.compile(r"^1[12]' "))
    page.get_by_label("Weight in all, pounds").fill("90")
    page.get_by_label("To its middle").fill("10'")
    page.get_by_label("Which copies").fill("2-4")
    typed = [page.locator("#stage .for-phone .tapped"), page.locator("#stage .for-phone svg[data-scale]").first]
    expect(typed[0]).to_have_count(1)
    expect(page.locator("#typed")).to_have_attribute("data-spots", "[[120.0, 0.0]]")
    at, (scale, x0) = typed[0].get_attribute("cx"), typed[1].evaluate("({ dataset: d }) => [d.scale, d.x0]")
    assert float(at or 0) == pytest.approx(float(x0) + 120 * float(scale), abs=0.01)
    page.get_by_label("To its middle").fill("12' 0\"")
    expect(page.get_by_label("Length along the span")).to_be_hidden()
    builder.press(page.get_by_text("A stiff beam or platform across them"))
    sends(builder, "An air handler between the third and the fifth")
    builder.press(page.locator("summary", has_text="The largest weight at each place along the truss"))
    expect(page.locator(".most-curve:visible")).to_be_visible()
    expect(page.get_by_text("Each truss takes its 30 lb there as it is")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") == PHONE.width


@pytest.mark.parametrize("kind", CHOICE)
def test_a_form_has_the_screen_below_its_drawing(builder, kind):
    """What is only tapped doesn't stand before what is typed: at most a third of the screen is the drawing's."""
    chooses(builder, kind)
    page = builder.page
    page.locator("#need .foot-actions button").scroll_into_view_if_needed()
    page.wait_for_load_state("networkidle")
    lowest = page.locator("figure.stays").evaluate_all("all => all.map((one) => one.getBoundingClientRect().bottom)")
    assert page.evaluate("scrollY") > 100, "the form is longer than the screen"
    assert max(lowest, default=0) <= PHONE.height / 3


def test_a_wall_that_moves_is_told_of_in_between(builder):
    chooses(builder, "bearing")
    page = builder.page
    # chosen by a finger, just below the drawing, it stays under it
    choice = page.locator('[data-field="change"] label', has_text="The walls stand as measured")
    page.wait_for_load_state("networkidle")
    # the drawing that stays in sight is higher where others ask for something there too
    at = page.locator("figure.stays").evaluate("one => one.getBoundingClientRect().height") + 30
    choice.evaluate("(one, at) => scrollBy(0, one.getBoundingClientRect().top - at)", at)
    box = choice.bounding_box()
    page.touchscreen.tap(box["x"] + 40, box["y"] + box["height"] / 2)
    expect(page.get_by_label("To the middle of the new bearing")).to_be_hidden()
    page.wait_for_load_state("networkidle")
    assert choice.evaluate("one => one.getBoundingClientRect().top") == pytest.approx(at, abs=2)
    builder.press(page.get_by_text("A bearing moves"))
    builder.press(page.locator('[data-field="joint"] label').nth(1))
    page.get_by_label("To the middle of the new bearing").fill("35' 0\"")
    sends(builder, "The wall comes in by a foot")
    expect(page.get_by_text("while the old bearing is gone and no other stands")).to_be_visible()


def test_a_hatch_on_a_truss_shows_every_way(builder):
    chooses(builder, "passage")
    page = builder.page
    page.get_by_label("After copy").fill("3")
    page.get_by_label("From that truss to its middle").fill('0"')
    page.get_by_label("To its middle along the span").fill("18' 0\"")
    page.get_by_label("Widest gap").fill("4'")
    page.get_by_label("Width, across the row").fill('20"')
    sends(builder, "An attic hatch in the hall")
    builder.press(page.locator("summary", has_text="Each way side by side: "))
    for way in ("Shift trusses", "Leave one out", "Headers and tails", "Move the hatch"):
        expect(page.get_by_role("rowheader", name=way).first).to_be_visible()


def test_damage_says_at_once_what_to_do_and_shows_the_photo(builder):
    chooses(builder, "damage")
    page = builder.page
    expect(page.get_by_text("First: keep off, and out from under it.")).to_be_visible()
    page.get_by_label("Which copies").fill("5")
    taps(builder, 130, 20)
    page.locator("[name=how]").select_option("cut")
    assert page.get_by_label("Which piece").evaluate("one => one.selectedOptions[0].textContent").startswith("W")
    expect(page.locator("#id_at_helptext")).to_have_text(
        re.compile(r"^From its l\w+ end, .*: the square on the drawing\.$")
    )
    expect(page.locator("#stage .counts-from").locator("visible=true")).to_have_count(1)
    out = io.BytesIO()
    Image.new("RGB", (400, 300), (120, 90, 60)).save(out, "JPEG")
    page.get_by_label("Photos").set_input_files({"name": "web.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()})
    sends(builder, "The web arrived broken")
    expect(page.get_by_text("Keep off and out from under it").first).to_be_visible()
    expect(page.get_by_text("leave it lying").first).to_be_visible()
    assert page.locator(".photos img").evaluate("one => one.decode().then(() => one.naturalWidth)") == 400
    assert "passes" not in page.locator("main").inner_text().lower()


def test_a_question_becomes_another_ask(builder):
    chooses(builder, "question")
    page = builder.page
    page.get_by_label("Your question").fill("May I hang a swing from the ridge?")
    taps(builder, 216, 60)
    expect(page.get_by_label("Where: along the span")).to_have_value(re.compile(r"^1[78]' "))
    sends(builder)
    builder.press(page.get_by_role("link", name="Ask for it as something else"))
    builder.press(page.get_by_role("link", name=re.compile("^Something hung or set")))
    expect(page.get_by_label("Why, in your own words")).to_have_value("May I hang a swing from the ridge?")
