"""Every kind of page, in light and dark, by thumb and by mouse: WCAG 2.2 AA, its weight and width, without scripts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests.browser.people import DESK, PHONE, Person, Size

RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}}
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
    "sheets": View("site-lead", "/jobs/1/sheets/", "Current sheets"),
    "sheet": View("site-lead", "/jobs/1/trusses/2/revisions/1/", "Check with a tape"),
    "superseded": View("site-lead", "/jobs/1/trusses/2/revisions/0/", "Superseded by revision 1"),
    "not yours": View("builder", "/jobs/1/trusses/new/", "That is not yours to do here", 403),
    "nothing": View("builder", "/requests/99999/", "There is nothing here", 404),
}


@pytest.fixture(scope="package")
def signed_in(browser: Browser, demo: str) -> Callable[[str | None], dict | None]:
    """The cookies of each of the invented people, by one sign-in each."""
    states: dict[str, dict] = {}

    def state(who: str | None) -> dict | None:
        if who is not None and who not in states:
            context = browser.new_context(base_url=demo)
            Person(context.new_page(), DESK).sign_in(who)
            states[who] = context.storage_state()
            context.close()
        return states.get(who) if who else None

    return state


@pytest.fixture(scope="package")
def option(browser: Browser, demo: str, signed_in: Callable[[str | None], dict | None]) -> str:
    """An option of the request that the demo leaves to the worker."""
    context = browser.new_context(base_url=demo, storage_state=signed_in("designer"))
    person = Person(context.new_page(), DESK)
    person.page.goto("/requests/5/")
    person.waits_for_the_answer()
    address = person.page.get_by_role("link", name="Edit").first.get_attribute("href")
    context.close()
    assert address is not None
    return address.split("/")[4]


@pytest.fixture
def look(
    opens: Callable[..., Page], signed_in: Callable[[str | None], dict | None], option: str
) -> Callable[..., Page]:
    def make(view: View, size: Size, **how: object) -> Page:
        page = opens(size, storage_state=signed_in(view.who), **how)
        page.expected_status = view.status if view.status >= 400 else None
        answer = page.goto(view.path.format(option=option))
        assert answer is not None
        assert answer.status == view.status
        expect(page.locator("main")).to_contain_text(view.says)
        return page

    return make


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", VIEWS)
def test_a_page_passes_wcag(look: Callable[..., Page], name: str, scheme: str) -> None:
    # Light at the desk and dark on the phone: every rule of the stylesheet is met in one of the two.
    page = look(VIEWS[name], DESK if scheme == "light" else PHONE, color_scheme=scheme)
    for fold in page.locator("main details > summary").all():
        fold.click()
    found = _violations(page)
    assert not found, "\n".join(found)


def _violations(page: Page) -> list[str]:
    violations = Axe().run(page, options=RULES).response["violations"]
    return [f"{one['id']} ({one['impact']}): {node['html'][:160]}" for one in violations for node in one["nodes"]]


def test_the_check_sees_what_is_wrong(look: Callable[..., Page]) -> None:
    page = look(VIEWS["sign-in"], DESK)
    page.locator("label[for=id_username]").evaluate("label => label.remove()")
    page.locator("h1").evaluate("heading => heading.setAttribute('role', 'nothing-of-the-kind')")
    found = " ".join(_violations(page))
    assert "label (critical)" in found
    assert "aria-roles" in found


@pytest.mark.parametrize("name", VIEWS)
def test_a_page_fits_a_phone(look: Callable[..., Page], name: str) -> None:
    page = look(VIEWS[name], PHONE)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE.width
    small = page.evaluate(_SMALL_TARGETS, LEAST_TARGET_PX)
    assert not small, "\n".join(small)
    unnamed = page.evaluate(_UNNAMED_FIELDS)
    assert not unnamed, "\n".join(unnamed)


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

_UNNAMED_FIELDS = """() => [...document.querySelectorAll("input:not([type=hidden]), select, textarea")]
  .filter((field) => !field.labels.length && !field.getAttribute("aria-label"))
  .map((field) => field.outerHTML.slice(0, 160))"""


@pytest.mark.parametrize("name", VIEWS)
def test_a_page_is_light_on_first_view(
    look: Callable[..., Page], name: str, record_property: Callable[[str, object], None]
) -> None:
    """What comes over the line for the page, its styles and its scripts, images aside."""
    weights: dict[str, int] = {}
    page = look(VIEWS[name], PHONE)
    network = page.context.new_cdp_session(page)
    network.send("Network.enable")
    network.send("Network.setCacheDisabled", {"cacheDisabled": True})
    kinds: dict[str, tuple[str, str]] = {}
    network.on("Network.responseReceived", lambda e: kinds.update({e["requestId"]: (e["type"], e["response"]["url"])}))
    network.on("Network.loadingFinished", lambda e: weights.update({e["requestId"]: int(e["encodedDataLength"])}))
    page.reload()
    page.wait_for_load_state("networkidle")
    # what finishes without having begun here is an image that the page was still waiting for before it was loaded anew
    counted = {url: weights[i] for i, (kind, url) in kinds.items() if kind in ("Document", "Stylesheet", "Script")}
    total = sum(counted.values())
    record_property("first_view_bytes", total)
    print(f"{name}: {total / 1000:.1f} kB")
    assert any("htmx" in url for url in counted)
    assert total < FIRST_VIEW_BYTES, counted


@pytest.mark.parametrize("name", VIEWS)
def test_a_page_reads_without_scripts(look: Callable[..., Page], name: str) -> None:
    page = look(VIEWS[name], PHONE, java_script_enabled=False)
    expect(page.get_by_role("heading", level=1)).to_be_visible()
