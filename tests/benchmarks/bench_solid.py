"""What the set in three dimensions costs at 500 trusses: the server, the wire, the phone's and the desk's browser.

Run by hand:  .venv/bin/python tests/benchmarks/bench_solid.py [folder of a prepared demo] [how many trusses]
The set is the demo's rows side by side until there are 500 trusses, or as many: invented. Chromium draws in software,
in a process of its own: its main thread's time is what any machine of that speed pays, the rasteriser's time is what
graphics hardware takes over. A phone is 390 × 844 at two pixels a point, its main thread slowed four times by the
browser itself, on a line of 9 Mbit/s with 80 ms; nothing slows the rasteriser. The set is turned in full, at each
coarser level and as fine as it keeps up with, in turns. `main thread` and `rasteriser` are processor time for each
picture, `script` and `pictures/s` are by the clock, which a busy machine makes long; `at rest` is how long after the
last move it stands there in full again. Medians; nothing is asserted.
"""

from __future__ import annotations

import gzip
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
DATA = tempfile.mkdtemp(prefix="bench-solid-")
os.environ |= {"MODE": "demo", "DATA_DIR": f"{DATA}/data", "ATLAS_SEARCHES": "0"}
os.environ["ALLOWED_HOSTS"] = "testserver,127.0.0.1"
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "project.settings")
for folder in sys.argv[1:]:
    if not folder.isdigit():
        shutil.copytree(folder, f"{DATA}/data")

import django  # noqa: E402

django.setup()

from django.conf import settings  # noqa: E402
from django.contrib.auth import get_user_model  # noqa: E402
from django.core.cache import caches  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.test import Client  # noqa: E402
from playwright.sync_api import Browser, CDPSession, Page, sync_playwright  # noqa: E402

from project import demo  # noqa: E402
from tests.browser.conftest import ARGUMENTS, CHROMIUM, _free_port  # noqa: E402
from trusses.models import Copy, Job, Placement  # noqa: E402
from trusses.solid import standing  # noqa: E402

TRUSSES, HOUSE_IN = next((int(one) for one in sys.argv[1:] if one.isdigit()), 500), 1400
ROUNDS, SECONDS = 5, 2.0
SOFTWARE = ("--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader")
FIRST = """() => {
  new MutationObserver((_, all) => {
    const stage = document.getElementById("solid");
    if (!stage?.dataset.pictures) return;
    all.disconnect();
    // told when the rasteriser is done with it, as a person would see it
    const gl = stage.querySelector("canvas").getContext("webgl2");
    gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
    window.firstPicture = performance.now();
  }).observe(document, { subtree: true, childList: true, attributes: true, attributeFilter: ["data-pictures"] });
}"""
TURN = """async ([seconds, always]) => {
  // turned by hand as fast as pictures come; `always` at one level, or as fine as it keeps up with
  const { viewer } = document.getElementById("solid"), { drawing, frames } = viewer, { gl } = drawing, script = [];
  const draw = drawing.draw.bind(drawing), next = () => new Promise(requestAnimationFrame);
  const done = () => gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
  drawing.draw = (...given) => {
    const start = performance.now();
    draw(...given);
    script.push(performance.now() - start);
  };
  const { pace } = frames;
  if (always !== null) frames.pace = { level: always, atOnce: 2, begins() {}, beats() {}, drew() {} };
  const start = performance.now();
  while (performance.now() - start < seconds * 1000) {
    viewer.turns(0.01, 0);
    await next();
  }
  // what was told to the rasteriser isn't drawn yet
  done();
  const ends = performance.now(), took = ends - start, size = [drawing.canvas.width, drawing.canvas.height];
  const { level } = frames.pace, { counts } = drawing, { pictures } = viewer;
  drawing.draw = draw;
  frames.pace = pace;
  window.rests = (async () => {
    for (let i = 0; i < 600 && level && viewer.pictures === pictures; i += 1) await next();
    return performance.now() - ends;
  })();
  return { script, took, counts, size };
}"""


def main() -> None:
    job = _grown()
    print(f"{Copy.objects.filter(truss__job=job).count()} trusses, {job.trusses.count()} marks; medians")
    _serves(job)
    server, port = _served()
    try:
        with sync_playwright() as playwright:
            given = [one for one in ARGUMENTS if one != "--disable-gpu"]
            browser = playwright.chromium.launch(executable_path=CHROMIUM, args=[*given, *SOFTWARE])
            for name, wide, high, slow in (("phone", 390, 844, 4), ("desk", 1440, 900, 1)):
                _seen(browser, f"http://127.0.0.1:{port}", name, wide, high, slow)
            browser.close()
    finally:
        server.terminate()
        server.wait(20)
        shutil.rmtree(DATA)


def _grown() -> Job:
    """The demo's job with its rows five times side by side, and no more than 500 trusses."""
    call_command("migrate", verbosity=0, interactive=False)
    demo.prepare("a password for the bench", reset=False, say=lambda said: None)
    job = Job.objects.get(is_demo=True)
    rows, lines = list(Placement.objects.filter(truss__job=job)), list(job.wall_lines.all())
    there = Copy.objects.filter(truss__job=job).count()
    if there >= TRUSSES:
        return job
    for house in range(1, 20):
        for line in lines:
            line.pk, line.points = None, [[x + (HOUSE_IN if house else 0), y] for x, y in line.points]
            line.label = f"{line.label.split(' · ')[0]} · {house + 1}"
            line.save(force_insert=True)
        for row in rows:
            row.pk, row.origin_x_in = None, row.origin_x_in + HOUSE_IN
            row.count = min(row.count, TRUSSES - there)
            if not row.count:
                return job
            row.save(force_insert=True)
            most = max(row.truss.copies.values_list("number", flat=True), default=0)
            Copy.objects.bulk_create(
                Copy(truss=row.truss, placement=row, number=most + 1 + n) for n in range(row.count)
            )
            there += row.count
    return job


def _serves(job: Job) -> None:
    """Processor time of the page, the file and the picture, and what goes over the wire."""
    client = Client()
    client.force_login(get_user_model().objects.get(username="builder"))
    client.get(f"/jobs/{job.pk}/")
    print(f"{'served':34}{'first':>10}{'again':>10}{'bytes':>11}{'on the wire':>13}")
    for address in ("3d/", "set.glb", "set.svg"):
        cold, kept = [], []
        for _ in range(5):
            caches["drawings"].clear()
            standing._BODIES.clear()
            for took in (cold, kept):
                start = time.process_time()
                answer = client.get(f"/jobs/{job.pk}/{address}", HTTP_ACCEPT_ENCODING="gzip")
                took.append(1000 * (time.process_time() - start))
        wire = answer.content
        whole = gzip.decompress(wire) if answer.get("Content-Encoding") == "gzip" else wire
        first, again = statistics.median(cold), statistics.median(kept)
        print(f"{address:34}{first:7.1f} ms{again:7.1f} ms{len(whole) / 1000:8.1f} KB{len(wire) / 1000:10.1f} KB")
    here = ROOT / "trusses/static/trusses"
    scripts = [*here.glob("solid*.js"), here / "glb.js"]
    print(f"{'scripts, all of them':34}{'':20}{sum(len(one.read_bytes()) for one in scripts) / 1000:8.1f} KB"
          f"{sum(len(gzip.compress(one.read_bytes())) for one in scripts) / 1000:10.1f} KB")  # fmt: skip


def _served() -> tuple[subprocess.Popen[bytes], int]:
    port = _free_port()
    command = [sys.executable, "manage.py", "runserver", "--noreload", "--skip-checks", f"127.0.0.1:{port}"]
    server = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    for _ in range(200):
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/sign-in/", timeout=2).close()
            break
        except OSError:
            time.sleep(0.2)
    return server, port


def _seen(browser: Browser, address: str, name: str, wide: int, high: int, slow: int) -> None:
    told = {"viewport": {"width": wide, "height": high}, "device_scale_factor": 2 if slow > 1 else 1}
    signed = browser.new_context(base_url=address, service_workers="block", **told)
    page = signed.new_page()
    page.goto("/sign-in/")
    page.fill("[name=username]", "builder")
    page.fill("[name=password]", "a password for the bench")
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_load_state()
    cookies = signed.storage_state()
    signed.close()
    print(f"\n{name}, {wide} × {high}" + (f", main thread {slow} times slower" if slow > 1 else ""))
    kept = None
    for line in (True, False):
        told_of = []
        for _ in range(3):
            if kept:
                kept.context.close()
            rasteriser = _processor(browser)
            kept, devtools, own = _opened(browser, told, address, cookies, slow, line)
            clock, plain = kept.evaluate("[firstPicture, performance.getEntriesByType('paint').at(-1).startTime]")
            told_of.append((clock, plain, own, 1000 * (_processor(browser) - rasteriser)))
        clock, plain, own, spent = map(statistics.median, zip(*told_of, strict=True))
        on = "on a line of 9 Mbit/s, 80 ms" if line else "from this machine"
        own_said = "" if slow > 1 else f", main thread {own:.0f} ms"
        print(
            f"  first picture, {on:30}{clock:7.0f} ms by the clock (the plain page {plain:.0f}){own_said},"
            f" rasteriser's processors {spent:.0f} ms"
        )
    said = f"{'at rest':>10}{'script':>9}{'95 %':>8}{'main thread':>13}{'rasteriser':>12}{'pictures/s':>12}"
    print(f"  {'turned':24}{'pixels':>14}{said}")
    turned: dict[str, list[dict[str, Any]]] = {}
    ways = {"in full": 0, "by faces, smooth": 1, "by faces": 2, "by faces, half as sharp": 3, "as it keeps up": None}
    for _ in range(ROUNDS):
        for way, level in ways.items():
            before = _main_thread(devtools), _processor(browser)
            found = kept.evaluate(TURN, [SECONDS, level])
            pictures = len(found["script"])
            found["own"] = 1000 * (_main_thread(devtools) - before[0]) / pictures
            found["spent"] = 1000 * (_processor(browser) - before[1]) / pictures
            found["rests"] = kept.evaluate("rests")
            turned.setdefault(way, []).append(found)
    for way, times in turned.items():
        script = [one for found in times for one in found["script"]]
        own, spent, rests = (statistics.median(found[key] for found in times) for key in ("own", "spent", "rests"))
        pace = statistics.median(1000 * len(found["script"]) / found["took"] for found in times)
        print(
            f"  {way:24}{'{} × {}'.format(*times[-1]['size']):>14}{rests:7.0f} ms{statistics.median(script):6.1f} ms"
            + f"{statistics.quantiles(script, n=20)[-1]:5.1f} ms"
            + (f"{'':13}" if slow > 1 else f"{own:10.1f} ms")
            + f"{spent:9.0f} ms{pace:12.1f}"
        )
    whole = times[-1]["counts"]
    print(f"  drawn {whole['calls']} calls, {whole['triangles']:.0f} triangles")
    kept.context.close()


def _opened(
    browser: Browser, told: dict[str, Any], address: str, cookies: Any, slow: int, line: bool
) -> tuple[Page, CDPSession, float]:
    """The page with its first picture, and the processor time of its main thread until then, milliseconds."""
    context = browser.new_context(base_url=address, storage_state=cookies, service_workers="block", **told)
    page = context.new_page()
    devtools = context.new_cdp_session(page)
    devtools.send("Performance.enable", {"timeDomain": "threadTicks"})
    if slow > 1:
        devtools.send("Emulation.setCPUThrottlingRate", {"rate": slow})
    if line:
        devtools.send("Network.enable")
        speed = {"downloadThroughput": 9e6 / 8, "uploadThroughput": 4e6 / 8}
        devtools.send("Network.emulateNetworkConditions", {"offline": False, "latency": 80, **speed})
    page.add_init_script(f"({FIRST})()")
    page.goto("/jobs/1/3d/")
    for _ in range(600):
        if page.evaluate("window.firstPicture"):
            return page, devtools, 1000 * _main_thread(devtools)
        page.wait_for_timeout(100)
    raise SystemExit(f"no picture on {page.url}")


def _main_thread(devtools: CDPSession) -> float:
    """Seconds of a processor that the page's main thread took so far; where it is slowed, waiting counts too."""
    return float(
        next(
            one["value"] for one in devtools.send("Performance.getMetrics")["metrics"] if one["name"] == "TaskDuration"
        )
    )


def _processor(browser: Browser) -> float:
    """Seconds of the processors that the browser's graphics process took so far."""
    devtools = browser.new_browser_cdp_session()
    there = devtools.send("SystemInfo.getProcessInfo")["processInfo"]
    devtools.detach()
    return float(sum(one["cpuTime"] for one in there if one["type"] == "GPU"))


if __name__ == "__main__":
    assert settings.DEMO
    main()
