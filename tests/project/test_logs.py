"""What the log leaves out, and what a line that can't be written does to whoever wrote it."""

from __future__ import annotations

import io
import logging

import pytest

TOKEN = "Tq3vP0kXh2mVb9sLw4Zr"


@pytest.fixture
def office() -> logging.Handler:
    """Writes as the office's log is written."""
    (handler,) = [one for one in logging.getLogger().handlers if type(one) is logging.StreamHandler]
    return handler


@pytest.fixture
def log(office, monkeypatch) -> io.StringIO:
    monkeypatch.setattr(office, "stream", log := io.StringIO())
    return log


@pytest.fixture
def logger(office) -> logging.Logger:
    """Writes there alone: what the tests hear themselves raises what goes wrong."""
    alone = logging.Logger("alone")
    alone.addHandler(office)
    return alone


def test_an_exception_that_names_an_address_is_written_without_its_token(logger, log):
    try:
        raise LookupError(f"nothing at /inspect/{TOKEN}/marks/1/")
    except LookupError:
        logger.exception("at %s", f"/paper/{TOKEN}")
    assert TOKEN not in log.getvalue()
    assert "at /paper/…\n" in log.getvalue()
    assert "LookupError: nothing at /inspect/…/marks/1/" in log.getvalue()


def test_a_line_that_cannot_be_written_stops_nobody(logger, log, monkeypatch):
    monkeypatch.setattr("sys.stderr", io.StringIO())  # where logging says so
    logger.warning("%d rows", "a")
    assert log.getvalue() == ""
