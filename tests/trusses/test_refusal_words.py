"""The sentence of each refusal of the set, once, and that every code that is refused with has one. All else about
refusals is tested by code, place and values."""

import ast
from pathlib import Path

import pytest

from tests.trusses.copy_sentences import COPIES
from tests.trusses.seal_sentences import SEALING
from trusses import words
from trusses.analysis.words.phrases import coded
from trusses.analysis.words.refusal import told
from trusses.analysis.words.refusals import REFUSALS

ROOT = Path(__file__).resolve().parent.parent.parent
NO_BEARING = {"code": "no-bearing-at-joint", "place": "", "values": {"mark": "K5", "joint": "C"}}
SENTENCES = {
    "because": (
        {"why": {"code": "length-negative", "place": "joints", "values": {"shown": "-3"}}},
        "joints: -3: a length can't be negative here.",
    ),
    "as-it-was-told": (
        {"says": "It hangs nowhere."},
        "It hangs nowhere.",
    ),
    "quantity": (
        {"most": 500},
        "The quantity must be a whole number from 1 to 500.",
    ),
    "mark-too-long": (
        {"mark": "R" * 21, "length": 21, "most": 20},
        "“RRRRRRRRRRRRRRRRRRRRR” has 21 characters; a mark can have 20.",
    ),
    "mark-taken": (
        {"mark": "K1"},
        "This job has a mark K1 already.",
    ),
    "copies-begun": (
        {"begun": 3, "mark": "K1", "places": 2},
        "3 copies of K1 are released or further, or were looked at on site; the places hold 2.",
    ),
    "of-another-mark": (
        {"mark": "K2", "wanted": "K1"},
        "The document is of mark K2, not of K1.",
    ),
    "superseded": (
        {"mark": "K1", "number": 2, "expected": 1},
        "K1 has revision 2 now; this was worked out from revision 1.",
    ),
    "fails-for-good": (
        {"of": "member", "id": "B1", "object": "member B1.1", "rule": "bending", "ratio": 1.234, "source": "NDS 3.3"},
        "The bending of member B1.1 fails with 1.23 times what is allowed (NDS 3.3); nobody can accept that.",
    ),
    "fails-unless-accepted": (
        {"of": "truss", "id": "K1", "object": "the truss", "rule": "total deflection", "ratio": 1.234},
        "The total deflection of the truss fails with 1.23 times what is allowed; it can be accepted only with"
        " a reason.",
    ),
    "of-another-document": (
        {},
        "The analysis belongs to another truss document.",
    ),
    "nothing-corrected": (
        {"mark": "K1", "number": 1},
        "This is K1 as it is in revision 1; nothing is corrected.",
    ),
    "carries-others": (
        {"standing": ["K5", "K6"], "mark": "G1"},
        "K5, K6 stand on G1: say first what else they stand on.",
    ),
    "withdrawn-already": (
        {"mark": "K1"},
        "K1 is withdrawn already.",
    ),
    "corrected-meanwhile": (
        {"mark": "K1", "number": 1},
        "K1 has revision 1 now; look at it first.",
    ),
    "revised-by-a-decision": (
        {"mark": "K1"},
        "A decision has revised K1: start a revision, which is compared and decided.",
    ),
    "copy-begun": (
        {"copy": 2, "mark": "K1", "stage": "cut"},
        "Copy 2 of K1 is cut: start a revision, which is compared and decided.",
    ),
    "carrier-begun": (
        {"carrier": "G1", "mark": "K1", "stage": "released"},
        "G1 carries K1 and is released with what that puts on it: start a revision, which follows the load.",
    ),
    "no-reason": (
        {},
        "Say why; the record keeps it.",
    ),
    "reason-too-long": (
        {"length": 2345, "most": 2000},
        "The reason has 2,345 characters; it can have 2,000.",
    ),
    "no-such-bearing": (
        {"mark": "K1", "joint": "Q"},
        "K1 has no bearing at joint Q.",
    ),
    "wall-or-mark": (
        {},
        "A bearing stands on a wall line or on a mark, not on both: leave one of them empty.",
    ),
    "wall-name": (
        {"longest": 40},
        "Name the wall in one line of up to 40 characters that can be printed, as the plan does.",
    ),
    "top-plate": (
        {"why": {"code": "as-it-was-told", "place": "", "values": {"says": "no lumber is called 2x5"}}},
        "Top plate: no lumber is called 2x5.",
    ),
    "of-another-job": (
        {},
        "A bearing can stand on a mark of its own job alone.",
    ),
    "too-many-places": (
        {"places": 501, "most": 500},
        "501 places are more than the limit of 500.",
    ),
    "nothing-behind": (
        {"mark": "G1"},
        "The drawing of G1 has all that stands on it.",
    ),
    "carrier-not-worked-out": (
        {
            "carrier": "G2",
            "because": ["G1", "K5"],
            "why": NO_BEARING,
        },
        "G2, which carries G1 and K5: K5 has no bearing at joint C.",
    ),
    "taken-up-by-a-request": (
        {"copy": 1, "mark": "G2", "stage": "released"},
        "Copy 1 of G2 is released already: what stands on it changes by a request from now on, decided by a designer.",
    ),
    "with-what-stands-on-it": (
        {"mark": "G1", "why": {"code": "no-copy", "place": "", "values": {}}},
        "G1 with what stands on it: Choose at least one copy.",
    ),
    "places-begun": (
        {"begun": 3, "mark": "R1", "places": 2},
        "3 copies of R1 are released or further, or were looked at on site, and the places would hold 2: none of these"
        " can be taken away.",
    ),
    "places-too-many": ({"places": 501, "most": 500}, "The places would hold 501 copies; a mark can have 500."),
    "last-place": (
        {"mark": "R1"},
        "This is the only place of R1: as many copies stand as its places count. Withdraw the mark instead.",
    ),
    "apart": ({"count": 2}, "2 copies need a spacing: more than 0 in. from one to the next."),
    "level-name": ({"most": 60}, "Name the level in up to 60 letters, such as Roof."),
    "wall-points": ({"least": 2, "most": 40}, "A wall is a line of 2 to 40 points."),
    "wall-point-twice": ({"n": 2}, "Point 2 is the one before it: a wall goes on from point to point."),
    "wall-taken": ({"label": "north wall"}, "This job has a wall line north wall already."),
    "wall-in-use": (
        {"label": "north wall", "bearings": ["R1 at A", "R2 at A"]},
        "R1 at A and R2 at A stand on north wall: say first what else they stand on.",
    ),
    "north": ({}, "North is 0 to 360 degrees, clockwise from up."),
    "no-such-stage": (
        {},
        "Say to which stage the copies go: released, cut, built, delivered or set.",
    ),
    "found-too-long": (
        {"most": 400, "length": 401},
        "What was found can have 400 characters; this has 401.",
    ),
    "no-copy": (
        {},
        "Choose at least one copy.",
    ),
    "too-early": (
        {"copies": [1, 3], "stage": "designing", "start": "released", "to": "cut"},
        "Copy 1, 3 is designing, not released yet, so it can't be cut.",
    ),
    "found-late": (
        {"copies": [1, 2], "to": "delivered"},
        "Copies 1–2 were delivered already, by another hand, so what was found can't be added. Leave them out here and"
        " tell of it as damage.",
    ),
    "withdrawn": (
        {"mark": "K1"},
        "K1 is withdrawn: nothing of it is released or cut.",
    ),
    "newer-revision": (
        {"mark": "K1"},
        "K1 has a newer revision than the one on your page. Look at it before the saw starts.",
    ),
    "never-built": (
        {
            "mark": "K1",
            "to": "released",
            "number": 0,
            "of": "member",
            "id": "B1",
            "object": "member B1.1",
            "rule": "bending",
            "ratio": 1.234,
            "combination": "D + S",
        },
        "K1 can't be released: in revision 0 bending of member B1.1 stands at 123% of what is allowed (D + S),"
        " and nobody can accept that.",
    ),
    "released-to-another": (
        {"mark": "K1", "copies": [1, 3], "number": 0, "current": 1},
        "Copies 1, 3 of K1 are released to revision 0, and revision 1 is current: release revision 1 first, then cut.",
    ),
    "not-taken-up": (
        {"mark": "G1", "behind": ["K5", "K6"]},
        "The drawing of G1 doesn't have what K5 and K6 put on it today: the saw waits until it is written in.",
    ),
    "role": (
        {"roles": ["builder", "designer"], "verb": "ask for a change"},
        "Only a builder or designer of this job can ask for a change.",
    ),
    "stage-role": (
        {"role": "site lead", "to": "set"},
        "Only a site lead of this job can say that a copy is set.",
    ),
}
SENTENCES |= SEALING
SENTENCES |= COPIES | {
    "place-otherwise": (
        {
            "mark": "K1",
            "level": "Roof",
            "note": "",
            "x_in": 8.0,
            "y_in": -24.0,
            "direction": "x",
            "spacing_in": 24.0,
            "count": 5,
            "turned": True,
        },
        "This place of K1 is another one since the form was opened, by a decision or by somebody’s hand. It has 5"
        ' trusses on Roof now, the first 8" right and 2\'-0" down, the span across the plan, 24" on center,'
        " turned end for end, without a note. What you typed stands below: hold it against that before you send it"
        " again.",
    ),
    "place-gone": (
        {"mark": "K1"},
        "This place of K1 is on the plan no more: a decision parted or joined its row, or somebody took it away, since"
        " the form was opened. Open the place where its copies stand now; what you typed would be one more.",
    ),
    "wall-otherwise": (
        {"label": "north wall", "level": "Roof", "points": [[0, 8], [120, 8]]},
        'The wall north wall is drawn otherwise since the form was opened, on Roof: its line is now 0", 8"; 10\'-0",'
        ' 8". What you typed stands below: hold it against that before you send it again.',
    ),
    "wall-gone": (
        {"label": "north wall"},
        "The wall north wall is on the plan no more: somebody took it down since the form was opened.",
    ),
    "row-moved-since": ({}, "The row stands otherwise on the plan by now: move the copies there by hand."),
    "shifted-cut": (
        {"mark": "K1", "copies": [3]},
        "K1: copy 3 is cut already, so that the plan is not changed for them here.",
    ),
    "left-out-begun": (
        {"mark": "K1", "copies": [3, 4]},
        "K1: copies 3–4 are released or further, or were looked at on site, and never taken away.",
    ),
    "shifted-off-carrier": (
        {"mark": "K1", "carrier": "G1", "stage": "released"},
        "G1 carries K1 and is released with what stands on it today: nothing moves here until a designer has worked out"
        " what G1 gets then.",
    ),
}
CLOSED = {
    "past-last-day": ({"mark": "K1", "last": "2026-11-03"}, "The last day for changes to K1 was Nov 3, 2026."),
    "all-cut": ({"mark": "K1", "copies": 3}, "All 3 copies of K1 are cut already."),
}


def refusal(code, values):
    return {"code": code, "place": "", "values": values}


@pytest.mark.parametrize("code", SENTENCES)
def test_the_sentence_of_a_refusal(code):
    values, says = SENTENCES[code]
    assert told(refusal(code, values), words.REFUSALS) == says


@pytest.mark.parametrize("code", CLOSED)
def test_why_a_mark_takes_no_change(code):
    values, says = CLOSED[code]
    assert words.CLOSED.keys() == CLOSED.keys()
    assert words.closed(coded(code, **values)) == says


WORKER = {
    "took-too-long": ({"seconds": 0.5}, "the computation took longer than 0.5 seconds."),
    "broke": ({}, "the computation broke; what happened is in the worker's log."),
    "ended-its-worker": ({"attempts": 3}, "the computation stopped without an answer 3 times."),
    "not-computed": (
        {"why": refusal("took-too-long", {"seconds": 20.0})},
        "It could not be computed: the computation took longer than 20 seconds.",
    ),
}


@pytest.mark.parametrize("code", WORKER)
def test_why_a_computation_came_to_nothing(code):
    values, says = WORKER[code]
    assert words.WORKER.keys() == WORKER.keys()
    assert words.kept(refusal(code, values) | {"place": "document"}) == says
    used = "".join(path.read_text() for path in (ROOT / "changes" / "worker").glob("*.py"))
    assert f'("{code}"' in used


def test_what_was_kept_of_a_refusal_before_codes_is_told_as_it_was():
    assert words.kept("This job has a mark K1 already.") == "This job has a mark K1 already."
    assert (words.kept(None), words.kept("")) == ("", "")


def test_what_differs_by_number():
    assert words.closed(None) == ""
    assert words.closed(coded("all-cut", mark="K1", copies=1)) == "The one copy of K1 is cut already."
    one = {"mark": "K1", "copies": [3], "number": None, "current": 1}
    assert told(refusal("released-to-another", one), words.REFUSALS) == (
        "Copy 3 of K1 is released to a revision that the record doesn't name, and revision 1 is current: release"
        " revision 1 first, then cut."
    )


def test_every_code_has_a_sentence_of_its_own_and_is_refused_with():
    assert words.SET.keys() == SENTENCES.keys()
    tables = (words.REVISIONS, words.CORRECTING, words.BEARINGS, words.PLAN, words.COPIES)
    tables += (words.SEALING, words.DENIED)
    assert len(words.SET) == sum(map(len, tables)) + 2, "two sentences share a code"
    assert not words.SET.keys() & REFUSALS.keys()
    made = refused_with(path for path in (ROOT / "trusses").rglob("*.py") if "analysis" not in path.parts)
    assert made == words.SET.keys() - {"as-it-was-told"}


def refused_with(paths):
    """The codes that the source refuses with."""
    found = set()
    for path in paths:
        for node in ast.walk(ast.parse(path.read_text())):
            called = node.func.id if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) else ""
            if called in ("Refused", "MarkTaken", "Superseded", "NotAllowed", "KeyTaken"):
                assert isinstance(node.args[0], ast.Constant), f"{path.name}:{node.lineno} refuses with no code"
                found.add(node.args[0].value)
    return found
