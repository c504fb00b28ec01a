"""What pages call things: our own state is no professional's approval, and a reversed force names its combination."""

from __future__ import annotations

import html
import re
from pathlib import Path
from types import SimpleNamespace

import pytest

from changes import workflow
from changes.models import State
from changes.pages.section import Section
from tests.changes.asking import HITS_WEB
from tests.sealed import SAID, drawing
from trusses.models import Stage
from trusses.sealing import recording, seals
from trusses.sheets.cautions import STANDING_NOTICE

TEMPLATES = Path(__file__).resolve().parent.parent.parent / "templates"
NOTICE = "except where its own current sealed drawing, on site, shows just that."
APPROVAL = re.compile(r"\bapproved\b", re.IGNORECASE)


def words_of(page: str) -> str:
    """What a page or a template shows of text, without its tags and the template's own logic."""
    return html.unescape(" ".join(re.sub(r"<[^>]+>|\{%.*?%\}|\{\{.*?\}\}", " ", page).split()))


@pytest.fixture
def issued(answered, designer):
    change = answered(HITS_WEB)
    option = change.options.filter(passes=True).order_by("rank").first()
    workflow.decide(designer, change, verdict="approve", options={change.asks.get().pk: option.pk})
    change.refresh_from_db()
    return change


def test_a_request_says_what_became_of_its_revision(client_of, issued, designer, site_lead, judged_here):
    revision, page = issued.asks.get().truss.current, f"/requests/{issued.pk}/"
    said, sent = {**SAID, "sealed_on": issued.job.today(), "covers": ("plates", "restraint")}, drawing()
    seals.say_what_is_asked(designer, issued.job, review=True, acceptance=False, without="blocks")
    seal = recording.attach(designer, revision, sent, len(sent.getvalue()), **said)
    assert "revision issued, its sealed drawing not complete" in words_of(
        client_of(site_lead).get(page).content.decode()
    )
    recording.record(designer, seal, "reviewed", name="An invented reviewer", on=issued.job.today())
    told = words_of(client_of(site_lead).get(page).content.decode())
    assert "revision issued, its sealed drawing on record" in told
    assert "; its sealed drawing on record" in told
    assert "After: what was issued, its sealed drawing on record" in told
    assert "not sealed" not in told[: told.index("What happened")]
    queue = words_of(client_of(designer).get(f"/jobs/{issued.job_id}/requests/?state=approved").content.decode())
    assert "revision issued, its sealed drawing on record" in queue


def test_nothing_of_a_request_is_green(client_of, issued, designer, judged_here):
    """Whether to build stands on a sheet, and there alone: not sealed, not complete and on record are told apart."""

    def looks():
        page = client_of(designer).get(f"/requests/{issued.pk}/").content.decode()
        queue = client_of(designer).get(f"/jobs/{issued.job_id}/requests/?state=all").content.decode()
        assert re.findall(r'"(?:tag|note) good"', page + queue) == []
        tags = re.findall(r'<span class="tag ?(\w*)">revision issued, ([^<]+)</span>', page + queue)
        (note,) = re.findall(r'<section class="note ?(\w*)" aria-label="Decision"', page)
        assert tags[0] == tags[1]
        return [*tags[0], note]

    revision = issued.asks.get().truss.current
    assert looks() == ["look", "not sealed", "look"]
    said, sent = {**SAID, "sealed_on": issued.job.today(), "covers": ("plates", "restraint")}, drawing()
    seals.say_what_is_asked(designer, issued.job, review=True, acceptance=False, without="blocks")
    seal = recording.attach(designer, revision, sent, len(sent.getvalue()), **said)
    assert looks() == ["look", "its sealed drawing not complete", "look"]
    recording.record(designer, seal, "reviewed", name="An invented reviewer", on=issued.job.today())
    assert looks() == ["", "its sealed drawing on record", ""]


def test_each_revision_of_a_decision_tells_its_own_state(client_of, issued, site_lead):
    truss, page = issued.asks.get().truss, f"/requests/{issued.pk}/"
    first, second, *_ = truss.copies.order_by("number")
    truss.copies.filter(pk__in=[first.pk, second.pk]).update(stage=Stage.CUT, built_to=truss.current)
    n = truss.copies.count()
    assert f"build from it. not sealed; 2 of {n} cut to it" in words_of(client_of(site_lead).get(page).content.decode())
    truss.copies.filter(pk=first.pk).update(stage=Stage.SET)
    told = words_of(client_of(site_lead).get(page).content.decode())
    assert f"not sealed; 2 of {n} cut to it, 1 set" in told


def test_a_sealed_drawing_that_is_there_is_no_leave_to_cut():
    """“Not until it is on site” read as leave once it was, below a sheet that says yes."""
    assert "until" not in STANDING_NOTICE
    assert STANDING_NOTICE.endswith(NOTICE)
    assert NOTICE in words_of((TEMPLATES / "base.html").read_text())


@pytest.mark.parametrize("template", sorted(TEMPLATES.rglob("*.html")), ids=lambda path: path.name)
def test_no_page_calls_anything_approved(template):
    """Negations stay: what “can't be approved” is no permission."""
    said = re.sub(r"can't be approved", "", words_of(template.read_text()))
    assert not APPROVAL.search(said)


def test_a_request_that_was_decided_is_called_issued_and_not_sealed(client_of, issued, site_lead):
    assert issued.state == State.APPROVED
    assert issued.get_state_display() == "revision issued, not sealed"
    told = words_of(client_of(site_lead).get(f"/requests/{issued.pk}/").content.decode())
    assert "revision issued, not sealed" in told
    assert "New revision issued, not sealed, by" in told
    assert NOTICE in told
    assert not APPROVAL.search(told)
    truss = issued.asks.get().truss
    sheet = words_of(client_of(site_lead).get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/revisions/1/").content.decode())
    assert NOTICE in sheet
    assert not APPROVAL.search(sheet)


def test_a_reversed_force_names_the_combinations_the_largest_swing_first():
    """Of four combinations three are told: swings of 90, 70, 50 and 30 lb."""
    swings = {"D": (20, -10), "D + S": (10, -80), "D + 0.6W": (-30, 40), "0.6D + 0.6W": (25, -25)}
    member = {"id": "W1", "change": "kept", "crosses_limit": False, "reverses": True, "force_lb": [20, -80]}
    comparison = {
        "members": [{**member, "reverses_in": list(swings)}],
        "combinations": {name: {"W1": list(pair)} for name, pair in swings.items()},
    }
    section = Section(None, [], [], [], SimpleNamespace(comparison=comparison))
    section.called = {"W1": "W1"}
    (told,) = section.changed
    assert told["reverses_under"] == "D + S, D + 0.6W, 0.6D + 0.6W and 1 more"
    member["reverses"], comparison["members"] = False, [{**member, "reverses_in": []}]
    assert section.changed[0]["reverses_under"] == ""


def test_the_page_says_it_beside_the_mark(client_of, answered, designer):
    change = answered(HITS_WEB)
    reversed_in = {
        (member["id"], name)
        for option in change.options.all()
        for member in option.comparison["members"]
        for name in member["reverses_in"]
    }
    for option in change.options.all():
        told = words_of(client_of(designer).get(f"/requests/{change.pk}/?option={option.pk}").content.decode())
        rows = sum(member["reverses"] for member in option.comparison["members"])
        assert told.count("sign reversed under ") == rows
    assert reversed_in, "no option reverses a force, so that nothing was looked at"
