"""When the set in three dimensions draws a picture and how fine, by a clock of the test's own; which faces it asks for.

The scripts run on an empty page: no demo, no WebGL.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import ROOT
from tests.trusses.drawn import king_post
from trusses.solid.bodies import body
from trusses.solid.covered import covered
from trusses.solid.gltf import METRE_PER_INCH
from trusses.solid.mesh import merged, prism

HERE = "https://set.invalid/"
PACE = """async (script) => {
  const { Pace } = await import('/solid-pace.js');
  return new Function("pace", script)(new Pace());
}"""
FRAMES = """async ([moves, cost, beat, hand]) => {
  // a screen that beats every `beat` ms; graphics that take cost × the level's share for a picture, one by one;
  // a hand that moves it `moves` times, every `hand` beats, then rests
  const { Frames } = await import('/solid-frames.js'), { LEVELS } = await import('/solid-pace.js');
  let now = 0, next = null, free = 0, most = 0, under_way = [];
  const drawn = [];
  const frames = new Frames((level) => {
    const n = LEVELS.indexOf(level);
    free = Math.max(free, now) + cost * level.cost;
    const at = free;
    drawn.push([now, n, at]);
    under_way = under_way.filter((one) => one > now).concat(at);
    most = Math.max(most, under_way.length);
    return { done: () => now >= at };
  }, (tick) => { next = tick; });
  let ticks = 0, moved = 0, last = 0;
  for (let i = 0; i < 5000 && (moved < moves || next); i += 1) {
    now += beat;
    if (moved < moves && i % hand === 0) { frames.wants(true); moved += 1; last = now; }
    const tick = next;
    next = null;
    if (tick) { tick(now); ticks += 1; }
  }
  return { drawn, most, last, ends: now, level: frames.pace.level, rests: next === null };
}"""
FACING = """async ([positions, normals, triangles, unseen, boxes]) => {
  const { byFacing, facing } = await import('/solid-faces.js');
  const part = { positions, normals, indices: new Uint16Array(triangles), unseen }, { indices, faces } = byFacing(part);
  const of = ([at, count]) => [...indices.slice(at, at + count)];
  return boxes.map(([low, high]) => facing(faces, low, high).flatMap(of));
}"""


@pytest.fixture(scope="module")
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context()
    scripts = ROOT / "trusses/static/trusses"
    context.route(
        HERE + "**",
        lambda route: (
            route.fulfill(path=scripts / route.request.url.removeprefix(HERE), content_type="text/javascript")
            if route.request.url.endswith(".js")
            else route.fulfill(body="", content_type="text/html")
        ),
    )
    page = context.new_page()
    page.goto(HERE)
    yield page
    context.close()


@pytest.mark.parametrize(
    ("takes", "level"),
    [
        ("17, 17, 17", 0),
        ("40, 17, 17, 17, 17, 17", 0),  # one late picture is nothing
        ("30, 30, 30, 30, 30", 1),  # 30 ms × 0.6 is quick enough
        ("300", 3),  # at once: nothing is enough
        ("120, 120", 3),
        ("16, 60, 60, 60, 60", 2),
    ],
)
def test_a_slow_machine_gets_as_coarse_as_it_needs(page, takes, level):
    assert page.evaluate(PACE, f"for (const ms of [{takes}]) pace.drew(ms); return pace.level;") == level


def test_a_screen_that_saves_its_battery_is_not_slow(page):
    frames = "for (let i = 0; i < 30; i += 1)"
    assert page.evaluate(PACE, f"{frames} pace.beats(33); {frames} pace.drew(33); return pace.level;") == 0


def test_it_gets_finer_only_when_a_new_move_begins_and_less_often_where_that_failed(page):
    levels = page.evaluate(
        PACE,
        """const told = [], quick = (n) => { for (let i = 0; i < n; i += 1) pace.drew(12); };
        const says = () => told.push(pace.level);
        for (let i = 0; i < 5; i += 1) pace.drew(30);
        says();
        quick(100); says();           // not midway
        pace.begins(); says();
        for (let i = 0; i < 6; i += 1) pace.drew(30);
        says();                       // that was too fine
        quick(100); pace.begins(); says();
        quick(100); pace.begins(); says();
        return told;""",
    )
    assert levels == [1, 1, 0, 1, 1, 0]


@pytest.mark.parametrize(("hand", "cost"), [(1, 5), (1, 40), (1, 300), (3, 5), (3, 300), (2, 1e9)])
def test_what_moved_is_drawn_in_full_once_it_rests_and_then_nothing_runs(page, hand, cost):
    beat = 1000 / 60
    told = page.evaluate(FRAMES, [120, cost, beat, hand])
    assert told["rests"]
    at, level, _ = told["drawn"][-1]
    assert level == 0
    if cost < 100:
        # no later than 150 ms after the last move
        assert at - told["last"] <= 150
    assert told["most"] <= 2 or cost == 1e9
    # a hand slower than the screen isn't a slow machine
    assert cost > 5 or {level for _, level, _ in told["drawn"]} == {0}
    # the first one tells how slow it is: no queue of them behind the hand
    assert cost < 300 or [level for _, level, _ in told["drawn"][:2]] == [0, 3]


def test_a_quick_machine_draws_each_frame_and_a_slow_one_as_often_as_it_can(page):
    beat = 1000 / 60
    quick = page.evaluate(FRAMES, [120, 10, beat, 1])
    assert len(quick["drawn"]) == 120
    assert {level for _, level, _ in quick["drawn"]} == {0}
    slow = page.evaluate(FRAMES, [240, 48, beat, 1])
    moving = [one for one in slow["drawn"] if 1000 < one[0] <= slow["last"]]
    # 48 ms × 0.35 is what this screen takes for a frame
    assert {level for _, level, _ in moving} == {2}
    assert len(moving) / (slow["last"] - 1000) > 0.055


def test_only_faces_that_look_toward_the_eye_are_asked_for(page):
    wood = body(king_post(plies=2)).wood
    mesh = merged([prism(one) for one in wood])
    hidden = covered(wood, mesh)
    triangles = np.concatenate([mesh.triangles[~hidden], mesh.triangles[hidden]])
    # as the file has them: x along the span, y up, z against w
    points, normals = (values[:, [0, 2, 1]] * [1, 1, -1] for values in (mesh.points * METRE_PER_INCH, mesh.normals))
    eyes = np.random.default_rng(3).normal((3, 1, 0), 8, (24, 3))
    given = (values.ravel().tolist() for values in (points, normals, triangles))
    asked = page.evaluate(FACING, [*given, int(hidden.sum()), [[one, one] for one in eyes.tolist()]])
    there = triangles[: int((~hidden).sum())]
    at, out = points[there[:, 0]], normals[there[:, 0]]
    shares = []
    for eye, found in zip(eyes, asked, strict=True):
        looks = {tuple(one) for one in there[((eye - at) * out).sum(axis=1) > 1e-9].tolist()}
        found = [tuple(found[i : i + 3]) for i in range(0, len(found), 3)]
        assert len(found) == len(set(found))
        assert looks <= set(found) <= {tuple(one) for one in there.tolist()}
        shares.append(len(found) / len(there))
    assert np.mean(shares) < 0.75
    # for copies seen from several places all that is seen from any of them
    low, high = eyes[:3].min(axis=0), eyes[:3].max(axis=0)
    given = (values.ravel().tolist() for values in (points, normals, triangles))
    (found,) = page.evaluate(FACING, [*given, int(hidden.sum()), [[low.tolist(), high.tolist()]]])
    assert {i for one in asked[:3] for i in one} <= set(found)
