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

from tests.analysis import refusal_sentences as sentences
from trusses.analysis.words.given import brief
from trusses.analysis.words.given import told as told_value
from trusses.analysis.words.refusal import Refusal, told
from trusses.analysis.words.refusals import (
    REFUSALS,
    bearings,
    capacity,
    damage,
    document,
    drawing,
    lengths,
    load_path,
    loads,
    lumber,
    openings,
    passages,
    plates,
    runs,
    search,
    shapes,
)

ROOT = Path(__file__).resolve().parents[2]
CORE = (ROOT / "trusses" / "analysis", ROOT / "trusses" / "drawing")
#: What raises for a place that it knows: its other arguments are those of the refusal.
RAISERS = {"refuse"}

SUBJECTS = {
    "lengths": (lengths.LENGTHS, sentences.LENGTHS),
    "document": (document.DOCUMENT, sentences.DOCUMENT),
    "lumber": (lumber.LUMBER, sentences.LUMBER),
    "loads": (loads.LOADS, sentences.LOADS),
    "openings": (openings.OPENINGS, sentences.OPENINGS),
    "runs": (runs.RUNS, sentences.RUNS),
    "shapes": (shapes.SHAPES, sentences.SHAPES),
    "load path": (load_path.LOAD_PATH, sentences.LOAD_PATH),
    "search": (search.SEARCH, sentences.SEARCH),
    "plates": (plates.PLATES, sentences.PLATES),
    "drawing": (drawing.DRAWING, sentences.DRAWING),
    "damage": (damage.DAMAGE, sentences.DAMAGE),
    "capacity": (capacity.CAPACITY, sentences.CAPACITY),
    "bearings": (bearings.BEARINGS, sentences.BEARINGS),
    "passages": (passages.PASSAGES, sentences.PASSAGES),
}
SENTENCES = {code: sample for _, samples in SUBJECTS.values() for code, sample in samples.items()}


@pytest.mark.parametrize("code", SENTENCES)
def test_the_sentence_of_a_refusal(code):
    values, says = SENTENCES[code]
    refusal = Refusal(code, "here", **values)
    assert refusal.says == says
    assert str(refusal) == f"here: {says}"
    assert str(Refusal(code, **values)) == says


@pytest.mark.parametrize(
    ("code", "values", "says"),
    [
        ("key-unknown", {"key": "hinge", "meant": None}, 'unknown key "hinge"'),
        ("no-choice", {"key": "acts", "choices": ["alone"], "given": True}, "acts must be alone, not true"),
        (
            "no-choice",
            {"key": "what", "choices": ["tub, full", "stone"], "given": "tub"},
            'what must be "tub, full" or "stone", not "tub"',
        ),
        ("name-empty", {"key": None}, "a joint's name must not be empty"),
        ("whole-number-bounds", {"key": "version", "least": 1, "most": 1, "given": 2}, "version must be 1, not 2"),
        ("no-list", {"key": "members", "given": {}}, "members must be a list of members, not an object"),
        (
            "window-empty",
            {"from_in": 9.0, "to_in": 3.0},
            "the window is reversed or empty: from_in 9 is not before to_in 3",
        ),
        (
            "lumber-unknown",
            {"shown": "??", "near": []},
            'lumber "??" is not in the table; a key reads like 2x4 SPF No.1/No.2',
        ),
        (
            "places-and-copies",
            {"mark": "R5", "copies": 2, "places": 1, "carrier": "G1", "carriers": 1},
            "R5 has 2 copies, and 1 place on G1 is named: name one place for each copy that hangs there.",
        ),
        ("plates-columns-missing", {"columns": ["plate"]}, "The first row lacks the column plate."),
        ("shape-no-field", {"shape": "W", "name": "set_back", "meant": None}, "A W truss has no set back."),
        (
            "shape-unknown",
            {"shown": "<script>", "meant": None, "shapes": ["king-post", "w"]},
            "<script> is not a shape here; it is one of king-post, w.",
        ),
        (
            "shape-number",
            {"label": "Plies", "shown": "13", "least": 1.0, "most": 12.0, "unit": ""},
            "Plies: 13 won't do; give a number, 1 to 12.",
        ),
        (
            "snow-number",
            {"label": "Winter wind parameter W2", "unit": "", "least": 0.1, "most": 0.9},
            "Winter wind parameter W2 must be a number, 0.1 to 0.9.",
        ),
    ],
)
def test_the_sentence_where_a_value_is_another(code, values, says):
    assert Refusal(code, **values).says == says


@pytest.mark.parametrize(
    ("given", "words"),
    [(1e15, "a very large number"), ("x" * 50, f'the text "{"x" * 39}…"'), ({"a": 1}, "an object"), ({1}, "set")],
)
def test_a_wrong_value_is_held_in_brief_and_told_alike(given, words):
    held = brief(given)
    assert len(json.dumps(held)) < 60
    assert told_value(held) == told_value(given) == words


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
    """The names of the core's kinds of refusals; others have words of their own."""
    for room in CORE:
        for path in room.rglob("*.py"):
            importlib.import_module(".".join(path.relative_to(ROOT).with_suffix("").parts))
    below = (one for one in kind.__subclasses__() if one.words is REFUSALS)
    return {kind.__name__}.union(*(kinds(one) for one in below))


def sources():
    """Each module with the names by which it may make a refusal of the core."""
    core = kinds()
    for package in ("trusses", "changes", "project"):
        for path in sorted((ROOT / package).rglob("*.py")):
            yield (
                path,
                ast.parse(path.read_text()),
                core | RAISERS if set(CORE) & set(path.parents) else core,
            )


def made(tree, names):
    """The calls that make a refusal, with all codes that each may have."""
    raisers = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef) and node.name in RAISERS
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and id(node) not in raisers:
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
            if code == "self.code":
                continue  # what was told before
            if code.endswith(".code") and [ast.unparse(one.value) for one in call.keywords] == [f"{code[:-5]}.values"]:
                continue  # another refusal, at a place
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
        "raise DocumentError(a.code, place, **a.values)\n"
        "raise DocumentError(a.code, place, **b.values)\n"
    )
    assert [one.split(":")[0] for one in troubles(planted, {"UnitsError", "DocumentError"})] == [
        "line 2",
        "line 3",
        "line 4",
        "line 5",
        "line 7",
    ]


def test_each_refusal_has_words_and_their_values_and_all_words_are_used():
    found = list(sources())
    assert [f"{path.name} {trouble}" for path, tree, names in found for trouble in troubles(tree, names)] == []
    used = {code for _, tree, names in found for _, codes in made(tree, names) for code in codes}
    assert {code for code in used if not code.endswith(".code")} == REFUSALS.keys()
