"""Forms: what was typed comes back whole or not at all, lengths are understood aloud, the drawing stays in sight."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.people import DESK, PHONE, Person, Size
from trusses.analysis.shapes.shapes import KINDS

MARK = {PHONE: "R8", DESK: "R3"}
"""Each size files on a mark of its own."""

NEW = "/jobs/1/trusses/new/"


@pytest.fixture
def designer_page(enters: Callable[..., Person]) -> Page:
    page = enters("designer", DESK).page
    page.goto(NEW)
    return page


@pytest.mark.parametrize("kind", [key for key in KINDS if key != "w"])
def test_a_new_truss_is_drawn_in_the_shape_that_is_chosen(designer_page: Page, kind: str) -> None:
    page = designer_page
    caption = page.locator("#drawn figcaption")
    expect(caption).to_have_text(re.compile("^W roof truss, 20'-0\" span"))
    page.get_by_label("Shape", exact=True).select_option(kind)
    label = KINDS[kind].label
    expect(caption).to_have_text(re.compile(f"^{re.escape(label[:1].upper() + label[1:])} .*20'-0\" span"))
    expect(page.locator("#drawn svg [data-member]").first).to_be_visible()
    # what is typed from here on is drawn in that shape too, and so it is when the page is loaded anew
    page.get_by_label("Title").fill("Over the porch")
    expect(caption).to_have_text("Over the porch")
    members = page.locator("#drawn svg g.m").count()
    page.reload()
    expect(page.get_by_label("Shape", exact=True)).to_have_value(kind)
    expect(caption).to_have_text("Over the porch")
    expect(page.locator("#drawn svg g.m")).to_have_count(members)


def test_the_drawing_stays_in_view_while_the_form_scrolls(enters: Callable[..., Person], size: Size) -> None:
    page = enters("designer", size).page
    page.goto(NEW)
    wind = page.get_by_label("Net wind down")
    wind.scroll_into_view_if_needed()
    wind.focus()
    expect(page.locator("#drawn svg")).to_be_in_viewport(ratio=0.95)
    expect(wind).to_be_in_viewport(ratio=1)
    covered = """field => { const box = field.getBoundingClientRect();
      return document.elementFromPoint(box.left + 5, box.top + box.height / 2) !== field; }"""
    assert not wind.evaluate(covered), "the drawing lies over the field that is typed into"


EMPTIED = """() => { document.getElementById("ask").reset();
  dispatchEvent(new PageTransitionEvent("pageshow", { persisted: true })); }"""
"""What Safari does to a page that it brings back whole from its memory, where a form has no autocomplete."""


def test_all_that_was_typed_comes_back_after_a_reload(enters: Callable[..., Person], size: Size) -> None:
    builder = enters("builder", size)
    page = builder.page
    builder.asks_about("R4")
    builder.press(page.get_by_role("button", name="14 × 8"))
    builder.waits_until_drawn(shape="rectangle", width="14")
    page.get_by_label("What goes through it").fill("a return")
    page.get_by_label("Why, in your own words").fill("Half a form helps nobody.")
    at = builder.centre
    for again in (page.reload, lambda: (page.goto("/jobs/1/"), page.go_back()), lambda: page.evaluate(EMPTIED)):
        again()
        expect(page.locator("#kept")).to_be_visible()
        builder.waits_until_drawn(shape="rectangle", width="14")
        builder.waits_until_drawn_at(at, within=0.1)
        expect(page.get_by_role("button", name="14 × 8")).to_have_attribute("aria-pressed", "true")
        expect(page.get_by_label("What goes through it")).to_have_value("a return")
        expect(page.get_by_label("Why, in your own words")).to_have_value("Half a form helps nobody.")
    page.goto(page.url)
    expect(page.get_by_label("Why, in your own words")).to_have_value("")
    builder.waits_until_drawn(shape="circle", diameter="8")


def test_back_after_sending_brings_nothing_and_files_nothing(enters: Callable[..., Person], size: Size) -> None:
    builder = enters("builder", size)
    page = builder.page
    reason = f"Once is enough, on the {size.name}."
    builder.asks_about(MARK[size])
    builder.press(page.get_by_role("button", name='5" round', exact=True))
    builder.waits_until_drawn(diameter="5")
    page.get_by_label("Why, in your own words").fill(reason)
    expect(page.get_by_label("Answer needed by")).not_to_have_value("")  # a day stands there already
    builder.press(page.get_by_role("button", name="Send the request"))
    page.wait_for_url("**/requests/*/")
    page.go_back()
    expect(page.get_by_label("Why, in your own words")).to_have_value("")
    builder.waits_until_drawn(diameter="8")
    expect(page.locator("main")).to_contain_text(f"You asked of {MARK[size]} already.")
    page.expected_status = 422
    builder.press(page.get_by_role("button", name="Send the request"))
    expect(page.locator("#troubles")).to_contain_text("Why, in your own words: Say in a sentence what it is for")
    expect(page.locator("#troubles")).to_be_focused()
    builder.press(page.locator("#troubles").get_by_role("link", name="Why, in your own words"))
    expect(page.get_by_label("Why, in your own words")).to_be_focused()
    page.goto("/jobs/1/requests/?state=all")
    expect(page.locator("a.row", has_text=reason)).to_have_count(1)


def test_a_number_without_a_mark_is_asked_about(enters: Callable[..., Person], size: Size) -> None:
    builder = enters("builder", size)
    page = builder.page
    builder.asks_about("R4")
    along = page.get_by_role("textbox", name="From there to its middle")
    said = page.locator("#id_along_error")
    along.fill("17")
    along.blur()
    expect(said).to_contain_text("17 could be 17' or 17\"")
    builder.press(said.get_by_role("button", name='17"'))
    expect(said).to_have_text(re.compile(r"^\s*= 1'-5\"\s*$"))
    expect(along).to_have_value('17"')
    along.fill("17'")
    along.blur()
    expect(said).to_have_text(re.compile(r"^\s*= 17'-0\"\s*$"))
    diameter = page.get_by_label("Diameter")
    diameter.fill("14 in.")
    diameter.blur()
    expect(page.locator("#id_diameter_error")).to_have_text(re.compile(r'^\s*= 14"\s*$'))


def test_what_is_typed_before_the_scripts_are_there_is_answered(enters: Callable[..., Person]) -> None:
    page = enters("builder", PHONE).page
    held: list[Route] = []
    waits = True
    page.route("**/*.js", lambda route: held.append(route) if waits else route.continue_())
    page.goto("/jobs/1/trusses/1/ask/", wait_until="commit")
    page.get_by_role("textbox", name="From there to its middle").fill("17")
    waits = False  # also for what the scripts ask for themselves
    for route in held:
        route.continue_()
    expect(page.locator("#id_along_error")).to_contain_text("17 could be 17' or 17\"")


def test_an_offer_says_which_way_and_height_can_be_held(enters: Callable[..., Person], size: Size) -> None:
    builder = enters("builder", size)
    page = builder.page
    page.goto("/demo/offer/")
    x, y = builder.centre
    offer = page.get_by_role("button", name=re.compile("^Move it .* and .* to where it fits$"))
    level = page.get_by_role("button", name=re.compile("^Keep its height: move it .* to the right$"))
    expect(offer).to_be_visible()
    builder.press(level)
    expect(builder.verdict).to_have_text("Fits as it is")
    moved = builder.centre
    assert moved[0] > x + 1
    assert abs(moved[1] - y) < 1 / 32


def test_the_fields_measure_as_the_drawing_does(enters: Callable[..., Person], size: Size) -> None:
    builder = enters("builder", size)
    page = builder.page
    builder.asks_about("R4")
    builder.press(page.get_by_role("button", name="14 × 8"))
    builder.waits_until_drawn(shape="rectangle", width="14")
    at = builder.centre
    for wall in ("the left wall", "the right wall"):
        face = page.get_by_label("Measured from")
        face.select_option(face.locator("option", has_text=wall).get_attribute("value"))
        along = page.get_by_role("textbox", name="From there to its near edge")
        up = page.get_by_role("textbox", name=re.compile("^Up from the bottom chord's top edge to its lower edge"))
        drawn = page.locator("#stage svg:visible .dim-opening .dim-text")
        for field in (along, up):
            length = r"\s".join(map(re.escape, field.input_value().split(" ")))  # on the drawing no line ends in it
            expect(drawn.filter(has_text=re.compile(f"^{length}$")).first).to_be_visible()
        builder.waits_until_drawn_at(at, within=0.1)


def test_no_field_is_left_to_the_browsers_memory() -> None:
    """What a browser remembers of fields by itself comes back in part."""
    templates = Path(__file__).resolve().parents[2] / "templates"
    for name in ("changes/ask.html", "changes/edit_option.html", "changes/_decide.html", "trusses/new_truss.html"):
        forms = re.findall(r'<form method="(?:post|get)"[^>]*>', (templates / name).read_text())
        assert all('autocomplete="off"' in form for form in forms), name


@pytest.mark.parametrize("path", ["/jobs/1/", "/jobs/1/trusses/1/ask/", "/jobs/1/requests/?state=all"])
def test_text_twice_as_large_scrolls_no_page_sideways(enters: Callable[..., Person], path: str) -> None:
    page = enters("builder", PHONE).page
    page.goto(path)
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    page.evaluate(_ON_THE_LAST_DAY)
    wide = page.evaluate(_WIDE, PHONE.width)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE.width, wide


_ON_THE_LAST_DAY = """() => document.querySelectorAll(".queued .days")
  .forEach((days) => { days.textContent = "today is the last day" })"""  # the longest that it can say
_WIDE = """(wide) => [...document.querySelectorAll("body *")]
  .filter((part) => part.getBoundingClientRect().right > wide)
  .map((part) => part.tagName + " " + part.textContent.trim().slice(0, 80))"""


_DRAFTS = """async (n) => {
  for (let k = 0; k < n; k += 1) {
    const who = document.body.dataset.whose, at = Date.now() - 60_000 * (n - k), path = `/jobs/1/drafted/${k}/`;
    const row = { key: `draft-${k}`, who, form: "x", path, title: `Drafted ${k}`, at, pairs: [["a", "b"]] };
    await outbox.put("drafts", { ...row, job: "Demo house", zone: "America/Denver" });
  }
  document.dispatchEvent(new Event("outbox-changed"));
}"""


def test_several_drafts_stand_under_one_line_that_opens(enters: Callable[..., Person], size: Size) -> None:
    """One draft stands as it is; of more the newest is named, and none is lost."""
    page = enters("builder", size).page
    page.goto("/jobs/1/")
    tray = page.locator("#waits")
    page.evaluate(_DRAFTS, 1)
    expect(tray.get_by_role("link", name="Go on with it: Drafted 0")).to_be_visible()
    page.evaluate(_DRAFTS, 7)
    line = tray.locator("summary")
    expect(line).to_have_text("typed, not sent 7 drafts; the newest: Drafted 6")
    links = tray.get_by_role("link", name=re.compile("^Go on with it: "))
    expect(links.locator("visible=true")).to_have_count(0)
    assert tray.evaluate("tray => tray.getBoundingClientRect().height") < 100
    line.click()
    expect(links.locator("visible=true")).to_have_count(7)
    tray.get_by_role("button", name="Throw it away: Drafted 3").click()
    tray.get_by_role("button", name="Yes, throw it away: Drafted 3").click()
    expect(line).to_contain_text("6 drafts")
    expect(links.locator("visible=true")).to_have_count(6)  # it stays open while one sorts them out


def test_what_was_recorded_is_said_where_the_page_opens(enters: Callable[..., Person]) -> None:
    """A record leads back to its place far down the page: what is said of it stands there, and not above the screen."""
    page = enters("builder", PHONE).page

    def said(route: Route) -> None:
        answer = route.fetch()
        main = '<main id="main" class="page" tabindex="-1">'
        told = f'{main}<ul class="messages" role="status"><li class="note good">Recorded, with your name.</li></ul>'
        route.fulfill(response=answer, body=answer.text().replace(main, told))

    page.route("**/jobs/1/trusses/1/", said)
    page.goto("/jobs/1/trusses/1/#copies")
    expect(page.get_by_text("Recorded, with your name.")).to_be_in_viewport()
    expect(page.locator("#copies > .messages")).to_be_visible()
