"""An approval makes of the copies what its page showed, or says what it would make now."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from changes import workflow
from changes.models import State
from tests.changes.asking import FITS, approve, compute
from tests.trusses.reading import text
from trusses.models import Truss

pytestmark = pytest.mark.django_db


@pytest.fixture
def wants(row, job, builder, needed_by):
    """A request for an opening in one copy alone, computed."""

    def make(x: float, copies: list[int]):
        opening = {"truss": row.pk, "kind": "opening", "opening": {**FITS, "centre_in": [x, 20]}, "copies": copies}
        return compute(workflow.file(builder, job, reason=f"A pipe at {x}", needed_by=needed_by, asks=[opening]))

    return make


def form_of(page: str, ask, option) -> dict[str, str]:
    """What the page's form sends with its button that approves."""
    hidden = dict(re.findall(r'<input type="hidden" name="(state|after|goes)" value="([^"]*)"', page))
    return {**hidden, "verdict": "approve", f"option-{ask.pk}": str(option.pk), "option": str(option.pk)}


def marks(job) -> list[tuple[str, list[int]]]:
    rows = Truss.objects.filter(job=job, withdrawn_at=None).order_by("mark")
    return [(one.mark, sorted(one.copies.values_list("number", flat=True))) for one in rows if one.copies.exists()]


def test_where_copies_would_go_elsewhere_by_now_the_page_is_late(wants, row, job, designer, client_of):
    """Shown: copy 2 becomes K1-b. Meanwhile copy 1 became that with an opening at the mirrored place, a fraction of an
    inch apart: copy 2 would join it, turned, with its opening where copy 1 has it."""
    first, second = wants(100, [1]), wants(139.6, [2])
    desk, ask = client_of(designer), second.asks.get()
    option = ask.options.filter(stale=False).first()
    address = reverse("changes:decide", args=[second.pk])
    page = desk.get(f"/requests/{second.pk}/").content.decode()
    sent = form_of(page, ask, option)
    assert len(sent["goes"]) == 64
    approve(designer, first)
    before = marks(job)
    late = desk.post(address, sent)
    assert late.status_code == 422
    assert "makes something else by now than the page showed. Copy 2 of K1 joins K1-b" in text(late)
    second.refresh_from_db()
    assert (second.state, marks(job)) == (State.AWAITING_DECISION, before)
    # the page that came back shows it, and is not late
    again = form_of(late.content.decode(), ask, option)
    assert again["goes"] != sent["goes"]
    assert desk.post(address, again).status_code == 302
    second.refresh_from_db()
    assert second.state == State.APPROVED
    assert marks(job) != before


def test_as_shown_it_is_done(wants, job, designer, client_of):
    change = wants(100, [1])
    desk, ask = client_of(designer), change.asks.get()
    page = desk.get(f"/requests/{change.pk}/").content.decode()
    sent = form_of(page, ask, ask.options.filter(stale=False).first())
    assert desk.post(reverse("changes:decide", args=[change.pk]), sent).status_code == 302
    change.refresh_from_db()
    assert change.state == State.APPROVED
