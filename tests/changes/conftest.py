"""Requests on the king post of tests/conftest.py, computed in this process where a test isn't about the worker."""

from __future__ import annotations

import copy
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from changes import computations as doorbell
from changes import workflow
from changes.models import Request
from tests.changes.asking import FITS, PATH, compute
from tests.changes.kind_forms import TYPED, WHY, address
from tests.changes.on_a_wall import WALL, stand
from trusses.analysis.checks.surroundings import NOTHING_SAID
from trusses.analysis.redesign import search as searching
from trusses.bearings import links
from trusses.models import Copy, Placement
from trusses.plan import placing
from trusses.revisions import add_mark, issue_revision, read_and_analyse


@pytest.fixture(autouse=True)
def own_spool(settings, tmp_path, monkeypatch):
    """A broker of the test's own, that has never been silent."""
    settings.SPOOL_DIR = tmp_path / "spool"
    monkeypatch.setattr(doorbell, "_silent_until", 0.0)


_FOUND: dict = {}


@pytest.fixture(autouse=True)
def each_search_is_made_once(monkeypatch):
    """What a search finds follows from what it is asked; many tests ask the same of K1. Another time it is told as the
    first time it was, without being made again: here alone, not where the search itself is tested."""
    run, found = searching._Search.run, _FOUND

    def once(one: searching._Search) -> list[searching.Candidate]:
        asked = (one.truss.document, one.openings, replace(one.limits, seconds=0.0), one.surroundings, one.building)
        told, tell = [], one._tell
        if (key := repr(asked)) in found:
            told, those = found[key]
            for fraction, says in told:
                tell(fraction, says)
        else:
            one._tell = lambda fraction, says: (told.append((fraction, says)), tell(fraction, says))
            those = run(one)
            if time.monotonic() < one.until:
                found[key] = told, those
        return [replace(each, document=copy.deepcopy(each.document)) for each in those]

    monkeypatch.setattr(searching._Search, "run", once)


@pytest.fixture
def needed_by(job):
    return job.today() + timedelta(days=14)


@pytest.fixture
def ask_for(job, truss, builder, needed_by) -> Callable[..., Request]:
    """Files a request of the builder's for openings in K1."""

    def make(*openings: dict[str, Any], by: Any = None, key: str | None = None, reason: str = "Supply duct") -> Request:
        asks = [{"truss": truss.pk, "kind": "opening", "opening": opening} for opening in openings or (FITS,)]
        return workflow.file(by or builder, job, reason=reason, needed_by=needed_by, asks=asks, key=key)

    return make


@pytest.fixture
def answered(ask_for) -> Callable[..., Request]:
    """A request that awaits its decision, computed here."""

    def make(*openings: dict[str, Any], **kwargs: Any) -> Request:
        change = compute(ask_for(*openings, **kwargs))
        assert change.state == "awaiting decision", change.computations.get().trouble_says
        return change

    return make


@pytest.fixture
def program(api_of, builder):
    return api_of(builder)


@pytest.fixture
def body(job, truss, needed_by):
    return {
        "job": job.pk,
        "reason": "Supply trunk",
        "needed_by": needed_by.isoformat(),
        "asks": [{"truss": truss.pk, "kind": "opening", "opening": FITS}],
    }


@pytest.fixture
def row(truss):
    """Five copies 24 in. apart."""
    placement = Placement.objects.create(truss=truss, origin_x_in=0, origin_y_in=0, spacing_in=24, count=5)
    Copy.objects.filter(truss=truss).delete()
    Copy.objects.bulk_create(Copy(truss=truss, placement=placement, number=n) for n in range(1, 6))
    return truss


@pytest.fixture
def ask(job, row, builder, needed_by):
    def make(kind, wanted, **more):
        asks = [{"truss": row.pk, "kind": kind, kind: wanted, **more}]
        return workflow.file(builder, job, reason="The house changed", needed_by=needed_by, asks=asks)

    return make


@pytest.fixture
def weaker(row, designer):
    """Another revision of the mark, current from now on: with a king post of less wood. What was before it is
    answered with."""
    was = row.current
    document = {**was.document, "members": [dict(member) for member in was.document["members"]]}
    for member in document["members"]:
        if member["id"] == "W1":
            member["lumber"] = "2x6 SPF No.1/No.2"
    issue_revision(row, was, *read_and_analyse(document, NOTHING_SAID), designer)
    row.refresh_from_db()
    return was


ROW = {"level": "Roof", "x_in": 24.0, "y_in": 0.0, "direction": "y", "spacing_in": 24.0, "count": 3, "note": ""}


@pytest.fixture
def placed(truss, designer, king_post, job):
    """K1 at x = 24, 48, 72 and K2, alike, at 96 and 120; spans along y."""
    placing.place(designer, truss, None, ROW)
    other = add_mark(job, {**king_post, "mark": "K2"}, 2, designer)
    placing.place(designer, other, None, ROW | {"x_in": 96.0, "count": 2})
    return truss, other


@pytest.fixture
def file_run(job, builder, needed_by, placed):
    def make(**changed):
        asks = [{"kind": "run", "run": PATH | changed}]
        return workflow.file(builder, job, reason="A duct", needed_by=needed_by, asks=asks)

    return make


@pytest.fixture
def send(client_of, builder, row, needed_by):
    """Sends the form of a kind of ask, by the builder where nobody else is named."""

    def make(kind, person=None, **typed):
        body = {**TYPED[kind], **WHY, "needed_by": needed_by.isoformat(), **typed}
        return client_of(person or builder).post(address(row, kind), body)

    return make


@pytest.fixture
def beside(row, designer, job, king_post):
    """K1 ends and K2 begins on one wall; of K2, 2 are set and 1 is delivered."""
    other = add_mark(job, {**king_post, "mark": "K2"}, 3, designer)
    stand(other, x=240)
    links.set_link(designer, row, "C", wall=WALL, plate="2x6 DF-L No.2")
    links.set_link(designer, other, "A", wall=WALL)
    Copy.objects.filter(truss=other).update(stage="set", built_to=other.current, released_to=other.current)
    Copy.objects.filter(truss=other, number=3).update(stage="delivered")
    return other
