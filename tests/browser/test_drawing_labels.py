"""Labels measured where they are seen: none covers another, none lies on wood, none leaves the picture."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page
from shapely import Polygon

from tests.trusses.drawn import NAMES, RECTANGLE, example, king_post
from trusses.analysis import analysis
from trusses.analysis.clearance.openings import fit, space
from trusses.analysis.format import document
from trusses.demo_set import marks
from trusses.drawing import detail as enlarged
from trusses.drawing import elevation
from trusses.drawing.backdrop import Backdrop
from trusses.drawing.placing import overlap

# each text's corners in the viewBox's units, without the space above and below its letters
TEXTS = """() => {
  const svg = document.querySelector("svg"), back = svg.getCTM().inverse();
  return [...svg.querySelectorAll("text")].map((text) => {
    const b = text.getBBox(), to = back.multiply(text.getCTM());
    const ys = [b.y + b.height * 0.2, b.y + b.height * 0.85], xs = [b.x, b.x + b.width];
    const corners = [[xs[0], ys[0]], [xs[1], ys[0]], [xs[1], ys[1]], [xs[0], ys[1]]];
    return [text.textContent, corners.map(([x, y]) => new DOMPoint(x, y).matrixTransform(to)).map((p) => [p.x, p.y])];
  });
}"""


@pytest.fixture(scope="module")
def page(browser: Browser) -> Iterator[Page]:
    page = browser.new_page(viewport={"width": 1400, "height": 900})
    yield page
    page.close()


def changed():
    """The king post with a web taken out, two added and a chord of other lumber, and an opening."""
    truss = king_post(openings=[RECTANGLE | {"clearance_in": 1}])
    truss["joints"] |= {"E": [60, 45], "F": [180, 45]}
    truss["members"][4]["joints"] = ["D", "E"]
    truss["members"][2]["lumber"] = "2x6 SPF No.1/No.2"
    truss["members"].append({"id": "W2", "role": "web", "joints": ["D", "F"], "lumber": "2x4 SPF No.1/No.2"})
    return truss


WOOD = """() => [...document.querySelectorAll("svg .m")].map((member) => {
  const corners = member.querySelector(".wood").getAttribute("d").matchAll(/(-?[\\d.]+),(-?[\\d.]+)/g);
  return [member.dataset.member, [...corners].map((p) => [+p[1], +p[2]])];
})"""


def check(page, drawing):
    page.set_content(f'<body style="margin:0">{drawing}</body>')
    left, top, width, high = page.evaluate(
        "() => { const b = document.querySelector('svg').viewBox.baseVal; return [b.x, b.y, b.width, b.height] }"
    )
    texts = page.evaluate(TEXTS)
    wood = [(member, Polygon(corners).buffer(-HAIR)) for member, corners in page.evaluate(WOOD)]
    assert texts
    assert wood
    for i, (words, corners) in enumerate(texts):
        inside = all(left <= x <= left + width and top <= y <= top + high for x, y in corners)
        assert inside, f"{words} leaves the picture"
        assert not [other for other, theirs in texts[i + 1 :] if overlap(corners, theirs)], f"{words} is covered"
        letters = Polygon(corners).buffer(-HAIR)
        assert not [member for member, piece in wood if piece.intersects(letters)], f"{words} lies on wood"


HAIR = 0.3  # user units
DEMO = {mark.mark: mark.document for mark in marks()}


@pytest.mark.parametrize("detail", ["sheet", "phone"])
@pytest.mark.parametrize("name", [*NAMES, *DEMO])
def test_no_label_covers_another_or_lies_on_wood(page, name, detail):
    truss = example(name) if name in NAMES else DEMO[name]
    check(page, elevation(truss, detail=detail))
    result = analysis.analyse(document.read(truss)).document()
    check(page, elevation(truss, analysis=result, view="forces", detail=detail))


@pytest.mark.parametrize("detail", ["sheet", "phone"])
def test_no_label_covers_another_in_a_picture_of_a_change(page, detail):
    check(page, elevation(changed(), before=king_post(), detail=detail))


@pytest.mark.parametrize("name", [*NAMES, *DEMO])
def test_no_label_lies_on_wood_in_the_enlarged_detail(page, name):
    truss = example(name) if name in NAMES else DEMO[name]
    xs, ys = zip(*truss["joints"].values(), strict=True)
    for share in (0.3, 0.55):
        centre = [min(xs) + share * (max(xs) - min(xs)), min(ys) + 0.45 * (max(ys) - min(ys))]
        check(page, enlarged(truss, ask=RECTANGLE | {"id": "O9", "centre_in": centre}))


@pytest.mark.parametrize("detail", ["sheet", "phone"])
@pytest.mark.parametrize("name", [*NAMES, *DEMO])
def test_no_label_covers_another_while_an_opening_is_dragged(page, name, detail):
    truss = example(name) if name in NAMES else DEMO[name]
    backdrop = Backdrop(truss, detail=detail)
    room = space(document.read(truss))
    xs, ys = zip(*truss["joints"].values(), strict=True)
    for share in (0.2, 0.45, 0.7):
        centre = [min(xs) + share * (max(xs) - min(xs)), min(ys) + 0.4 * (max(ys) - min(ys))]
        asked = RECTANGLE | {"id": "O9", "centre_in": centre}
        check(page, backdrop.elevation(asked, touched=fit(room, document.read_opening(asked)).touches))


def test_ink_follows_the_page(page):
    page.set_content(f'<body style="color: rgb(1, 2, 3)">{elevation(king_post())}</body>')
    for kind in (".m-web .edge", ".dim .tick"):
        seen = page.evaluate(f"() => getComputedStyle(document.querySelector('{kind}')).stroke")
        assert seen == "rgb(1, 2, 3)"
