"""The sheet on paper, printed by Chromium and read back: pages get separated and must say which sheet they are of."""

from __future__ import annotations

import io
import re
import unicodedata
from collections.abc import Callable

from playwright.sync_api import Page
from pypdf import PdfReader

from tests.browser.people import DESK, Person


def printed(page: Page) -> list[str]:
    """The words of each page, whatever breaks their lines."""
    paper = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    return [" ".join(one.extract_text().split()) for one in paper.pages]


def sheet_of(person: Person, mark: str) -> None:
    page = person.page
    person.opens_mark(mark)
    page.get_by_role("link", name="its sheet").first.click()
    page.wait_for_url("**/revisions/0/")


def test_each_page_says_what_it_is_of_and_not_to_build_from_it(enters: Callable[..., Person]) -> None:
    lead = enters("site-lead", DESK)
    sheet_of(lead, "R4")
    code = lead.page.locator(".sheet-code").inner_text()
    pages = printed(lead.page)
    # a double W, the longest roof sheet of the demo
    assert 2 <= len(pages) <= 8
    for number, words in enumerate(pages, start=1):
        assert f"R4 revision 0 · code {code}" in words
        assert f"page {number} of {len(pages)}" in words
        assert "No. Do not build from this: no sealed drawing is attached." in words


def test_paper_holds_what_the_screen_folds_away(enters: Callable[..., Person]) -> None:
    lead = enters("site-lead", DESK)
    sheet_of(lead, "R4")
    page = lead.page
    words = squeezed("".join(printed(page)))
    assert all(squeezed(heading) in words for heading in page.locator(".sheet h2").all_text_contents())
    folded = page.locator("#joints td.n, #forces td.n, #places td.n").all_text_contents()
    assert len(folded) > 80
    assert [cell for cell in folded if squeezed(cell) not in words] == []
    asked = page.locator(".required .inline strong").all_text_contents()
    assert len(asked) == 12 + 6
    assert [one for one in asked if squeezed(one) not in words] == []


def squeezed(text: str) -> str:
    """Without spaces and ligatures, which a printed line has in places of its own."""
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))
