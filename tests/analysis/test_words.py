"""The sentence of each code, once, and that every code has one. All else about findings is tested by code and value."""

import ast
from pathlib import Path

import pytest

from tests.beams import beam, line, push
from trusses.analysis.analysis import analyse
from trusses.analysis.checks.check import Finding, Unchecked
from trusses.analysis.compare import compare
from trusses.analysis.format.document import read
from trusses.analysis.verdict import Reason, verdict
from trusses.analysis.words import checks, loads, mechanism, options, rows
from trusses.analysis.words import findings as words
from trusses.analysis.words import verdict as verdict_words
from trusses.analysis.words.openings import ASKED, FITS
from trusses.analysis.words.phrases import coded, say, sentence, tell
from trusses.analysis.words.verdict import REASONS

CORE = Path(__file__).resolve().parent.parent.parent / "trusses" / "analysis"

SENTENCES = {
    "live-patterns": (
        {"case": "live", "lacking": ["left", "right"]},
        "The live load lacks the arrangements “left” and “right”. A live load on part of a floor can raise forces many"
        " times over, in a chase panel above all. Write the arrangements into the document and compute again.",
    ),
    "snow-patterns": (
        {"case": "snow", "lacking": ["left"]},
        "The snow load lacks the arrangement “left”. Snow that lies unevenly can reverse the force in webs near the"
        " peak. Write the arrangements into the document and compute again.",
    ),
    "wind-patterns": (
        {"case": "wind", "lacking": ["down"]},
        "The wind load lacks the arrangement “down”. Wind presses and lifts, and what it lifts can turn tension into"
        " compression. Write the arrangements into the document and compute again.",
    ),
    "roof_live-patterns": (
        {"case": "roof_live", "lacking": ["a", "b", "c"]},
        "The roof_live load lacks the arrangements “a”, “b” and “c”. A partial load can govern. Write the arrangements"
        " into the document and compute again.",
    ),
    "no-dead-load": (
        {},
        "No dead load is in the document. Self-weight isn't added: the dead loads must contain it.",
    ),
    "no-wind": ({}, "No wind is in the document, so neither uplift nor forces that wind reverses are looked at."),
    "loads-alone-mixed": (
        {"case": "live"},
        "Some loads of the case live act alone and others together with the rest: those that act alone are a case of"
        " their own, live/alone, and stand in no other combination than dead load with it.",
    ),
    "snow-drift": (
        {},
        "The snow of this roof has no drift beside the ridge: on a slope of 1/2 in 12 to 7 in 12 the wind carries snow"
        " over it, and ASCE 7 §7.6.1 has more on the lee side there than even snow. As it is typed, the chords and webs"
        " near the ridge may be shown to carry what they don't. Have the snow written from the ground snow, or type"
        " the uneven arrangements.",
    ),
    "no-live-load": (
        {},
        "No live load is in the document, and this is a floor's truss: nobody and nothing stands on it yet.",
    ),
    "no-roof-load": (
        {},
        "Neither roof live load nor snow is in the document, and this is a roof's truss: the codes ask for a roof live"
        " load where there is no snow.",
    ),
    "load-lifts": (
        {"case": "roof_live"},
        "A roof live load of the document acts upward, since its sign is minus: such a load presses down, and what"
        " lifts here takes load off.",
    ),
    "dead-not-whole": (
        {},
        "Dead load has patterns or acts alone in this document, so that part of it is left out of combinations: dead"
        " load is always there as a whole. The document was stored before such loads were refused.",
    ),
    "shared-wood": (
        {"pieces": ["W2", "T1"], "at_in": [50, 20]},
        "The wood of W2 and T1 would have to be in the same place: it can't be built as it is drawn. The document was"
        " stored before such trusses were refused.",
    ),
    "uplift-dead-share": (
        {},
        "Wind lifts this truss, and the document doesn't say what share of the dead load is sure to be there"
        " (uplift_dead_share): all of it is counted on to hold the roof down, which may be too much.",
    ),
    "uplift-dead-share-weights": (
        {"share": 0.873, "over": False},
        "Wind lifts this truss, and the share of the dead load that is counted on to hold it down (uplift_dead_share,"
        " 0.873) is all of it but the weights that stand or hang on it: whether all of that is sure to be there, the"
        " document doesn't say.",
    ),
    "weights-hold-down": (
        {"joint": "A", "force_lb": 50.2, "combination": "D + S", "told_lb": 10.1},
        "Without the weights that stand or hang on it, which may be gone, A is lifted by 50 lb (D + S), with them by"
        " 10 lb: what holds it down there has to be for the larger.",
    ),
    "weights-help": (
        {
            "of": "member",
            "id": "T5",
            "rule": "compression and bending",
            "source": "NDS 3.9.2",
            "combination": "D + L without the 500 lb stone",
            "ratio": 1.084,
            "buckles": False,
            "with_ratio": 0.998,
            "others": 2,
        },
        "Compression and bending of member T5 is at 108% of what is allowed under D + L without the 500 lb stone, and"
        " at 100% with all that stands or hangs on it: a weight that may be gone can't be what makes it pass. So it is"
        " with 2 more.",
    ),
    "attic-storage": (
        {"windows": [[0, 288]], "psf": 20, "beside_psf": 10},
        'A clear box 42 in. high and 24 in. wide fits between the webs from 0" to 24\'-0" along the span. Where the'
        " next truss has that room too and the attic can be reached, the bottom chord there has to carry 20 psf of"
        " storage, and 10 psf beside it, together with the other loads (IRC Table R301.5); the document has less.",
    ),
    "attic-storage-in-part": (
        {"windows": [[-12, 60], [120, 180], [200, 228], [230, 260], [262, 280]], "psf": 20},
        "The bottom chord carries 20 psf of attic storage from −1'-0\" to 5'-0\", from 10'-0\" to 15'-0\", from"
        " 16'-8\" to 19'-0\", from 19'-2\" to 21'-8\" and in 1 more places along the span and less elsewhere: nothing"
        " is to be stored beside those parts.",
    ),
    "web-along-wood": (
        {"web": "W2", "other": "B2", "joint": "b1", "share": 0.592},
        "W2 leaves joint b1 at so small an angle to B2 that the wood of both overlaps over 59% of its length: little of"
        " it is left beyond the cut, and its plates have to reach past that.",
    ),
    "x-couple": (
        {"joints": ["A", "D"]},
        "The bearings at A and D both hold the same end sideways, one above the other: together they fix that end"
        " against turning as no wall does, and the rest looks stronger than it is.",
    ),
    "thrust": (
        {"joints": ["A", "C"]},
        "The bearings at A and C both hold sideways: the truss then leans on its walls like an arch, and the numbers"
        " are true only if both walls can take that push.",
    ),
    "chord-bend": (
        {"role": "top_chord", "joint": "P"},
        "The top chord changes direction at P, which isn't a hinge: no piece of wood runs around a bend, so that the"
        " moment it carries there is not to be counted on.",
    ),
    "rigid-joint": (
        {"role": "top_chord", "joint": "B", "members": ["P1", "H1", "H2"]},
        "P1, H1 and H2 of the top chord are taken as one rigid piece at B, which isn't a hinge: no plate holds a corner"
        " of several pieces like that, so that the moment they carry there is not to be counted on.",
    ),
    "splice-not-hinged": (
        {"role": "bottom_chord", "joint": "B", "lumber": ["2x4 SPF No.2", "2x6 SPF No.2"]},
        "The bottom chord changes from 2x4 SPF No.2 to 2x6 SPF No.2 at B, which isn't a hinge: the two pieces are"
        " taken to carry moment into each other, and a plated splice isn't checked for that.",
    ),
    "chase-splice": (
        {"role": "bottom_chord", "joint": "S"},
        "The bottom chord has a hinge or splice at S, in the chase panel or the panel beside it: there the chords"
        " carry the shear by bending and must run through in one piece.",
    ),
    "long-span": (
        {"span_in": 744},
        "The span is 62'-0\", 60 ft or more: a registered design professional has to design its temporary and"
        " permanent bracing (IBC 2303.4.1.3), and no option is called passing.",
    ),
    "carries-trusses": (
        {"marks": []},
        "Other trusses stand or hang on it: a girder with hangers is never called passing here. Its numbers are shown,"
        " and it waits for its sealed drawing.",
    ),
    "wet-lumber": ({}, "Its lumber stays wet: its numbers are shown, and it waits for its sealed drawing."),
    "incised-lumber": ({}, "Its lumber is incised: its numbers are shown, and it waits for its sealed drawing."),
    "heel-eccentricity": (
        {
            "joint": "S",
            "off_in": 5,
            "width_in": 3.5,
            "role": "bottom_chord",
            "members": ["B0", "B1"],
            "moment_inlb": 2678.1,
            "combination": "D + S",
        },
        'The chords\' centerlines cross 5" from the middle of the bearing at S, outside its 3 1/2". The reaction is'
        " taken in the middle of the bearing: that bends the bottom chord there with up to 2,678 in-lb (D + S), and B0"
        " and B1 are checked with it. All of it is in the bottom chord, the other chord being pinned to it; the heel's"
        " plates are to be designed for it too.",
    ),
    "missed-bearing": (
        {
            "joint": "M",
            "states": [
                {
                    "state": "missed",
                    "off_in": 0.25,
                    "moves": {"joint": "M", "direction": "up and down", "almost": True, "code": "apart", "values": {}},
                },
                {
                    "state": "high",
                    "off_in": 0.25,
                    "worst": {"of": "member", "id": "S1", "rule": "bending", "ratio": 1.304, "combination": "D"},
                    "others": 2,
                    "lifted_lb": {"A": 1234.4, "B": 20},
                },
                {
                    "state": "low",
                    "off_in": 0.25,
                    "worst": {"of": "bearing", "id": "A", "rule": "bearing", "ratio": 1.1, "combination": "D + S"},
                    "others": 1,
                    "lifted_lb": {},
                },
                {"state": "low", "off_in": 0.25},
            ],
        },
        "The bearing at M stands between the outer ones and could be missed or built off level. Without it, the truss"
        " can move almost freely: joint M moves up and down, since nothing joins it to the rest of the truss."
        ' With it 1/4" too high, S1 exceeds first: bending at 1.30 of what is allowed (D), and 2 more exceed;'
        ' it lifts the truss at A by 1,234 lb and B by 20 lb, which only a connection would hold down. With it 1/4"'
        " too low, the bearing at A exceeds first: bearing at 1.10 of what is allowed (D + S), and 1 more exceeds."
        ' With it 1/4" too low, everything stays within its limits. Whoever sets the truss has to know that this'
        " bearing counts.",
    ),
    "stands-in": (
        {"mark": "R5", "case": "roof_live", "pattern": "drift", "used": ["left"]},
        "R5 has no arrangement “drift” of its own roof live load: its left stands in for it.",
    ),
    "pushes-sideways": (
        {"mark": "R5", "joint": "A", "case": "wind/up", "force_lb": 40},
        "R5 pushes 40 lb along its span at bearing A (wind/up): across the carrier, where nothing here checks it.",
    ),
    "ply-fastening": (
        {"plies": 2, "stated": ""},
        "The document doesn't say how the 2 plies are fastened to each other: each is checked as buckling sideways by"
        " itself, and without fastening they don't share the load either.",
    ),
    "lumber-values": (
        {"note": "Two texts differ.", "members": ["T1"]},
        "Two texts differ. Check it against the grading rules before use: T1.",
    ),
    "restraint-unstated": (
        {"role": "bottom_chord", "column_in": 240, "inner_edge_in": 228},
        "The document states no lateral restraint of the bottom chord: it is taken as held sideways at its ends only."
        " As a column it is checked over up to 20'-0\", and in bending that presses its upper edge over up to 19'-0\","
        " between bearings.",
    ),
    "joint-unheld": (
        {"joint": "J", "members": ["W1", "W2"], "length_in": 100},
        "Nothing that the document states holds J sideways, and W1 and W2 can buckle there: each is checked as running"
        " on through it, over up to 8'-4\". It needs lateral restraint, or rows on these webs.",
    ),
    "web-restraint": (
        {"web": "W3", "rows": 2},
        "W3 relies on 2 rows of lateral restraint: that works only where like webs of the neighboring trusses carry the"
        " row on and it is braced diagonally, and a change that takes this web out of its row touches the neighbors"
        " too.",
    ),
    "uplift": (
        {"joint": "A", "force_lb": 1234.5, "combination": "0.6D + 0.6W"},
        "The bearing at A is lifted by up to 1,234 lb (0.6D + 0.6W): a connection has to hold it down, and connections"
        " aren't checked here.",
    ),
    "force-reversal": (
        {"members": ["T1", "W2"]},
        "The force in T1, W2 is tension under some combinations and compression under others: plates and restraint have"
        " to serve both.",
    ),
    "web-too-slender": (
        {"web": "W", "most_rows": 3},
        "W doesn't pass in compression with up to 3 rows of lateral restraint either: it needs a larger or stiffer"
        " piece.",
    ),
    "web-rows": (
        {"web": "W", "rows": 1, "stated": 0},
        "W needs 1 row of lateral restraint to pass in compression; the document has 0.",
    ),
}
PHRASES = {
    "plates": ({}, "plates"),
    "heel-eccentricity": ({"drawn": False}, "heel eccentricity"),
    "joint-eccentricity": ({}, "eccentricity at the other joints: members are taken to meet on their centerlines"),
    "connections": ({}, "connections"),
    "fire": ({}, "fire"),
    "joint-slip": ({}, "slip and stiffness of plated joints, so that deflections are a lower bound"),
    "splices": ({}, "splices, and tension across the grain at plates"),
    "below": (
        {"unsaid": ["A"], "every": False},
        "headers and walls below the bearings, and the wall plate at A, whose lumber isn't said",
    ),
    "bracing": ({}, "bracing, temporary and permanent, and what anchors the lateral restraint"),
    "leaning-webs": (
        {},
        "bearing of webs that lean more than 45 degrees from square to a chord, or are cut against each other: their"
        " plates are to carry it",
    ),
    "treated-wet-hot": (
        {"stated": False},
        "treated or wet lumber, and temperatures over 100 °F that last: dry service without incising is taken for"
        " granted (CM, Ct and Ci 1, NDS 4.3)",
    ),
    "snow-drifts": ({}, "snow drifts from other roofs and in valleys, sliding snow, rain on snow"),
    "ice-at-eaves": (
        {},
        "ice at eaves: twice the flat roof's snow on overhangs of roofs that are heated below and little insulated"
        " (ASCE 7 7.4.5) is not taken; write it into the document as a snow load that acts alone",
    ),
    "snow-drift": ({}, "the drift of snow beside the ridge (ASCE 7 §7.6.1), which the document doesn't have"),
    "snow-on-spans": ({}, "snow on some of several spans"),
    "seismic": ({}, "earthquake, drag loads and construction loads"),
    "self-weight": ({}, "self-weight: the dead loads are taken to contain it"),
    "cuts": ({}, "cuts, holes, notches and damage: every member is taken as whole"),
    "ply-fastening": ({}, "ply fastening"),
    "vibration": ({}, "vibration of the floor"),
    "repetitive-use": (
        {"roles": ["top_chord", "bottom_chord"]},
        "repetitive use: Cr 1.15 on the top chord and bottom chord takes for granted three or more like trusses, not"
        " over 24 in. apart, joined by sheathing or boards (NDS 4.3.9)",
    ),
    "sheathed-chords": (
        {"members": ["T1", "T2"], "km": 2300, "dry": True},
        "sheathed chords: CT in the column stability of T1, T2, where bent too, takes for granted wood structural"
        " panels of 3/8 in. or more nailed to the top chord's narrow face, and lumber that had 19% or less moisture"
        " when it was sheathed (KM 2300, NDS 4.4.2)",
    ),
}
#: Cases of load that share the sentence of another case.
ALIKE = {"attic_storage-patterns", "rain-patterns"}


@pytest.mark.parametrize("code", SENTENCES)
def test_the_sentence_of_a_finding(code):
    values, says = SENTENCES[code]
    assert words.finding(Finding(code, "here", values)) == says


@pytest.mark.parametrize("code", PHRASES)
def test_the_phrase_of_what_is_not_checked(code):
    values, says = PHRASES[code]
    assert words.unchecked(Unchecked(code, values)) == says


def test_what_is_left_of_a_heel_that_is_drawn_off_its_bearing_and_of_a_service_that_is_stated():
    assert "in the plates" in words.unchecked(Unchecked("heel-eccentricity", {"drawn": True}))
    assert "besides incising" in words.unchecked(Unchecked("treated-wet-hot", {"stated": True}))


def test_a_fastening_that_does_not_count_is_quoted():
    says = words.finding(Finding("ply-fastening", "ply_fastening", {"plies": 3, "stated": "glued"}))
    assert says.startswith("The document says “glued” of how the 3 plies are fastened.")
    assert "NDS 15.3.3, 15.3.4" in says


def test_wall_plates_of_which_none_or_every_one_is_known():
    assert words.unchecked(Unchecked("below", {"unsaid": ["A", "B"], "every": True})).startswith("wall plates, headers")
    assert words.unchecked(Unchecked("below", {"unsaid": [], "every": False})) == "headers and walls below the bearings"


def test_a_code_without_words_and_a_value_that_lacks_are_errors():
    with pytest.raises(KeyError):
        words.finding(Finding("no-such-code", "here"))
    with pytest.raises(KeyError):
        words.finding(Finding("chord-bend", "here", {"role": "top_chord"}))


def test_every_sentence_is_tested_here_and_every_code_has_one():
    assert words.FINDINGS.keys() == SENTENCES.keys() | ALIKE
    assert words.UNCHECKED.keys() == PHRASES.keys()
    assert _codes("Finding") <= words.FINDINGS.keys()
    assert _codes("Unchecked") == words.UNCHECKED.keys()
    assert len(_codes("Finding")) > 15


def _codes(record: str) -> set[str]:
    """The codes that the core's source makes such records with, as far as they stand there as they are."""
    found = set()
    for path in CORE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == record and node.args:
                found |= {one.value for one in ast.walk(node.args[0]) if isinstance(one, ast.Constant)}
    return {code for code in found if not code.startswith("-")}


MOVES = {
    "apart": ({}, "since nothing joins it to the rest of the truss"),
    "whole-turns": ({}, "since the bearings let the whole truss turn"),
    "whole-slides": ({"direction": "sideways"}, "since no bearing holds the truss sideways"),
    "hinge": ({"joint": "B"}, "since the chord can turn in the hinge at joint B"),
    "no-tie": ({"joint": "C"}, "since no member ties it to joint C"),
    "too-few": ({"direction": "at a slant"}, "since too few members hold it at a slant"),
}


@pytest.mark.parametrize("code", MOVES)
def test_why_a_truss_can_move(code):
    values, says = MOVES[code]
    assert mechanism.BECAUSE.keys() == MOVES.keys()
    told = mechanism.moves("F", "sideways", False, code, values)
    assert told == f"the truss can move freely: joint F slides sideways, {says}"


BECAME = {
    "gone": ({"truss": "R1-4", "web": "W3"}, "In R1-4, W3 is gone."),
    "no-row": ({"truss": "R1-4", "web": "W3"}, "In R1-4, W3 has no row any more."),
    "other-places": (
        {"truss": "R1-4", "web": "W3", "rows": 2, "were": 1},
        "In R1-4, W3 has its rows in other places: 2 instead of 1.",
    ),
    "moved": ({"truss": "R1-4", "web": "W3", "moved_in": 3.5}, 'In R1-4, the row on W3 is 3 1/2" from where it was.'),
}


@pytest.mark.parametrize("code", BECAME)
def test_a_row_that_is_cut_off(code):
    values, why = BECAME[code]
    assert rows.BECAME.keys() == BECAME.keys()
    assert rows.cut_off("W3", "R1-1 to R1-3", "R1-4", False, False, code, values) == (
        "The row on W3 of R1-1 to R1-3 doesn't run on into R1-4 any more: brace it diagonally at its new end, reinforce"
        f" those webs singly, or keep the row. {why}"
    )
    assert rows.cut_off("W3", "R1-1", "R1-4", True, True, code, values) == (
        f"The row on W3 of R1-1 has nothing to run to: reinforce that web singly, or keep the row. {why}"
    )


HIGHEST = {"of": "bearing", "id": "A", "rule": "bearing", "buckles": False, "ratio": 0.876, "combination": "D + S"}
OPENINGS = {
    "cuts-chord": ({"members": ["B1", "T2"]}, "It would cut chords B1 and T2. A chord is never cut."),
    "reaches-outside": ({}, "It reaches outside of the truss; an opening must lie between the chords."),
    "webs-in-the-way": ({"members": ["W1"], "by_in": 8.625}, 'Web W1 is in the way, by 8 5/8".'),
    "fits-exactly": ({}, "It fits as it is, with nothing to spare."),
    "fits": ({"spare_in": 12.25}, "It fits as it is, with 1'-0 1/4\" to spare."),
}
DECIDES = {
    "unloaded": ({}, "Nothing carries a load in this truss."),
    "fails": (
        {**HIGHEST, "of": "member", "id": "T2", "rule": "compression", "buckles": True, "ratio": 1.5, "others": 2},
        "It fails: T2, compression (it buckles), at 150% of what is allowed, under D + S. 2 more fail as well.",
    ),
    "numbers-only": (
        HIGHEST,
        "No check is over its limit. The highest is the bearing at A, bearing, at 88% of what is allowed, under D + S.",
    ),
    "lumber-passes": (
        {**HIGHEST, "of": "truss", "rule": "deflection"},
        "Every lumber check passes. The highest is the whole truss, deflection, at 88% of what is allowed, under D + S."
        " Plates are not checked.",
    ),
    "no-layout": ({}, "No layout of webs was found that keeps the opening clear and can be built."),
    "opening": (
        {"opening": "O1", "fit": coded("fits-exactly")},
        "Opening O1: It fits as it is, with nothing to spare.",
    ),
    "rows-in-line": (
        {"webs": ["W1", "W4"]},
        "The restraint rows work only in line with like webs of the neighboring trusses, and with diagonal bracing:"
        " W1, W4.",
    ),
    "cross-beam-told": (
        {"trusses": 3, "share_lb": 133.4},
        "A beam across 3 trusses that doesn't bend gives each 133 lb; the beam and its fastening are to be designed,"
        " and the trusses beside are changed like this one.",
    ),
    "fails-without-weight": (
        {"ratio": 1.074},
        "With the weight gone it is at 107% of what is allowed: a weight that may be taken away can't be what makes it"
        " pass.",
    ),
    "chord-deeper": (
        {"role": "bottom_chord", "by_in": 1},
        'The bottom chord is deeper by 1" on either side of its centerline: what it bears on or is sheathed with moves'
        " by as much.",
    ),
    "building": (
        {"tolerance_in": 0.25, "from_joints_in": 4, "longest_piece_in": 240, "stock": 3},
        'Every web that moves keeps 1/4" more than the clearance, the opening 4" from panel points; no chord piece is'
        " longer than 20'-0\" unless it is so today; what is new is one of the 3 sizes and grades on this job's list.",
    ),
    "storage-raised": (
        {"windows": [[0, 288]], "psf": 20, "beside_psf": 10},
        'It opens room for storage (a box 42 in. high and 24 in. wide) from 0" to 24\'-0" along the span: the bottom'
        " chord is computed with 20 psf there, and 10 psf beside it, together with the other loads.",
    ),
    "storage-left-out": (
        {"windows": [[0, 288]], "psf": 20},
        'It opens room for storage (a box 42 in. high and 24 in. wide) from 0" to 24\'-0" along the span, and was'
        " computed with less than 20 psf on the bottom chord there.",
    ),
}


@pytest.mark.parametrize("code", OPENINGS)
def test_what_is_said_of_an_opening(code):
    values, says = OPENINGS[code]
    assert FITS.keys() == OPENINGS.keys()
    assert tell(FITS, [coded(code, **values)]) == says


def test_many_webs_in_the_way_are_the_first_five_and_how_many_more():
    says = tell(FITS, [coded("webs-in-the-way", members=[f"W{n}" for n in range(1, 8)], by_in=1)])
    assert says == 'Webs W1, W2, W3, W4, W5 and 2 more are in the way, by 1".'
    counted = tell(FITS, [coded("webs-in-the-way", members=["W10", "W9"], by_in=1)])
    assert counted == 'Webs W9 and W10 are in the way, by 1".'
    six = tell(FITS, [coded("webs-in-the-way", members=[f"W{n}" for n in range(1, 7)], by_in=1)])
    assert six == 'Webs W1, W2, W3, W4, W5 and W6 are in the way, by 1".'


def test_what_is_asked_is_told_with_its_size_its_place_and_its_clearance():
    place = {"id": "O1", "centre_in": [132, 20], "clearance_in": 1}
    says = say(ASKED, "circle", place | {"size_in": [14, 14]})
    assert says == 'O1: 1\'-2" round, centre 11\'-0" along the span and 1\'-8" up, 1" clear all around'
    says = say(ASKED, "rectangle", place | {"size_in": [24, 12], "clearance_in": 0})
    assert says == "O1: 2'-0\" wide and 1'-0\" high, centre 11'-0\" along the span and 1'-8\" up"


@pytest.mark.parametrize("code", DECIDES)
def test_what_decides_about_an_option(code):
    values, says = DECIDES[code]
    assert options.TOLD.keys() == DECIDES.keys() | REASONS.keys()
    assert len(options.TOLD) == len(DECIDES) + len(REASONS), "two sentences share a code"
    assert tell(options.TOLD, [coded(code, **values)]) == says


def test_one_more_failing_and_one_row_are_told_as_one():
    values = DECIDES["fails"][0]
    assert tell(options.TOLD, [coded("fails", **values | {"others": 1})]).endswith(" 1 more fails as well.")
    assert tell(options.TOLD, [coded("fails", **values | {"others": 0})]).endswith("under D + S.")
    assert tell(options.TOLD, [coded("rows-in-line", webs=["W1"])]).startswith("The restraint row works only")


def test_past_the_pole_every_sentence_with_a_ratio_says_that_the_member_buckles():
    """A 2x4 of 6 ft, unbraced, under 1,300 lb: fc = 247.6 psi is over FcE2 = 206.9 psi. Under 900 lb it isn't."""
    for pounds, buckles in ((1300, True), (900, False)):
        loads = {"point": [push(pounds)], "line": [line(5)]}
        analysis = analyse(read(beam(72, "2x4 DF-L No.2", restraint=None, loads=loads)))
        (bent,) = (check for check in analysis.checks if check.rule == "compression and bending")
        (written,) = (check for check in analysis.document()["checks"] if check["rule"] == "compression and bending")
        for check in (checks.short(bent), checks.short(written), written):
            assert checks.buckles(check) is buckles
            told = [checks.rule(check), checks.rule_of(check)]
            assert [says.endswith(" (it buckles)") for says in told] == [buckles, buckles]
            assert all(says.startswith("compression and bending") for says in told)
        (reason,) = (
            verdict(analysis.truss, analysis).why_not if buckles else [Reason("check-fails", checks.short(bent))]
        )
        assert (" of member M (it buckles) stands at " in verdict_words.reason(reason)) is buckles
        lower = {"state": "low", "off_in": 0.25, "worst": checks.short(bent)}
        missed = words.finding(Finding("missed-bearing", "", {"joint": "M", "states": [lower]}))
        assert ("compression and bending (it buckles) at " in missed) is buckles
        document = analysis.document()
        (member,) = compare(document, document, analysis.truss.document, analysis.truss.document)["members"]
        assert [checks.buckles(governs) for governs in member["governs"]] == [buckles, buckles]


def test_combinations_of_loads_in_plain_words():
    known = {
        "D + L/all": "dead load and live load",
        "D + 0.45W/down + 0.75S/balanced": "dead load, part of the wind and part of the snow",
        "0.6D + 0.6W/up": "part of the dead load and part of the wind",
        "D + Lr": "dead load and live load on the roof",
        "as typed by somebody": "as typed by somebody",
    }
    assert {name: loads.acting(name) for name in known} == known
    worst = coded("near", worst={"id": "B1", "combination": "D + S"}, note="D + S")
    (told,) = loads.plainly([worst])
    assert told["values"] == {"worst": {"id": "B1", "combination": "dead load and snow"}, "note": "D + S"}
    assert worst["values"]["worst"]["combination"] == "D + S"


@pytest.mark.parametrize(
    ("says", "alone"),
    [
        ("the document is empty", "The document is empty."),
        ("did you mean R1?", "Did you mean R1?"),
        ("members[3]: joins the same two joints as T1", "members[3]: joins the same two joints as T1."),
        ("weight_lb must be a number", "weight_lb must be a number."),
        ("loads.point: holds too many", "loads.point: holds too many."),
    ],
)
def test_a_sentence_alone_begins_with_a_capital_but_never_changes_a_path(says, alone):
    assert sentence(says) == alone
