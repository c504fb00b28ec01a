"""`manage.py demo` as a stranger runs it: one start, a second on the same data, and every way in which it says no."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import psutil
import pytest

ROOT = Path(__file__).resolve().parents[2]
READY_WITHIN_S = 300


class Demo:
    """One run of the command on a folder of data; what it says goes to a file."""

    def __init__(self, data: Path, *arguments: str, port: int | None = None, **environment: str):
        self.data, self.port = data, port or free_port()
        data.mkdir(parents=True, exist_ok=True)
        self.log = data / f"said-{time.monotonic_ns()}.txt"
        left_out = ("DATABASE_URL", "REDIS_URL", "MODE", "DEMO_PASSWORD", "DJANGO_SETTINGS_MODULE")
        own = {key: value for key, value in os.environ.items() if key not in left_out}
        own |= {"DATA_DIR": str(data), "PYTHONUNBUFFERED": "1", "ATLAS_SEARCHES": "0"} | environment
        command = [sys.executable, "manage.py", "demo", "--port", str(self.port), *arguments]
        with self.log.open("wb") as out:
            self.process = subprocess.Popen(command, cwd=ROOT, env=own, stdout=out, stderr=subprocess.STDOUT)

    @property
    def said(self) -> str:
        return self.log.read_text()

    def ready(self) -> Demo:
        until = time.monotonic() + READY_WITHIN_S
        while "Chord Change is running" not in self.said:
            assert self.process.poll() is None, self.said
            assert time.monotonic() < until, self.said
            time.sleep(0.1)
        return self

    def refused(self) -> str:
        """What it says when it ends by itself, in vain."""
        try:
            code = self.process.wait(30)
        except subprocess.TimeoutExpired:
            self.ends_by(signal.SIGTERM)
            raise
        assert code == 1, self.said
        assert "Traceback" not in self.said
        return self.said

    def ends_by(self, number: int) -> int:
        self.process.send_signal(number)
        return self.process.wait(30)

    def get(self, path: str) -> str:
        with urllib.request.urlopen(f"http://127.0.0.1:{self.port}{path}", timeout=10) as answer:
            return answer.read().decode()


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def alive(pids: list[int]) -> list[int]:
    """Those that still run; a process that has ended and isn't collected yet doesn't."""
    return [pid for pid in pids if psutil.pid_exists(pid) and psutil.Process(pid).status() != psutil.STATUS_ZOMBIE]


def crew(demo: Demo) -> list[int]:
    """A demo's web server, its worker and the worker's two children, once all are there."""
    until = time.monotonic() + 20
    while len(found := psutil.Process(demo.process.pid).children(recursive=True)) < 4:
        assert time.monotonic() < until, [child.cmdline() for child in found]
        time.sleep(0.1)
    return [child.pid for child in found]


def query(data: Path, sql: str, *values: object) -> list[tuple]:
    """Runs SQL on the demo's database from outside."""
    import sqlite3

    with sqlite3.connect(data / "chord-change.sqlite3", timeout=20) as database:
        return list(database.execute(sql, values))


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One folder for the runs of this file, which follow one another on it."""
    return tmp_path_factory.mktemp("demo-data")


@pytest.fixture(scope="module")
def first(data: Path) -> Iterator[Demo]:
    run = Demo(data, DEMO_PASSWORD="chosen by the test", COMPUTE_SWEEP_S="1", COMPUTE_STALL_S="3").ready()
    yield run
    if run.process.poll() is None:
        run.ends_by(signal.SIGTERM)


def test_a_first_run_says_where_to_go_and_how_to_sign_in(first: Demo) -> None:
    assert f"http://127.0.0.1:{first.port}/" in first.said
    assert "with the password chosen by the test" in first.said
    for name in ("builder", "designer", "site-lead", "outsider"):
        assert re.search(rf"^  {name}\b", first.said, re.MULTILINE)
    assert "invented" in first.said
    page = first.get("/")
    assert "Choose whom you want to be" in page
    assert "Everything in it is invented" in page


def test_an_inspector_reads_the_set_by_the_link_that_it_tells(first: Demo) -> None:
    """Both kinds of sealed drawings, each state of their records, copies that stay by the revision before."""
    (address,) = re.findall(rf"http://127.0.0.1:{first.port}(/inspect/\S+)", first.said)
    told = " ".join(re.sub(r"<[^>]+>", " ", first.get(address)).split())
    for said in (
        "all that the job asks for recorded",
        "attached; not recorded: the building department",
        "attached; not recorded: the building designer",
        "no sealed drawing of R",
        "1–8 built to revision 0, stays by it",
        "Copies 1–8 stay by it: “ No light hangs in the west porch",
        "Copy 9 is built to it, and nobody has said yet",
        "ended: repaired by a sealed drawing",
        "not ended: the truss is kept off",
        "Sealed by Demo Engineer (invented) , license invented",
        "Demo Building Department (invented)",
    ):
        assert said in told
    sealers = re.findall(r"[Ss]ealed by (.{0,24})", told)
    assert len(sealers) > 3
    assert all(one.startswith("Demo Engineer (invented)") for one in sealers)


def test_a_second_run_on_a_busy_port_names_another(first: Demo, tmp_path: Path) -> None:
    said = Demo(tmp_path, port=first.port).refused()
    assert f"Port {first.port} on 127.0.0.1 is busy" in said
    assert f"--port {first.port + 1}" in said


def test_two_runs_do_not_share_their_data(first: Demo, data: Path) -> None:
    said = Demo(data, "--reset").refused()
    assert f"A demo runs on these data already (process {first.process.pid})" in said
    assert "Choose whom you want to be" in first.get("/")


def worker_of(demo: Demo) -> int:
    """Its worker's process; 0 while there is none."""
    children = psutil.Process(demo.process.pid).children()
    return next((child.pid for child in children if "worker" in (child.as_dict(["cmdline"])["cmdline"] or ())), 0)


def test_a_worker_that_dies_is_started_anew(first: Demo) -> None:
    crew(first)
    before = worker_of(first)
    family = [before, *(child.pid for child in psutil.Process(before).children())]
    os.kill(before, signal.SIGKILL)
    until = time.monotonic() + 20
    while worker_of(first) in (0, before):
        assert time.monotonic() < until, first.said
        time.sleep(0.1)
    assert "starting another" in first.said
    assert alive(family) == []


def test_a_worker_whose_idle_children_are_all_killed_is_started_anew(first: Demo, data: Path) -> None:
    """It ends itself once it has received work that its pool, stuck on a lost lock, doesn't begin."""
    crew(first)
    told = first.said.count("starting another")
    log = data / "worker.log"
    while log.read_text().count(" ready.") <= told:
        time.sleep(0.1)
    time.sleep(2)  # until the children wait at the lock; nothing tells that they do
    for child in psutil.Process(worker_of(first)).children():
        child.kill()
    # its request doesn't wait for it, so it is dropped when its turn comes; until then the row waits
    query(
        data, "UPDATE changes_computation SET state = 'queued', attempts = 0, next_ring_at = '2020-01-01' WHERE id = 1"
    )
    until = time.monotonic() + 60
    while query(data, "SELECT state FROM changes_computation WHERE id = 1") == [("queued",)]:
        assert time.monotonic() < until, log.read_text()
        time.sleep(0.2)
    assert first.said.count("starting another") == told + 1
    assert "the pool is stuck" in log.read_text()


@pytest.fixture(scope="module")
def ended(first: Demo) -> tuple[int, list[int]]:
    """The first run, ended from outside: with what code, and which processes it had."""
    before = crew(first)
    return first.ends_by(signal.SIGTERM), before


def test_an_end_leaves_nobody_behind(first: Demo, ended: tuple[int, list[int]]) -> None:
    code, before = ended
    assert code == 0
    assert alive(before) == []
    assert "Traceback" not in first.said


@pytest.mark.usefixtures("ended")
def test_a_second_run_keeps_what_the_first_left(data: Path) -> None:
    query(data, "UPDATE changes_request SET reason = 'kept from the first run' WHERE id = 2")
    again = Demo(data).ready()
    before = crew(again)
    try:
        assert "Kept what an earlier run left" in again.said
        assert "with the password chosen by the test" not in again.said
        assert query(data, "SELECT reason FROM changes_request WHERE id = 2") == [("kept from the first run",)]
    finally:
        ended = again.ends_by(signal.SIGHUP)
    assert ended == 0, "closing the terminal ends it in order"
    assert alive(before) == []


@pytest.mark.usefixtures("ended")
def test_a_reset_starts_anew(data: Path) -> None:
    again = Demo(data, "--reset").ready()
    try:
        assert "Kept" not in again.said
        reasons = query(data, "SELECT reason FROM changes_request")
        assert len(reasons) == 17
        assert ("kept from the first run",) not in reasons
    finally:
        again.ends_by(signal.SIGINT)
    assert "Traceback" not in again.said


@pytest.mark.usefixtures("ended")
def test_it_keeps_away_from_real_jobs(data: Path) -> None:
    query(data, "UPDATE trusses_job SET is_demo = 0")
    for how in ((), ("--reset",)):
        assert "holds jobs that are not the demo's" in Demo(data, *how).refused()
    assert query(data, "SELECT count(*) FROM trusses_truss")[0][0] >= 12


@pytest.mark.usefixtures("ended")
def test_it_keeps_away_from_people_and_from_other_tables(data: Path, tmp_path: Path) -> None:
    people = tmp_path / "people"
    people.mkdir()
    (people / "chord-change.sqlite3").write_bytes(_emptied(data))
    assert "holds people who are not the demo's" in Demo(people, "--reset").refused()
    assert query(people, "SELECT username FROM auth_user") == [("somebody",)]
    other = tmp_path / "other"
    other.mkdir()
    query(other, "CREATE TABLE ledger (entry TEXT)")
    assert "holds tables of something else (ledger)" in Demo(other).refused()
    assert query(other, "SELECT name FROM sqlite_master WHERE type = 'table'") == [("ledger",)]


def _emptied(data: Path) -> bytes:
    """The demo's database without a job, with one person whom the demo doesn't know."""
    import sqlite3

    with sqlite3.connect(data / "chord-change.sqlite3") as source, sqlite3.connect(":memory:") as copy:
        source.backup(copy)
        copy.execute("DELETE FROM trusses_job")
        copy.execute("DELETE FROM auth_user WHERE username != 'builder'")
        copy.execute("UPDATE auth_user SET username = 'somebody'")
        copy.commit()
        return copy.serialize()


@pytest.mark.parametrize(
    ("mode", "more"),
    [("production", {"SECRET_KEY": "k" * 60, "ALLOWED_HOSTS": "example.test"}), ("development", {})],
)
def test_it_runs_in_demo_mode_only(tmp_path: Path, mode: str, more: dict[str, str]) -> None:
    address = f"sqlite:///{tmp_path / 'office.sqlite3'}"
    said = Demo(tmp_path / "data", MODE=mode, DATABASE_URL=address, **more).refused()
    assert "The demo runs in demo mode only" in said
    assert not (tmp_path / "office.sqlite3").exists()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--port", "70000"], "70000 is not a port"),
        (["--port", "0"], "0 is not a port"),
        (["--host", "no-such-machine.invalid"], "is not an address of this machine"),
        (["--host", "192.0.2.1"], "192.0.2.1"),
    ],
)
def test_a_place_where_it_cannot_listen_is_named(tmp_path: Path, arguments: list[str], words: str) -> None:
    assert words in Demo(tmp_path, *arguments).refused()


def test_it_answers_to_its_own_addresses_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """A page elsewhere whose name leads here reaches nothing; a name that can't be known here is told."""
    from project.management.commands.demo import Crew, own_addresses

    def hosts(host: str) -> list[str]:
        return Crew(host, 8000).environment["ALLOWED_HOSTS"].split(",")

    monkeypatch.delenv("ALLOWED_HOSTS", raising=False)
    here = ["localhost", "127.0.0.1", "[::1]"]
    interfaces = {one.address for every in psutil.net_if_addrs().values() for one in every if one.family == 2}
    assert set(own_addresses()) == {address for address in interfaces if not address.startswith("127.")}
    name = socket.gethostname().lower()
    assert hosts("0.0.0.0") == [*own_addresses(), name, f"{name}.local", *here]  # noqa: S104
    assert hosts("192.168.1.7") == ["192.168.1.7", *here]
    monkeypatch.setenv("ALLOWED_HOSTS", "house.example")
    assert hosts("192.168.1.7") == ["192.168.1.7", *here, "house.example"]


def test_a_python_that_is_too_old_gets_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    import manage

    monkeypatch.setattr(sys, "version_info", (3, 8, 10, "final", 0))
    with pytest.raises(SystemExit, match=r"needs Python 3\.11 or newer; this is Python 3\.8"):
        manage.main()
