"""The sentence of each refusal of the change, once, and that every code that is refused with has one. All else about
refusals is tested by code, place and values."""

import ast
from pathlib import Path

import pytest

from changes.words.asking import ASKING
from changes.words.refusals import CHANGE, DECIDING, DENIED, MOVING, OF_THE_SET, REFUSALS, TYPED
from tests.changes.refusal_sentences import AT, SENTENCES
from trusses.analysis.words.refusal import told

ROOT = Path(__file__).resolve().parent.parent.parent


def says(code, **values):
    return told({"code": code, "place": "", "values": values}, REFUSALS)


@pytest.mark.parametrize("code", SENTENCES)
def test_the_sentence_of_a_refusal(code):
    values, sentence = SENTENCES[code]
    assert says(code, **values) == sentence


def test_what_is_left_out_where_there_is_nothing_to_tell():
    assert says("lies-outside", away_in=0.01, mark="K1").startswith("lies just outside of truss K1, ")
    whole = says("larger-than-the-truss", size_in=300, across="across", clearance_in=0, mark="K1", longest_in=264)
    assert whole == "25'-0\" across is more than the whole truss K1, which is 22'-0\" long."
    assert says("hold-released", mark="K1", at=None) == "The hold on K1 was lifted; there is nothing to answer."
    assert says("hold-answered", mark="K1", standing="refused", by="", at=None) == "The hold on K1 was refused."
    assert says("too-late", request=7, last="fail", by="", at=AT, verb="approve") == (
        "Request 7 was not computed on Nov 3, 2026 at 2:05 PM MST; it can't be answered with a new revision now."
    )
    assert says("carrier-cut", mark="G1", copies=[2], because=["K5", "K6"]).startswith(
        "G1: copy 2 is cut already and would carry the changed load of K5 and K6; "
    )
    tried = says("not-worked-out-together", carrier="G1", why={"code": "broke", "place": "", "values": {}})
    assert "not worked out yet. A first try failed: the computation broke; what happened is in the w" in tried
    less = SENTENCES["option-asks-less"][0] | {"more": 0}
    assert says("option-asks-less", **less).endswith("1 ply, today 2 plies. Issuing it needs a reason.")


def test_every_code_has_a_sentence_of_its_own_and_stands_in_the_source():
    assert CHANGE.keys() == SENTENCES.keys()
    assert len(CHANGE) == sum(map(len, (TYPED, ASKING, DECIDING, MOVING, DENIED))), "two sentences share a code"
    assert not CHANGE.keys() & OF_THE_SET.keys()
    codes, texts = set(), set()
    for path in (ROOT / "changes").rglob("*.py"):
        if "words" in path.relative_to(ROOT).parts:
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                texts.add(node.value)
            if isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
                name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
                codes |= {node.args[0].value} if name in ("Refused", "Conflict", "NotAllowed") else set()
    assert len(codes) > 50
    assert codes <= REFUSALS.keys()
    assert CHANGE.keys() <= texts
