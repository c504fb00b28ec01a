"""No page of the demo's set, and no form of one that is sent, solves a frame in the process that serves it; the worker
does, before or afterwards."""

from __future__ import annotations

import json
import pickle
import re
from collections import Counter, deque
from html import unescape
from html.parser import HTMLParser
from typing import Any

import pytest
from django.apps import apps
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connections, transaction
from django.test import Client

from changes.models import Decision, Request, State
from tests.prepared_demo import prepared
from trusses import drawing
from trusses.analysis.frame import solve
from trusses.marks.correcting import stops_correcting
from trusses.models import Job, Submission, Truss

LEFT_OUT = re.compile(
    r"^/(admin|static|api|account|sign|demo|log|print.css)|/plain|/members/\?|\.(png|pdf|svg|txt|css|js)$"
)
MOST = 900
OF_A_KIND = 6
"""So many addresses of a kind are opened, requests aside, of which each is."""


class Solved(AssertionError):
    """Raised in place of an answer, so that no page can catch it as a refusal."""


@pytest.fixture(scope="module")
def rows(django_db_setup, django_db_blocker, tmp_path_factory) -> bytes:
    """The demo's rows by the table's label, as the demo that is prepared once for all tests has them; pickled, as
    each test takes them anew."""
    name = "prepared demo"
    file = prepared(tmp_path_factory) / "chord-change.sqlite3"
    sqlite = {"ENGINE": "django.db.backends.sqlite3", "NAME": str(file), "OPTIONS": {}}
    connections.databases[name] = connections.databases["default"] | sqlite
    tables = [table for table in apps.get_models(include_auto_created=True) if table not in (ContentType, Permission)]
    try:
        with django_db_blocker.unblock():
            return pickle.dumps({table._meta.label: list(table._base_manager.using(name).values()) for table in tables})
    finally:
        connections[name].close()
        del connections.databases[name], connections[name]


@pytest.fixture
def the_set(db, rows, settings, monkeypatch) -> Job:
    settings.DEMO = True
    for label, those in pickle.loads(rows).items():
        table = apps.get_model(label)
        table._base_manager.bulk_create(table(**values) for values in those)

    def solved(*_: Any) -> None:
        raise Solved("a frame was solved in a web request")

    monkeypatch.setattr(solve, "_solve", solved)
    for picture in ("elevation", "detail", "thumbnail"):  # hundreds of them, and none is of interest here
        monkeypatch.setattr(drawing, picture, lambda *_, **__: "<svg></svg>")
    return Job.objects.get()


def person(name: str) -> Client:
    client = Client()
    client.force_login(get_user_model().objects.get(username=name))
    return client


def seen(client: Client, *start: str, within: str = "") -> set[str]:
    """The pages that links lead to, of those whose addresses begin so."""
    waiting, done = deque(start), set(start)
    had: Counter[str] = Counter()
    while waiting:
        address = waiting.popleft()
        answer = client.get(address)
        assert answer.status_code in (200, 302), (address, answer.status_code)
        assert len(done) < MOST
        if not answer.get("Content-Type", "").startswith("text/html"):
            continue
        for link in re.findall(r'href="(/[^"#]*)', answer.content.decode()):
            to = unescape(link)
            if to not in done and not LEFT_OUT.search(to) and re.match(within, to):
                kind = re.sub(r"\d+", "N", to.partition("?")[0]) + ("?" if "?" in to else "")
                had[kind] += kind != "/requests/N/"
                if had[kind] <= OF_A_KIND:
                    done.add(to)
                    waiting.append(to)
    return done


class Forms(HTMLParser):
    """The forms of a page that are sent by POST: where to, what stands in them, and what each button adds."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, Any], list[tuple[str, str]]]] = []
        self.fields: dict[str, Any] | None = None
        self.choice = self.text = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        own = {name: value or "" for name, value in attrs}
        name = own.get("name", "")
        if tag == "form" and own.get("method") == "post":
            self.fields = {}
            self.found.append((own.get("action", ""), self.fields, []))
        if self.fields is None or "disabled" in own:
            return
        if tag == "button" and own.get("type", "submit") == "submit":
            self.found[-1][2].append((name, own.get("value", "")))
        elif tag in ("select", "textarea"):
            self.choice, self.text = (name, "") if tag == "select" else ("", name)
        elif tag == "option" and self.choice and ("selected" in own or self.choice not in self.fields):
            self.fields[self.choice] = own.get("value", "")
        elif tag == "input" and name and own.get("type") != "file":
            ticked = own.get("type") not in ("radio", "checkbox") or "checked" in own
            if ticked or (own.get("type") == "radio" and name not in self.fields):
                self.fields[name] = own.get("value", "")

    def handle_data(self, data: str) -> None:
        if self.text and self.fields is not None:
            self.fields[self.text] = self.fields.get(self.text, "") + data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.fields = None
        if tag in ("select", "textarea"):
            self.choice = self.text = ""


NOT_SENT = re.compile(r"^/(sign-out|demo|admin|language)")
TYPED = {"mark": "Z9", "reason": "Because.", "says": "Because.", "what_for": "Because."}
"""What a person would type where a page has nothing yet."""


EACH = 3
"""So many pages of a kind have their forms sent, the newest, which are open: enough that one can be sent."""


def sent(client: Client, pages: set[str]) -> dict[str, set[int]]:
    """Sends each form of some pages of each kind by each of its buttons, as it stands there with what a person would
    type, and takes back what that did. {kind of address: the statuses that came back}."""
    answers: dict[str, set[int]] = {}
    had: Counter[str] = Counter()
    for page in sorted(pages, reverse=True):
        kind = re.sub(r"\d+", "N", page.partition("?")[0])
        had[kind] += 1
        if had[kind] > EACH:
            continue
        answer = client.get(page)
        if answer.status_code != 200 or not answer.get("Content-Type", "").startswith("text/html"):
            continue
        for action, fields, buttons in Forms(answer.content.decode()).found:
            address = action or page.partition("?")[0]
            if NOT_SENT.match(address):
                continue
            typed = {name: value if value.strip() else TYPED.get(name, "") for name, value in fields.items()}
            for name, value in buttons or [("", "")]:
                before = transaction.savepoint()
                status = client.post(address, typed | ({name: value} if name else {})).status_code
                transaction.savepoint_rollback(before)
                assert status in (200, 302, 403, 409, 422), (address, name, value, status)
                answers.setdefault(re.sub(r"\d+", "N", address), set()).add(status)
    return answers


def test_what_a_designer_sends_to_the_set_does_not(the_set):
    """Correcting, uploading and taking up loads of ordinary trusses, which would be little to do."""
    client = person("designer")
    mark = the_set.trusses.filter(mark="R1").get()
    document = {**mark.current.document, "title": "With another title"}
    where = f"/jobs/{the_set.pk}/trusses"
    file = SimpleUploadedFile("r.json", json.dumps({**document, "mark": "Z1"}).encode())
    assert client.post(f"{where}/upload/", {"file": file, "quantity": 1}).status_code == 302
    assert client.post(f"{where}/new/draw/", {"kind": "w", "span": "24'"}).status_code == 200
    free = next(one for one in the_set.trusses.all() if not stops_correcting(one))
    changed = json.dumps({**free.current.document, "title": "With another title"})
    typed = {"document": changed, "reason": "The title.", "seen": free.current_id}
    assert client.post(f"{where}/{free.pk}/correct/", typed).status_code == 302
    carrier = Truss.objects.filter(carried__isnull=False, job=the_set).distinct().first()
    carrier.copies.update(stage="designing", released_to=None)
    carrier.carried.all().delete()
    assert client.post(f"{where}/{carrier.pk}/loads/").headers["Location"].startswith("/submissions/")
    kinds = Submission.objects.order_by("pk").values_list("kind", flat=True)
    assert list(kinds) == ["new mark", "correction", "loads"]


def test_no_page_does_and_no_form_of_one(the_set):
    designer = person("designer")
    found = seen(designer, "/", f"/jobs/{the_set.pk}/requests/?state=all")
    marks = r"/jobs/\d+/trusses/\d+/($|needs/|ask/$)"
    asks = {one for one in seen(person("builder"), f"/jobs/{the_set.pk}/", within=marks) if one.endswith("/ask/")}
    assert len(found) > 60
    assert len(asks) > 3
    requests = [address for address in found if re.fullmatch(r"/requests/\d+/", address)]
    assert len(requests) == Request.objects.count()

    answers = sent(designer, found)
    taken = {address for address, statuses in answers.items() if 302 in statuses}
    assert taken >= {
        "/jobs/N/trusses/new/",
        "/jobs/N/trusses/N/bearings/",
        "/jobs/N/trusses/N/revise/",
        "/requests/N/decide/",
    }, answers
    assert answers["/requests/N/options/N/edit/"] == {422}  # as it is sent, nothing is edited
    assert "/jobs/N/trusses/N/correct/" in answers
    answers = sent(person("builder"), {*asks, *requests})
    assert {200, 302} & answers["/jobs/N/trusses/N/ask/"], answers


def test_an_edited_option_waits_for_the_worker(the_set):
    change = Request.objects.filter(state=State.AWAITING_DECISION, options__isnull=False).order_by("pk").first()
    option = change.options.order_by("pk").first()
    web = next(member for member in option.document["members"] if member["role"] == "web")
    other = next(key for key in ("2x4 SPF 2100f-1.8E", "2x6 SPF 2100f-1.8E") if key != web["lumber"])
    edited = {f"lumber-{web['id']}": other, "compute": "1"}
    answer = person("designer").post(f"/requests/{change.pk}/options/{option.pk}/edit/", edited)
    assert answer.status_code == 302
    assert change.options.order_by("pk").last().analysis is None


def test_checks_under_each_combination_and_of_each_member_do_not(the_set):
    change = Request.objects.filter(state=State.AWAITING_DECISION).order_by("pk").first()
    option, client = change.options.exclude(analysis=None).first(), person("designer")
    for combination in option.analysis["combinations"]:
        address = f"/requests/{change.pk}/"
        assert client.get(address, {"option": option.pk, "combination": combination}).status_code == 200
        member = {"member": option.document["members"][0]["id"], "combination": combination}
        assert client.get(f"{address}options/{option.pk}/members/", member).status_code == 200


def test_a_decision_that_loads_carriers_follows_what_the_worker_stored(the_set):
    """The request with a heavier roof, whose truss stands on a girder."""
    waiting = Request.objects.filter(state=State.AWAITING_DECISION, options__consequences__analysis__isnull=False)
    change = waiting.distinct().get()
    option = change.options.filter(stale=False, consequences__isnull=False).order_by("worst_ratio").first()
    carrier = option.consequences.get()
    body = {"verdict": Decision.Choice.APPROVE.value, "reason": "Slate, as sold."}
    body |= {f"option-{ask.pk}": option.pk for ask in change.asks.all()}
    answer = person("designer").post(f"/requests/{change.pk}/decide/", body)
    assert answer.status_code == 302, re.findall(r'role="alert".*?</', answer.content.decode(), re.S)
    carrier.carrier.refresh_from_db()
    assert carrier.carrier.current.sha256 == carrier.sha256
    assert carrier.carrier.current.analysis == carrier.analysis
