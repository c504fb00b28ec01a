"""The demo as a stranger starts it (a web server and a worker, each a process of its own) and Chromium to use it with.

It all lives as long as this folder's tests: Playwright's loop and Django's database calls can't share a thread.
"""

from __future__ import annotations

import os
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import psutil
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from tests.browser.people import DESK, PASSWORD, PHONE, Person, Size
from tests.browser.worker import Worker
from tests.prepared_demo import copied

ROOT = Path(__file__).resolve().parents[2]
CHROMIUM = shutil.which("chromium-headless-shell") or shutil.which("chromium")
"""The shell is the same browser without its windows: a page of its own takes a quarter of the time."""
STARTED_WITHIN_S = 300
UNANSWERED = "SELECT count(*) FROM changes_request WHERE state IN ('filed', 'computing')"
NO_WORKER = "Service Worker registration blocked by Playwright"
"""Only the tests of what works without a signal let pages be kept: keeping a job opens all of its sheets."""
ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--no-first-run",
)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker("browser")
            # once more, and told by name: beside a whole suite on two cores a finger's touch comes late now and then
            item.add_marker(pytest.mark.flaky(reruns=1))
            if CHROMIUM is None:
                item.add_marker(
                    pytest.mark.skip(
                        reason="Chromium is not installed: there is neither `chromium-headless-shell` nor `chromium`"
                    )
                )


@pytest.fixture(scope="package")
def demo_process(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[subprocess.Popen[bytes], str]]:
    """A demo of its own, on SQLite and the broker without a server, and its address; as it stands after its start."""
    data = copied(tmp_path_factory)
    port = _free_port()
    own = {"DATA_DIR": str(data), "DEMO_PASSWORD": PASSWORD, "MODE": "demo", "ATLAS_SEARCHES": "0"}
    elsewhere = ("DATABASE_URL", "REDIS_URL")
    environment = {key: value for key, value in os.environ.items() if key not in elsewhere} | own
    said = data / "demo.log"
    with said.open("wb") as out:
        command = [sys.executable, "manage.py", "demo", "--port", str(port)]
        process = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=out, stderr=subprocess.STDOUT)
    try:
        address = f"http://127.0.0.1:{port}"
        _wait_for(said, f"Chord Change is running: {address}/", process)
        yield process, address
    finally:
        process.send_signal(signal.SIGTERM)
        assert process.wait(30) == 0, said.read_text()


@pytest.fixture(scope="package")
def database(demo_process: tuple[subprocess.Popen[bytes], str]) -> tuple[Path, sqlite3.Connection]:
    """The demo's database, and what was in it when it had started and its worker had answered what is asked in it."""
    live = Path(psutil.Process(demo_process[0].pid).environ()["DATA_DIR"]) / "chord-change.sqlite3"
    at_first = sqlite3.connect(":memory:")
    with closing(sqlite3.connect(live, timeout=30)) as source:
        until = time.monotonic() + STARTED_WITHIN_S
        while (waiting := source.execute(UNANSWERED).fetchone()[0]) or source.in_transaction:
            assert time.monotonic() < until, f"{waiting} requests of the demo have no answer yet"
            time.sleep(0.2)
        source.backup(at_first)
    return live, at_first


@pytest.fixture(scope="module", autouse=True)
def as_it_started(database: tuple[Path, sqlite3.Connection]) -> Callable[[], None]:
    """Each file of these tests has the demo as it started, whatever other files asked and decided there before; people
    stay signed in. What the server keeps in memory is kept by its content."""
    live, at_first = database

    def restore() -> None:
        with closing(sqlite3.connect(live, timeout=30)) as target:
            sessions = target.execute("SELECT * FROM django_session").fetchall()
            at_first.backup(target)
            target.executemany("INSERT OR IGNORE INTO django_session VALUES (?, ?, ?)", sessions)
            target.commit()

    restore()
    return restore


@pytest.fixture(autouse=True)
def not_as_the_failed_try_left_it(request: pytest.FixtureRequest, as_it_started: Callable[[], None]) -> None:
    """A test that is tried once more finds nothing asked that it asked itself before."""
    if getattr(request.node, "execution_count", 1) > 1:
        as_it_started()


@pytest.fixture(scope="package")
def demo(demo_process: tuple[subprocess.Popen[bytes], str]) -> str:
    return demo_process[1]


@pytest.fixture
def worker(demo_process: tuple[subprocess.Popen[bytes], str]) -> Worker:
    return Worker(demo_process[0].pid)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _wait_for(said: Path, words: str, process: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + STARTED_WITHIN_S
    while words not in said.read_text():
        assert process.poll() is None, f"the demo ended: {said.read_text()}"
        assert time.monotonic() < until, f"the demo did not start in {STARTED_WITHIN_S} s: {said.read_text()}"
        time.sleep(0.2)


@pytest.fixture(scope="package")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=list(ARGUMENTS))
        yield chromium
        chromium.close()


@pytest.fixture(params=[PHONE, DESK], ids=["390x844", "1440x900"])
def size(request: pytest.FixtureRequest) -> Size:
    return request.param


@pytest.fixture(scope="package")
def new_context(browser: Browser, demo: str) -> Callable[..., BrowserContext]:
    """A browser of one size with nothing in it, which knows where the demo is."""

    def make(size: Size, **how: object) -> BrowserContext:
        return browser.new_context(
            base_url=demo,
            viewport={"width": size.width, "height": size.height},
            has_touch=size.touch,
            is_mobile=size.touch,
            device_scale_factor=2 if size.touch else 1,
            **{"service_workers": "block", **how},
        )

    return make


@pytest.fixture
def opens(new_context: Callable[..., BrowserContext]) -> Iterator[Callable[..., Page]]:
    """A page in a browser of its own. What its console complains of, or what it can't load, fails the test."""
    contexts: list[BrowserContext] = []
    troubles: list[str] = []

    def make(size: Size, **how: object) -> Page:
        context = new_context(size, **how)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(15_000)
        listen(page, troubles)
        return page

    yield make
    for context in contexts:
        context.close()
    assert not troubles, "\n".join(troubles)


def listen(page: Page, troubles: list[str]) -> None:
    page.on("pageerror", lambda error: troubles.append(f"{page.url}: {error}"))
    page.on("console", lambda said: _console(page, said, troubles))
    page.on("requestfailed", lambda request: _failed(page, request, troubles))
    page.on("response", lambda answer: _answered(page, answer, troubles))


def _console(page: Page, said, troubles: list[str]) -> None:
    # What couldn't be loaded is told by `_answered` with its status; the console repeats it without one.
    # Where graphics are drawn in software, the browser itself reads each picture back, and its driver remarks on that.
    own = said.text.startswith("[.WebGL") and "GPU stall due to ReadPixels" in said.text
    own = own or said.text == NO_WORKER
    if said.type in ("error", "warning") and not own and not said.text.startswith("Failed to load resource"):
        troubles.append(f"{page.url} console: {said.text}")


def _failed(page: Page, request, troubles: list[str]) -> None:
    # Leaving a page ends what was still on its way to it. A script that the page's policy refuses is told by the
    # console, and where scripts are off the browser says the same of those that it was to fetch beforehand.
    refused = request.resource_type == "script" and request.failure == "csp"
    if request.failure != "net::ERR_ABORTED" and not refused:
        troubles.append(f"{page.url}: {request.method} {request.url}: {request.failure}")


def _answered(page: Page, answer, troubles: list[str]) -> None:
    expected = getattr(page, "expected_status", None)
    if answer.status >= 400 and answer.status != expected:
        troubles.append(f"{page.url}: {answer.request.method} {answer.url} answered {answer.status}")


@pytest.fixture(scope="package")
def signed_in(browser: Browser, demo: str) -> Callable[[str | None], dict | None]:
    """The cookies of each of the invented people, by one sign-in each; None: nobody's."""
    states: dict[str, dict] = {}

    def state(who: str | None) -> dict | None:
        if who is not None and who not in states:
            context = browser.new_context(base_url=demo, service_workers="block")
            Person(context.new_page(), DESK).sign_in(who)
            states[who] = {"cookies": context.cookies(), "origins": []}
            context.close()
        return states.get(who) if who else None

    return state


@pytest.fixture
def enters(opens: Callable[..., Page], signed_in: Callable[[str | None], dict | None]) -> Callable[..., Person]:
    """One of the invented people, signed in and at the page where they begin."""

    def make(username: str, size: Size, **how: object) -> Person:
        person = Person(opens(size, storage_state=signed_in(username), **how), size)
        person.page.goto("/")
        if "/sign-in/" in person.page.url:  # somebody became another person with those cookies
            person.sign_in(username)
        return person

    return make
