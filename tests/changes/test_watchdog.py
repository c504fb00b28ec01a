"""When a worker takes itself for stuck: work received, none begun, for long enough."""

from __future__ import annotations

import pytest

from changes.worker import watchdog


@pytest.fixture
def at(monkeypatch, settings):
    """Looks at a second of an invented clock, with so much received, active and begun."""
    settings.COMPUTE_STALL_S = 20
    dog = watchdog.Watchdog()

    def look(second: float, reserved: int, active: int, begun: int) -> bool:
        monkeypatch.setattr(watchdog, "monotonic", lambda: second)
        monkeypatch.setattr(watchdog.state, "reserved_requests", set(range(reserved)))
        monkeypatch.setattr(watchdog.state, "active_requests", set(range(active)))
        monkeypatch.setattr(watchdog.state, "all_total_count", [begun])
        return dog.is_stuck()

    return look


def test_work_that_nobody_begins(at):
    assert [at(second, 2, 0, 0) for second in (0, 10, 19.9, 20, 30)] == [False, False, False, True, True]


def test_an_idle_worker_is_not_stuck(at):
    assert not any(at(second, 0, 0, 5) for second in (0, 30, 60))


def test_one_that_computes_for_long_is_not_stuck(at):
    assert not any(at(second, 3, 1, 5) for second in (0, 30, 60))


def test_one_that_is_looked_at_between_two_short_ones_is_not_stuck(at):
    assert not any(at(second, 1, 0, begun) for second, begun in ((0, 1), (10, 2), (20, 3), (30, 4), (40, 5)))


def test_what_began_meanwhile_starts_the_clock_anew(at):
    assert [at(0, 1, 0, 0), at(15, 1, 0, 1), at(16, 1, 0, 1), at(30, 1, 0, 1), at(36, 1, 0, 1)] == [False] * 4 + [True]
