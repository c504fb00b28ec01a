"""Refusals are codes: the sentence of each, once; that each code has one, and each place that refuses has its values.

All else about refusals is tested by code, place and values.
"""

import ast
import copy
import importlib
import inspect
import json
import pickle
import re
import string
from pathlib import Path

import pytest

from trusses.analysis.words.refusal import Refusal, told
from trusses.analysis.words.refusals import REFUSALS
from trusses.analysis.words.refusals import lengths as length_words

TRUSSES = Path(__file__).resolve().parents[2] / "trusses"

LENGTHS = {
    "length-negative": ({"shown": "-3"}, "-3: a length can't be negative here."),
    "length-too-long": (
        {"shown": "81'", "most_in": 960},
        "81' is more than 80'-0\", the most that is possible here.",
    ),
    "length-too-short": (
        {"shown": "3'", "least_in": 48},
        "3' is less than 4'-0\", the least that is possible here.",
    ),
    "length-feet-or-inches": (
        {"shown": "12", "readings": ["12'", '12"']},
        "12 could be 12' or 12\": write it one of these ways.",
    ),
    "length-mixed-dash": (
        {"shown": "3-1/2", "whole": "3", "fraction": "1/2"},
        '3-1/2 could be 3 1/2" or 3\' 1/2": write it one of these ways.',
    ),
    "length-no-number": ({}, "A length is a number of inches, or feet and inches such as 12' 3 1/2\"."),
    "length-not-finite": ({"shown": "nan"}, "nan is not a length."),
    "length-empty": ({}, "Type a length, such as 12' 3 1/2\" or 147.5 (inches)."),
    "length-sixteenths": ({"shown": "12-3-16"}, "12-3-16: the third number is sixteenths of an inch, 0 to 15."),
    "length-decimal-feet-and-inches": (
        {"shown": "12.5' 3\""},
        "12.5' 3\": write either decimal feet, or feet and inches, not both.",
    ),
    "length-a-foot-of-inches": (
        {"shown": "12-13.5", "inches": 13.5},
        "12-13.5: 13.5 inches after the feet make another foot; write 0 to 11 and a fraction.",
    ),
    "length-over-nothing": ({"shown": "1/0"}, "1/0: a fraction can't have 0 below the line."),
    "length-too-fine": (
        {"shown": "1/128", "finest": 64},
        "1/128: 1/64 is the finest fraction of an inch here.",
    ),
    "length-improper-fraction": (
        {"shown": "5/4", "fraction": "5/4"},
        "5/4: the fraction 5/4 is 1 or more; write a whole number and a fraction.",
    ),
    "length-decimals-and-fraction": (
        {"shown": "1.5 1/2"},
        "1.5 1/2: write either decimals or a fraction, not both.",
    ),
    "length-text-too-long": ({"shown": "99999…"}, "99999… is too long to be a length."),
    "length-unit": (
        {"shown": "3 m", "unit": "m"},
        "3 m: m is not a unit here; write feet and inches, such as 12' 3 1/2\".",
    ),
    "length-comma": ({"shown": "147,5"}, "147,5: write the decimal with a point, not a comma."),
    "length-which-is-feet": (
        {"shown": "12 3", "pair": ["12", "3"]},
        "12 3: say which is feet, such as 12' 3\".",
    ),
    "length-unreadable": (
        {"shown": "'"},
        "' can't be read as a length; write it like 12' 3 1/2\" or 147.5 (inches).",
    ),
}

SUBJECTS = {"lengths": (length_words.LENGTHS, LENGTHS)}
SENTENCES = {code: sample for _, samples in SUBJECTS.values() for code, sample in samples.items()}


@pytest.mark.parametrize("code", SENTENCES)
def test_the_sentence_of_a_refusal(code):
    values, says = SENTENCES[code]
    refusal = Refusal(code, "here", **values)
    assert refusal.says == says
    assert str(refusal) == f"here: {says}"
    assert str(Refusal(code, **values)) == says


@pytest.mark.parametrize("subject", SUBJECTS)
def test_each_subject_s_table_is_tested_and_no_code_is_in_two(subject):
    table, samples = SUBJECTS[subject]
    assert list(table) == list(samples)
    assert all(REFUSALS[code] is says for code, says in table.items())
    assert len(REFUSALS) == sum(len(one) for one, _ in SUBJECTS.values())


class TestRefusal:
    def test_code_place_and_values_are_told_apart(self):
        refusal = Refusal("length-comma", "bearings[0]", shown="3,5")
        assert refusal.coded == {"code": "length-comma", "place": "bearings[0]", "values": {"shown": "3,5"}}
        assert told(json.loads(json.dumps(refusal.coded))) == str(refusal)

    def test_words_are_made_when_asked_for(self, monkeypatch):
        asked = []

        def says(shown):
            asked.append(shown)
            return "…"

        monkeypatch.setitem(REFUSALS, "length-comma", says)
        refusal = Refusal("length-comma", shown="3,5")
        assert not asked
        assert (str(refusal), asked) == ("…", ["3,5"])

    def test_one_refusal_stands_in_another(self, monkeypatch):
        monkeypatch.setitem(REFUSALS, "outer", "{label}: {why}")
        under = Refusal("length-comma", "a", shown="3,5")
        assert str(Refusal("outer", "b", label="Span", why=under.coded)) == f"b: Span: {under}"

    @pytest.mark.parametrize("sent", [lambda one: pickle.loads(pickle.dumps(one)), copy.copy])
    def test_it_goes_from_one_process_to_another(self, sent):
        refusal = Refusal("length-comma", "bearings[0]", shown="3,5")
        assert sent(refusal).coded == refusal.coded

    def test_a_code_without_words_and_a_value_that_lacks_are_errors(self):
        with pytest.raises(KeyError):
            str(Refusal("no-such-code"))
        with pytest.raises(KeyError):
            str(Refusal("length-comma"))


def needed(code):
    """The names of the values that the words of a code take: those that they must have, and those that they may."""
    says = REFUSALS[code]
    if isinstance(says, str):
        names = {re.split(r"[.\[]", name)[0] for _, name, _, _ in string.Formatter().parse(says) if name is not None}
        return names, names
    parameters = inspect.signature(says).parameters
    return {name for name, one in parameters.items() if one.default is one.empty}, set(parameters)


def kinds(kind=Refusal):
    return {kind.__name__}.union(*(kinds(one) for one in kind.__subclasses__()))


def sources():
    for room in ("analysis", "drawing"):
        for path in sorted((TRUSSES / room).rglob("*.py")):
            importlib.import_module(".".join(path.relative_to(TRUSSES.parent).with_suffix("").parts))
            yield path


def made(tree, names):
    """The calls that make a refusal, with all codes that each may have."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            if name in names:
                yield node, _codes(node.args[0]) if node.args else set()


def _codes(first):
    if isinstance(first, ast.IfExp):
        return _codes(first.body) | _codes(first.orelse)
    return {first.value} if isinstance(first, ast.Constant) else {ast.unparse(first)}


def troubles(tree, names):
    for call, codes in made(tree, names):
        given = {keyword.arg for keyword in call.keywords}
        for code in codes or {""}:
            if code not in REFUSALS:
                yield f"line {call.lineno}: {code or 'no code'} has no words"
                continue
            must, may = needed(code)
            if must - given or given - may:
                yield f"line {call.lineno}: {code} takes {sorted(may)} and is given {sorted(map(str, given))}"


def test_the_reader_sees_what_is_wrong():
    """Otherwise the test below could pass by seeing nothing."""
    planted = ast.parse(
        'raise UnitsError("length-comma", shown=a)\n'
        'raise UnitsError("length-comma")\n'
        'raise UnitsError("length-comma" if a else "length-no-such", shown=a)\n'
        'raise UnitsError("length-comma", shown=a, more=b)\n'
        'raise UnitsError(f"{a} is wrong")\n'
    )
    assert [one.split(":")[0] for one in troubles(planted, {"UnitsError"})] == [
        "line 2",
        "line 3",
        "line 4",
        "line 5",
    ]


def test_each_refusal_has_words_and_their_values_and_all_words_are_used():
    trees = {path: ast.parse(path.read_text()) for path in sources()}
    names = kinds()
    assert [f"{path.name} {trouble}" for path, tree in trees.items() for trouble in troubles(tree, names)] == []
    used = {code for tree in trees.values() for _, codes in made(tree, names) for code in codes}
    assert used == REFUSALS.keys()
