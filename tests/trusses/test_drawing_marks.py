"""What a change did and what a member carries, told by line, mark and word before color."""

from __future__ import annotations

import copy
from functools import partial

import pytest
from shapely import LineString, Point, Polygon

from tests.refused import refused
from tests.trusses.drawn import LUMBER, RECTANGLE, ROUND, SVG, Drawn, example, king_post
from tests.trusses.test_drawing_labels import truss
from trusses.analysis import analysis
from trusses.analysis.format import document
from trusses.drawing import AskedBearing, DrawingError, detail, elevation
from trusses.drawing.backdrop import Backdrop

AXIAL = {"T1": [-900, -850], "T2": [-850, -900], "B1": [720, 720], "B2": [720, 720], "W1": [0.2, 0.2]}


def computed(axial=AXIAL, **envelope):
    """An analysis document of the king post, with forces given."""
    members = {
        name: {"tension_lb": max(0, *ends), "compression_lb": max(0, *(-end for end in ends))}
        for name, ends in axial.items()
    }
    pulled_over = {name: {"axial_lb": [-end for end in ends]} for name, ends in axial.items()}
    as_given = {name: {"axial_lb": ends} for name, ends in axial.items()}
    return {
        "combinations": {"D": {"members": as_given, "reactions_lb": {"A": [0, 500.4], "C": [0, -80]}}},
        "cases": {"dead": {"members": pulled_over, "reactions_lb": {}}},
        "envelope": {
            "members": members | envelope,
            "reactions_lb": {"A": {"down_lb": 1240.4, "uplift_lb": 0}, "C": {"down_lb": 900, "uplift_lb": 310.2}},
        },
    }


def forces(**how):
    return Drawn(elevation(king_post(), analysis=how.pop("analysis", computed()), view="forces", **how))


def line_of(drawn, name):
    """A member's line of force and its arrowheads, without their colors."""
    (group,) = [g for g in drawn.member(name) if "force" in (g.get("class") or "").split()]
    line = next(e for e in group if e.tag == f"{SVG}path" and "arrow" not in (e.get("class") or ""))
    return line, [e.get("class") for e in group if "arrow" in (e.get("class") or "")]


class TestForces:
    def test_tension_and_compression_differ_without_color(self):
        drawn = forces()
        pushed, pushed_heads = line_of(drawn, "T1")
        pulled, pulled_heads = line_of(drawn, "B1")
        assert pushed_heads == ["arrow in", "arrow in"]
        assert pulled_heads == ["arrow out", "arrow out"]
        assert pushed.get("stroke-dasharray")
        assert pulled.get("stroke-dasharray") is None
        assert {"compression"} <= drawn.classes("T1")
        assert {"tension"} <= drawn.classes("B1")
        assert pushed.get("stroke") == pulled.get("stroke") == "currentColor"

    def test_arrowheads_point_the_way_they_say(self):
        drawn = forces()
        for name, outward in (("B1", True), ("T1", False)):
            (group,) = [g for g in drawn.member(name) if "force" in (g.get("class") or "").split()]
            first = next(e for e in group if "arrow" in (e.get("class") or ""))
            tip, *base = drawn.inches(first.get("d"))
            # both members begin at A, at x = 0: the head of a pull there points back to A
            assert (tip[0] < min(x for x, _ in base)) is outward

    def test_the_heavier_the_line_the_larger_the_force(self):
        drawn = forces()
        weights = {name: float(line_of(drawn, name)[0].get("stroke-width")) for name in ("T1", "B1")}
        assert weights["T1"] > weights["B1"]
        light = forces(analysis=computed(AXIAL | {"B1": [90, 90]}))
        assert float(line_of(light, "B1")[0].get("stroke-width")) < weights["B1"] / 2

    def test_labels_carry_their_unit_and_sign(self):
        labels = forces().texts("label")
        assert {"T1  900 lb C", "B1.1  720 lb T", "B1.2  720 lb T"} <= {
            " ".join(label.split("  ")).replace(" ", "  ", 1) for label in labels
        }
        assert "0 lb" in " ".join(labels)
        assert forces().member("T1").findtext(f"{SVG}title").endswith("900 lb compression")

    def test_a_member_that_reverses_is_its_own_kind_and_says_both(self):
        drawn = forces(analysis=computed(W1={"tension_lb": 150, "compression_lb": 420}))
        line, heads = line_of(drawn, "W1")
        assert sorted(heads) == ["arrow in"] * 2 + ["arrow out"] * 2
        assert line.get("stroke-dasharray") not in (None, line_of(drawn, "T1")[0].get("stroke-dasharray"))
        assert drawn.member("W1").findtext(f"{SVG}title").endswith("420 lb compression, 150 lb tension")
        assert "pulled or pushed, by load" in drawn.texts("drawing-key")

    def test_one_combination_or_case_can_be_chosen(self):
        assert "720 lb T" in " ".join(forces(combination="D").texts("label"))
        assert "720 lb C" in " ".join(forces(combination="dead").texts("label"))
        assert "Axial forces in D" in " ".join(forces(combination="D").texts("drawing-key"))

    def test_bearings_say_what_the_wall_carries(self):
        assert {"1,240 lb down", "310 lb uplift"} <= set(forces().texts("bearing"))
        assert {"500 lb down", "80 lb uplift"} <= set(forces(combination="D").texts("bearing"))

    def test_the_description_names_the_largest(self):
        tension, compression = "the largest tension is 720 lb in B1.1", "the largest compression is 900 lb in T1"
        assert forces().desc().endswith(f"Over all load combinations {tension} and {compression}.")

    def test_another_truss_or_combination_is_refused(self):
        with refused(DrawingError, "drawing-of-another-truss", member="W1"):
            forces(analysis=computed({name: ends for name, ends in AXIAL.items() if name != "W1"}))
        with refused(DrawingError, "drawing-combination", combination="D + S"):
            forces(combination="D + S")

    def test_a_computed_truss_agrees_with_its_analysis(self):
        truss = example("E8")
        result = analysis.analyse(document.read(truss)).document()
        drawn = Drawn(elevation(truss, analysis=result, view="forces"))
        for name, row in result["envelope"]["members"].items():
            largest = max(row["tension_lb"], row["compression_lb"])
            assert f"{largest:,.0f} lb" in drawn.member(name).findtext(f"{SVG}title")


@pytest.fixture(scope="module")
def after():
    """W1 gone, W2 and W3 in its place, B1 of other lumber, T1's panel point slid along its own line."""
    truss = king_post()
    truss["joints"] |= {"E": [60, 45], "F": [180, 45]}
    top = [("T1", "A", "E"), ("T4", "E", "B"), ("T2", "C", "F"), ("T5", "F", "B")]
    webs = [("W2", "D", "E"), ("W3", "D", "F")]
    truss["members"] = [m for m in truss["members"] if m["role"] == "bottom_chord"]
    truss["members"] += [{"id": n, "role": "top_chord", "joints": [a, b], "lumber": LUMBER} for n, a, b in top]
    truss["members"] += [{"id": n, "role": "web", "joints": [a, b], "lumber": LUMBER} for n, a, b in webs]
    truss["members"][0]["lumber"] = "2x6 SPF No.1/No.2"
    return truss


@pytest.fixture(scope="module")
def drawn(after):
    return Drawn(elevation(after, before=king_post()))


class TestChange:
    def test_what_was_taken_out_is_ghosted(self, drawn):
        (ghost,) = drawn.of_class("ghost", "removed")
        assert ghost.get("data-ghost") == "W1"
        (edge,) = [e for e in ghost if e.tag == f"{SVG}path"]
        assert edge.get("stroke-dasharray")
        assert edge.get("fill") == "none"
        (name,) = [t for t in drawn.root.iter(f"{SVG}text") if t.get("text-decoration") == "line-through"]
        assert name.text == "W1"

    def test_what_was_added_or_changed_stands_out_by_line_and_mark(self, drawn):
        kept = next(e for e in drawn.member("B2") if e.get("class") == "edge")
        for name, kind, mark in (("W2", "added", "+ W2"), ("B1", "changed", "△ B1")):
            edge = next(e for e in drawn.member(name) if e.get("class") == "edge")
            assert kind in drawn.classes(name)
            assert float(edge.get("stroke-width")) > 1.5 * float(kept.get("stroke-width"))
            assert mark in drawn.texts("label", kind)
        assert {"added", "changed"}.isdisjoint(drawn.classes("B2"))

    def test_a_chord_whose_panel_point_slid_is_the_same_stick(self, drawn):
        assert "slid" in drawn.classes("T1")
        assert {"added", "changed"}.isdisjoint(drawn.classes("T1"))

    def test_a_chord_with_one_panel_point_more_or_less_is_the_same_wood(self, drawn, after):
        assert {"added", "changed"}.isdisjoint(drawn.classes("T4"))
        assert "T4" not in drawn.desc()
        fewer = Drawn(elevation(king_post(), before=after))
        assert {one.get("data-ghost") for one in fewer.of_class("ghost")} == {"W2", "W3"}
        after = copy.deepcopy(after)
        next(one for one in after["members"] if one["id"] == "T4")["lumber"] = "2x6 SPF No.1/No.2"
        assert "added" in Drawn(elevation(after, before=king_post())).classes("T4")

    def test_a_web_that_moved_is_marked_and_shown_where_it_was(self):
        after = king_post()
        after["joints"]["D"] = [100, 0]
        drawn = Drawn(elevation(after, before=king_post()))
        assert {"changed", "moved"} <= drawn.classes("W1")
        assert [g.get("data-ghost") for g in drawn.of_class("ghost", "moved-from")] == ["W1"]

    def test_what_is_gone_and_where_something_was_differ_without_color(self):
        after = king_post()
        after["joints"] |= {"D": [100, 0], "E": [60, 45]}
        after["members"] = [m for m in after["members"] if m["id"] != "W1"] + [
            {"id": "W2", "role": "web", "joints": ["D", "B"], "lumber": LUMBER}
        ]
        before = king_post()
        before["members"] = [*before["members"], {"id": "W2", "role": "web", "joints": ["D", "B"], "lumber": LUMBER}]
        drawn = Drawn(elevation(after, before=before))
        dashes = {
            kind: {e.get("stroke-dasharray") for part in drawn.of_class(kind) for e in part if e.tag == f"{SVG}path"}
            for kind in ("removed", "moved-from", "drawing-key-removed", "drawing-key-moved-from")
        }
        assert dashes["removed"] == dashes["drawing-key-removed"]
        assert dashes["moved-from"] == dashes["drawing-key-moved-from"]
        assert dashes["removed"].isdisjoint(dashes["moved-from"])
        assert all(len(each) == 1 and None not in each for each in dashes.values())

    def test_the_key_explains_only_what_is_there(self, drawn):
        words = drawn.texts("drawing-key")
        assert {"+ added", "△ changed", "taken out"} <= set(words)
        assert "where it was" not in words
        same = Drawn(elevation(king_post(), before=king_post()))
        assert not same.of_class("ghost")
        assert {"+ added", "△ changed", "taken out"}.isdisjoint(same.texts("drawing-key"))

    def test_it_is_read_aloud(self, drawn):
        assert drawn.desc().endswith("Compared with the truss before: added W2, W3; changed B1; taken out W1.")
        same = Drawn(elevation(king_post(), before=king_post()))
        assert same.desc().endswith("No member differs from the truss before.")

    def test_the_documents_are_left_as_they_were(self, after):
        before, kept = king_post(), copy.deepcopy(after)
        elevation(after, before=before, beside=before)
        assert (after, before) == (kept, king_post())


def test_members_in_the_way_of_an_opening_are_marked():
    truss = example("E1")
    result = analysis.analyse(document.read(truss)).document()
    drawn = Drawn(elevation(truss, analysis=result))
    assert drawn.of_class("opening", "blocked")
    assert "touched" in drawn.classes("W1")
    assert "✕ W1" in drawn.texts("label", "touched")
    assert "✕ in the way of an opening" in drawn.texts("drawing-key")
    asked = Drawn(elevation(king_post(), ask=ROUND, touched=["W1", "not a member"]))
    assert [e.get("data-member") for e in asked.of_class("m", "touched")] == ["W1"]
    damaged = Drawn(elevation(king_post(), touched=["W1"])).texts("drawing-key")
    assert "✕ damaged" in damaged
    assert "✕ in the way of an opening" not in damaged


def block_of(drawn):
    (row,) = drawn.of_class("restraint")
    (block,) = (e for e in row.iter() if (e.get("class") or "").startswith("restraint-block"))
    xs = [x for x, _ in drawn.inches(block.get("d"))]
    return min(xs), max(xs)


def blocks_of(drawn):
    """The corners of each row's block, inches; not that of the key."""
    every = [one for row in drawn.of_class("restraint-at") for one in row]
    return [drawn.inches(one.get("d")) for one in every if (one.get("class") or "").startswith("restraint-block")]


def cut_through(drawn):
    """How many rows are drawn as wood cut through."""
    return sum(one.get("class") == "section" for row in drawn.of_class("restraint-at") for one in row)


@pytest.mark.parametrize("draw", [elevation, partial(elevation, detail="phone"), detail])
@pytest.mark.parametrize("asked", [False, True])
def test_a_row_is_drawn_on_the_edge_that_openings_leave_free(draw, asked):
    """W1 stands at 120 in., 3.5 in. wide; its row is at 45 in. up."""
    beside = [
        {"id": name, "shape": "circle", "centre_in": [x, 45], "diameter_in": 6}
        for name, x in (("O1", 125.25), ("O2", 114.75))
    ]

    def drawn(*openings):
        truss = king_post(lateral_restraint={"webs": {"W1": 1}}, openings=list(openings[asked:]))
        return Drawn(draw(truss, ask=openings[0] if asked else None))

    right, left = pytest.approx((121.75, 123.25), abs=0.05), pytest.approx((116.75, 118.25), abs=0.05)
    assert block_of(drawn(beside[0])) == left
    assert block_of(drawn(beside[1])) == right
    nowhere = drawn(*beside)  # where neither is free it stays, but isn't cut wood: nobody nails one there
    assert block_of(nowhere) == right
    assert (cut_through(nowhere), cut_through(drawn(beside[0]))) == (0, 1)


@pytest.mark.parametrize("size", ["sheet", "phone"])
def test_a_row_gives_way_while_an_opening_is_dragged_over_its_edge(size):
    """Two rows on W1, at 30 and 60 in. up: the opening takes the right edge of the upper one."""
    truss = king_post(lateral_restraint={"webs": {"W1": 2}})
    asked = ROUND | {"id": "O9", "centre_in": [126, 60], "diameter_in": 6, "clearance_in": 0}
    backdrop = Backdrop(truss, detail=size)
    for ask, expected in ((None, [("right", 30), ("right", 60)]), (asked, [("left", 60), ("right", 30)])):
        moved, whole = Drawn(backdrop.elevation(ask)), Drawn(elevation(truss, ask=ask, detail=size))
        for drawn in (moved, whole):
            at = [(sum(x for x, _ in one) / 4, sum(y for _, y in one) / 4) for one in blocks_of(drawn)]
            assert sorted(("left" if x < 120 else "right", round(y)) for x, y in at) == expected
            assert cut_through(drawn) == 2
        assert sorted(moved.texts("flag")) == sorted(whole.texts("flag"))
        # each flag's line still ends in the middle of its block
        led_by = [one for flag in moved.of_class("flag") for one in flag if one.get("class") == "leader"]
        blocks = [Polygon(one) for one in blocks_of(moved)]
        led = [Point(moved.inches(one.get("d"))[1]) for one in led_by]
        assert len(led) == len(moved.of_class("flag"))
        assert all(any(block.covers(end) for block in blocks) for end in led)


def test_rows_of_lateral_restraint_are_shown_on_their_webs():
    drawn = Drawn(elevation(king_post(lateral_restraint={"webs": {"W1": 2}})))
    (rows,) = drawn.of_class("restraint")
    assert rows.get("data-for") == "W1"
    blocks = [drawn.inches(e.get("d")) for e in rows.iter() if (e.get("class") or "").startswith("restraint-block")]
    middles = sorted(sum(y for _, y in block) / 4 for block in blocks)
    assert middles == pytest.approx([30, 60], abs=0.05)  # at the thirds of 90 in.
    # a 2x4 in section at true size, flat against the web's edge, which is 1.75 in. from its centreline at 120 in.
    for block in blocks:
        xs, ys = [x for x, _ in block], [y for _, y in block]
        assert (min(xs), max(xs)) == pytest.approx((121.75, 123.25), abs=0.05)
        assert max(ys) - min(ys) == pytest.approx(3.5, abs=0.05)
    # cut through: strokes across it, all one way, no crossed box
    for strokes in (e for e in rows.iter() if e.get("class") == "section"):
        lines = [drawn.inches(line) for line in (strokes.get("d") or "").split("M") if line]
        slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in lines]
        assert len(lines) >= 4
        assert len({slope > 0 for slope in slopes}) == 1
    assert drawn.texts("flag") == ["row W1.1", "row W1.2"]


def test_notes_say_what_the_picture_leaves_out():
    many = [ROUND | {"id": f"O{i}", "centre_in": [30 + 30 * i, 10]} for i in range(1, 7)]
    drawn = Drawn(elevation(king_post(openings=many, plies=2), before=king_post()))
    assert len(drawn.of_class("opening")) == 6
    assert len(drawn.of_class("dim-rise")) == 4
    assert {"2 more openings are drawn without dimensions.", "2 plies now, 1 before."} <= (
        {t.text for t in drawn.of_class("drawing-note")}
    )
    assert "Roof truss K1, 2 plies, spans 20 feet" in drawn.desc()


def test_what_another_request_asks_for_is_not_called_a_clear_opening():
    opening = {**ROUND, "id": "O1"}
    document = king_post(openings=[opening])
    drawn = elevation(document, theirs=["O1"])
    ask = RECTANGLE | {"id": "O9", "centre_in": [180, 20]}
    both = Drawn(elevation(document, ask=ask, theirs=["O1"]))
    mine, other = (
        next(e for e in opening if e.get("class") == "edge")
        for opening in (both.of_class("opening", "ask")[0], both.of_class("opening", "tone-theirs")[0])
    )
    assert mine.get("stroke-dasharray") != other.get("stroke-dasharray"), "told apart without color"
    assert float(mine.get("stroke-width")) > 1.3 * float(other.get("stroke-width"))
    for key, edge in (("ask", mine), ("theirs", other)):
        (sample,) = (e for e in both.of_class(f"drawing-key-{key}")[0] if e.tag == f"{SVG}path")
        assert sample.get("stroke-dasharray") == edge.get("stroke-dasharray")
    assert "asked for by another request" in drawn
    assert "clear opening" not in drawn
    assert 'class="opening tone-theirs"' in drawn
    assert 'class="dim-names tone-theirs"' in drawn
    dragged = Backdrop(document, theirs=["O1"])
    assert "clear opening" not in dragged.elevation({**ROUND, "id": "O2", "centre_in": [60, 20]})
    assert "clear opening" in elevation(document)
    assert "tone-theirs" not in elevation(document)
    # nothing of it is enlarged, and its clearance is told in its own tone
    assert detail(document, theirs=["O1"]) == ""
    assert detail(document) != ""
    assert "-hatch-theirs" in drawn
    assert "-hatch)" not in drawn
    # where there is little room, its place is left to its title
    phone = Drawn(Backdrop(document, detail="phone", theirs=["O1"]).elevation({**ROUND, "id": "O2"}))
    assert {dim.get("data-for") for dim in phone.of_class("dim-opening")} == {"O2"}


def test_a_bearing_that_is_asked_for_is_drawn_and_one_that_came_is_marked():
    asked = (AskedBearing(120, 3.5), AskedBearing(240, 3.5, gone=True))
    drawn = Drawn(elevation(king_post(), bearings_asked=asked))
    assert len(drawn.of_class("bearing-asked")) == 2
    assert "bearing asked" in drawn.texts("bearing-asked-name")
    assert {"bearing as asked", "bearing asked to be taken away"} <= set(drawn.texts("drawing-key"))
    assert "Asked for: a bearing 3 1/2 inches wide at 10 feet." in drawn.desc()
    then = king_post()
    then["bearings"].append({"joint": "D", "restrains": "y", "width_in": 3.5})
    came = Drawn(elevation(then, before=king_post()))
    assert [words for words in came.texts("bearing-label") if words.startswith("+")] == ['+ bearing D, 3 1/2"']
    assert "+ added" in came.texts("drawing-key")


def test_a_bearing_that_moves_is_drawn_as_one_that_moves():
    asked = Drawn(elevation(king_post(), bearings_asked=(AskedBearing(232, 3.5, from_in=240),)))
    assert len(asked.of_class("bearing-asked")) == 1
    assert asked.texts("bearing-asked-name") == ["asked: bearing moves", '8" to the left']
    assert "bearing asked to move there" in asked.texts("drawing-key")
    assert "bearing asked to be taken away" not in asked.texts("drawing-key")
    assert "Asked for: the bearing at 20 feet moved to 19 feet 4 inches." in asked.desc()
    then = king_post()
    then["joints"]["E"] = [232, 0]
    then["bearings"] = [{**one, "joint": "E"} if one["joint"] == "C" else one for one in then["bearings"]]
    then["members"] = [
        each
        for member in then["members"]
        for each in (
            [{**member, "joints": ["D", "E"]}, {**member, "id": "B3", "joints": ["E", "C"]}]
            if member["joints"] == ["D", "C"]
            else [member]
        )
    ]
    moved = Drawn(elevation(then, before=king_post()))
    marked = [words for words in moved.texts("bearing-label") if words.startswith(("△", "+", "moved"))]
    assert marked == ['△ bearing E, 3 1/2"', 'moved 8" to the left']


@pytest.mark.parametrize(
    ("name", "opening"),
    [("R1", None), ("R2", None), ("R2", (194.94, 47.12, 6)), ("R3", None), ("R3", (208.62, 17.81, 10)), ("R4", None)],
)
def test_a_row_is_led_to_past_no_other_web(name, opening):
    """Its flag stands beside it: a line through another web would seem to be about that one."""
    document = copy.deepcopy(truss(name))
    if opening is not None:
        x, y, across = opening
        document["openings"] = [
            {"id": "O1", "shape": "circle", "centre_in": [x, y], "diameter_in": across, "clearance_in": 0.5}
        ]
    drawn = Drawn(elevation(document))
    webs = {one["id"]: Polygon(drawn.wood(one["id"])) for one in document["members"] if one["role"] == "web"}
    flags = 0
    for row in drawn.of_class("restraint"):
        for line in (one for one in row.iter() if one.get("class") == "leader"):
            leader = LineString(drawn.inches(line.get("d")))
            flags += 1
            assert not [one for one, wood in webs.items() if one != row.get("data-for") and wood.intersects(leader)]
    assert flags == sum(document["lateral_restraint"]["webs"].values())
