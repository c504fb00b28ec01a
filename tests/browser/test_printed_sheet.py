"""Pages on paper, printed by Chromium and read back: sheets get separated, copied without colour and read from afar."""

from __future__ import annotations

import math
import re
import subprocess
import sys
import unicodedata
from collections.abc import Callable

import psutil
import pytest
import zxingcpp
from django.template.loader import render_to_string
from playwright.sync_api import Page, Route

from tests.browser.paper import MM, Letter, image, laid_over_one_another, letters, printed
from tests.browser.people import DESK, PHONE, Person
from tests.prepared_demo import ROOT
from trusses.plan.on_walls import Under

SIX_FEET_MM = 1829
LEAST_ARC_MINUTES = 20
"""What a letter of 20/20 sight spans is 5; four times that is read at a glance by most."""
PAPER_PX = 710
"""What A4 is wide between its margins, CSS pixels."""
LEAST_LETTER_MM = 1.8
"""ISO 3098-1: the least nominal size, the height of capitals."""


def words(page: Page) -> list[str]:
    """The words of each page, whatever breaks their lines."""
    paper = printed(page)
    return [" ".join(one.get_textpage().get_text_bounded().split()) for one in paper]


def sheet_of(person: Person, mark: str) -> None:
    page = person.page
    person.opens_mark(mark)
    page.get_by_role("link", name="its sheet").first.click()
    page.wait_for_url("**/revisions/0/")


def every_sheet(page: Page) -> list[str]:
    """The addresses of the demo's current sheets and of those that they superseded."""
    page.goto("/")
    page.get_by_role("link", name="Sheets").first.click()
    page.wait_for_url("**/sheets/")
    current = page.locator("a.set-row").evaluate_all("links => links.map((link) => link.getAttribute('href'))")
    found = []
    for address in current:
        start, number = re.fullmatch(r"(.*/revisions/)(\d+)/", address).groups()
        found += [f"{start}{one}/" for one in range(int(number) + 1)]
    return found


def dead_sheet(page: Page) -> str:
    """The address of a superseded sheet: the demo has one."""
    sheets = every_sheet(page)
    return next(address for address in sheets if f"{address[:-2]}1/" in sheets)


@pytest.mark.parametrize("size", ["Letter", "A4"])
def test_the_codes_of_sheets_can_be_scanned_from_paper(enters: Callable[..., Person], demo: str, size: str) -> None:
    page = enters("site-lead", DESK).page
    sheets = every_sheet(page)
    assert len(sheets) > 15
    # all codes are as long and as large; what differs is where pages break
    sheets = sheets[:: 5 if size == "A4" else 2]
    read = {}
    for address in sheets:
        page.goto(address)
        found = zxingcpp.read_barcodes(image(printed(page, size, page_ranges="1"), dpi=200))
        read[address] = [code.text for code in found]
    # what is scanned leads without an account to what is said of that mark and revision
    nobody = page.context.browser.new_context().new_page()
    for address, scanned in read.items():
        assert [one.startswith(f"{demo}/paper/") for one in scanned] == [True]
        nobody.goto(scanned[0])
        mark, number = re.fullmatch(r"(\S+) revision (\d+)", nobody.locator("h1").inner_text()).groups()
        page.goto(address)
        assert page.locator("h1").inner_text() == f"{mark} revision {number}"
        assert nobody.locator(".first-line").inner_text() == page.locator(".first-line").inner_text()
    nobody.context.close()


REVISE = """
import django
django.setup()
from trusses.models import Truss
from trusses.revisions import issue_revision, read_and_analyse
floor = Truss.objects.select_related("current", "job").get(mark="F3")
changed = floor.current.document | {"title": "Another revision, for a test"}
issue_revision(floor, floor.current, *read_and_analyse(changed), floor.current.issued_by)
"""


def test_a_paper_that_was_printed_before_tells_of_the_revision_that_came_since(
    enters: Callable[..., Person], demo_process: tuple[subprocess.Popen[bytes], str]
) -> None:
    """Scanned from its picture, before and after, without an account."""
    page = enters("site-lead", PHONE).page
    page.goto("/jobs/1/trusses/13/revisions/0/")  # no other test looks at F3
    (code,) = zxingcpp.read_barcodes(image(printed(page, page_ranges="1"), dpi=200))
    nobody = page.context.browser.new_context(viewport={"width": 390, "height": 844}).new_page()

    def scanned() -> str:
        nobody.goto(code.text)
        return " ".join(nobody.locator("main").inner_text().split())

    before = scanned()
    assert before.startswith("CURRENT")
    assert "F3 revision 0 This paper is for copies 1–8" in before
    environment = psutil.Process(demo_process[0].pid).environ() | {"DJANGO_SETTINGS_MODULE": "project.settings"}
    subprocess.run([sys.executable, "-c", REVISE], env=environment, cwd=ROOT, check=True, timeout=120)
    after = scanned()
    assert after.startswith("DEAD")
    assert "1" in after.partition("F3 revision 0")[0], "by which"
    assert "Built by this paper already copies 1–8" in after
    nobody.context.close()


def test_each_page_says_what_it_is_of_and_not_to_build_from_it(enters: Callable[..., Person]) -> None:
    lead = enters("site-lead", DESK)
    sheet_of(lead, "R4")
    code = lead.page.locator(".sheet-code").inner_text()
    assert "no-edges" not in lead.page.locator("html").evaluate("part => part.className")
    pages = words(lead.page)
    # a double W, the longest roof sheet of the demo
    assert 2 <= len(pages) <= 9
    for number, said in enumerate(pages, start=1):
        assert f"R4 revision 0 · code {code}" in said
        assert "CURRENT" in said
        assert f"page {number} of {len(pages)}" in said
        assert "No. Do not build from this: no sealed drawing is attached." in said


FIRST = ("Which trusses it is for", "Their marked end", "Check with a tape", "Restraint to install", "When setting")
"""What a site needs, on the first page of paper and in the first three screens of a phone."""


MOVES = Under(
    'Request 27 asks to move south wall of the main block 8" north (up the plan) under R1 and R5. '
    "Copies 1–13 of R2 bear on it too, and nobody asked that for them",
    "/requests/27/",
    decided=False,
    stands=("", False),
)

AWAY = "lines => lines.forEach((one) => one.remove())"


@pytest.mark.parametrize("moves", [0, 1])
@pytest.mark.parametrize("size", ["Letter", "A4"])
def test_the_first_page_is_enough_for_the_site(enters: Callable[..., Person], size: str, moves: int) -> None:
    """Also where it says first that a wall moves: other files' tests ask for that while this demo runs, or don't."""
    page = enters("site-lead", PHONE).page
    said = render_to_string("trusses/_walls_move.html", {"walls_move": [MOVES] * moves, "sheet": True})
    # no other file of these tests issues a revision of these
    for address in ("/jobs/1/trusses/4/revisions/0/", "/jobs/1/trusses/2/revisions/1/"):
        page.goto(address)
        asked_first = page.locator(".verdict-line:has(~ .verdict-line)")
        asked_first.evaluate_all(AWAY)
        page.locator(".verdict-line").last.evaluate(
            "(line, said) => line.insertAdjacentHTML('beforebegin', said)", said
        )
        paper = printed(page, size)
        first, second = (" ".join(paper[at].get_textpage().get_text_bounded().split()) for at in (0, 1))
        last = page.locator(".first li").last.inner_text()
        assert [one for one in (*FIRST, "No. Do not build from this", last) if one not in first] == [], address
        for letter, length in zip("ABC", page.locator(".first .length").all_inner_texts(), strict=True):
            assert length.startswith(letter)
            assert first.count(" ".join(length.split())) == 2, "in the list and on the drawing"
        assert "Lumber" in second
        # on a phone what has to be asked first comes on top of the three screens
        asked_first.evaluate_all(AWAY)
        end = page.locator(".first").evaluate("first => first.getBoundingClientRect().bottom + scrollY")
        assert end <= 3 * PHONE.height
        assert not page.locator("#lumber").is_visible()
        page.locator(".appendix > summary").tap()
        assert page.locator("#lumber").is_visible()


def test_current_and_dead_are_told_apart_from_six_feet_and_without_colour(enters: Callable[..., Person]) -> None:
    page = enters("site-lead", DESK).page
    dead = dead_sheet(page)
    least = SIX_FEET_MM * math.tan(math.radians(LEAST_ARC_MINUTES / 60))
    darkness = {}
    for word, address in (("DEAD", dead), ("CURRENT", f"{dead[:-2]}1/")):
        page.goto(address)
        paper = printed(page)
        grey = image(paper, dpi=72)
        largest = [one for one in letters(paper, 0) if one.high > 8]
        assert "".join(one.text for one in largest) == word
        assert min(one.high for one in largest) >= least
        # the band in which the word stands: white on black, or black on white
        top = grey.height - max(one.top for one in largest) / 25.4 * 72
        bottom = grey.height - min(one.bottom for one in largest) / 25.4 * 72
        band = grey.crop((int(grey.width * 0.1), int(top), int(grey.width * 0.9), int(bottom)))
        darkness[word] = 1 - sum(band.tobytes()) / 255 / (band.width * band.height)
        # the cross lies below what the sheet is of and its code
        assert all(darkest(grey, one) < 128 for one in letters(paper, 0) if 3 < one.high <= 8)
        # a dead sheet is crossed out on every page, also where it says nothing
        assert [crossed(image(paper, number, 72)) for number in range(len(paper))] == [word == "DEAD"] * len(paper)
    assert darkness["DEAD"] > 0.6
    assert darkness["CURRENT"] < 0.45


def darkest(grey, letter: Letter) -> int:
    """The darkest ink in a letter's box on a picture of 72 dpi."""
    left, top, right, bottom = (at / MM for at in (letter.left, letter.top, letter.right, letter.bottom))
    return min(grey.crop((int(left), int(grey.height - top), int(right) + 1, int(grey.height - bottom) + 1)).tobytes())


def crossed(grey) -> bool:
    """Whether grey strokes run along both diagonals between the margins of 11 and 14 mm."""
    left, top = 11 / 25.4 * 72, 14 / 25.4 * 72
    places = []
    for share in (0.2, 0.3, 0.4, 0.6, 0.7, 0.8):
        x, y = left + share * (grey.width - 2 * left), top + share * (grey.height - 2 * top)
        places += [(x, y), (grey.width - x, y)]
    inked = [min(grey.getpixel((int(x) + dx, int(y))) for dx in range(-2, 3)) < 215 for x, y in places]
    return sum(inked) >= 11


@pytest.mark.parametrize("mark", ["R4", "F1"])
def test_letters_are_as_high_as_the_standard_asks(enters: Callable[..., Person], mark: str) -> None:
    lead = enters("site-lead", DESK)
    sheet_of(lead, mark)
    page = lead.page
    capitals, low = capitals_of(page)
    assert capitals > 500
    assert low == []


def capitals_of(page: Page) -> tuple[int, list[tuple[str, float]]]:
    """How many capitals and figures are printed, and those that are too low."""
    paper = printed(page, "A4")
    # letters that are higher than wide, so that those of a plumb dimension are measured along their height as well
    printed_letters = [one for number in range(len(paper)) for one in letters(paper, number)]
    capitals = [one for one in printed_letters if re.fullmatch(r"[ABD-FHJ-LPR-UX-Z2-9]", one.text)]
    low = {(one.text, round(one.long, 2)) for one in capitals if one.long < LEAST_LETTER_MM - 0.02}
    return len(capitals), sorted(low)


def test_letters_of_a_plan_are_as_high_too_and_each_crossing_has_its_own(enters: Callable[..., Person]) -> None:
    lead = enters("site-lead", DESK)
    page = lead.page
    page.goto("/jobs/1/plan/?level=Roof")
    capitals, low = capitals_of(page)
    assert capitals > 400
    assert low == []
    lead.opens_answered("/requests/16/")
    signs = page.locator("svg.plan .sign").count()
    assert signs == 29
    assert page.locator("svg.plan .letter").count() == signs
    capitals, low = capitals_of(page)
    assert low == []
    assert all(letter in " ".join(words(page)).split() for letter in ("A", "Z", "AA", "AB", "AC"))


def test_nothing_is_printed_over_anything_else(enters: Callable[..., Person]) -> None:
    designer = enters("designer", DESK)
    page = designer.page
    sheet_of(designer, "R4")
    # of F2 the places of the joints are long
    for address in (page.url, "/jobs/1/trusses/12/revisions/0/", "/requests/5/", "/requests/1/"):
        designer.opens_answered(address)
        page.locator("details").evaluate_all("all => all.forEach((one) => { one.open = true })")
        paper = printed(page)
        over = [laid_over_one_another(letters(paper, number)) for number in range(len(paper))]
        assert over == [[] for _ in over], address


def test_how_people_are_reached_has_a_line_on_paper(enters: Callable[..., Person]) -> None:
    page = enters("designer", DESK).page
    page.goto("/jobs/1/people/")
    lines = printed(page)[0].get_textpage().get_text_bounded().splitlines()
    assert [line.strip() for line in lines if "@" in line or "555" in line] == [
        part for n, who in (("1", "builder"), ("2", "designer"), ("3", "site-lead"))
        for part in (f"555-010{n}", f"{who}@demo.invalid")
    ]  # fmt: skip


def test_each_page_of_a_request_and_of_a_mark_says_what_it_is_of(enters: Callable[..., Person]) -> None:
    designer = enters("designer", DESK)
    page = designer.page
    designer.opens_answered("/requests/5/")
    pages = words(page)
    assert len(pages) > 2
    for number, said in enumerate(pages, start=1):
        assert "Request 5 · F1 revision 0" in said
        assert f"page {number} of {len(pages)}" in said
    # the table of forces runs over several, with its head on each
    assert sum("Strength before" in " ".join(said.split()) for said in pages) > 1
    designer.opens_mark("R4")
    pages = words(page)
    assert all(f"page {number} of {len(pages)}" in said for number, said in enumerate(pages, start=1))
    assert all("R4 revision 0" in said for said in pages)


def test_paper_holds_what_the_screen_folds_away(enters: Callable[..., Person]) -> None:
    lead = enters("site-lead", DESK)
    sheet_of(lead, "R4")
    page = lead.page
    said = squeezed("".join(words(page)))
    headings = page.locator(".sheet h2:not(.no-print h2)").all_text_contents()
    assert [one for one in headings if squeezed(one) not in said] == []
    folded = page.locator("#joints td.n, #forces td.n, #places td.n").all_text_contents()
    assert len(folded) > 80
    assert [cell for cell in folded if squeezed(cell) not in said] == []
    asked = page.locator(".required .inline strong").all_text_contents()
    assert len(asked) == 12 + 6
    assert [one for one in asked if squeezed(one) not in said] == []


@pytest.mark.parametrize("folds_closed_parts", [False, True])
def test_paper_has_what_a_phone_folds_from_a_browser_too_that_prints_no_closed_part(
    enters: Callable[..., Person], folds_closed_parts: bool
) -> None:
    """One that doesn't know `::details-content` is told by it, so that it neither shows what is closed nor hides what
    stands over it."""
    designer = enters("designer", PHONE)
    page = designer.page
    if folds_closed_parts:

        def unaware(route: Route) -> None:
            served = route.fetch()
            route.fulfill(response=served, body=served.text().replace("::details-content", "::no-such-part"))

        page.route(re.compile(r"/(set|changes)\b[^/]*\.css"), unaware)
    designer.opens_answered("/requests/7/")
    folds = page.locator("details.folds:not([open])")
    assert (closed := folds.count()) > 1
    heads = folds.locator("> summary", has_text=re.compile("^(Ways to answer|What the walls|What happened)"))
    told = heads.all_text_contents()
    assert len(told) == 3
    inside = folds.locator("table").locator("td.n").all_text_contents()
    said = squeezed("".join(words(page)))
    assert len(inside) > 20
    assert [one for one in inside if squeezed(one) not in said] == []
    assert [squeezed(one)[:24] in said for one in told] == [folds_closed_parts] * 3
    assert folds.count() == closed, "on the screen they are as they were"


def test_no_column_and_no_part_of_the_plan_runs_off_the_paper(enters: Callable[..., Person]) -> None:
    designer = enters("designer", DESK)
    page = designer.page
    page.emulate_media(media="print")
    page.set_viewport_size({"width": PAPER_PX, "height": PAPER_PX})
    for address, what in (("/jobs/1/plan/", ".on-paper svg"), ("/requests/5/", ".table-wrap > table")):
        designer.opens_answered(address)
        assert page.locator(what).count() >= 1
        assert page.locator(f"{what}, .drawing svg").evaluate_all(BEYOND, PAPER_PX) == [], address


BEYOND = """(all, edge) => all.map((one) => one.getBoundingClientRect())
  .filter((box) => box.right > edge + 0.5 || box.left < -0.5).map((box) => [box.left, box.right])"""
"""From where to where those reach that reach beyond an edge by more than rounding, CSS pixels."""


def squeezed(text: str) -> str:
    """Without spaces and ligatures, which a printed line has in places of its own."""
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))
