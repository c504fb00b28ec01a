"""The answer in plain words: verdicts, places, and trusses about which there is none."""

from __future__ import annotations

import copy
from dataclasses import replace
from types import SimpleNamespace

import pytest

from changes.asks.answers import AS_IT_IS
from changes.asks.opening import answer_openings as answer
from changes.asks.opening import best_of_none
from changes.asks.opening import lacks_opening as lacks
from tests.changes.asking import CUTS_CHORD, FITS, HITS_WEB
from trusses.analysis.analysis import analyse
from trusses.analysis.format.document import read, sha256
from trusses.analysis.words.phrases import coded


def codes(told):
    return [one["code"] for one in told]


def ask(document, *openings, told=None):
    try:
        before = analyse(read(document)).document()
    except ValueError:
        before = {}
    return answer(document, before, list(openings), lambda fraction, doing: told is not None and told.append(fraction))


def test_of_options_that_none_pass_the_best_is_one_that_is_over_no_limit():
    fails, girder = (SimpleNamespace(told=[coded(code)]) for code in ("fails", "numbers-only"))
    assert best_of_none([fails, girder, fails]) is girder
    assert best_of_none([fails, other := SimpleNamespace(told=[coded("fails")])]) is other


def test_what_fits_has_one_option_that_is_todays_truss(king_post):
    answered = ask(king_post, FITS)
    one, option = answered.answers[0], answered.options[0]
    assert (one.verdict, one.nearest, len(answered.options)) == ("fits", None, 1)
    assert codes(one.told) == ["fits"]
    assert (option.titled, option.passes) == (AS_IT_IS, True)
    assert option.document == {**king_post, "openings": [FITS]}
    assert option.sha256 == sha256(option.document) == option.analysis["truss_sha256"]
    assert {member["change"] for member in option.comparison["members"]} == {"kept"}


def test_what_takes_a_redesign_has_options_that_pass_and_keep_clear(king_post):
    answered = ask(king_post, HITS_WEB)
    one = answered.answers[0]
    assert one.verdict == "options"
    assert codes(one.told) == ["webs-in-the-way", "redesigns-pass", "fits-moved"]
    assert one.told[0]["values"]["members"] == ["W1"]
    assert one.told[2]["values"] == {"right_in": -6.75, "up_in": 0}
    assert one.nearest == {"centre_in": [113.25, 20], "moved_in": 6.75}
    passing = [option for option in answered.options if option.passes]
    assert passing
    assert answered.options[: len(passing)] == passing
    for option in passing:
        assert all(check["passes"] for check in option.analysis["checks"])
        assert all(opening["fits"] for opening in option.analysis["openings"])
        assert lacks(option.document, [HITS_WEB]) == ("O1" if option.elsewhere else "")


def test_where_it_fits_elsewhere_is_an_option_behind_those_that_pass_where_asked(king_post):
    answered = ask(king_post, HITS_WEB)
    passing = [option for option in answered.options if option.passes]
    there = passing[-1]
    assert [bool(option.elsewhere) for option in answered.options].count(True) == 1
    assert there.elsewhere == [{"opening": "O1", "asked_in": [120, 20], "centre_in": [113.25, 20]}]
    assert there.document == {**king_post, "openings": [{**HITS_WEB, "centre_in": [113.25, 20]}]}
    assert codes(there.titled) == ["stands-elsewhere"]
    assert codes(there.told) == ["elsewhere-than-asked", "nothing-changes"]
    # it is no redesign: neither counted as one nor told as what comes closest to one
    assert answered.answers[0].told[1]["values"]["count"] == len(passing) - 1
    assert answered.answers[0].verdict == "options"


def test_of_several_only_what_doesnt_fit_moves_and_never_into_another(king_post):
    (there,) = [
        one for one in ask(king_post, FITS | {"id": "A", "centre_in": [60, 12]}, HITS_WEB).options if one.elsewhere
    ]
    assert [one["opening"] for one in there.elsewhere] == ["O1"]
    assert lacks(there.document, [FITS | {"id": "A", "centre_in": [60, 12]}]) == ""
    # the place to which it would move is taken
    taken = FITS | {"id": "A", "centre_in": [110, 20]}
    assert not any(one.elsewhere for one in ask(king_post, taken, HITS_WEB).options)
    assert not any(one.elsewhere for one in ask({**king_post, "openings": [taken]}, HITS_WEB).options)


def test_a_run_s_opening_never_stands_elsewhere_alone(king_post):
    answered = answer(
        king_post, analyse(read(king_post)).document(), [HITS_WEB], lambda fraction, doing: None, may_move=False
    )
    assert not any(one.elsewhere for one in answered.options)
    assert answered.answers[0].nearest == {"centre_in": [113.25, 20], "moved_in": 6.75}


@pytest.mark.parametrize("opening", [CUTS_CHORD, {**FITS, "centre_in": [100, 200]}, {**FITS, "centre_in": [0, 10]}])
def test_what_would_cut_a_chord_or_leave_the_truss_is_never(opening, king_post):
    answered = ask(king_post, opening)
    one = answered.answers[0]
    (there,) = answered.options
    assert one.verdict == "never"
    assert one.nearest["moved_in"] > 0
    assert there.elsewhere == [
        {"opening": "O1", "asked_in": opening["centre_in"], "centre_in": one.nearest["centre_in"]}
    ]
    assert there.passes


def test_asks_on_one_truss_share_options_that_answer_both(king_post):
    answered = ask(king_post, FITS, HITS_WEB)
    assert [one.verdict for one in answered.answers] == ["fits", "options"]
    assert codes(answered.answers[0].told) == ["fits", "more-asked"]
    assert all(lacks(one.document, [FITS, HITS_WEB]) == "" for one in answered.options if not one.elsewhere)


def test_what_can_never_be_does_not_stand_in_the_way_of_the_rest(king_post):
    answered = ask(king_post, FITS, CUTS_CHORD)
    assert [one.verdict for one in answered.answers] == ["fits", "never"]
    assert [opening["id"] for opening in answered.options[0].document["openings"]] == ["O1"]


def test_an_opening_that_was_approved_before_stays(king_post):
    """Its namesake in a new request is another opening."""
    document = {**king_post, "openings": [FITS]}
    for option in ask(document, HITS_WEB).options:
        assert lacks(option.document, [FITS] if option.elsewhere else [FITS, HITS_WEB]) == ""
    assert ask(document, HITS_WEB).answers[0].opening == {**HITS_WEB, "id": "O2"}


def test_where_nothing_passes_the_largest_that_would_work_there_is_told(king_post):
    """Beside the panel point D, where the bottom chord's top is 2 3/4 in. up: 12 in. of circle at 8 in. cut it."""
    answered = ask(king_post, {**FITS, "centre_in": [90, 8], "diameter_in": 12})
    one = answered.answers[0]
    assert (one.verdict, codes(one.told)) == ("never", ["cuts-chord", "fits-moved", "largest-here"])
    # 8 - 2.75 less the clear space of 1 in. is a radius of 4.25 in.
    assert one.told[2]["values"] == {"as_it_is": True, "diameter_in": 8.5}
    assert one.figures["largest"]["diameter_in"] == 8.5
    assert ask(king_post, HITS_WEB).answers[0].figures == {}


def test_no_smaller_one_is_told_of_a_truss_that_may_not_be_called_passing(king_post):
    """The same place: in a truss that is over a limit today, one whose loads lack, one that its carriers can't take."""
    wanted = {**FITS, "centre_in": [90, 8], "diameter_in": 12}
    before = analyse(read(king_post)).document()
    refused = answer(king_post, before, [wanted], lambda *_: None, judge=lambda found: replace(found, passes=False))
    weak = copy.deepcopy(king_post)
    for member in weak["members"]:
        member["lumber"] = "2x4 SPF Stud"
    lacking = copy.deepcopy(king_post)
    lacking["loads"]["area"] = [load for load in lacking["loads"]["area"] if load.get("pattern") != "left"]
    for answered in (refused, ask(lacking, wanted)):
        assert codes(answered.answers[0].told)[0] == "cuts-chord"
        assert "largest-here" not in codes(answered.answers[0].told)
    # a redesign may hold one there, the truss as it is doesn't
    for one in ask(weak, wanted).answers[0].told:
        assert not one["values"].get("as_it_is")


def test_that_todays_truss_fails_is_said_and_not_passed(king_post):
    for member in king_post["members"]:
        member["lumber"] = "2x4 SPF Stud"
    answered = ask(king_post, FITS)
    assert (answered.answers[0].verdict, answered.options[0].passes) == ("unsure", False)
    assert codes(answered.answers[0].told) == ["fits", "nothing-changes-fails"]


def test_a_span_of_sixty_feet_is_never_called_passing(king_post):
    # a light truss, so that its checks pass and the rule alone decides
    long = copy.deepcopy(king_post)
    long["joints"] = {name: [3 * x, 3 * y] for name, (x, y) in long["joints"].items()}
    long["loads"] = {"point": [{"case": "dead", "joint": "B", "down_lb": 10}]}
    long["lateral_restraint"] = {"top_chord_in": 12, "bottom_chord_in": 12, "webs": {"W1": 9}}
    for member in long["members"]:
        member["lumber"] = "2x8 DF-L No.1" if member["role"] == "bottom_chord" else "2x12 DF-L No.1"
    answered = ask(long, FITS)
    option = answered.options[0]
    assert all(check["passes"] for check in option.analysis["checks"])
    assert option.passes is False
    assert codes(answered.answers[0].told)[:3] == ["fits", "nothing-changes", "long-span"]


def test_without_its_arrangements_no_redesign_is_offered(king_post):
    lacking = copy.deepcopy(king_post)
    lacking["loads"]["area"] = [load for load in lacking["loads"]["area"] if load.get("pattern") != "left"]
    answered = ask(lacking, HITS_WEB)
    one = answered.answers[0]
    assert (one.verdict, answered.options) == ("none pass", [])
    assert one.told[1] == coded("loads-lack-first", names=["snow/left"])
    assert ask(lacking, FITS).options[0].told == [coded("nothing-changes"), coded("loads-lack", names=["snow/left"])]


def test_a_truss_that_can_move_gets_a_sentence(king_post):
    loose = {**king_post, "hinges": ["A", "B", "C", "D"], "members": king_post["members"][:-1]}
    one = ask(loose, FITS).answers[0]
    assert one.verdict == "none pass"
    assert codes(one.told) == ["today-moves", "designer-first"]
    assert not one.told[0]["values"]["almost"]


def test_a_document_that_is_wrong_gets_a_sentence(king_post):
    one = ask({**king_post, "bearings": []}, FITS).answers[0]
    assert one.verdict == "none pass"
    assert codes(one.told) == ["today-unread", "designer-first"]
    assert one.told[0]["values"]["trouble"]["place"] == "bearings"


def test_progress_is_told(king_post):
    told: list[float] = []
    ask(king_post, HITS_WEB, told=told)
    assert told == sorted(told)
    assert len(told) > 2
