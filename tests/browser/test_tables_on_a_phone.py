"""The designer's tables on a phone: each row a stack of named figures, none read by moving it sideways."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import Page, expect

from tests.browser.people import DESK, PHONE, Person

SIDEWAYS = """() => [...document.querySelectorAll(".table-wrap")]
  .filter(wrap => wrap.scrollWidth > wrap.clientWidth + 1).map(wrap => wrap.getAttribute("aria-label"))"""

SMALL = """() => [...document.querySelectorAll("main :is(input, select, textarea)")]
  .filter(field => field.getClientRects().length && !/^(checkbox|radio|range)$/.test(field.type))
  .filter(field => parseFloat(getComputedStyle(field).fontSize) < 16).map(field => field.name)"""
"""Fields that iOS brings the page nearer to when one types into them, and leaves it there."""


def sideways(page: Page) -> list[str]:
    """The tables that have to be moved sideways to be read, those that are folded away too."""
    page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    found: list[str] = page.evaluate(SIDEWAYS)
    return found


def test_no_table_of_a_request_moves_sideways(enters: Callable[..., Person]) -> None:
    page = enters("designer", PHONE).page
    page.goto("/requests/1/")
    assert page.locator(".table-wrap").count() >= 4
    assert sideways(page) == []
    row = page.locator("[data-sortable] tbody tr").first
    named = row.locator("td[data-label]")
    assert named.count() == 9
    before = named.nth(2).evaluate("cell => getComputedStyle(cell, '::before').content")
    assert before == '"Force before"'


def test_no_table_of_the_editor_moves_sideways(enters: Callable[..., Person]) -> None:
    page = enters("designer", PHONE).page
    edits = page.locator("table.options a[href$='/edit/']")
    for pk in range(1, 6):
        page.goto(f"/requests/{pk}/")
        if edits.count():
            break
    page.goto(str(edits.first.get_attribute("href")))
    assert page.locator("table.edited").count() == 3
    assert sideways(page) == []
    assert page.evaluate(SMALL) == []
    # what is refused is marked while one types, until it is mended, and its sentence leads there
    plies = page.get_by_role("textbox", name="Plies")
    plies.fill("9")
    plies.blur()
    expect(plies).to_have_attribute("aria-invalid", "true")
    page.locator("#picture").get_by_role("link", name="Plies: a whole number").tap()
    expect(plies).to_be_focused()
    expect(plies).to_be_in_viewport(ratio=1)
    plies.fill("1")
    plies.blur()
    expect(plies).not_to_have_attribute("aria-invalid", "true")


def test_no_table_of_a_sheet_moves_sideways(enters: Callable[..., Person]) -> None:
    person = enters("designer", PHONE)
    person.opens_mark("R4")
    person.page.get_by_role("link", name="its sheet").first.click()
    person.page.wait_for_url("**/revisions/0/")
    assert person.page.locator(".table-wrap").count() >= 6
    assert sideways(person.page) == []


UNDER = """() => [...document.querySelectorAll('td[data-label="under"]')].map((cell) => {
  const box = cell.getBoundingClientRect(), of = cell.previousElementSibling.getBoundingClientRect();
  return [Math.abs(box.top - of.top), box.left >= of.right];
})"""
"""Of each combination how far it stands off the line of the figure before it, pixels, and whether to its right."""


def test_the_combination_stands_beside_the_figure_that_it_governs(enters: Callable[..., Person]) -> None:
    person = enters("designer", PHONE)
    person.opens_mark("R4")
    person.page.get_by_role("link", name="its sheet").first.click()
    person.page.wait_for_url("**/revisions/0/")
    person.page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    beside = person.page.evaluate(UNDER)
    assert len(beside) > 100
    assert [one for one in beside if one[0] > 1 or not one[1]] == []


def test_a_desk_has_columns_with_heads(enters: Callable[..., Person]) -> None:
    page = enters("designer", DESK).page
    page.goto("/requests/5/")
    assert page.locator("[data-sortable] thead").is_visible()
    cell = page.locator("[data-sortable] tbody td[data-label]").first
    assert cell.evaluate("cell => getComputedStyle(cell, '::before').content") == "none"
