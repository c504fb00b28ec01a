"""Sealed drawings are judged here in the same process, and drawn as an empty picture: a process each would be slow."""

from __future__ import annotations

import io
from datetime import date

import pytest

from trusses.sealing import files, judge, seals
from trusses.sealing.drawn_pdf import pdf
from trusses.sealing.models import SealRule

SAID = {"sealed_by": "An invented engineer", "licence": "12 345", "state": "CO"}


@pytest.fixture(autouse=True)
def judged_here(request, monkeypatch, settings, tmp_path):
    settings.DATA_DIR = tmp_path

    def here(content, folder):
        (folder / "1.png").write_bytes(b"a picture")
        return judge.pages_of(content)

    if "test_judge" not in request.node.nodeid:
        monkeypatch.setattr(files, "judged", here)


def drawing(words: str = "demonstration, no seal") -> io.BytesIO:
    return io.BytesIO(pdf([f"% {words}"]))


@pytest.fixture
def attach(designer, truss):
    """The designer attaches a drawing of a revision; `words` make it another file."""

    def attach(revision=None, words="demonstration, no seal", by=None, **said):
        sent = drawing(words)
        said = {**SAID, "sealed_on": truss.job.today(), "covers": ("plates", "restraint"), **said}
        return seals.attach(by or designer, revision or truss.current, sent, len(sent.getvalue()), **said)

    return attach


@pytest.fixture
def asks_all(job, designer):
    """The job asks for review and acceptance, and blocks without them."""
    seals.say_what_is_asked(designer, job, review=True, acceptance=True, without=SealRule.Without.BLOCKS)


LONG_AGO = date(1980, 1, 1)
