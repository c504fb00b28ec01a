"""Every kind of page, in light and dark, by thumb and by mouse: WCAG 2.2 AA, its weight and width, without scripts."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, CDPSession, Page, expect

from tests.browser.conftest import listen
from tests.browser.people import DESK, PHONE, Person, Size

RULES = {
    "resultTypes": ["violations"],
    "runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]},
}
FIRST_VIEW_BYTES = 100_000
LEAST_TARGET_PX = 24


@dataclass(frozen=True)
class View:
    """A kind of page: who looks at it, where it is, and words that stand on it whoever reads it."""

    who: str | None
    path: str
    says: str
    status: int = 200


VIEWS = {
    "sign-in": View(None, "/sign-in/", "Sign in"),
    "no job": View("outsider", "/", "You are not a member of any job"),
    "job": View("builder", "/jobs/1/", "W over the bedrooms"),
    "mark": View("site-lead", "/jobs/1/trusses/1/", "Copies and where they stand"),
    "clear": View("builder", "/jobs/1/trusses/1/clear/?shape=circle&diameter=10", "It goes through 5 of 5 pockets"),
    "set": View("designer", "/jobs/1/3d/", "How high the trusses bear"),
    "in the set": View("builder", "/requests/3/3d/", "Request 3 in the set"),
    "ask": View("builder", "/jobs/1/trusses/1/ask/", "An opening through R1"),
    "needs": View("builder", "/jobs/1/trusses/1/needs/", "What do you need?"),
    "a weight": View("builder", "/jobs/1/trusses/1/ask/load/", "Something hung or set: R1"),
    "a bearing": View("builder", "/jobs/1/trusses/1/ask/bearing/", "A bearing: R1"),
    "between": View("builder", "/jobs/1/trusses/1/ask/passage/", "Something between trusses: R1"),
    "damage": View("builder", "/jobs/1/trusses/1/ask/damage/", "First: keep off, and out from under it."),
    "question": View("builder", "/jobs/1/trusses/1/ask/question/", "A question: R1"),
    "queue": View("designer", "/jobs/1/requests/?state=all", "A path for the range hood"),
    "approved": View("builder", "/requests/1/", "New revision issued, not sealed, by Designer"),
    "sent back": View("builder", "/requests/2/", "Which side of the beam"),
    "declined": View("site-lead", "/requests/3/", "Declined by Designer"),
    "withdrawn": View("builder", "/requests/4/", "Central vacuum riser"),
    "to decide": View("designer", "/requests/5/", "Forces before and after"),
    "option": View("designer", "/requests/5/options/{option}/edit/", "Webs to put in"),
    "carriers": View("designer", "/requests/6/?option=6", "What it does to the trusses that carry it"),
    "bearings": View("designer", "/jobs/1/trusses/14/bearings/", "What R11 stands on"),
    "girder": View("site-lead", "/jobs/1/trusses/15/revisions/0/", "What it carries"),
    "new truss": View("designer", "/jobs/1/trusses/new/", "New truss"),
    "upload": View("designer", "/jobs/1/trusses/upload/", "Upload a truss document"),
    "turns": View("designer", "/turns/", "acknowledge or refuse the hold, then decide"),
    "people": View("builder", "/jobs/1/people/", "People of this job"),
    "inspectors": View("builder", "/jobs/1/inspectors/", "Hand out a link"),
    "sheets": View("site-lead", "/jobs/1/sheets/", "Current sheets"),
    "sheet": View("site-lead", "/jobs/1/trusses/2/revisions/1/", "Check with a tape"),
    "superseded": View("site-lead", "/jobs/1/trusses/2/revisions/0/", "Superseded by revision 1"),
    "device": View("site-lead", "/device/", "Opens without a signal"),
    "not yours": View("builder", "/jobs/1/trusses/new/", "That is not yours to do here", 403),
    "nothing": View("builder", "/requests/99999/", "There is nothing here", 404),
}


@pytest.fixture(scope="package")
def option(browser: Browser, demo: str, signed_in: Callable[[str | None], dict | None]) -> str:
    """An option of the request that the demo leaves to the worker."""
    context = browser.new_context(base_url=demo, storage_state=signed_in("designer"), service_workers="block")
    person = Person(context.new_page(), DESK)
    person.page.goto("/requests/5/")
    person.waits_for_the_answer()
    address = person.page.get_by_role("link", name="Edit").first.get_attribute("href")
    context.close()
    assert address is not None
    return address.split("/")[4]


@dataclass
class Visitor:
    """Somebody's one page, which visits one view after the other, each as if for the first time."""

    page: Page
    troubles: list[str]
    network: CDPSession
    weights: dict[str, int]
    """What came over the line for the last view, by address, images aside."""


@pytest.fixture(scope="module")
def visitor_of(
    new_context: Callable[..., BrowserContext], signed_in: Callable[[str | None], dict | None]
) -> Iterator[Callable[..., Visitor]]:
    """{who, size and how: their page}, kept for the whole file: a browser for each visit took as long as the visit."""
    visitors: dict[tuple, Visitor] = {}

    def make(who: str | None, size: Size, **how: object) -> Visitor:
        key = (who, size, *how.items())
        if key not in visitors:
            page = new_context(size, storage_state=signed_in(who), **how).new_page()
            page.set_default_timeout(15_000)
            page.goto("/")
            if who and "/sign-in/" in page.url:  # somebody became another person with those cookies
                Person(page, size).sign_in(who)
            visitors[key] = Visitor(page, [], page.context.new_cdp_session(page), {})
            listen(page, visitors[key].troubles)
            _weigh(visitors[key])
        return visitors[key]

    yield make
    for one in visitors.values():
        one.page.context.close()


def _weigh(visitor: Visitor) -> None:
    kinds: dict[str, tuple[str, str]] = {}

    def responded(event: dict) -> None:
        kinds[event["requestId"]] = (event["type"], event["response"]["url"])

    def finished(event: dict) -> None:
        kind, url = kinds.get(event["requestId"], ("", ""))
        if kind in ("Document", "Stylesheet", "Script"):
            visitor.weights[url] = int(event["encodedDataLength"])

    visitor.network.send("Network.enable")
    visitor.network.send("Network.setCacheDisabled", {"cacheDisabled": True})
    visitor.network.on("Network.responseReceived", responded)
    visitor.network.on("Network.loadingFinished", finished)


@pytest.fixture
def look(visitor_of: Callable[..., Visitor], option: str) -> Iterator[Callable[..., Visitor]]:
    """A view as somebody sees it; what its page complains of fails the test."""
    seen: list[Visitor] = []

    def make(view: View, size: Size, **how: object) -> Visitor:
        visitor = visitor_of(view.who, size, **how)
        seen.append(visitor)
        visitor.troubles.clear()
        visitor.weights.clear()
        visitor.page.expected_status = view.status if view.status >= 400 else None
        answer = visitor.page.goto(view.path.format(option=option))
        assert answer is not None
        assert answer.status == view.status
        expect(visitor.page.locator("main")).to_contain_text(view.says)
        return visitor

    yield make
    for visitor in seen:
        visitor.page.goto("about:blank")
        assert not visitor.troubles, "\n".join(visitor.troubles)


@pytest.mark.parametrize("name", VIEWS)
def test_a_page_on_a_desk_in_light(look: Callable[..., Visitor], name: str) -> None:
    found = _violations(look(VIEWS[name], DESK, color_scheme="light").page)
    assert not found, "\n".join(found)


@pytest.mark.parametrize("name", VIEWS)
def test_a_page_on_a_phone_in_the_dark(
    look: Callable[..., Visitor], name: str, record_property: Callable[[str, object], None]
) -> None:
    """What it weighs where nothing is kept from an earlier visit, how it fits a thumb, and WCAG."""
    visitor = look(VIEWS[name], PHONE, color_scheme="dark")
    page = visitor.page
    page.wait_for_load_state("networkidle")
    total = sum(visitor.weights.values())
    record_property("first_view_bytes", total)
    assert any("htmx" in url for url in visitor.weights)
    assert total < FIRST_VIEW_BYTES, visitor.weights
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE.width
    page.set_viewport_size({"width": SMALL_PHONE_PX, "height": PHONE.height})
    assert page.evaluate(_WIDE) == [], "what is wider than a small phone"
    page.set_viewport_size({"width": PHONE.width, "height": PHONE.height})
    assert page.evaluate(_HEAD_PX) <= MOST_HEAD_PX, "the head takes more than two rows"
    small = page.evaluate(_SMALL_TARGETS, LEAST_TARGET_PX)
    assert not small, "\n".join(small)
    unnamed = page.evaluate(_UNNAMED_FIELDS)
    assert not unnamed, "\n".join(unnamed)
    found = _violations(page)
    assert not found, "\n".join(found)


def _violations(page: Page) -> list[str]:
    """What axe finds with every fold open."""
    page.evaluate("document.querySelectorAll('main details').forEach((fold) => { fold.open = true })")
    violations = Axe().run(page, options=RULES).response["violations"]
    return [f"{one['id']} ({one['impact']}): {node['html'][:160]}" for one in violations for node in one["nodes"]]


def test_the_check_sees_what_is_wrong(look: Callable[..., Visitor]) -> None:
    page = look(VIEWS["sign-in"], DESK).page
    page.locator("label[for=id_username]").evaluate("label => label.remove()")
    page.locator("h1").evaluate("heading => heading.setAttribute('role', 'nothing-of-the-kind')")
    found = " ".join(_violations(page))
    assert "label (critical)" in found
    assert "aria-roles" in found


# A link in a sentence may be as low as its line (WCAG 2.2, 2.5.8); a box is pressed by its label or cell.
_SMALL_TARGETS = """(least) => {
  const inSentence = (one) => one.tagName === "A" && [...one.parentNode.childNodes].some(
    (other) => other.nodeType === Node.TEXT_NODE && other.textContent.trim());
  const pressed = (one) => (one.matches("[type=radio], [type=checkbox]") && one.closest("label, td")) || one;
  return [...document.querySelectorAll("a, button, input, select, textarea, summary")]
    .filter((one) => one.checkVisibility() && !one.closest(".skip") && !inSentence(one))
    .map((one) => [one, pressed(one).getBoundingClientRect()])
    .filter(([, box]) => box.width < least || box.height < least)
    .map(([one, box]) => `${box.width} x ${box.height}: ${one.outerHTML.slice(0, 160)}`);
}"""

SMALL_PHONE_PX = 360
MOST_HEAD_PX = 116
"""Two rows of a finger each, with the ticks of the tape below them."""
_HEAD_PX = "() => document.querySelector('.head').offsetHeight"
_WIDE = """() => [document.documentElement, document.querySelector(".head nav")]
  .filter((part) => part && part.scrollWidth > Math.min(part.clientWidth, innerWidth)).map((part) => part.tagName)"""
_UNNAMED_FIELDS = """() => [...document.querySelectorAll("input:not([type=hidden]), select, textarea")]
  .filter((field) => !field.labels.length && !field.getAttribute("aria-label"))
  .map((field) => field.outerHTML.slice(0, 160))"""


@pytest.mark.parametrize("name", VIEWS)
def test_a_page_reads_without_scripts(look: Callable[..., Visitor], name: str) -> None:
    page = look(VIEWS[name], PHONE, java_script_enabled=False).page
    expect(page.get_by_role("heading", level=1)).to_be_visible()


@pytest.mark.parametrize("name", ["sheet", "job", "ask", "sheets"])
def test_letters_of_twice_the_size_fit_a_phone(look: Callable[..., Visitor], name: str) -> None:
    page = look(VIEWS[name], PHONE).page
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE.width
