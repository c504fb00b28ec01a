"""The network is gone and the server too: what was opened once opens again and says how old it is, what is typed waits
and arrives once. One browser for the site lead and one for the builder; keeping a job opens all of its sheets."""

from __future__ import annotations

import io
import re
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator

import psutil
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import ROOT, _free_port
from tests.browser.paper import printed
from tests.browser.people import ANSWERED_WITHIN_MS, PHONE, Person

KEEPS_WITHIN_S = 90
ZONE = "M[SD]T"
"""Where the demo's house stands, while the browser's own clock is set to another zone."""
SHEET = "/jobs/1/trusses/7/revisions/0/"
"""Of R7, a mark whose revision and drawing no other test looks at."""


class Office:
    """A web server of its own on the demo's rows, to be stopped and started under the browsers."""

    def __init__(self, demo: int):
        self.port = _free_port()
        self.address = f"http://127.0.0.1:{self.port}"
        own = {"ALLOWED_HOSTS": "127.0.0.1", "DJANGO_SETTINGS_MODULE": "project.settings"}
        self.environment = psutil.Process(demo).environ() | own
        self.start()

    def start(self, first: str = "") -> None:
        """`first` is what a designer did there meanwhile."""
        serves = f"call_command('runserver', '--noreload', '--skip-checks', '{self.port}')"
        script = f"import django; django.setup()\n{first}\nfrom django.core.management import call_command; {serves}"
        command, out = [sys.executable, "-c", script], subprocess.DEVNULL
        self.web = subprocess.Popen(command, cwd=ROOT, env=self.environment, stdout=out, stderr=out)
        until = time.monotonic() + 60
        while True:
            try:
                urllib.request.urlopen(f"{self.address}/contact/", timeout=5)
                return
            except OSError:
                assert time.monotonic() < until, "the office did not start"
                time.sleep(0.2)

    def stop(self) -> None:
        self.web.kill()
        self.web.wait()


NEW_REVISION = """
from django.contrib.auth import get_user_model
from trusses.models import Truss
from trusses.revisions import issue_revision, read_and_analyse
r7 = Truss.objects.select_related("current").get(pk=7)
drawn = read_and_analyse(r7.current.document | {"title": "Raised, with a new title"})
issue_revision(r7, r7.current, *drawn, get_user_model().objects.get(username="designer"))
"""


@pytest.fixture(scope="module")
def office(demo_process: tuple[subprocess.Popen[bytes], str]) -> Iterator[Office]:
    there = Office(demo_process[0].pid)
    yield there
    there.stop()


@pytest.fixture(scope="module")
def enters(browser: Browser, office: Office) -> Iterator[Callable[[str], Page]]:
    contexts = []
    troubles: list[str] = []

    def make(who: str) -> Page:
        how = {"viewport": {"width": PHONE.width, "height": PHONE.height}, "has_touch": True, "is_mobile": True}
        how["timezone_id"] = "Asia/Tokyo"
        context = browser.new_context(base_url=office.address, **how)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: troubles.append(f"{page.url}: {error}"))
        Person(page, PHONE).sign_in(who)
        return page

    yield make
    for context in contexts:
        context.close()
    assert not troubles, "\n".join(troubles)


@pytest.fixture(scope="module")
def lead(enters: Callable[[str], Page]) -> Page:
    """The site lead's phone, after one visit to the job."""
    page = enters("site-lead")
    until(page, "async () => (await outbox.all('known')).some((row) => row.key.startsWith('kept '))")
    return page


def until(page: Page, script: str) -> None:
    """Until an asynchronous function of the page says yes; `wait_for_function` takes its promise for one."""
    end = time.monotonic() + KEEPS_WITHIN_S
    while not page.evaluate(script):
        assert time.monotonic() < end, script
        time.sleep(0.2)


def loses(page: Page, office: Office | None = None) -> None:
    page.context.set_offline(True)
    if office:
        office.stop()


def finds(page: Page) -> None:
    page.context.set_offline(False)  # the page hears of it by itself


AGES = """async (hours) => {
  for (const name of (await caches.keys()).filter((one) => one.startsWith("pages "))) {
    const cache = await caches.open(name);
    for (const request of await cache.keys()) {
      const kept = await cache.match(request), headers = new Headers(kept.headers), at = Date.now() - hours * 3_600_000;
      headers.set("X-Kept-At", String(at));
      headers.set("Date", new Date(at).toUTCString());
      await cache.put(request.url, new Response(await kept.blob(), { headers }));
    }
  }
}"""


def test_one_visit_and_the_job_opens_without_network_or_server(lead: Page, office: Office) -> None:
    page = lead
    loses(page, office)
    page.goto("/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Demo house")
    page.goto("/jobs/1/sheets/")
    assert page.locator(".small-drawing img").first.evaluate("img => img.decode().then(() => img.naturalWidth)") > 0
    page.goto("/jobs/1/plan/")
    expect(page.locator("svg.plan").first).to_be_visible()
    for paper in ("/jobs/1/sheets/?code={code}", "/paper/{paper}/"):  # figures read out, a square scanned
        page.goto(paper.format(**_codes(page)))
        assert page.url.endswith(SHEET)
    age = re.compile(rf"As of \d+:\d\d [ap]\.m\. {ZONE} today, no signal\.")
    expect(page.locator(".kept-line:visible")).to_contain_text(age)
    expect(page.locator(".first-line")).to_have_text("CURRENT")
    expect(page.locator("main")).to_contain_text("Nothing here authorizes cutting.")
    with page.expect_download() as brought:
        page.evaluate("location.href = '/seals/1/drawing.pdf'")
    assert re.match(r"as-of-\d{4}-\d\d-\d\d-.*sealed\.pdf", brought.value.suggested_filename)
    assert brought.value.path().read_bytes().startswith(b"%PDF")
    page.goto("/jobs/1/requests/")
    expect(page.locator("#device-why")).to_have_text(
        "No signal, and that page is not on this device. What is here opens below."
    )
    expect(page.locator("#device-pages a").nth(1)).to_contain_text("Sheets")
    moment = rf"as of \w+ \d+, \d+:\d\d [ap]\.m\. {ZONE}"
    expect(page.locator("#device-pages li").nth(1)).to_contain_text(re.compile(moment))
    expect(page.locator("#device-kept")).to_contain_text(re.compile(rf"the oldest {moment}\. They"))


def _codes(page: Page) -> dict[str, str]:
    sheets = page.evaluate(
        """async () => (await (await (await caches.open((await caches.keys()).find((one) => one.startsWith("pages "))))
          .match("/jobs/1/kept.json")).json()).sheets"""
    )
    return next(sheet for sheet in sheets if sheet["url"] == SHEET)


@pytest.mark.parametrize("hours", [25, -2], ids=["past its age", "by a clock that was set back"])
def test_what_is_too_old_is_not_called_current(lead: Page, hours: int) -> None:
    page = lead
    loses(page)
    page.evaluate(AGES, hours)
    page.goto(SHEET)
    expect(page.locator(".first-line")).to_have_text("NOT KNOWN")
    expect(page.locator(".second-line")).to_have_text("No. Do not build from this until it was opened with a signal.")
    expect(page.locator(".kept-line:visible")).to_contain_text("nothing on this page can be called current")
    assert "CURRENT" not in page.locator("main").inner_text()
    for paper in edges(page):
        assert "NOT KNOWN" in paper
        assert "CURRENT" not in paper
    with page.expect_download() as brought:
        page.evaluate("location.href = '/seals/1/drawing.pdf'")
    assert brought.value.suggested_filename.startswith("not-known-to-be-current-")


def edges(page: Page) -> list[str]:
    """What stands on each printed page besides the sheet's own words: pages get separated."""
    return [" ".join(one.get_textpage().get_text_bounded().split()) for one in printed(page)]


WITHDRAWN = """async ([mark, says]) => {
  const pages = await caches.open((await caches.keys()).find((one) => one.startsWith("pages ")));
  const kept = await pages.match("/jobs/1/kept.json"), list = await kept.json();
  for (const sheet of list.sheets) if (sheet.url.startsWith(mark)) sheet.withdrawn = says;
  await pages.put("/jobs/1/kept.json", new Response(JSON.stringify(list), { headers: kept.headers }));
}"""
"""As the list says it of a mark at the next contact, until it comes anew."""


def test_a_sheet_that_died_meanwhile_is_struck_through_at_the_next_contact(lead: Page, office: Office) -> None:
    page = lead
    loses(page, office)
    page.evaluate(AGES, 1)
    page.goto(SHEET)
    expect(page.locator(".first-line")).to_have_text("CURRENT")
    office.start(NEW_REVISION)
    finds(page)
    expect(page.locator(".first-line")).to_have_text("DEAD")
    until(
        page,
        """async () => (await (await (await caches.open((await caches.keys()).find((one) => one.startsWith("pages "))))
          .match("/jobs/1/kept.json")).json()).sheets.some((sheet) => sheet.dead_by && /trusses.7/.test(sheet.url))""",
    )
    loses(page)
    page.goto("/jobs/1/sheets/")
    page.goto(SHEET)
    expect(page.locator(".first-line")).to_have_text("DEAD")
    expect(page.locator(".dead-cross")).to_be_visible()
    for paper in edges(page):
        assert "DEAD" in paper
        assert "No. Superseded by revision 1: do not build from this." in paper
    page.evaluate(AGES, 25)
    page.reload()
    expect(page.locator(".first-line")).to_have_text("DEAD")  # for good, however old the page
    page.evaluate(AGES, 0)
    page.evaluate(WITHDRAWN, ["/jobs/1/trusses/9/", "R9"])
    page.goto("/jobs/1/trusses/9/")  # fetched before that was heard
    expect(page.locator(".kept-line:visible")).to_contain_text("R9 is withdrawn: it is out of the set.")


def noise(width: int, height: int) -> bytes:
    """A picture as a phone takes it: with where it was taken in it."""
    exif = Image.Exif()
    exif.get_ifd(0x8825).update({1: "N", 2: (39.0, 44.0, 21.5), 3: "W", 4: (104.0, 59.0, 5.0)})
    out = io.BytesIO()
    Image.effect_noise((width // 8, height // 8), 60).resize((width, height)).convert("RGB").save(
        out, "JPEG", exif=exif
    )
    return out.getvalue()


def says_what_broke(page: Page, copy: str) -> None:
    page.get_by_label("Which copies").fill(copy)
    page.get_by_label("Which piece").select_option(index=1)
    page.locator("[name=how]").select_option("cut")
    page.get_by_label("Along the piece").fill('6"')


def test_ticks_and_damage_with_a_photo_arrive_once(lead: Page) -> None:
    page = lead
    loses(page)
    page.goto("/jobs/1/trusses/13/fixed/")  # F3, all of which is set
    row = page.locator(".fix-form", has=page.get_by_role("button", name="It is in place")).first
    row.get_by_label("Anchored to").fill("blocking")
    row.get_by_role("button", name="It is in place").tap()
    # what was typed, and no key that the form carries for itself
    expect(page.locator("#device-waits dl.typed")).to_have_text(re.compile(r"^Anchored to\s*blocking$"))
    page.goto("/jobs/1/trusses/9/")
    ticks = page.locator('.copies-form[action$="/copies/"]').first
    ticks.locator("[type=checkbox]").nth(0).check()
    ticks.get_by_label("Not as it should be").check()  # which opens where it is told
    ticks.get_by_label("what does not match").fill("One plate is bent.")
    ticks.locator(".chosen-ones").tap()
    expect(page.locator("#device-waits")).to_contain_text("One plate is bent.")
    page.goto("/jobs/1/trusses/9/ask/damage/")
    expect(page.locator("#waits")).to_contain_text("waits for a signal R9: copies delivered")
    says_what_broke(page, "2")
    page.get_by_role("textbox", name="What happened").fill("A web was cut for a vent, without a signal.")
    sent = {"name": "vent.jpg", "mimeType": "image/jpeg", "buffer": noise(4000, 3000)}
    page.get_by_label("Photos").set_input_files(sent)
    expect(page.locator(".photos-held")).to_have_text(re.compile("^1 photo, "))
    size = page.get_by_label("Photos").evaluate(
        "async (field) => { const made = await createImageBitmap(field.files[0]); return [made.width, made.height]; }"
    )
    assert size == [2000, 1500]
    page.get_by_role("button", name="Tell of the damage").tap()
    expect(page.locator("#device-waits .slip")).to_have_count(3)
    typed = re.compile(rf"Demo house, typed \w+ \d+, \d+:\d\d [ap]\.m\. {ZONE}$")
    expect(page.locator("#device-waits .slip > p:has(.tag)")).to_have_text([typed] * 3)
    finds(page)
    expect(page.locator("#device-waits .tag", has_text="arrived")).to_have_count(3, timeout=ANSWERED_WITHIN_MS)
    rows = page.evaluate("() => outbox.all('waiting')")
    assert [row["state"] for row in rows] == ["arrived"] * 3
    page.goto("/jobs/1/trusses/9/")
    expect(page.locator("main")).to_contain_text("One plate is bent.")
    expect(page.locator("#copies h3", has_text="1 delivered")).to_be_visible()
    page.goto("/jobs/1/requests/?state=all")
    expect(page.locator("a.row", has_text="without a signal")).to_have_count(1)


MOVED = """
from trusses.models import Copy
first, second = Copy.objects.filter(truss__mark="F2", stage="delivered").order_by("number")[:2]
first.placement.__class__.objects.filter(pk=first.placement_id).update(origin_x_in=first.placement.origin_x_in + 3)
"""
"""A designer moves the row of F2 on the plan."""
BUILT = """
from trusses.models import Copy
Copy.objects.filter(truss__mark="F2", stage="set").update(stage="built")
"""


def test_a_tap_in_the_order_of_setting_waits_in_its_row(lead: Page, office: Office) -> None:
    """It can be taken back there before it is sent, outlives a reload, arrives once, and says there why it didn't."""
    page = lead
    office.stop()
    office.start(BUILT)
    finds(page)
    where = "/jobs/1/setting/?level=Floor+over+basement"
    page.goto(where)
    until(page, f"async () => Boolean(await caches.match(new URL('{where}', location).href))")
    tap, waits = "button[form^='tap-']", page.locator(".to-set .waits-here")
    row = [page.locator(".to-set", has_text=re.compile(rf"F2-{number} ")) for number in (1, 2, 3, 14)]
    office.stop()  # the browser doesn't know it yet
    row[0].locator(tap).tap()
    expect(waits).to_have_text(re.compile(r"^waiting to be sent \(no signal\) ?delivered, as it should be"))
    assert "/setting/" in page.url
    assert page.url.endswith(row[0].get_attribute("id") or "no id")
    loses(page)
    for one in row[1:3]:
        one.locator(tap).tap()
    expect(waits).to_have_count(3)
    page.goto(where)
    page.reload()
    expect(waits).to_have_count(3)
    expect(page.locator("#waits")).to_contain_text("3 ticks: their rows below wait for a signal.")
    row[1].locator("summary", has_text="Take it back").tap()
    row[1].get_by_role("button", name="Don’t send it").tap()
    expect(waits).to_have_count(2)
    expect(row[1].locator(tap)).to_be_visible()
    expect(row[0].locator(tap)).to_be_hidden()
    office.start()
    finds(page)
    expect(waits).to_have_count(0, timeout=ANSWERED_WITHIN_MS)
    expect(page.locator("html.kept")).to_have_count(0, timeout=ANSWERED_WITHIN_MS)
    for one, stage in zip(row, ("delivered", "built", "delivered"), strict=False):
        expect(one).to_contain_text(f"{stage}{', built' * (stage != 'built')} to revision 0")
    page.goto("/jobs/1/trusses/12/")
    for number in (1, 3):  # each moved once, by its own tap
        expect(page.locator(".hands li", has_text=f"Copy {number}: delivered")).to_have_count(1)


def test_a_tap_that_is_not_taken_says_why_in_its_row(lead: Page, office: Office) -> None:
    page = lead
    finds(page)
    where = "/jobs/1/setting/?level=Floor+over+basement"
    page.goto(where)
    row = page.locator(".to-set", has_text="F2-14 ")
    loses(page, office)
    row.get_by_role("button", name="F2-14: set, as it should be").tap()
    expect(row.locator(".waits-here")).to_contain_text("waiting to be sent (no signal)")
    office.start(MOVED)
    finds(page)
    told = "F2: copy 14 got another place on the plan, or was turned, since the page was opened"
    expect(row.locator(".waits-here")).to_contain_text(told, timeout=ANSWERED_WITHIN_MS)
    expect(page.locator("#waits")).to_contain_text("not taken 1 tick: its row below says why.")
    expect(row).to_contain_text("delivered, built to revision 0")
    row.locator("summary", has_text="I have read it").tap()
    row.get_by_role("button", name="Put it away").tap()
    expect(row.locator(".waits-here")).to_have_count(0)
    assert (
        page.evaluate("async () => (await outbox.all('waiting')).filter((row) => row.state !== 'arrived').length") == 0
    )


def test_what_is_refused_stays_with_all_that_was_typed(lead: Page) -> None:
    page = lead
    finds(page)
    page.goto("/jobs/1/trusses/9/ask/damage/")
    loses(page)
    page.get_by_label("What you see").fill("The heel is crushed.")
    heel = {"name": "heel.jpg", "mimeType": "image/jpeg", "buffer": noise(400, 300)}
    page.get_by_label("Photos").set_input_files(heel)
    expect(page.locator(".photos-held")).to_have_text(re.compile("^1 photo, "))
    page.get_by_role("button", name="Tell of the damage").tap()
    # what the office would refuse is refused at once: nothing of it waits, and it is all there
    expect(page.locator("main")).to_contain_text("Which piece: Say which piece is damaged")
    expect(page.get_by_label("What you see")).to_have_value("The heel is crushed.")
    expect(page.locator(".photos-held")).to_have_text(re.compile("^1 photo, "))
    open_rows = "async () => (await outbox.all('waiting')).map((row) => row.state).filter((one) => one !== 'arrived')"
    assert page.evaluate(open_rows) == ["refused"]
    says_what_broke(page, "99")
    page.get_by_role("textbox", name="What happened").fill("Of a copy that there isn't.")
    page.get_by_role("button", name="Tell of the damage").tap()
    expect(page.locator("#device-waits")).to_contain_text("The heel is crushed.")
    assert page.evaluate(open_rows) == ["waits"]  # typed on in one form, it is not kept twice
    finds(page)
    refused = page.locator("#device-waits .slip", has_text="not taken")
    # what is sent on waits for the office, and where that was asked in vain for the page's next try
    expect(refused).to_contain_text("The heel is crushed.", timeout=ANSWERED_WITHIN_MS)
    expect(refused.locator(".note.stop")).to_contain_text("99")
    refused.get_by_role("link", name="Open the form with it").tap()
    typed = "This was not taken; it is here as you typed it."
    expect(page.locator("main")).to_contain_text(typed, timeout=ANSWERED_WITHIN_MS)
    expect(page.get_by_label("What you see")).to_have_value("The heel is crushed.")
    page.get_by_label("Which copies").fill("3")
    page.get_by_role("button", name="Tell of the damage").tap()
    page.wait_for_url("**/requests/*/")
    until(page, "async () => (await outbox.all('waiting')).every((row) => row.state === 'arrived')")
    expect(page.locator("#waits")).not_to_contain_text("not taken")


def test_going_back_sends_nothing_again(lead: Page) -> None:
    """Back comes to the answer of a form; a browser would send the form once more for it."""
    page = lead
    finds(page)
    page.goto("/jobs/1/trusses/9/")
    ticks = page.locator('.copies-form[action$="/copies/"]').first
    ticks.get_by_label("Nobody looked").check()
    ticks.locator(".chosen-ones").tap()  # none is chosen
    expect(page.locator("main")).to_contain_text("Nothing was changed.")
    page.goto("/jobs/1/sheets/")
    page.go_back()
    expect(page).to_have_url(re.compile("/jobs/1/trusses/9/[?]typed="))
    expect(page.locator("main")).to_contain_text("This was not taken; it is here as you typed it.")
    expect(ticks.get_by_label("Nobody looked")).to_be_checked()
    page.wait_for_load_state("networkidle")  # what was kept makes way for today's page
    titles = [row["title"] for row in page.evaluate("() => outbox.all('waiting')") if row["state"] != "arrived"]
    assert titles == []


def test_nothing_kept_is_shown_or_sent_to_another(lead: Page) -> None:
    page = lead
    finds(page)
    typing = page.context.new_page()  # a tab that was left open
    typing.goto("/jobs/1/trusses/9/ask/damage/")
    left = page.context.new_page()
    left.goto("/jobs/1/trusses/9/")
    page.goto("/jobs/1/")
    page.get_by_role("button", name="Sign out").tap()
    page.wait_for_url("**/sign-in/**")
    left.evaluate("dispatchEvent(new PageTransitionEvent('pageshow', { persisted: true }))")  # as Back brings it
    left.wait_for_url("**/sign-in/**")
    left.close()
    loses(page)
    page.goto(SHEET)
    expect(page.locator("#device-why")).to_contain_text("not on this device")
    finds(page)
    page.wait_for_url("**/sign-in/**")  # by itself, to the page that was asked for
    Person(page, PHONE).sign_in("outsider")
    loses(page)
    page.goto(SHEET)
    expect(page.locator("#device-why")).to_contain_text("not on this device")
    mine = typing.evaluate("document.body.dataset.whose")
    says_what_broke(typing, "4")
    typing.get_by_label("What you see").fill("A plate came off.")
    typing.get_by_role("textbox", name="What happened").fill("Typed before another signed in.")
    typing.get_by_role("button", name="Tell of the damage").tap()
    expect(typing.locator("#waits")).to_contain_text("to be sent. Whoever typed it signs in, and it goes.")
    expect(typing.locator("main")).not_to_contain_text("A plate came off.")
    finds(page)
    page.goto("/")
    expect(page.locator("#waits")).to_contain_text("Something typed under another account waits on this device")
    page.evaluate("() => outbox.sendAll()")
    stands = "async () => (await outbox.all('waiting')).filter((row) => row.state !== 'arrived').map((row) => row.who)"
    assert page.evaluate(stands) == [mine]
    page.get_by_role("button", name="Sign out").tap()
    page.wait_for_url("**/sign-in/**")
    Person(page, PHONE).sign_in("site-lead")
    page.goto("/jobs/1/")
    until(page, f"async () => !(await ({stands})()).length")
    page.goto("/jobs/1/requests/?state=all")
    expect(page.locator("a.row", has_text="Typed before another signed in.")).to_have_count(1)


def test_a_draft_outlives_its_tab_and_is_sent_once(enters: Callable[[str], Page], office: Office) -> None:
    page = enters("builder")
    asks = "/jobs/1/trusses/6/ask/"
    page.goto(asks)
    until(page, f"async () => Boolean(await caches.match(new URL('{asks}', location).href))")
    loses(page, office)
    page.get_by_role("button", name="14 × 8").tap()
    page.get_by_label("What goes through it").fill("a return, typed in a hole")
    page.get_by_label("Why, in your own words").fill("No signal in the crawl space.")
    until(page, "async () => (await outbox.all('drafts')).some((row) => row.pairs.some(([, v]) => /crawl/.test(v)))")
    context = page.context
    page.close()
    page = context.new_page()
    page.goto("/jobs/1/")
    line = re.compile(rf"typed, not sent An opening through \w+ Demo house, typed \w+ \d+, \d+:\d+ [ap]\.m\. {ZONE}")
    expect(page.locator("#waits")).to_contain_text(line)
    page.get_by_role("button", name="Throw it away: An opening").tap()
    page.get_by_role("button", name="Yes, throw it away: An opening").wait_for()  # one tap alone throws nothing away
    page.goto(asks)
    reason = page.get_by_label("Why, in your own words")
    expect(reason).to_have_value("")  # all of it or none, and none unasked
    page.get_by_role("button", name="Bring it back").tap()
    expect(reason).to_have_value("No signal in the crawl space.")
    expect(page.get_by_label("What goes through it")).to_have_value("a return, typed in a hole")
    expect(page.get_by_role("button", name="14 × 8")).to_have_attribute("aria-pressed", "true")
    page.get_by_role("button", name="Send the request").tap()
    expect(page.locator("#device-waits")).to_contain_text("a return, typed in a hole")
    page.go_back()
    expect(page.locator("#waits")).to_contain_text("waits for a signal")
    office.start()
    finds(page)
    expect(page.locator("#waits")).to_contain_text("arrived", timeout=ANSWERED_WITHIN_MS)
    page.goto("/jobs/1/requests/?state=all")
    expect(page.locator("a.row", has_text="No signal in the crawl space.")).to_have_count(1)
    assert page.evaluate("() => outbox.all('drafts')") == []
    page.goto(asks)
    expect(page.locator("#draft")).to_have_count(0)


def test_an_answer_waits_and_what_is_of_the_moment_says_so(enters: Callable[[str], Page]) -> None:
    designer, builder, where = enters("designer"), enters("builder"), "/requests/13/"  # of the demo, a question
    designer.goto(where)
    reason = designer.locator("#decision textarea[name=reason]")
    loses(designer)
    reason.fill("Thursday of which week?")
    send_back = designer.get_by_role("button", name="Send back with the question")
    send_back.tap()
    expect(designer.locator("[data-unsent]")).to_contain_text("never kept to be sent later")
    assert designer.evaluate("() => outbox.all('waiting')") == []
    finds(designer)
    expect(designer.locator("[data-unsent]")).to_have_count(0, timeout=ANSWERED_WITHIN_MS)
    expect(reason).to_have_value("Thursday of which week?")
    send_back.tap()
    expect(designer.locator("main")).to_contain_text("Sent back with a question by")

    builder.goto(where)
    loses(builder)
    builder.get_by_label("Your answer").fill("The week after the trusses are set.")
    builder.get_by_role("button", name="Answer and file again").tap()
    waits = builder.locator("#device-waits")
    expect(waits).to_contain_text("Your answer The week after the trusses are set.", use_inner_text=True)
    finds(builder)
    expect(waits.locator(".tag", has_text="arrived")).to_have_count(1)
    builder.goto(where)
    expect(builder.locator(".story")).to_contain_text("The week after the trusses are set.")
    assert builder.evaluate("() => outbox.all('drafts')") == []
