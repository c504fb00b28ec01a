"""The sentence of each code of a request, once; what was stored as a sentence stays one."""

import ast
import re
from pathlib import Path

import pytest

from changes import carriers, words
from changes.api.serializers import FailingSerializer
from changes.models import Ask
from changes.refusals import Refused
from changes.worker import queue
from changes.workflow import issuing
from tests.changes import kind_sentences
from tests.changes.asking import FITS, HITS_WEB, compute
from trusses.analysis.load_path.chain import Step
from trusses.analysis.words import checks, openings, options, runs, wish
from trusses.analysis.words.phrases import coded
from trusses.analysis.words.runs import VERDICT_WORDS
from trusses.words import CLOSED

ROOT = Path(__file__).resolve().parent.parent.parent

CARRIERS = {
    "stands-in": (
        {"mark": "R5", "case": "snow", "pattern": "drift", "used": []},
        "R5 has no arrangement “drift” of its own snow load: the heaviest of those that it has stands in for it.",
    ),
}


@pytest.mark.parametrize("code", CARRIERS)
def test_what_a_person_has_to_look_at_in_a_carrier(code):
    values, says = CARRIERS[code]
    assert words.finding({"code": code, "values": values}) == says


def test_a_sentence_that_was_stored_before_codes_were_is_told_as_it_is():
    assert words.finding("R5 pushes 40 lb along its span.") == "R5 pushes 40 lb along its span."


BROKE = {"code": "broke", "place": "", "values": {}}
WENT = {"mark": "K1", "variant": "K1-b", "copies": [2, 3], "stays": [1, 4, 5, 6, 7, 8, 9], "turned": [3]}
UNSEEN = ({"unseen": True}, "Decided by a program that did not say what it had seen of the request.")
EVENTS = {
    **dict.fromkeys(("approve", "send back", "decline", "keep off"), UNSEEN),
    "move on the plan": (
        {"mark": "K1", "moved": [[3, 2.25], [4, -1.5]], "out": [5]},
        'Of K1 on the plan: copy 3 by 2 1/4" up the row; copy 4 by 1 1/2" down the row; copy 5 left out.',
    ),
    "attach a repair": (
        {"mark": "K1", "copies": [3], "sealed_by": "A name, P.E."},
        "Of K1, copy 3: the drawing of the repair, sealed by A name, P.E.",
    ),
    "ask for a hold": ({"mark": "K1", "copies": 3}, "The saw should wait for 3 copies of K1 not yet cut."),
    "release the hold": (
        {"free": ["K1", "K2"], "held": {"K3": [7, 9]}},
        "No request holds K1, K2 from the saw any more. The saw still waits for K3: requests 7 and 9 hold it.",
    ),
    "acknowledge the hold": ({"mark": "K1"}, "The saw waits for K1."),
    "refuse the hold": (
        {"mark": "K1", "requests": [7]},
        "The saw does not wait for this request, and still for K1: request 7 holds it.",
    ),
    "overtaken": (
        {"mark": "K1", "number": 2, "request": 5},
        "K1 has revision 2 now, from request 5. This request is computed again before it is approved.",
    ),
    "revise": ({**WENT, "variant": "K1"}, "K1 gets a new revision, for copies 2 and 3, copy 3 turned end for end."),
    "split": (
        {**WENT, "turned": []},
        "Copies 2 and 3 of K1 become K1-b. K1 keeps copies 1 and 4 to 9.",
    ),
    "join": (
        {**WENT, "stays": []},
        "Copies 2 and 3 of K1 join K1-b, which has such a design already, copy 3 turned end for end. K1 ends without"
        " copies.",
    ),
    "copies moved": (
        {"mark": "K1", "to": "K1-b", "copies": [2], "request": 5},
        "Copy 2 of K1 is K1-b now, from request 5. This request is computed again before it is decided.",
    ),
    "copies cut": (
        {"mark": "K1", "copies": [2, 3]},
        "Copies 2 and 3 of K1 were cut meanwhile and keep their design; this request is about the others.",
    ),
    "asks turned": (
        {"mark": "K1", "copies": [2]},
        "Copy 2 of K1 was turned end for end for another design. What is asked of it stands at the same place of the"
        " wood, which today's drawing has at its other end.",
    ),
    "draw": ({"mark": "K1", "title": "Two webs fewer"}, "K1: Two webs fewer"),
    "compute an option": (
        {"mark": "K1", "title": "Two webs fewer", "found": "It fits."},
        "K1: Two webs fewer. It fits.",
    ),
    "finish computing": (
        {
            "answers": [
                {"mark": "K1", "number": 0, "verdict": "fits"},
                {"mark": "K2", "number": 3, "verdict": "none pass"},
            ],
            "anew": [{"mark": "K2", "number": 3, "options": 2}],
            "lost": ["Old one"],
        },
        "K1 revision 0: fits as it is; K2 revision 3: no redesign passes; K2 revision 3: 2 drawn options computed anew;"
        " “Old one” doesn't hold what is asked now and is not carried over",
    ),
    "fail": (
        {"trouble": BROKE, "option": True},
        "A drawn option could not be computed: the computation broke; what happened is in the worker's log.",
    ),
}


@pytest.mark.parametrize("verb", EVENTS)
def test_an_event_is_told_by_its_verb_and_values(verb):
    values, says = EVENTS[verb]
    assert words.EVENTS.keys() == EVENTS.keys()
    assert words.event(verb, values, "") == says
    assert words.event(verb, values, "Call me.") == f"{says} Call me."
    assert words.event(verb, {}, "An old sentence.") == "An old sentence."


def test_what_an_event_leaves_out_where_there_is_nothing_to_tell():
    assert words.event("refuse the hold", {"mark": "K1", "requests": []}, "") == "The saw does not wait for K1."
    assert (
        words.event("release the hold", {"free": ["K1"], "held": {}}, "")
        == "No request holds K1 from the saw any more."
    )
    assert words.event("overtaken", {"mark": "K1", "number": 2, "request": None}, "").startswith(
        "K1 has revision 2 now: its designer corrected it."
    )
    assert words.event("fail", {"trouble": "it broke.", "option": False}, "") == "it broke."


def test_answers_for_several_copies_of_a_mark_name_the_copies():
    fits = {"mark": "F1", "number": 0, "verdict": "fits"}
    answers = [{**fits, "copies": [1]}, {**fits, "copies": [2, 3]}]
    assert words.event("finish computing", {"answers": answers, "anew": [], "lost": []}, "") == (
        "F1 revision 0, copy 1: fits as it is; F1 revision 0, copies 2 and 3: fits as it is"
    )


def test_a_run_is_answered_in_the_words_of_its_rows():
    told = {"mark": "K1", "number": 0, "of_run": True}
    answers = [{**told, "verdict": "never"}, {**told, "verdict": "options"}, {**told, "verdict": "fits"}]
    assert words.event("finish computing", {"answers": answers, "anew": [], "lost": []}, "") == (
        f"K1 revision 0: {VERDICT_WORDS['never']}; K1 revision 0: {VERDICT_WORDS['redesign']};"
        " K1 revision 0: fits as it is"
    )
    for verdict in ("never", "options"):
        assert Ask(kind="run", verdict=verdict).answered != Ask(kind="opening", verdict=verdict).answered
    assert Ask(kind="run", verdict="never").answered == VERDICT_WORDS["never"]


def test_an_event_stores_what_happened_and_not_its_sentence(answered):
    told = {event.verb: event for event in answered(FITS).events.all()}
    done = told["finish computing"]
    assert done.says == ""
    assert done.values["answers"] == [{"mark": "K1", "number": 0, "verdict": "fits"}]
    assert done.told == "K1 revision 0: fits as it is"
    assert (told["ask for a hold"].says, told["ask for a hold"].values) == ("", {"mark": "K1", "copies": 3})
    assert told["file"].told == told["file"].says != ""


SHIFT = {"end": "foot", "webs": ["W1"], "shift_in": 14, "toward": "middle"}
BOTH = "with the clear space of both: say which of the two is needed, or move it."
MOVES = {"joint": "B", "direction": "sideways", "almost": False, "code": "apart", "values": {}}
FAILS = {"rule": "bending", "of": "member", "id": "T1", "ratio": 1.234}
AWAY = {"opening": "O1", "right_in": -6.75, "up_in": 0}
TOLD = {
    "today-unread": (
        {"trouble": {"code": "lumber-unknown", "place": "members[0]", "values": {"shown": "2x5", "near": []}}},
        "Today's truss document can't be read: members[0]: lumber \"2x5\" is not in the table; a key reads like"
        " 2x4 SPF No.1/No.2.",
    ),
    "today-moves": (
        MOVES,
        "Today's truss can't be analysed: the truss can move freely: joint B slides sideways, since nothing joins it to"
        " the rest of the truss.",
    ),
    "designer-first": ({}, "A designer has to look at it first."),
    "elsewhere-than-asked": (
        {"moved": [AWAY, {**AWAY, "opening": "O2", "right_in": 0, "up_in": 3}]},
        "The openings don't stand where they were asked, but elsewhere: opening O1 6 3/4\" to the left and opening O2"
        ' 3" up.',
    ),
    "there-instead": (
        {"mark": "K1", "moved": [AWAY]},
        'K1 needs no other design if it stands elsewhere: opening O1 6 3/4" to the left. Will that place do?',
    ),
    "largest-here": (
        {"as_it_is": False, "width_in": 12.5, "height_in": 8},
        'The largest of this shape that works there: 12 1/2" wide × 8" high, with a redesign that passes the lumber'
        " checks (plates are not checked).",
    ),
    "nothing-changes": ({}, "Nothing on the truss changes."),
    "nothing-changes-fails": (
        {"ratio": 1.234},
        "Nothing on the truss changes, but today's truss fails, at 123% of what's allowed.",
    ),
    "loads-lack": ({"names": ["snow/left", "snow/right"]}, "Its loads lack snow/left and snow/right."),
    "loads-lack-first": (
        {"names": ["snow/left"]},
        "Its loads lack snow/left; no redesign is offered until a designer writes them in.",
    ),
    "fits-nowhere": ({}, "It fits nowhere in today's truss."),
    "fits-moved": ({"right_in": -6.75, "up_in": 3}, 'Moved 6 3/4" to the left and 3" up, it fits as it is.'),
    "more-asked": ({}, "What else is asked of this truss needs a redesign."),
    "redesigns-pass": (
        {"count": 3, "least": [coded("slide", **SHIFT)]},
        "3 redesigns pass the lumber checks (plates are not checked); the least change: Move the foot of W1 1'-2\""
        " toward midspan.",
    ),
    "none-passes": (
        {"stops": [coded("no-layout"), coded("opening", opening="O1", fit=coded("fits-exactly"))]},
        "No redesign passes. What stops the best: No layout of webs was found that keeps the opening clear and can be"
        " built. Opening O1: It fits as it is, with nothing to spare.",
    ),
    "none-found": ({}, "No redesign was found."),
    "not-searched": ({"trouble": "Opening O1 can't be made here"}, "Opening O1 can't be made here."),
    "overlaps": (
        {"opening": "O2", "by_in": 1},
        f'It overlaps opening O2, which this truss has already, by 1" {BOTH}',
    ),
    "overlaps-request": (
        {"opening": "O2", "by_in": 1, "request": 7},
        f'It overlaps opening O2, which request 7 asks for, by 1" {BOTH}',
    ),
    "overlaps-here": ({"opening": "O2", "by_in": 1}, f'It overlaps opening O2, which is asked here, by 1" {BOTH}'),
    "holds-all": (
        {"copies": [1, 3]},
        "It holds the openings of all of copies 1 and 3; through each of them goes what crosses that one.",
    ),
    "likely": (
        {"webs": 2, "how": "moved", "stronger": True, "plies": 1},
        "Likely with 2 webs moved, stronger lumber or more restraint and 1 ply more; to be computed.",
    ),
    "designer-drew": ({}, "A designer drew a redesign that is clear and passes."),
    "not-analysed": ({"trouble": "no joints"}, "It can't be analysed: no joints."),
    "not-computed": (
        {"trouble": BROKE},
        "It could not be computed: the computation broke; what happened is in the worker's log.",
    ),
    "exceeds": (FAILS, "Bending of member T1 is 1.23 times what is allowed."),
    "drawn-passes": ({}, "Its lumber checks pass and its openings are clear. Plates are not checked."),
    "differs": (
        {"parts": ["outside", "bearings", "loads", "spacing", "use", "uplift-dead-share"], "gone": ["O1"]},
        "Differs from today's truss also in its outside shape, its bearings, its loads, the spacing, its use or"
        " ceiling, the dead load counted on against uplift and opening O1, which is not there any more.",
    ),
    "carrier": (
        {"carrier": "G1", "because": ["R5", "R6"], "trouble": None, "worst_ratio": [0.712, 0.834], "fails": None},
        "G1 carries R5, R6: worst ratio 71% → 83%, no check over its limit.",
    ),
}
TITLES = {
    "as-it-is": ({}, "As it is, with the opening written in"),
    "to-start-from": ({}, "Today's truss, to start from"),
    "as-sent": ({}, "The revision as sent"),
    "stands-elsewhere": ({"moved": [AWAY]}, 'Leave the truss as it is and move opening O1 6 3/4" to the left'),
    "drawn-by": ({"person": "Dana Plate, designer"}, "Drawn by Dana Plate, designer"),
}


TOLD |= kind_sentences.TOLD
#: Made by `answers.moves`, of what a mechanism is.
STORED = {"damaged-other-revision"}
"""What answers of before have kept, and none makes any more."""
TOLD_OF_MOTION = {"today-moves", "bearing-lets-move", "damaged-moves-now", "damaged-moves-drawn-for"}
TITLES |= kind_sentences.TITLES


@pytest.mark.parametrize("code", TOLD)
def test_what_is_said_of_an_ask_or_an_option(code):
    values, says = TOLD[code]
    assert words.TOLD.keys() == TOLD.keys() | options.TOLD.keys() | openings.FITS.keys()
    assert len(words.TOLD) == len(TOLD) + len(options.TOLD) + len(openings.FITS), "two sentences share a code"
    assert words.told([coded(code, **values)]) == says


@pytest.mark.parametrize("code", TITLES)
def test_what_an_option_is_called_that_no_step_leads_to(code):
    values, says = TITLES[code]
    assert words.TITLES.keys() == TITLES.keys()
    assert not words.TITLES.keys() & options.STEPS.keys()
    assert words.called([coded(code, **values)]) == says


def test_what_is_over_no_limit_isn_t_said_to_stop_at_one():
    stops = [coded("numbers-only", **kind_sentences.WORST), coded("carries-trusses", marks=["K5"])]
    says = words.told([coded("none-passes", stops=stops)])
    assert says.startswith("No redesign is called passing. The least change: No check is over its limit.")


def test_what_differs_by_number_and_what_was_kept_as_a_sentence():
    assert words.told([coded("largest-here", as_it_is=True, diameter_in=9)]) == (
        'The largest of this shape that works there: 9" round, in the truss as it is.'
    )
    assert words.told([coded("elsewhere-than-asked", moved=[AWAY])]) == (
        "The opening doesn't stand where it was asked, but elsewhere: opening O1 6 3/4\" to the left."
    )
    assert words.told([coded("redesigns-pass", count=1, least="Two webs fewer")]) == (
        "One redesign passes the lumber checks (plates are not checked); the least change: Two webs fewer."
    )
    assert words.told([coded("fits-moved", right_in=0.01, up_in=0)]) == "A hair beside that place it fits as it is."
    carrier = TOLD["carrier"][0]
    assert words.told([coded("carrier", **carrier | {"fails": FAILS})]) == (
        "G1 carries R5, R6: worst ratio 71% → 83%; bending of member T1 fails at 123% of what is allowed."
    )
    assert words.told([coded("carrier", **carrier | {"trouble": "It hangs nowhere."})]) == (
        "G1 carries R5, R6, and what that does to it can't be worked out. It hangs nowhere."
    )
    unknown = {"code": "carried-unknown", "place": "", "values": {"mark": "G1", "carrier": "G2"}}
    assert words.told([coded("carrier", **carrier | {"trouble": unknown})]) == (
        "G1 carries R5, R6, and what that does to it can't be worked out. What G1 would put on G2 can't be worked out."
    )
    assert (words.trouble(None), words.trouble("It hangs nowhere."), words.doing(None)) == ("", "It hangs nowhere.", "")
    assert words.trouble(unknown | {"place": "bearings"}).startswith("bearings: What G1 would put on G2")
    assert words.told(["An old sentence.", coded("designer-first")]) == (
        "An old sentence. A designer has to look at it first."
    )
    assert words.called("Two webs fewer") == "Two webs fewer"
    assert words.called([]) == "Today's truss, with the opening drawn in"
    assert words.called([coded("slide", **SHIFT)]) == "Move the foot of W1 1'-2\" toward midspan"
    drawn = words.EVENTS["compute an option"]
    assert drawn(mark="K1", title=[coded("as-sent")], found=[coded("drawn-passes")]) == (
        "K1: The revision as sent. Its lumber checks pass and its openings are clear. Plates are not checked."
    )


def test_every_code_that_the_source_makes_has_words_and_every_sentence_is_made():
    made = {}
    for path in [*(ROOT / "trusses").rglob("*.py"), *(ROOT / "changes").rglob("*.py")]:
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "coded":
                found = [one.value for one in ast.walk(node.args[0]) if isinstance(one, ast.Constant)]
                made |= dict.fromkeys((code for code in found if isinstance(code, str)), path.name)
    worded = words.TOLD | words.TITLES | options.STEPS | CLOSED | words.DOING | wish.NONE
    worded |= runs.RUNS | runs.LINES | runs.PASSING | runs.MEETING
    assert made.keys() <= worded.keys(), {code: made[code] for code in made.keys() - worded.keys()}
    assert (TOLD.keys() | TITLES.keys() | openings.FITS.keys()) - made.keys() == TOLD_OF_MOTION | STORED


DOING = {
    "analysing-new-mark": ({"mark": "K1"}, "K1: analysing the truss that was sent"),
    "analysing-correction": ({"mark": "K1"}, "K1: analysing the corrected design"),
    "analysing-loads": ({"mark": "G1"}, "G1: analysing it, and what carries it, with what stands on it"),
    "analysing-drawn": ({"mark": "K1"}, "K1: computing the drawn option"),
    "analysing-together": (
        {"marks": ["K5", "K6"]},
        "K5 and K6: working out what the chosen options make of what carries them",
    ),
    "for-a-mark": ({"mark": "K1", "doing": coded("sorted")}, "K1: sorted by how little changes"),
    "looking-for-space": ({}, "looking for the clear space"),
    "trying-other-bearings": ({}, "looking at the truss on other bearings"),
    "looking-for-smaller": ({}, "looking for the largest that would work there"),
    "looking-between": ({}, "looking for ways between the trusses"),
    "looking-at-damage": ({}, "looking at the truss as it is damaged"),
    "looking-for-what-it-takes": ({}, "looking for what it takes"),
    "looking-for-carrying": ({}, "looking for ways to carry it"),
    "looking-for-ways": ({}, "looking for ways to clear the opening"),
    "computing-trusses": ({"trusses": 1, "turn": 0}, "computing 1 truss, with today's lumber"),
    "sorted": ({}, "sorted by how little changes"),
}


@pytest.mark.parametrize("code", DOING)
def test_what_the_worker_is_doing(code):
    values, says = DOING[code]
    assert words.DOING.keys() == DOING.keys()
    assert words.doing(coded(code, **values)) == says


def test_what_the_worker_says_while_it_searches(ask_for, monkeypatch):
    """Every step of a search is told in codes that have words."""
    told = []
    monkeypatch.setattr(queue, "TOLD_EVERY_S", -1)
    monkeypatch.setattr(queue.Teller, "__call__", lambda _, fraction, doing: told.append(words.doing(doing)))
    compute(ask_for(HITS_WEB))
    assert told[0] == "K1: looking for the clear space"
    assert "K1: looking for ways to clear the opening" in told
    assert any(re.fullmatch(r"K1: computing \d+ trusses, with today's lumber", one) for one in told)
    again = words.doing(coded("computing-trusses", trusses=4, turn=1))
    assert again == "computing 4 trusses, made stronger where they failed"
    assert told[-1] == "K1: sorted by how little changes"


def test_an_answer_is_stored_as_codes_and_told_when_shown(answered):
    """The sentences that a request shows stand in no row of it."""
    change = answered(HITS_WEB)
    ask, option = change.asks.get(), change.options.order_by("rank").first()
    assert [one["code"] for one in ask.told] == ["webs-in-the-way", "redesigns-pass", "fits-moved"]
    assert ask.told[1]["values"]["least"] == option.titled
    assert ask.says.startswith("Web W1 is in the way, by ")
    assert option.title in ask.says
    assert {one["code"] for one in option.titled} <= options.STEPS.keys()
    # what was a king post is a room for storage then, and its walls carry that too
    assert [one["code"] for one in option.told[:2]] == ["more-below", "lumber-passes"]
    assert "No tie, wall, header or footing is checked here. Every lumber check passes. " in option.says
    assert ask.answered == "takes a redesign; with the least change, what it stands on or is tied to takes more"


def test_past_the_pole_what_stops_an_option_says_that_the_member_buckles():
    check = {
        "of": "member",
        "id": "T1",
        "rule": "compression and bending",
        "source": "NDS 3.9.2",
        "combination": "D + S",
        "ratio": 1.5,
        "passes": False,
        "terms": {"buckles": "fc is at or over FcE, where eq. 3.9-3 has no value"},
    }
    buckles = "compression and bending of member T1 (it buckles)"
    step = Step("G1", ("K5",), analysis={"checks": [check]})
    assert f"G1, which carries K5: {buckles} fails at 150% of what is allowed (D + S)" in str(carriers.stops(step))
    with pytest.raises(Refused, match=r"T1 \(it buckles\) fails at 150%"):
        issuing.refuse_failures("K5", None, {"checks": [check]}, ())
    fails = checks.short(check)
    assert FailingSerializer(fails).data["buckles"] is True
    told = {"carrier": "G1", "because": ["K5"], "trouble": None, "worst_ratio": [0.9, 1.5], "fails": fails}
    assert f"; {buckles} fails at 150% of what is allowed." in words.told([coded("carrier", **told)])
    assert "(it buckles) is 1.50 times what is allowed." in words.told([coded("exceeds", **fails)])
