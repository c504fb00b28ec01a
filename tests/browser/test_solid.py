"""The set in three dimensions in Chromium, which draws it in software: it is there, it turns, a tap finds a truss."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import ARGUMENTS, CHROMIUM
from tests.browser.people import DESK, PHONE, Person

SOFTWARE = ("--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader")
READ = """() => {
  const { viewer } = document.getElementById("solid");
  viewer.drawing.draw(viewer.camera, viewer.paper);
  const canvas = document.querySelector("#solid canvas"), copy = document.createElement("canvas");
  [copy.width, copy.height] = [canvas.width, canvas.height];
  const on = copy.getContext("2d");
  on.drawImage(canvas, 0, 0);
  const { data } = on.getImageData(0, 0, copy.width, copy.height);
  let wood = 0, paper = 0;
  for (let i = 0; i < data.length; i += 4) {
    const [r, g, b] = data.subarray(i, i + 3);
    if (r - b > 40 && r > g && g > b) wood += 1;
    if (r > 240 && g > 240 && b > 230) paper += 1;
  }
  return [wood / (data.length / 4), paper / (data.length / 4)];
}"""
WHERE = """(name) => {
  const { viewer } = document.getElementById("solid"), { model, drawing, camera, canvas } = viewer;
  const node = model.nodes.find((one) => one.name === name), { low, high } = model.meshes[node.mesh].parts[0];
  // the middle of the bottom chord's lower edge: across the span's middle, low
  const [x, y, z] = [(low[0] + high[0]) / 2, 0.04, 0], view = drawing.view(camera);
  const at = [[x, y, z], [z, y, -x], [-x, y, -z], [-z, y, x]][node.turns].map((value, k) => value + node.at[k]);
  const seen = (k) => view[k] * at[0] + view[4 + k] * at[1] + view[8 + k] * at[2] + view[12 + k];
  const [u, v, , w] = [0, 1, 2, 3].map(seen);
  return [(u / w + 1) / 2 * canvas.clientWidth, (1 - v / w) / 2 * canvas.clientHeight];
}"""

VIEWER = "document.getElementById('solid').viewer"
RUN = f"{VIEWER}.model.nodes.findIndex((one) => one.extras.kind === 'run')"
COUNTS = """(nearer) => {
  const { viewer } = document.getElementById("solid");
  viewer.camera.far *= nearer;
  viewer.drawing.draw(viewer.camera, viewer.paper);
  return viewer.drawing.counts;
}"""
CALL_THE_FIRST = """(name) => {
  const { viewer } = document.getElementById("solid");
  const number = viewer.model.nodes.findIndex((one) => one.extras.kind === "truss");
  viewer.model.nodes[number].extras.mark = name;
  viewer.chooses({ number, member: 0 });
}"""


@pytest.fixture(scope="module")
def drawing(browser: Browser) -> Iterator[Browser]:
    """Chromium with WebGL in software: the other tests' browser has none."""
    arguments = [one for one in ARGUMENTS if one != "--disable-gpu"]
    chromium = browser.browser_type.launch(executable_path=CHROMIUM, args=[*arguments, *SOFTWARE])
    yield chromium
    chromium.close()


def solid(browser, demo: str, size, **more) -> Page:
    context = browser.new_context(
        base_url=demo,
        viewport={"width": size.width, "height": size.height},
        has_touch=size.touch,
        service_workers="block",
        **more,
    )
    person = Person(context.new_page(), size)
    person.sign_in("builder")
    person.page.goto("/jobs/1/3d/")
    return person.page


def settled(page: Page) -> None:
    expect(page.locator("#solid[data-ready]")).to_be_attached(timeout=30_000)
    expect(page.locator("#solid")).to_have_attribute("data-pictures", re.compile(r"^[1-9]"), timeout=30_000)
    page.wait_for_timeout(300)


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_wood_stands_on_paper_and_turns(drawing, demo, size):
    page = solid(drawing, demo, size)
    settled(page)
    wood, paper = page.evaluate(READ)
    assert wood > 0.03
    assert paper > 0.1
    before = page.locator("#solid canvas").screenshot()
    page.locator("#solid canvas").focus()
    for _ in range(6):
        page.keyboard.press("ArrowLeft")
    page.wait_for_timeout(400)
    assert page.locator("#solid canvas").screenshot() != before
    assert page.evaluate(READ)[0] > 0.03
    page.context.close()


def test_a_tap_names_the_truss_that_stands_there_and_cuts_the_set_at_it(drawing, demo):
    page = solid(drawing, demo, DESK)
    settled(page)
    # the westernmost truss over the bedrooms, seen from the west with the walls away
    page.get_by_label("Walls").uncheck()
    page.locator("[data-from=west]").click()
    page.wait_for_timeout(400)
    canvas = page.locator("#solid canvas")
    canvas.scroll_into_view_if_needed()
    x, y = page.evaluate(WHERE, "R1/1")
    canvas.click(position={"x": x, "y": y})
    says = page.locator("#solid-says")
    expect(says).to_contain_text("R1 copy 1")
    expect(says.get_by_role("link")).to_have_attribute("href", "/jobs/1/trusses/1/")
    says.get_by_role("button", name="Cut here").click()
    assert page.locator("#solid").get_attribute("data-cut")
    page.get_by_role("button", name="Uncut again").click()
    assert page.locator("#solid").get_attribute("data-cut") == ""
    page.context.close()


def test_only_what_is_in_view_is_drawn_and_nothing_while_it_rests(drawing, demo):
    page = solid(drawing, demo, DESK)
    settled(page)
    whole, meshes = page.evaluate(COUNTS, 1), page.evaluate(f"{VIEWER}.model.meshes.length")
    # each design once for all its copies, all walls at once: fewer calls than meshes, of which each wall has its own
    assert 0 < whole["calls"] < meshes
    pictures = page.locator("#solid").get_attribute("data-pictures")
    page.wait_for_timeout(800)
    assert page.locator("#solid").get_attribute("data-pictures") == pictures
    assert page.evaluate(COUNTS, 0.15)["triangles"] < whole["triangles"]
    page.context.close()


def test_a_run_is_followed_with_what_stands_before_it_away(drawing, demo):
    page = solid(drawing, demo, PHONE)
    settled(page)
    page.evaluate(f"{VIEWER}.chooses({{ number: {RUN}, member: 0 }})")
    slide = page.get_by_role("slider", name=re.compile("^Follow"))
    places = []
    for value in ("0", "500", "1000"):
        slide.fill(value)
        places.append(page.evaluate(f"{VIEWER}.camera.at"))
    assert page.locator("#solid").get_attribute("data-cut")
    assert places[0] != places[1] != places[2]
    page.context.close()


def test_where_the_graphics_are_taken_away_the_plain_picture_stands_in_until_they_are_back(drawing, demo):
    page = solid(drawing, demo, PHONE)
    settled(page)
    page.evaluate(f"window.lost = {VIEWER}.drawing.gl.getExtension('WEBGL_lose_context'); lost.loseContext()")
    expect(page.locator("#solid img")).to_be_visible()
    expect(page.locator("#solid canvas")).to_be_hidden()
    expect(page.locator("#solid-controls")).to_be_hidden()
    expect(page.locator("#solid-says")).to_contain_text("plain picture")
    page.wait_for_timeout(4200)  # by then what is printed was fetched, and it is hidden where the set is drawn
    expect(page.locator("#solid img")).to_be_visible()
    pictures = int(page.locator("#solid").get_attribute("data-pictures") or 0)
    page.evaluate("lost.restoreContext()")
    expect(page.locator("#solid canvas")).to_be_visible()
    expect(page.locator("#solid")).not_to_have_attribute("data-pictures", str(pictures))
    expect(page.locator("#solid img")).to_be_hidden()
    assert page.evaluate(READ)[0] > 0.03
    page.context.close()


def test_hostile_names_are_letters(drawing, demo):
    page = solid(drawing, demo, PHONE)
    settled(page)
    for name in ('"><script>alert(1)</script>', "M" * 200, "\u05d0\u05d1\u05d2"):
        page.evaluate(CALL_THE_FIRST, name)
        expect(page.locator("#solid-says bdi")).to_have_text(name)
        assert page.locator("#solid-says script").count() == 0
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE.width
    page.context.close()


PLACED = """() => {
  const counts = {};
  for (const { extras } of document.getElementById("solid").viewer.model.nodes)
    if (extras.kind === "truss") counts[extras.level] = (counts[extras.level] ?? 0) + 1;
  return counts;
}"""


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_level_is_seen_by_itself_by_keyboard_and_by_touch(drawing, demo, size):
    page = solid(drawing, demo, size)
    settled(page)
    wood, counts = page.evaluate(READ)[0], page.evaluate(PLACED)
    assert sorted(counts) == ["Floor over basement", "Roof"]
    total, drawn = sum(counts.values()), page.locator("#solid-drawn")
    every, floor, roof = (
        page.get_by_role("radio", name=name) for name in ("All levels", "Floor over basement alone", "Roof alone")
    )
    expect(drawn).to_have_text(f"{total} trusses drawn.")
    # F2's first copy lies under the roof: seen from above a tap finds the roof, and the floor where that is alone
    page.locator("[data-from=above]").click()
    page.wait_for_timeout(400)
    at = dict(zip("xy", page.evaluate(WHERE, "F2/9"), strict=True))
    canvas, says = page.locator("#solid canvas"), page.locator("#solid-says")
    canvas.click(position=at)
    expect(says).to_contain_text("Roof")
    every.focus()
    page.keyboard.press("ArrowDown")
    expect(floor).to_be_checked()
    expect(drawn).to_have_text(f"{counts['Floor over basement']} of {total} trusses drawn.")
    expect(says).to_have_text("Tap a truss to read which it is.")  # what was tapped isn't there any more
    page.wait_for_timeout(400)
    canvas.click(position=at)
    expect(says).to_contain_text(re.compile(r"F2 copy 9: .*Floor"))
    box = roof.locator("xpath=..").bounding_box()
    assert box
    assert box["height"] >= 44
    if size.touch:
        roof.tap()
    else:
        roof.click()
    expect(drawn).to_have_text(f"{counts['Roof']} of {total} trusses drawn.")
    page.locator("[data-from=corner]").click()
    every.check()
    page.wait_for_timeout(400)
    assert page.evaluate(READ)[0] == pytest.approx(wood, rel=0.02)
    # nothing of it is remembered
    floor.check()
    page.reload()
    settled(page)
    expect(every).to_be_checked()
    expect(drawn).to_have_text(f"{total} trusses drawn.")
    page.context.close()


def test_without_webgl_or_javascript_the_plain_picture_is_there(browser, demo):
    for more in ({}, {"java_script_enabled": False}):
        page = solid(browser, demo, PHONE, **more)
        if not more:
            # as on a machine whose browser has it, and whose graphics don't
            page.add_init_script("HTMLCanvasElement.prototype.getContext = () => null")
            page.reload()
            expect(page.locator("#solid")).to_have_attribute("data-trouble", re.compile("WebGL"), timeout=30_000)
        picture = page.locator("#solid img")
        expect(picture).to_be_visible()
        if not more:
            expect(picture).not_to_have_js_property("naturalWidth", 0)
            expect(page.locator("#solid canvas")).to_have_count(0)
        page.context.close()
