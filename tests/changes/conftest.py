"""Requests on the king post of tests/conftest.py, computed in this process where a test isn't about the worker."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from changes import computations as doorbell
from changes import workflow
from changes.models import Request
from tests.changes.asking import FITS, compute


@pytest.fixture(autouse=True)
def own_spool(settings, tmp_path, monkeypatch):
    """A broker of the test's own, that has never been silent."""
    settings.SPOOL_DIR = tmp_path / "spool"
    monkeypatch.setattr(doorbell, "_silent_until", 0.0)


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
