"""What pages cost: the processor's time of each, with drawings drawn anew and as they are kept, in one run.

Run by hand on a demo's data:  MODE=demo .venv/bin/python tests/benchmarks/bench_pages.py [repetitions]
Medians; nothing is asserted, since machines differ.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from pathlib import Path
from urllib.parse import parse_qsl, urlsplit

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "project.settings")
os.environ["ALLOWED_HOSTS"] = "testserver"

import django

django.setup()

from django.contrib.auth import get_user_model  # noqa: E402
from django.core.cache import caches  # noqa: E402
from django.db import connection  # noqa: E402
from django.test import Client  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402

from changes.models import Request  # noqa: E402
from project.demo import offered_ask  # noqa: E402
from project.memory import collect_rarely  # noqa: E402
from trusses.models import Job  # noqa: E402


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    collect_rarely()  # as the server does
    client, job = Client(), Job.objects.first()
    client.force_login(get_user_model().objects.get(username="designer"))
    pages = [f"/requests/{pk}/" for pk in Request.objects.filter(job=job).values_list("pk", flat=True)]
    pages += [f"/jobs/{job.pk}/", f"/jobs/{job.pk}/sheets/", f"/jobs/{job.pk}/trusses/{job.trusses.first().pk}/"]
    print(f"{'page':28}{'drawn anew':>12}{'kept':>9}{'ratio':>7}{'queries':>9}")
    for page in pages:
        anew, kept = [], []
        client.get(page)
        for _ in range(runs):
            caches["drawings"].clear()
            for took in (anew, kept):
                start = time.process_time()
                client.get(page)
                took.append(1000 * (time.process_time() - start))
        with CaptureQueriesContext(connection) as queries:
            client.get(page)
        first, again = statistics.median(anew), statistics.median(kept)
        print(f"{page:28}{first:9.1f} ms{again:6.1f} ms{first / again:7.1f}{len(queries):9}")
    for shown in ("phone", "desk"):
        print(f"{f'a preview on a {shown}':28}{_preview(job, runs, shown):9.1f} ms")
    print(f"{'the answer while one drags':28}{_fit(job, runs):9.1f} ms")


def _fit(job: Job, runs: int) -> float:
    """The words alone, as the page asks for them under a thumb, milliseconds."""
    client, truss, took = Client(), job.trusses.first(), []
    client.force_login(get_user_model().objects.get(username="builder"))
    opening = {"id": "O1", "shape": "circle", "diameter_in": 14, "clearance_in": 1}
    for n in range(runs + 1):
        body = {"truss": truss.pk, "opening": {**opening, "centre_in": [100 + n % 12, 26]}}
        start = time.process_time()
        assert client.post("/api/v1/fit/", body, content_type="application/json").status_code == 200
        took.append(1000 * (time.process_time() - start))
    return statistics.median(took[1:])


def _preview(job: Job, runs: int, shown: str) -> float:
    """The fragment of the page where a builder asks, for another place each time, as a screen of that size asks for it,
    milliseconds."""
    client = Client()
    client.force_login(get_user_model().objects.get(username="builder"))
    address = urlsplit(offered_ask(job))
    typed, took = dict(parse_qsl(address.query)), []
    for n in range(runs + 1):
        start = time.process_time()
        client.post(address.path, {**typed, "shown": shown, "along": f"{100 + n % 12}"}, HTTP_HX_REQUEST="true")
        took.append(1000 * (time.process_time() - start))
    return statistics.median(took[1:])


if __name__ == "__main__":
    main()
