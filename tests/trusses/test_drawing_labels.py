"""No label lies on wood, and no leader runs over a web that it doesn't name. Letters are taken as wide as the drawing
allows for; a browser measures them in `tests/browser/test_drawing_labels.py`."""

from __future__ import annotations

import math
import re

import pytest
from shapely import LineString, Point, Polygon, STRtree, box
from shapely.affinity import rotate

from tests.trusses.drawn import NAMES, RECTANGLE, ROUND, SVG, Drawn, example, king_post
from trusses.analysis import analysis
from trusses.analysis.format import document
from trusses.demo_set import marks
from trusses.drawing import Taped, detail, elevation
from trusses.drawing.placing import Room, Spot
from trusses.drawing.placing import box as square
from trusses.drawing.shape import shape
from trusses.drawing.text import width_of
from trusses.sheets import tape

DEMO = {mark.mark: mark.document for mark in marks()}
ALL = [*NAMES, *DEMO]
CAPITAL = 0.72  # of the letter size: the height of capitals and figures
HAIR = 0.3  # user units: lines are drawn about edges, and paths are rounded


def truss(name):
    return example(name) if name in NAMES else DEMO[name]


def analysed(name):
    return analysis.analyse(document.read(truss(name))).document()


def written(drawn):
    """(words, the outline of their letters) for each text of a drawing, in its units."""
    for text in drawn.root.iter(f"{SVG}text"):
        size, (x, y) = float(text.get("font-size")), (float(text.get("x")), float(text.get("y")))
        wide = width_of(text.text or "", size)
        left = x - {"middle": wide / 2, "end": wide}.get(text.get("text-anchor"), 0.0)
        letters = box(left, y - CAPITAL * size, left + wide, y)
        turn = re.fullmatch(r"rotate\((\S+) (\S+) (\S+)\)", text.get("transform") or "")
        if turn:
            angle, u, v = (float(number) for number in turn.groups())
            # y runs down: what turns clockwise on the screen turns with the sign that the drawing writes
            letters = rotate(letters, angle, origin=(u, v))
        yield text.text, letters


def woods(drawn):
    for part in drawn.of_class("m"):
        for path in part:
            if "wood" in (path.get("class") or "").split():
                pairs = re.findall(r"(-?[\d.]+),(-?[\d.]+)", path.get("d"))
                yield part.get("data-member"), Polygon([(float(u), float(v)) for u, v in pairs])


def on_wood(svg):
    drawn = Drawn(svg)
    pieces = [(member, wood.buffer(-HAIR)) for member, wood in woods(drawn)]
    assert pieces
    texts = [(words, letters.buffer(-HAIR)) for words, letters in written(drawn)]
    assert texts
    tree = STRtree([wood for _, wood in pieces])
    return [
        (words, pieces[i][0]) for words, letters in texts for i in sorted(tree.query(letters, predicate="intersects"))
    ]


@pytest.mark.parametrize("size", ["sheet", "phone"])
@pytest.mark.parametrize("name", ALL)
def test_no_label_lies_on_wood(name, size):
    result = analysed(name)
    assert on_wood(elevation(truss(name), analysis=result, detail=size)) == []
    assert on_wood(elevation(truss(name), analysis=result, view="forces", detail=size)) == []


@pytest.mark.parametrize("name", ALL)
def test_no_label_lies_on_wood_where_an_opening_is_asked_for(name):
    document = truss(name)
    xs, ys = zip(*document["joints"].values(), strict=True)
    for share, kind in ((0.35, ROUND), (0.5, RECTANGLE), (0.8, ROUND)):
        at = [min(xs) + share * (max(xs) - min(xs)), min(ys) + 0.4 * (max(ys) - min(ys))]
        asked = kind | {"id": "O9", "centre_in": at}
        for size in ("sheet", "phone"):
            assert on_wood(elevation(document, ask=asked, detail=size)) == []
        assert on_wood(detail(document, ask=asked)) == []


@pytest.mark.parametrize(("wide", "high"), [(80, 50), (100, 60)])
def test_the_name_of_a_rectangle_lies_over_no_edge_of_it(wide, high):
    asked = RECTANGLE | {"id": "O1", "centre_in": [120, 24], "width_in": wide, "height_in": high}
    for svg in (elevation(king_post(), ask=asked), detail(king_post(), ask=asked)):
        drawn = Drawn(svg)
        edge = next(part for part in drawn.of_class("opening")[0] if part.get("class") == "edge")
        x, y, w, h = (float(edge.get(side)) for side in ("x", "y", "width", "height"))
        rim = box(x, y, x + w, y + h).exterior
        named = [letters for words, letters in written(drawn) if words.startswith("O1") or "×" in words]
        assert named
        assert not any(letters.intersects(rim) for letters in named)


def leaders(drawn):
    """(what the label is about, its line) for each leader of a drawing, the end at what it names last."""
    for group in drawn.root.iter():
        for part in group:
            if "leader" in (part.get("class") or "").split():
                ends = [(float(u), float(v)) for u, v in re.findall(r"(-?[\d.]+),(-?[\d.]+)", part.get("d"))]
                row = re.match(r"row ([^.]+)", "".join(text.text or "" for text in group.iter(f"{SVG}text")))
                yield row.group(1) if row else group.get("data-for"), LineString(ends)


def webs_run_over(drawn, webs):
    wood = dict(woods(drawn))
    return [
        (about, web)
        for about, line in leaders(drawn)
        for web in webs
        if web in wood and web != about and not wood[web].buffer(HAIR).contains(Point(line.coords[-1]))
        if line.intersection(wood[web].buffer(-HAIR)).length > 2 * HAIR
    ]


@pytest.mark.parametrize("size", ["sheet", "phone"])
@pytest.mark.parametrize("name", DEMO)
def test_no_leader_runs_over_a_web_that_it_doesn_t_name(name, size):
    webs = {member["id"] for member in truss(name)["members"] if member["role"] == "web"}
    assert webs_run_over(Drawn(elevation(truss(name), detail=size)), webs) == []


def test_a_leader_runs_over_the_least_wood():
    """Of three places the nearest is over a web, the next over a chord of the same depth, the last over nothing."""
    over_web, over_chord, free = (
        Spot(square(*at, 10, 10), name, (at, (50.0, 50.0)))
        for name, at in (("web", (50.0, 20.0)), ("chord", (50.0, 80.0)), ("nothing", (20.0, 50.0)))
    )

    def first(*spots, beside=()):
        room = Room(100)
        room.take(square(50, 35, 40, 4), "W1", wood=4.0)
        room.take(square(50, 65, 40, 4), "B1", wood=1.0)
        return room.first_free(spots, beside=beside)

    assert first(over_web, over_chord, free) == "nothing"
    assert first(over_web, over_chord) == "chord"
    assert first(over_web) == "web"
    assert first(over_web, free, beside=("W1",)) == "web"


def lettered(drawn):
    return {label.get("data-for") for label in drawn.of_class("label")}


@pytest.mark.parametrize("name", ALL)
def test_every_web_and_every_bearing_is_lettered(name):
    drawn = Drawn(elevation(truss(name)))
    assert {member["id"] for member in truss(name)["members"] if member["role"] == "web"} <= lettered(drawn)
    assert lettered_bearings(drawn, truss(name))


@pytest.mark.parametrize("name", ALL)
def test_a_phone_letters_the_bearings_and_the_webs_that_a_tape_measures_to(name):
    measured = {web for one in tape.dimensions(document.read(truss(name))) for web in one.webs}
    drawn = Drawn(elevation(truss(name), detail="phone", named=measured))
    assert measured <= lettered(drawn)
    assert lettered_bearings(drawn, truss(name))


@pytest.mark.parametrize("name", DEMO)
def test_letters_on_a_phone_are_large_and_name_nearly_every_web(name):
    """One unit is a pixel of a screen 390 wide. What finds no room is told on tap."""
    drawn = Drawn(elevation(truss(name), detail="phone"))
    assert min(float(text.get("font-size")) for text in drawn.root.iter(f"{SVG}text")) >= 13
    assert min(float(text.get("font-size")) for text in drawn.of_class("label-text")) >= 14.5
    webs = {member["id"] for member in truss(name)["members"] if member["role"] == "web"}
    assert len(webs & lettered(drawn)) >= 0.9 * len(webs)
    assert lettered_bearings(drawn, truss(name))


def lettered_bearings(drawn, truss):
    said = " ".join(drawn.texts("bearing"))
    held = [one["joint"] for one in truss["bearings"] if "y" in one["restrains"]]
    return all(re.search(rf"\b{re.escape(joint)}\b", said) for joint in held)


def test_a_board_has_one_name_and_its_panels_theirs_where_forces_differ():
    plain = Drawn(elevation(king_post()))
    assert sorted(plain.texts("label")) == ["B1", "T1", "T2", "W1"]
    result = analysis.analyse(document.read(king_post())).document()
    forces = Drawn(elevation(king_post(), analysis=result, view="forces"))
    assert {"B1.1", "B1.2"} <= {label.split()[0] for label in forces.texts("label")}
    assert forces.member("B2").findtext(f"{SVG}title").startswith("B1.2, bottom chord")


@pytest.mark.parametrize(("name", "at", "size"), [("R6", 72, 60), ("R6", 144, 60), ("R4", 144, 60), ("G1", 96, 30)])
@pytest.mark.parametrize("round_", [False, True])
def test_an_opening_s_own_name_doesn_t_lie_across_its_edge(name, at, size, round_):
    sizes = {"shape": "circle", "diameter_in": size} if round_ else {"width_in": size, "height_in": size * 0.9}
    ask = {"id": "O1", "shape": "rectangle", "centre_in": [at, 28], "clearance_in": 1} | sizes
    drawn = Drawn(detail(truss(name), ask=ask))
    scale, x0, y0 = (float(drawn.root.get(f"data-{key}")) for key in ("scale", "x0", "y0"))
    middle = Point(x0 + at * scale, y0 - 28 * scale)
    wide, high = size / 2 * scale, size * 0.45 * scale
    hole = box(middle.x - wide, middle.y - high, middle.x + wide, middle.y + high)
    hole = middle.buffer(wide) if round_ else hole
    rim = hole.buffer(scale).difference(hole)
    named = [letters for words, letters in written(drawn) if words.startswith("O1")]
    assert named
    assert [letters for letters in named if letters.buffer(-HAIR).intersects(rim)] == []


def test_the_detail_shows_the_same_place_before_and_after():
    before, after = king_post(), king_post(openings=[ROUND])
    one = Drawn(detail(before, ask=ROUND, beside=after))
    other = Drawn(detail(after, before=before, around=ROUND))
    for name in ("viewBox", "data-scale", "data-x0", "data-y0"):
        assert one.root.get(name) == other.root.get(name)
    # several times as large as beside it on a phone, and the same mapping to inches
    assert float(one.root.get("data-scale")) > 2.5 * float(
        Drawn(elevation(before, detail="phone")).root.get("data-scale")
    )
    (opening,) = [c for c in one.root.iter(f"{SVG}circle") if c.get("class") == "edge"]
    scale, x0, y0 = (float(one.root.get(f"data-{name}")) for name in ("scale", "x0", "y0"))
    assert (float(opening.get("cx")) - x0) / scale == pytest.approx(180, abs=0.01)
    assert (y0 - float(opening.get("cy"))) / scale == pytest.approx(20, abs=0.01)
    assert float(opening.get("r")) / scale == pytest.approx(5, abs=0.01)


def test_the_frame_on_the_drawing_is_what_the_detail_shows():
    drawn, enlarged = Drawn(elevation(king_post(), ask=ROUND, detail="phone")), Drawn(detail(king_post(), ask=ROUND))
    (frame,) = drawn.of_class("frame")
    xs, ys = zip(*drawn.inches(frame.get("d")), strict=True)
    _, top, wide, high = (float(number) for number in enlarged.root.get("viewBox").split())
    scale, x0, y0 = (float(enlarged.root.get(f"data-{name}")) for name in ("scale", "x0", "y0"))
    assert (min(xs), max(xs)) == pytest.approx((-x0 / scale, (wide - x0) / scale), abs=0.05)
    assert (min(ys), max(ys)) == pytest.approx(((y0 - top - high) / scale, (y0 - top) / scale), abs=0.05)
    assert "Z" in drawn.texts("detail-frame")
    assert "Z" in enlarged.texts("detail-letter")


def test_there_is_no_detail_where_there_is_nothing_to_enlarge():
    assert detail(king_post()) == ""
    assert detail(king_post(), ask=ROUND | {"centre_in": [9_000, 0]}) == ""
    assert not Drawn(elevation(king_post())).of_class("detail-frame")
    # an opening that stood there before is not what a change is about
    assert detail(king_post(openings=[ROUND]), before=king_post(openings=[ROUND])) == ""


def test_letters_on_paper_are_as_high_as_the_standard_asks():
    """ISO 3098-1: the least nominal size is 1.8 mm, the height of capitals. A4 between its margins is 188 mm wide; the
    narrow faces that drawings are lettered in have capitals of 0.68 of their size and more."""
    for width in (None, 920, 690):
        drawn = Drawn(elevation(example("E5"), width_px=width))
        sizes = [float(text.get("font-size")) for text in drawn.root.iter(f"{SVG}text")]
        assert sizes
        assert min(sizes) * 0.68 * 188 / float(drawn.root.get("width")) >= 1.8
        assert math.isfinite(max(sizes))


@pytest.mark.parametrize("name", ["F1", "F2", "G1"])
def test_no_name_lies_on_the_line_that_tells_the_height(name):
    tall = max(y for _, y in DEMO[name]["joints"].values())
    svg = Drawn(elevation(DEMO[name], detail="phone", taped=(Taped("C", "height", (0, 0), (0, tall), tall),)))
    (line,) = [path.get("d") for part in svg.of_class("dim-height") for path in part if not path.get("class")]
    u, low, _, high = (float(n) for n in re.findall(r"-?[\d.]+", line))
    for word in svg.of_class("label-text"):
        x, y, size = (float(word.get(key)) for key in ("x", "y", "font-size"))
        half = width_of(word.text, size) / 2
        assert not (abs(x - u) < half and high < y and y - size * 0.7 < low), word.text


@pytest.mark.parametrize("size", ["sheet", "phone"])
@pytest.mark.parametrize("name", DEMO)
def test_a_boxed_name_keeps_clear_of_wood(name, size):
    before, after = truss(name), truss(name)
    other = [
        m | {"lumber": "2x4 SP No.1"} if m["role"] == "web" and (i % 2 or name == "R10") else m
        for i, m in enumerate(after["members"])
    ]
    drawn = Drawn(elevation(after | {"members": other}, before=before, detail=size))
    boxes = [
        Polygon([(float(u), float(v)) for u, v in re.findall(r"(-?[\d.]+),(-?[\d.]+)", part.get("d"))])
        for part in drawn.of_class("label-back")
    ]
    assert boxes
    wood = STRtree([outline for _, outline in woods(drawn)])
    assert min(one.distance(wood.geometries[wood.nearest(one)]) for one in boxes) > 2.5


def numbered_in(drawn):
    return {
        label.get("data-for") for label in drawn.of_class("label")
        if any(" lb" in (text.text or "") for text in label.iter(f"{SVG}text"))
    }  # fmt: skip


@pytest.mark.parametrize("size", ["sheet", "phone"])
@pytest.mark.parametrize("name", ["R4", "F1", "G1"])
def test_a_force_without_room_for_its_number_is_named_below(name, size):
    drawn = Drawn(elevation(truss(name), analysis=analysed(name), view="forces", detail=size))
    called = shape(truss(name)).called
    missing = {called[member["id"]] for member in truss(name)["members"]} - {called[one] for one in numbered_in(drawn)}
    note = " ".join(drawn.texts("drawing-key"))
    said = re.search(r"No room for the numbers? of ([^:]*): the table has (?:it|them)", note)
    assert (set(said.group(1).split(", ")) if said else set()) == missing


@pytest.mark.parametrize("size", ["sheet", "phone"])
@pytest.mark.parametrize("name", ["R1", "R3", "R4", "F1"])
def test_no_circle_of_a_pocket_runs_through_a_name_or_a_flag(name, size):
    document = truss(name)
    xs, ys = zip(*document["joints"].values(), strict=True)
    wide, high = max(xs) - min(xs), max(ys) - min(ys)
    pockets = [
        {"number": i + 1, "centre_in": [min(xs) + share * wide, min(ys) + 0.35 * high], "diameter_in": 0.5 * high,
         "areas": []} for i, share in enumerate((0.35, 0.5, 0.65))
    ]  # fmt: skip
    drawn = Drawn(elevation(document, clear={"chosen": False, "pockets": pockets}, detail=size))
    rings = [Point(float(c.get("cx")), float(c.get("cy"))).buffer(float(c.get("r")), 64).exterior
             for c in drawn.of_class("largest")]  # fmt: skip
    assert len(rings) == 3
    assert [words for words, at in written(drawn) for ring in rings if ring.intersects(at.buffer(-HAIR))] == []
    order = [part.get("class") for part in drawn.root]
    assert "restraints" not in order or order.index("clear-map") < order.index("restraints")


@pytest.mark.parametrize("size", ["sheet", "phone"])
@pytest.mark.parametrize("name", ["R1", "R3", "R8", "R9"])
def test_no_edge_of_where_a_size_may_stand_runs_through_a_name(name, size):
    """A square about the middle of each pocket; its number stands on bare paper and may lie over it."""
    document = truss(name)
    xs, ys = zip(*document["joints"].values(), strict=True)
    wide, high = max(xs) - min(xs), max(ys) - min(ys)
    pockets = [
        {"number": i + 1, "centre_in": [x, y], "diameter_in": high,
         "areas": [[[[x - side, y - side], [x + side, y - side], [x + side, y + side], [x - side, y + side]]]]}
        for i, share in enumerate((0.3, 0.5, 0.7))
        for x, y, side in [(min(xs) + share * wide, min(ys) + 0.3 * high, 0.2 * high)]
    ]  # fmt: skip
    drawn = Drawn(elevation(document, clear={"chosen": True, "pockets": pockets}, detail=size))
    lines = [Polygon(_points(area.get("d"))).exterior for area in drawn.of_class("free")]
    assert len(lines) == 3
    names = [(words, at.buffer(-HAIR)) for words, at in written(drawn) if not words.isdigit()]
    assert [words for words, at in names for line in lines if line.intersects(at)] == []
    assert len(drawn.texts("clear-numbers")) == 3


def _points(path):
    return [tuple(map(float, at.split(","))) for at in path.strip("MZ").split("L")]


@pytest.mark.parametrize("name", DEMO)
def test_on_a_phone_the_letter_of_the_height_stands_even_where_its_number_has_no_room(name):
    tall = max(y for _, y in DEMO[name]["joints"].values())
    drawn = Drawn(elevation(DEMO[name], detail="phone", taped=(Taped("C", "height", (0, 0), (0, tall), tall),)))
    assert [words for words in drawn.texts("dim-height") if words.split()[0] == "C"]


@pytest.mark.parametrize("size", ["sheet", "phone"])
@pytest.mark.parametrize("name", ["R1", "R3", "R4"])
def test_a_row_without_a_flag_is_named_below(name, size):
    around = [Taped("A", "along", (100, 0), (200, 0), 100.0), Taped("C", "height", (0, 0), (0, 90), 90.0)]
    drawn = Drawn(elevation(DEMO[name], detail=size, taped=tuple(around), named=("W4", "W5", "W1")))
    flagged = {words.removeprefix("row ") for words in drawn.texts("flag")}
    note = " ".join(drawn.texts("drawing-key"))
    said = re.search(r"of restraint on (.*) too: no room|row of lateral restraint: on ([W0-9, and]*)", note)
    below = set(re.findall(r"W\d+", said.group(0))) if said else set()
    assert flagged | below == {web for web, rows in DEMO[name]["lateral_restraint"]["webs"].items() if rows}
    assert not flagged & below
    assert size == "sheet" or not flagged, "a phone's room is left to the names of webs"
