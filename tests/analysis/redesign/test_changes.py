"""How a change is measured and told."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from trusses.analysis.lumber import board_feet, lookup
from trusses.analysis.redesign.changes import measure, steps
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.layouts import Note
from trusses.analysis.words import options as words

EXAMPLES = Path(__file__).parents[1] / "examples"


def document(name: str = "E7") -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads((EXAMPLES / f"{name}.truss.json").read_text())
    return loaded


def test_nothing_changed() -> None:
    change = measure(document(), document(), ())
    assert (change.touched, change.board_feet, change.pieces, change.plies) == ((), 0, 0, 0)
    assert words.title(steps(change, document())) == "Today's truss, with the opening drawn in"


def test_webs_taken_out_added_and_moved_are_touched_and_chords_under_moved_panel_points_are_not() -> None:
    draft = Draft(document())
    draft.take_out("W8")
    draft.slide("b3", 94)
    new = draft.add_web("t3", "b3", "W1")
    change = measure(document(), draft.document(), [Note("out", ("W8",), {"webs": ("W8",)})])
    assert change.touched == tuple(sorted(("W7", "W8", new)))
    assert change.lumber == ()
    longer = sum(draft.length(web) for web in ("W7", new)) - sum(Draft(document()).length(w) for w in ("W7", "W8"))
    assert change.board_feet == pytest.approx(board_feet(lookup("2x4 SPF No.1/No.2"), longer))
    assert change.pieces == 0


def test_lumber_is_compared_where_the_chord_is_and_not_by_name() -> None:
    draft = Draft(document())
    draft.take_out("W8")
    draft.take_out("W9")
    for name in ("T1", "T2"):
        draft.set_lumber(name, "2x4 DF-L Select Structural")
    change = measure(document(), draft.document(), ())
    # T3 and T4 are one member now, of the lumber that both had
    assert change.lumber == (("T1", "2x4 DF-L Select Structural"), ("T2", "2x4 DF-L Select Structural"))
    assert change.touched == ("T1", "T2", "W8", "W9")


def test_rows_plies_and_splices_touch_what_they_touch() -> None:
    rows = Draft(document("E3"))
    rows.rows["W2"] = 1
    assert measure(document("E3"), rows.document(), ()).touched == ("W2",)
    plies = Draft(document())
    plies.set_plies(2)
    doubled = measure(document(), plies.document(), ())
    assert set(doubled.touched) == set(plies.members)
    assert doubled.plies == 1
    assert doubled.pieces > 0
    given = document()
    given["hinges"] = [*given["hinges"], "t3"]
    splice = Draft(given)
    splice.move_splice("t3", "t1")
    assert measure(given, splice.document(), ()).touched == ("T1", "T2", "T3", "T4")


def test_a_title_says_everything_once() -> None:
    draft = Draft(document())
    for web in ("W8", "W9"):
        draft.take_out(web)
    for name in draft.members:
        if draft.role(name) != "web":
            draft.set_lumber(name, "2x4 DF-L Select Structural")
    draft.rows["W7"] = 1
    draft.set_plies(2)
    notes = [Note("out", ("W8",), {"webs": ("W8",)}), Note("out", ("W9",), {"webs": ("W9",)})]
    changed = draft.document()
    assert words.title(steps(measure(document(), changed, notes), changed)) == (
        "Take out W8 and W9; chords to 2x4 DF-L Select Structural; one more restraint row on W7; one more ply"
    )


def test_the_same_layout_an_inch_apart_is_the_same() -> None:
    one, other, third = (
        measure(document(), document(), [Note("slide", ("W1",), values)])
        for values in (
            {"end": "foot", "webs": ("W1",), "shift_in": 14, "toward": "middle"},
            {"end": "foot", "webs": ("W1",), "shift_in": 11.5, "toward": "middle"},
            {"end": "foot", "webs": ("W1",), "shift_in": 14, "toward": "left"},
        )
    )
    assert one.layout == other.layout != third.layout
    assert one.holds(other)
    assert other.holds(one)
    assert not one.holds(third)


STEPS = {
    "for-all": ({"copies": [1, 4]}, "one design for copies 1 and 4"),
    "out": ({"webs": ("W1", "W2", "W3")}, "take out W1, W2 and W3"),
    "splice": (
        {"role": "bottom_chord", "joint": "b2", "to": "b4"},
        "move the bottom chord's splice from joint b2 to joint b4",
    ),
    "slide": (
        {"end": "head", "webs": ("W1", "W2"), "shift_in": 14, "toward": "left"},
        "move the head of W1 and W2 1'-2\" toward the left bearing",
    ),
    "point": (
        {"end": "foot", "web": "W1", "shift_in": 7, "toward": "middle"},
        'move the foot of W1 7" toward midspan, to a panel point of its own',
    ),
    "aim": ({"end": "head", "web": "W1", "joint": "t2"}, "aim the head of W1 at joint t2"),
    "swap": ({"web": "W1", "joints": ("b2", "t3")}, "turn W1 to run from joint b2 to joint t3"),
    "brace": ({"web": "W9", "joints": ("b2", "t3")}, "add a web (W9) from joint b2 to joint t3"),
    "twin": (
        {"webs": ("W3", "W4")},
        "the same on the other side (W3 and W4), so that both ends stay alike",
    ),
    "panel": (
        {"out": ("W4", "W5"), "moved": ("W3",), "width_in": 28},
        "take out W4, W5, frame a 2'-4\" panel with verticals, move W3 to it",
    ),
    "open": ({"width_in": 40}, "leave a 3'-4\" panel open"),
    "add": (
        {"web": "W9", "panel_in": 96, "role": "top_chord"},
        "add a web (W9) that breaks up the 8'-0\" panel of the top chord",
    ),
    "lumber": (
        {"chords": ("top_chord",), "members": ("W1", "W2", "W3", "W4", "W5", "W6"), "key": "2x6 DF-L No.2"},
        "top chord, W1, W2, W3, W4 and 2 more to 2x6 DF-L No.2",
    ),
    "rows": ({"webs": ("W7",)}, "one more restraint row on W7"),
    "held": ({"role": "bottom_chord", "spacing_in": 48}, "bottom chord held every 4'-0\""),
    "plies": ({"plies": 2}, "2 more plies"),
    "upright": ({"webs": ("W8", "W9"), "role": "top_chord"}, "add W8 and W9 to a new panel point of the top chord"),
    "shifted": (
        {"moved": [[3, 2.0], [4, -1.5]], "copies": [3, 4]},
        'shift copy 3 by 2" up the row and copy 4 by 1 1/2" down the row,'
        " with copies 3 and 4 drawn for the wider spacing",
    ),
    "left-out": ({"out": [3], "copies": [2, 4]}, "leave out copy 3, with copies 2 and 4 drawn for the wider spacing"),
    "headers": (
        {"out": [3], "copies": [2, 4]},
        "leave out copy 3, with headers and tails between copies 2 and 4, which are doubled",
    ),
    "bearing-moved": ({"from_in": 144, "to_in": 150}, "with the bearing at 12'-0\" moved to 12'-6\""),
    "bearing-added": ({"at_in": 144}, "with a bearing at 12'-0\""),
    "bearing-gone": ({"at_in": 144}, "without the bearing at 12'-0\""),
    "bearings-measured": ({}, "on the walls as they were measured"),
    "cross-beam": ({"trusses": 3}, "hand the weight to 3 trusses by a stiff cross-beam"),
}


LOW, HIGH, MET = ["bottom_chord", 72, 0], ["top_chord", 150, 60], ["", 108, 24]


@pytest.mark.parametrize("code", STEPS)
def test_the_words_of_each_step(code: str) -> None:
    values, says = STEPS[code]
    assert words.step(code, values) == says


@pytest.mark.parametrize(
    ("code", "at", "says"),
    [
        (
            "swap",
            [LOW, HIGH],
            "turn W1 to run from the bottom chord at 6'-0\" to the top chord at 12'-6\" from the left bearing",
        ),
        (
            "brace",
            [LOW, MET],
            "add a web (W9) from the bottom chord at 6'-0\" to the panel point at 9'-0\", 2'-0\" up"
            " from the left bearing",
        ),
        ("aim", [HIGH], "aim the head of W1 at the top chord at 12'-6\" from the left bearing"),
        (
            "splice",
            [LOW, ["bottom_chord", 144, 0]],
            "move the bottom chord's splice from 6'-0\" to 12'-0\" from the left bearing",
        ),
    ],
)
def test_a_step_says_where_a_panel_point_is_and_names_none_that_no_drawing_shows(code, at, says) -> None:
    values, _ = STEPS[code]
    assert words.step(code, values | {"at": at}) == says


def test_steps_know_where_their_panel_points_are(king_post) -> None:
    moved = {"joint": "D", "to": "D", "role": "bottom_chord"}
    notes = [Note("swap", ("W1",), {"web": "W1", "joints": ("D", "B")}), Note("splice", (), moved | {"joint": "gone"})]
    swap, splice = steps(measure(king_post, king_post, notes), king_post)
    assert swap["values"]["at"] == [["bottom_chord", 120, 0], ["top_chord", 120, 60]]
    assert "at" not in splice["values"]


def test_every_step_has_words_and_its_test() -> None:
    assert words.STEPS.keys() == STEPS.keys()
