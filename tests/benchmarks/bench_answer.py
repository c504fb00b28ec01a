"""How long a builder waits, from sending a request to its answer, through the real web server, queue and worker.

Run by hand:  .venv/bin/python tests/benchmarks/bench_answer.py [requests of each kind]

It starts `manage.py demo` with a database of its own, files the demo's preset asks (which take a redesign) and
openings that fit, over the API, and asks for each state every 20 ms. Beside it, in the same run, one analysis of the
same truss by us and the same load cases by PyNite, so that the wait can be read as a multiple of either. Medians;
nothing is asserted.
"""

from __future__ import annotations

import json
import os
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from datetime import date, timedelta
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.pynite_oracle import Oracle  # noqa: E402
from trusses import demo_asks  # noqa: E402
from trusses.analysis.analysis import analyse  # noqa: E402
from trusses.analysis.format.document import read  # noqa: E402

PASSWORD = "benchmark-benchmark"


class Client:
    """The API as a program uses it."""

    def __init__(self, address: str):
        self.address, self.token = address, ""
        self.token = self.call("token/", {"username": "builder", "password": PASSWORD})["token"]

    def call(self, path: str, body: Any = None) -> Any:
        headers = {"Content-Type": "application/json"}
        if self.token:
            headers["Authorization"] = f"Token {self.token}"
        data = None if body is None else json.dumps(body).encode()
        with urllib.request.urlopen(
            urllib.request.Request(f"{self.address}/api/v1/{path}", data, headers), timeout=30
        ) as answer:
            return json.load(answer)

    def wait_ms(self, job: int, truss: int, opening: dict[str, Any], reason: str) -> tuple[float, str]:
        """Milliseconds from sending to the answer, and the verdict. The request is withdrawn afterwards."""
        body = {
            "job": job,
            "reason": reason,
            "needed_by": (date.today() + timedelta(days=3)).isoformat(),  # noqa: DTZ011 - the day here will do
            "asks": [{"truss": truss, "kind": "opening", "opening": opening}],
        }
        start = time.perf_counter()
        change = self.call("requests/", body)
        while change["state"] in ("filed", "computing"):
            time.sleep(0.02)
            change = self.call(f"requests/{change['id']}/")
        waited = 1000 * (time.perf_counter() - start)
        self.call(f"requests/{change['id']}/withdraw/", {})
        return waited, change["asks"][0]["verdict"]


def alone_ms(document: dict[str, Any]) -> tuple[float, float]:
    """Milliseconds of one whole analysis by us, and of the frame's load cases alone by PyNite."""
    oracle = Oracle(document)

    def median(work: Any) -> float:
        runs = []
        for _ in range(5):
            start = time.perf_counter()
            work()
            runs.append(1000 * (time.perf_counter() - start))
        return statistics.median(runs)

    return median(lambda: analyse(read(document))), median(oracle.solve)


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    with tempfile.TemporaryDirectory() as data:
        environment = {**os.environ, "DATA_DIR": data, "DEMO_PASSWORD": PASSWORD}
        command = [sys.executable, "manage.py", "demo", "--port", str(port)]
        process = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, text=True)
        try:
            while "Ctrl-C" not in (process.stdout.readline() if process.stdout else "Ctrl-C"):
                if process.poll() is not None:
                    sys.exit("the demo did not start")
            report(Client(f"http://127.0.0.1:{port}"), count)
        finally:
            process.send_signal(signal.SIGTERM)
            process.wait(30)


def report(client: Client, count: int) -> None:
    job = client.call("jobs/")["results"][0]["id"]
    trusses = {row["mark"]: row for row in client.call(f"jobs/{job}/trusses/")["results"]}
    small = {"id": "O1", "shape": "circle", "diameter_in": 4, "clearance_in": 0.5}
    for preset in demo_asks.preset_asks():
        truss = trusses[preset.mark]
        document = truss["revision"]["document"]
        ours, pynite = alone_ms(document)
        place = client.call(
            "fit/", {"truss": truss["id"], "opening": {**small, "centre_in": preset.opening["centre_in"]}}
        )
        free = {**small, "centre_in": (place["nearest"] or preset.opening)["centre_in"]}
        for what, opening in (("fits", free), ("takes a redesign", preset.opening)):
            waits = [client.wait_ms(job, truss["id"], opening, f"{what}, {n}") for n in range(count)]
            wait = statistics.median(waited for waited, _ in waits)
            verdicts = ", ".join(sorted({verdict for _, verdict in waits}))
            print(f"{preset.mark}, {what} ({verdicts}): {wait:,.0f} ms from sending to the answer, median of {count}")
            print(f"    = {wait / ours:,.0f} analyses of this truss by us, {ours:.1f} ms each")
            print(f"    = {wait / pynite:,.1f} solves of its load cases by PyNite, {pynite:.0f} ms each")


if __name__ == "__main__":
    main()
