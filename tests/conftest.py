"""The standing cast: one job with a builder, a designer and a site lead, and an outsider who is a member of no job."""

from __future__ import annotations

import copy
import gc
import json
import os
import pickle
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.test import Client
from rest_framework.test import APIClient
from whitenoise.middleware import WhiteNoiseMiddleware

from trusses import revisions
from trusses.analysis.frame import solve
from trusses.analysis.words.refusal import Refusal
from trusses.models import Job, Membership, Role, Truss

PASSWORD = "a long enough password"

# 20 ft king post truss: four joints, every check passes with room to spare
KING_POST: dict[str, Any] = {
    "format": "chordchange.truss",
    "version": 1,
    "mark": "K1",
    "title": "King post over the porch",
    "spacing_in": 24,
    "joints": {"A": [0, 0], "B": [120, 60], "C": [240, 0], "D": [120, 0]},
    "members": [
        {"id": "T1", "role": "top_chord", "joints": ["A", "B"], "lumber": "2x6 DF-L No.1"},
        {"id": "T2", "role": "top_chord", "joints": ["B", "C"], "lumber": "2x6 DF-L No.1"},
        {"id": "B1", "role": "bottom_chord", "joints": ["A", "D"], "lumber": "2x6 DF-L No.1"},
        {"id": "B2", "role": "bottom_chord", "joints": ["D", "C"], "lumber": "2x6 DF-L No.1"},
        {"id": "W1", "role": "web", "joints": ["B", "D"], "lumber": "2x4 SPF No.1/No.2"},
    ],
    "hinges": ["A", "B", "C"],
    "bearings": [
        {"joint": "A", "restrains": "xy", "width_in": 5.5},
        {"joint": "C", "restrains": "y", "width_in": 5.5},
    ],
    "loads": {
        "area": [
            {"case": "dead", "chord": "top_chord", "psf": 10, "along": "slope"},
            {"case": "dead", "chord": "bottom_chord", "psf": 5, "along": "slope"},
            {"case": "snow", "chord": "top_chord", "psf": 20, "along": "plan", "pattern": "balanced"},
            {"case": "snow", "chord": "top_chord", "psf": 20, "along": "plan", "pattern": "left", "to_x_in": 120},
            {"case": "snow", "chord": "top_chord", "psf": 20, "along": "plan", "pattern": "right", "from_x_in": 120},
            {"case": "wind", "chord": "top_chord", "psf": -20, "along": "normal", "pattern": "up"},
            {"case": "wind", "chord": "top_chord", "psf": 10, "along": "normal", "pattern": "down"},
        ]
    },
    "uplift_dead_share": 0.8,
    "lateral_restraint": {"top_chord_in": 24, "bottom_chord_in": 48},
}


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Tests that share what is dear to make go to one process: a started demo, a browser, a migrated database. Marks of
    groups don't reach the scheduler with this pytest.

    One process of three drives the browser from the start: it waits as often as it computes, and all three at once
    would leave cores idle. As it can't ask the database from then on, it goes on with what doesn't. The others come to
    the browser's files last, should any be left, and one alone at a time has tests that mostly wait."""
    from xdist.scheduler import LoadScopeScheduling

    config.option.loadscopereorder = False

    class Together(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            file = nodeid.partition("::")[0]
            return file if file.startswith(BROWSER) or file in SHARES else nodeid

        def schedule(self) -> None:
            if self.collection is None:
                ids = next(iter(self.registered_collections.values()))
                first = next((i for i, nodeid in enumerate(ids) if nodeid.startswith(BROWSER)), len(ids))
                self.without_database = dict.fromkeys(map(self._split_scope, ids[first:]))
                self.drivers = self.nodes[: len(self.nodes) // 3] if self.without_database else ()
                self.waiting = []
            super().schedule()

        def _assign_work_unit(self, node: Any) -> None:
            if node in self.drivers:
                scope = next((one for one in self.without_database if one in self.workqueue), None)
            else:
                waits = any(one is not node and not all(tests.values()) for one, tests in self.waiting)
                put_off = (BROWSER, *WAITS) if waits else BROWSER
                now = (one for one in self.workqueue if not one.startswith(put_off))
                scope = next(now, next(iter(self.workqueue)))
            if scope is None:
                node.shutdown()
                return
            if scope.startswith(WAITS):
                self.waiting.append((node, self.workqueue[scope]))
            self.workqueue.move_to_end(scope, last=False)
            super()._assign_work_unit(node)

    return Together(config, log)


SHARES = {
    "tests/analysis/redesign/test_atlas.py",
    "tests/project/test_demo.py",
    "tests/project/test_no_page_solves.py",
    "tests/project/test_starting.py",
}
"""Beside the browser's, of which each process keeps one demo for all its files."""

BROWSER = "tests/browser/"

WAITS = (
    "tests/changes/test_services.py",
    "tests/project/test_demo.py",
    "tests/changes/test_worker.py",
    "tests/changes/test_lost_redis.py",
)
"""For other processes, for leases and for messages that are to be lost."""

LONGEST = (
    "tests/browser/test_printed_sheet.py",
    "tests/browser/test_without_a_signal.py",
    "tests/browser/test_accessibility.py",
    "tests/browser/test_pages.py",
    BROWSER,
)


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What waits longest is begun first. Behind what needs the database are the browser's, the longest first, and the
    thousands of short ones at the end, so that no process is idle while another has a long file before it."""

    def turn(item: pytest.Item) -> int:
        if item.get_closest_marker("django_db") or {"db", "transactional_db"} & set(item.fixturenames):
            return 0
        if item.nodeid.startswith(WAITS):
            return -1
        return next((i for i, start in enumerate(LONGEST, 1) if item.nodeid.startswith(start)), len(LONGEST) + 1)

    items.sort(key=turn)


@pytest.hookimpl(trylast=True)
def pytest_collection_finish() -> None:
    """What thousands of tests are made of stays until the end: the garbage collector needn't look at it again and
    again, which was a tenth of the time."""
    gc.collect()
    gc.freeze()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    """With NO_SKIPS set, as in CI, a skipped test is a failed one: there every service is there."""
    report = yield
    if report.skipped and os.environ.get("NO_SKIPS"):
        report.outcome = "failed"
        report.longrepr = f"skipped where no skip is allowed: {report.longrepr}"
    return report


@pytest.fixture(autouse=True)
def counts_of_its_own(settings, tmp_path_factory):
    """What is counted against a limit is counted for the tests of one process alone, which run beside others."""
    settings.CACHES = {
        name: cache | {"LOCATION": tmp_path_factory.getbasetemp() / name} for name, cache in settings.CACHES.items()
    }


@pytest.fixture(autouse=True, scope="session")
def refusals_hold_plain_values():
    """Whatever is refused in any test has values that JSON can hold."""
    made = Refusal.__init__

    def checked(self: Refusal, *args: Any, **values: Any) -> None:
        made(self, *args, **values)
        json.dumps(self.coded, allow_nan=False)

    Refusal.__init__ = checked
    yield
    Refusal.__init__ = made


@pytest.fixture(autouse=True, scope="session")
def static_files_are_listed_once():
    """Each test's client has a server of its own, and each server looks through all static files as it starts."""
    lists, listed = WhiteNoiseMiddleware.add_files_from_finders, {}

    def once(one: WhiteNoiseMiddleware) -> None:
        if not listed:
            lists(one)
            listed.update(one.files)
        one.files.update(listed)

    WhiteNoiseMiddleware.add_files_from_finders = once
    yield
    WhiteNoiseMiddleware.add_files_from_finders = lists


@pytest.fixture(autouse=True)
def quick_passwords(settings):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


_ANALYSED: dict[str, bytes] = {}


@pytest.fixture(autouse=True)
def each_document_is_analysed_once(monkeypatch):
    """Thousands of tests enter marks by the same few documents; another time the analysis is told as it was the first
    time. Only of what is sent as it is (`read_and_analyse`): what a search, a page or a carrier's follower works out
    is worked out, and so is all where a test counts or forbids solving."""
    analysed, solving = revisions.analyse, solve._solve

    def once(truss: Any, told: Any) -> Any:
        if solve._solve is not solving:
            return analysed(truss, told)
        if (key := repr((truss.document, told))) not in _ANALYSED:
            _ANALYSED[key] = pickle.dumps(analysed(truss, told).document())
        return SimpleNamespace(document=lambda: pickle.loads(_ANALYSED[key]))

    monkeypatch.setattr(revisions, "analyse", once)


@pytest.fixture
def judged_here(monkeypatch, settings, tmp_path):
    """Sealed drawings are judged in this process, and drawn as an empty picture: a process each would be slow."""
    from trusses.sealing import files, judge

    def here(content: bytes, folder: Path) -> int:
        (folder / "1.png").write_bytes(b"a picture")
        return judge.pages_of(content)

    settings.DATA_DIR = tmp_path
    monkeypatch.setattr(files, "judged", here)


@pytest.fixture
def king_post() -> dict[str, Any]:
    """A small truss document whose checks all pass; each test has its own copy."""
    return copy.deepcopy(KING_POST)


@pytest.fixture
def make_person(db) -> Callable[..., Any]:
    def make(username: str, job: Job | None = None, role: Role | None = None) -> Any:
        person = get_user_model().objects.create_user(username, password=PASSWORD)
        if job is not None:
            Membership.objects.create(job=job, user=person, role=role)
        return person

    return make


@pytest.fixture
def job(db) -> Job:
    """A job that asks for no sealed drawings; what one asks that does is tested in `trusses/sealing/`."""
    from trusses.sealing.models import SealRule

    job = Job.objects.create(name="Invented house on Lot 1", time_zone="America/Denver")
    SealRule.objects.create(job=job, review=False, acceptance=False, without=SealRule.Without.WARNS)
    return job


@pytest.fixture
def builder(make_person, job):
    return make_person("builder", job, Role.BUILDER)


@pytest.fixture
def designer(make_person, job):
    return make_person("designer", job, Role.DESIGNER)


@pytest.fixture
def site_lead(make_person, job):
    return make_person("site-lead", job, Role.SITE_LEAD)


@pytest.fixture
def outsider(make_person):
    return make_person("outsider")


@pytest.fixture
def cast(builder, designer, site_lead, outsider) -> dict[str, Any]:
    """The four people by what they are; None stands for someone who did not sign in."""
    return {"builder": builder, "designer": designer, "site lead": site_lead, "outsider": outsider, "nobody": None}


@pytest.fixture
def client_of() -> Callable[[Any], Client]:
    """A browser in which that person is signed in; None: nobody."""

    def make(person: Any) -> Client:
        client = Client()
        if person is not None:
            client.force_login(person)
        return client

    return make


@pytest.fixture
def api_of() -> Callable[[Any], APIClient]:
    """A program that calls the API with that person's session; None: nobody's."""

    def make(person: Any) -> APIClient:
        client = APIClient()
        if person is not None:
            client.force_login(person)
        return client

    return make


@pytest.fixture
def truss(job, designer, king_post) -> Truss:
    """Mark K1 with its revision 0 and three copies, all being designed."""
    from trusses.revisions import add_mark

    return add_mark(job, king_post, 3, designer)


@pytest.fixture
def other_job(make_person, king_post) -> Truss:
    """The one mark of a job that none of the cast is a member of."""
    from trusses.revisions import add_mark

    job = Job.objects.create(name="Somebody else's house")
    designer = make_person("other-designer", job, Role.DESIGNER)
    return add_mark(job, json.loads(json.dumps(king_post)), 1, designer)
