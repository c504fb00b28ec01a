from __future__ import annotations

import pytest

from tests.sealed import SAID, drawing
from trusses.sealing import recording, seals
from trusses.sealing.models import SealRule


@pytest.fixture
def attach(judged_here, designer, truss):
    """The designer attaches a drawing of a revision; `words` make it another file."""

    def attach(revision=None, words="demonstration, no seal", by=None, **said):
        sent = drawing(words)
        said = {**SAID, "sealed_on": truss.job.today(), "covers": ("plates", "restraint"), **said}
        return recording.attach(by or designer, revision or truss.current, sent, len(sent.getvalue()), **said)

    return attach


@pytest.fixture
def asks_all(job, designer):
    """The job asks for review and acceptance, and blocks without them."""
    seals.say_what_is_asked(designer, job, review=True, acceptance=True, without=SealRule.Without.BLOCKS)
