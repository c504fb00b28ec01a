"""The broker of files: messages appear whole, are taken once, and what can't be read is set aside."""

from __future__ import annotations

import multiprocessing
import threading
import time
from pathlib import Path
from queue import Empty

import pytest
from kombu import Connection

from project.spool import Transport


@pytest.fixture
def spool(settings) -> Path:
    return Path(settings.SPOOL_DIR)


def connect() -> Connection:
    return Connection("spool://", transport=Transport, transport_options={"polling_interval": 0.01})


def put(queue, *bodies):
    with connect() as connection, connection.SimpleQueue(queue) as messages:
        for body in bodies:
            messages.put(body)


def take(queue):
    with connect() as connection, connection.SimpleQueue(queue) as messages:
        message = messages.get(timeout=5)
        message.ack()
        return message.payload


def test_messages_come_out_in_order_and_leave_nothing_behind(spool):
    put("q", {"n": 1}, {"n": 2})
    put("other", {"n": 3})
    assert [take("q"), take("q"), take("other")] == [{"n": 1}, {"n": 2}, {"n": 3}]
    assert not [path for path in spool.rglob("*") if path.is_file()]


def test_what_is_still_being_written_is_not_taken(spool, monkeypatch):
    """A reader comes at the worst moment: half of the message stands in the folder."""
    put("q", {"n": 1})
    assert take("q") == {"n": 1}
    seen: list[int] = []

    def slowly(path: Path, content: bytes) -> int:
        with path.open("wb") as file:
            file.write(content[: len(content) // 2])
            file.flush()
            with connect() as other:
                seen.append(other.default_channel._size("q"))
                with pytest.raises(Empty):
                    other.default_channel._get("q")
            return file.write(content[len(content) // 2 :])

    monkeypatch.setattr(Path, "write_bytes", slowly)
    put("q", {"n": 2})
    assert seen == [0]
    assert take("q") == {"n": 2}


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b"\xff\xfe", b'{"body": "x"}'])
def test_what_can_not_be_read_is_set_aside_and_stops_nobody(content, spool, caplog):
    put("q", {"n": 1})
    (spool / "waiting" / "00000000000000000001_bad.q.msg").write_bytes(content)
    assert take("q") == {"n": 1}
    assert [path.name for path in (spool / "bad").iterdir()] == ["00000000000000000001_bad.q.msg"]
    assert "set aside" in caplog.text


def test_a_spool_that_was_wiped_is_made_anew(spool):
    import shutil

    put("q", {"n": 1})
    shutil.rmtree(spool)
    put("q", {"n": 2})
    assert take("q") == {"n": 2}


def _publish(first: int, count: int) -> None:
    put("q", *({"n": n, "ballast": "x" * 20_000} for n in range(first, first + count)))


def test_two_publishers_and_three_readers_lose_and_double_nothing(spool):
    """20 kB messages, as where half-written files were seen: each of 300 is read once."""
    taken: list[int] = []
    enough = threading.Event()

    def read() -> None:
        with connect() as connection, connection.SimpleQueue("q") as messages:
            while not enough.is_set():
                try:
                    message = messages.get(timeout=0.2)
                except messages.Empty:
                    continue
                message.ack()
                taken.append(message.payload["n"])

    readers = [threading.Thread(target=read) for _ in range(3)]
    fork = multiprocessing.get_context("fork")
    publishers = [fork.Process(target=_publish, args=(first, 150)) for first in (0, 150)]
    for each in (*publishers, *readers):  # a process that is forked beside threads may find a lock held for ever
        each.start()
    for publisher in publishers:
        publisher.join(60)
    until = time.monotonic() + 30
    while len(taken) < 300 and time.monotonic() < until:
        time.sleep(0.05)
    enough.set()
    for reader in readers:
        reader.join(10)
    assert sorted(taken) == list(range(300))
    assert not (spool / "bad").exists()
