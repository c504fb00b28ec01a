"""`manage.py demo`: the invented job on this machine, its people, a web server and a real worker, until Ctrl-C."""

from __future__ import annotations

import fcntl
import os
import secrets
import signal
import socket
import struct
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser

from project import data, demo
from project.people import DEMO_PEOPLE

HERE = ("localhost", "127.0.0.1", "[::1]")
READY_WITHIN_S = 60
STOPPED_WITHIN_S = 10
"""An idle worker ends at once; one with work in hand has this long, and what is killed then is computed again."""


_SIOCGIFADDR = 0x8915  # linux/sockios.h


class Command(BaseCommand):
    help = "Prepare the demo job and its people, start the web server and a worker, say where to go. Ctrl-C stops both."
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="port of the web server (default 8000)")
        parser.add_argument(
            "--host",
            default="127.0.0.1",
            help="address to listen on: 0.0.0.0 to reach it from a phone in the same network",
        )
        data = parser.add_mutually_exclusive_group()
        data.add_argument("--keep", action="store_true", help="keep what an earlier run left (the default)")
        data.add_argument("--reset", action="store_true", help="throw away what an earlier run left and start anew")

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.DEMO:
            raise CommandError("The demo runs in demo mode only, not on a production or development configuration.")
        _refuse_busy_port(options["host"], options["port"])
        password = os.environ.get("DEMO_PASSWORD") or secrets.token_urlsafe(9)
        with _alone(settings.DATA_DIR):
            try:
                self.prepare(password, reset=options["reset"])
            except KeyboardInterrupt:
                raise CommandError("Stopped before it was ready. The next run goes on; --reset starts anew.") from None
            with Crew(options["host"], options["port"]) as crew:
                crew.wait_until_it_answers()
                if not crew.stopping:
                    self.welcome(options["host"], options["port"], password)
                crew.watch(self.say)

    def prepare(self, password: str, *, reset: bool) -> None:
        try:
            data.refuse_real_data()
            self.say("Preparing the database …")
            call_command("migrate", verbosity=0, interactive=False)
            kept = demo.prepare(password, reset=reset, say=self.say)
        except data.NotADemo as refused:
            raise CommandError(str(refused)) from refused
        if kept:
            self.say("Kept what an earlier run left; `--reset` starts anew.")

    def say(self, text: str) -> None:
        self.stdout.write(text)
        self.stdout.flush()

    def welcome(self, host: str, port: int, password: str) -> None:
        here = "127.0.0.1" if _is_every(host) else host
        lines = ["", f"Chord Change is running: http://{here}:{port}/"]
        if here != host:
            lines += [f"From a phone in the same network: http://{address}:{port}/" for address in own_addresses()]
            lines.append("Everybody in this network can reach it. It is a demo: put nothing real in.")
        lines += [f"Sign in with one tap there, or by name with the password {password}", ""]
        lines += [f"  {name:<10} {title}: {does}" for name, title, does in DEMO_PEOPLE]
        if inspector := demo.inspectors_address():
            lines += ["", f"An inspector's link, without an account: http://{here}:{port}{inspector}"]
        lines += ["", "Everything in it is invented. Ctrl-C stops the server and the worker.", ""]
        self.say("\n".join(lines))


class Crew:
    """The web server and the worker, each a process of its own in a process group of its own."""

    def __init__(self, host: str, port: int):
        self.host, self.port = host, port
        name = socket.gethostname().lower()
        own = [*own_addresses(), name, f"{name}.local"] if _is_every(host) else [host]
        # a page elsewhere must not reach it by a name that leads here; another name for this machine has to be told
        told = [name for name in os.environ.get("ALLOWED_HOSTS", "").split(",") if name]
        hosts = dict.fromkeys([*(f"[{one}]" if ":" in one else one for one in own), *HERE, *told])
        self.environment = {**os.environ, "MODE": "demo", "ALLOWED_HOSTS": ",".join(hosts), "PYTHONUNBUFFERED": "1"}
        self.web: subprocess.Popen[bytes] | None = None
        self.worker: subprocess.Popen[bytes] | None = None
        self.stopping = False

    def __enter__(self) -> Crew:
        # A closed terminal hangs up: the two are in sessions of their own and would stay behind.
        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
            signal.signal(number, self._stop)
        try:
            self.web = self._start_web()
            self.worker = self._start_worker()
        except BaseException:
            self.__exit__()
            raise
        return self

    def __exit__(self, *trouble: object) -> None:
        crew = [process for process in (self.web, self.worker) if process]
        for process in crew:
            _signal(process, signal.SIGTERM)
        until = time.monotonic() + STOPPED_WITHIN_S
        for process in crew:
            with suppress(subprocess.TimeoutExpired):
                process.wait(max(0.1, until - time.monotonic()))
            _signal(process, signal.SIGKILL)
            process.wait()

    def _stop(self, number: int, frame: object) -> None:
        self.stopping = True

    def _start(self, command: list[str], log: str) -> subprocess.Popen[bytes]:
        with (settings.DATA_DIR / log).open("ab") as out:
            return subprocess.Popen(
                command,
                env=self.environment,
                cwd=settings.BASE_DIR,
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )

    def _start_web(self) -> subprocess.Popen[bytes]:
        manage = str(settings.BASE_DIR / "manage.py")
        address = f"[{self.host}]:{self.port}" if ":" in self.host else f"{self.host}:{self.port}"
        return self._start([sys.executable, manage, "runserver", "--noreload", "--skip-checks", address], "web.log")

    def _start_worker(self) -> subprocess.Popen[bytes]:
        worker = ["celery", "-A", "project", "worker", "--concurrency", "2", "--loglevel", "INFO"]
        return self._start([sys.executable, "-m", *worker], "worker.log")

    def wait_until_it_answers(self) -> None:
        here = "127.0.0.1" if _is_every(self.host) else self.host
        address = f"http://{f'[{here}]' if ':' in here else here}:{self.port}/sign-in/"
        until = time.monotonic() + READY_WITHIN_S
        while time.monotonic() < until and not self.stopping:
            if self.web and self.web.poll() is not None:
                break
            try:
                with urllib.request.urlopen(address, timeout=2) as answer:
                    if answer.status == 200:
                        return
            except (urllib.error.URLError, OSError):
                time.sleep(0.2)
        if not self.stopping:
            raise CommandError(f"The web server did not start; its last words are in {settings.DATA_DIR / 'web.log'}.")

    def watch(self, say: Any) -> None:
        """Until a signal comes. A worker that dies is started anew: the rows that it left are computed all the same."""
        while not self.stopping:
            time.sleep(0.3)
            if self.web and self.web.poll() is not None:
                raise CommandError(f"The web server stopped; its last words are in {settings.DATA_DIR / 'web.log'}.")
            if self.worker and self.worker.poll() is not None and not self.stopping:
                say("The worker stopped; starting another. What it was computing is computed again.")
                _signal(self.worker, signal.SIGKILL)
                time.sleep(1)
                self.worker = self._start_worker()
        say("Stopping …")


def _signal(process: subprocess.Popen[bytes], number: int) -> None:
    """To the process, which ends its children itself; a kill to all of its group, so that nobody is left behind."""
    try:
        if number == signal.SIGKILL:
            os.killpg(process.pid, number)
        else:
            process.send_signal(number)
    except ProcessLookupError:
        return


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """The only demo on these data: another's --reset would take them from under it. The lock ends with the process."""
    with (folder / "demo.lock").open("a+") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            lock.seek(0)
            raise CommandError(
                f"A demo runs on these data already ({lock.read().strip() or 'elsewhere'}). Stop it first, or set "
                "DATA_DIR to a folder of its own for this one."
            ) from None
        lock.truncate(0)
        lock.write(f"process {os.getpid()}")
        lock.flush()
        yield


def _refuse_busy_port(host: str, port: int) -> None:
    if not 0 < port < 65536:
        raise CommandError(f"{port} is not a port; a port is a number from 1 to 65535.")
    try:
        family, *_, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        with socket.socket(family, socket.SOCK_STREAM) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind(address)
    except PermissionError as trouble:
        raise CommandError(f"Port {port} needs more rights than this user has; try --port 8000.") from trouble
    except socket.gaierror as trouble:
        raise CommandError(f"“{host}” is not an address of this machine.") from trouble
    except OSError as trouble:
        raise CommandError(
            f"Port {port} on {host} is busy ({trouble.strerror}). Choose another: --port {min(port + 1, 65535)}."
        ) from trouble


def _is_every(host: str) -> bool:
    """Whether it listens on all of the machine's addresses."""
    return host in ("0.0.0.0", "::")  # noqa: S104 - compared, not bound


def own_addresses() -> list[str]:
    """This machine's addresses that a phone could reach; none found is no error."""
    found = set()
    with suppress(OSError):
        found |= {str(entry[4][0]) for entry in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}
    # the name may lead to the loopback alone: ask what leaves this machine, by a socket that sends nothing, and each
    # interface where the system tells (Linux)
    with suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.connect(("192.0.2.1", 9))
        found.add(probe.getsockname()[0])
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        for _, name in socket.if_nameindex():
            with suppress(OSError):
                request = struct.pack("256s", name.encode()[:15])
                found.add(socket.inet_ntoa(fcntl.ioctl(probe.fileno(), _SIOCGIFADDR, request)[20:24]))
    return sorted(address for address in found if not address.startswith("127."))
