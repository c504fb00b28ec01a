"""What sawn pieces are called: a board is one piece however many panels it has, and no name points at other wood."""

from __future__ import annotations

import copy

import pytest

from tests.trusses.drawn import LUMBER, NAMES, example, king_post
from trusses.analysis.piece_names import panel_names, sawn_pieces
from trusses.analysis.shapes import shapes


def chords(document):
    return {piece.name: piece.panels for piece in sawn_pieces(document) if piece.role != "web"}


def member(document, name):
    return next(one for one in document["members"] if one["id"] == name)


def test_a_chord_of_one_board_is_one_piece():
    # the bottom chord runs through D; the top chords end in the hinge at the peak
    assert chords(king_post()) == {"T1": ("T1",), "T2": ("T2",), "B1": ("B1", "B2")}
    assert panel_names(king_post()) == {"T1": "T1", "T2": "T2", "B1": "B1.1", "B2": "B1.2", "W1": "W1"}
    (bottom,) = [piece for piece in sawn_pieces(king_post()) if piece.name == "B1"]
    assert bottom.length_in == pytest.approx(240)


def test_a_board_ends_at_a_hinge_at_other_lumber_and_at_a_bend():
    spliced = king_post(hinges=["A", "B", "C", "D"])
    assert chords(spliced)["B1"] == ("B1",)
    other = king_post()
    member(other, "B2")["lumber"] = "2x6 SPF No.1/No.2"
    assert chords(other)["B2"] == ("B2",)
    flat = king_post()
    member(flat, "B2")["flat"] = True
    assert chords(flat)["B2"] == ("B2",)
    bent = king_post()
    bent["joints"]["D"] = [120, 6]
    assert chords(bent)["B2"] == ("B2",)


def test_panels_count_from_the_left_however_the_document_lists_them():
    turned = king_post()
    turned["members"] = turned["members"][::-1]
    member(turned, "B2")["joints"] = ["C", "D"]
    assert panel_names(turned) == panel_names(king_post())


def test_a_tail_is_called_a_tail():
    document = shapes.build("w", span="30'", overhang_left=18, overhang_right=18)
    named = panel_names(document)
    tails = {name: called for name, called in named.items() if called.endswith("tail")}
    assert sorted(tails.values()) == ["T1 tail", "T3 tail"]
    # TL reads as total load: nothing that is made here is called so
    assert not {"TL", "TR"} & ({one["id"] for one in document["members"]} | set(named.values()))
    # E2 was made elsewhere; its ids begin with TL for top left
    assert panel_names(example("E2"))["TL1"] == "T1 tail"
    assert panel_names(example("E2"))["TL2"] == "T1.1"


@pytest.mark.parametrize("name", [*NAMES, *sorted(shapes.KINDS)])
def test_no_name_points_at_other_wood_than_the_id_of_the_same_letters(name):
    document = example(name) if name in NAMES else shapes.build(name, span="30'", stock=480)
    pieces = sawn_pieces(document)
    ids = {one["id"] for one in document["members"]}
    assert sorted(panel for piece in pieces for panel in piece.panels) == sorted(ids)
    assert len({piece.name for piece in pieces}) == len(pieces)
    for piece in pieces:
        assert piece.name not in ids or piece.name in piece.panels
    named = panel_names(document)
    assert len(set(named.values())) == len(named)
    assert all(called == one or called not in ids for one, called in named.items())


def test_a_name_that_another_member_has_is_not_given_twice():
    document = king_post()
    member(document, "W1")["id"] = "B1.2"
    named = panel_names(document)
    assert named["B1.2"] == "B1.2"
    assert named["B2"] == "B2"


def test_free_text_is_no_piece_name_and_stays_the_id():
    document = king_post()
    for number, one in enumerate(("B1", "B2")):
        member(document, one)["id"] = f"lower board, part {number}"
    before = copy.deepcopy(document)
    assert chords(document)["B1"] == ("lower board, part 0", "lower board, part 1")
    assert document == before


def test_a_board_beyond_a_splice_over_the_wall_is_a_tail_too():
    document = king_post()
    document["joints"]["E"] = [264, -18]
    document["members"].append({"id": "x", "role": "top_chord", "joints": ["C", "E"], "lumber": LUMBER})
    assert panel_names(document)["x"] == "T3 tail"
