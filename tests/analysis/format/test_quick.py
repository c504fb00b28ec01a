"""What is like a document that was read before is read quickly: the same record or refusal as read closely."""

from __future__ import annotations

import copy
import json
import math
import random

import pytest

from tests.mutated_documents import mutated, originals
from trusses.analysis.format import document as documents
from trusses.analysis.format import quick as quickly
from trusses.analysis.format.document import DocumentError, Limits, read, read_closely, read_stored
from trusses.analysis.lumber import LUMBER

ODD = [None, True, False, "", "a", "3", " B0", "B0 ", "ü", "\x07", 0, -0.0, 3.0, 3, -1, 1e7, 1e300, math.nan, math.inf]
ODD += [10**30, [], [1], [1, 2, 3], {}, {"a": 1}, "x" * 600, [[[[]]]], b"", (1, 2)]


@pytest.fixture(autouse=True)
def nothing_known(monkeypatch):
    for name in ("_shapes", "_written", "_loads", "_openings"):
        monkeypatch.setattr(quickly, name, {})


def told(reader, source, stored=False):
    """The record with the document as it is written, or the refusal."""
    try:
        truss = reader(source, stored=stored)
    except DocumentError as refused:
        return refused.code, refused.place, refused.says
    written = json.dumps(truss.document)
    return truss, written, truss.xy.tobytes(), truss.names


def usual(source, stored=False):
    return documents._read(source, documents.LIMITS, stored)


def same(source, stored=False):
    """Whether it was read quickly; that the answer is the same is asserted."""
    before = copy.deepcopy(source)
    assert told(usual, source, stored) == told(read_closely, source, stored)
    assert str(source) == str(before)
    return quickly.quick(source, stored) is not None


def odd_place(document, draw):
    """Somewhere in a document a value, a key or an item that is odd."""
    at, depth = document, draw.randint(0, 3)
    while True:
        keys = list(at) if isinstance(at, dict) else range(len(at))
        if not keys:
            return
        key = draw.choice(keys)
        if depth == 0 or not isinstance(at[key], (dict, list)):
            break
        at, depth = at[key], depth - 1
    what = draw.choice(["value", "value", "value", "gone", "more", "other"])
    if what == "value":
        at[key] = copy.deepcopy(draw.choice(ODD))
    elif what == "gone":
        del at[key]
    elif isinstance(at, dict):
        at[draw.choice(["note", "notch_in", "flat", "acts", "title", "ü", "", 1])] = at[key] if what == "other" else 1
    else:
        at.append(at[key] if what == "other" else 1)


@pytest.mark.parametrize("stored", [False, True])
def test_mutated_documents_get_the_same_answer(stored):
    quick = [same(mutated(seed), stored) for seed in range(120)]
    assert 20 < sum(quick) < 116


def test_odd_values_anywhere_get_the_same_answer_although_all_else_is_known():
    draw, known, quick = random.Random(1), originals(), 0
    for document in known:
        usual(document)
    for _ in range(500):
        document = copy.deepcopy(draw.choice(known))
        odd_place(document, draw)
        quick += same(document)
    assert quick > 20


def test_odd_texts_get_the_same_answer():
    draw, known = random.Random(2), [json.dumps(document) for document in originals()]
    for text in known:
        usual(text)
    assert all(quickly.quick(text, False) for text in known)
    for _ in range(120):
        text = draw.choice(known)
        at, end = draw.randrange(len(text)), draw.choice([0, 1, 2, 20])
        same(
            text[:at] + draw.choice(["", '"', "\\", "0", "}", "]", ",", "é", '\\"', "1e999", "NaN"]) + text[at + end :]
        )
        same(text.encode()[:at] + draw.choice([b"", b"\xff", b"0"]) + text.encode()[at + end :])


@pytest.mark.parametrize(
    "x", [0, 0.0, -0.0, 1e-9, 0.005, 0.0099999999, 0.01, 24.0, 24.5, 1e6, 1e6 + 1, True, "1", math.nan]
)
def test_a_joint_is_looked_at_wherever_it_goes(x):
    document = originals()[0]
    usual(document)
    for name in list(document["joints"])[:4]:
        for other in (0.0, -0.0, document["joints"][name][1]):
            moved = copy.deepcopy(document)
            moved["joints"][name] = [x, other]
            same(moved)


def test_a_key_that_stands_twice_is_found_although_the_rest_is_known():
    text = json.dumps(originals()[0])
    usual(text)
    for once, twice in (
        ('"mark": ', '"mark": "first", "mark": '),
        ('"members": ', '"members": [], "members": '),
        ('"role": ', '"role": "web", "role": '),
        ('"psf": ', '"psf": 1, "psf": '),
        ('"joint": ', '"joint": "A", "joint": '),
    ):
        assert once in text
        assert told(usual, text.replace(once, twice, 1))[0] == "key-twice"


def test_backslashes_hide_no_key_that_stands_twice():
    slashed = [{"id": f"O{n}", "shape": "circle", "centre_in": [100, 20], "diameter_in": 1} for n in range(4)]
    text = json.dumps(originals()[0] | {"openings": [opening | {"note": "a\\"} for opening in slashed]})
    usual(text)
    assert told(usual, text.replace('"mark": ', '"mark": "first", "mark": ', 1))[0] == "key-twice"


def test_a_name_that_looks_like_the_end_of_the_members_is_none():
    document = copy.deepcopy(originals()[0])
    document["members"][0]["id"] = "a}]"
    for lumber in list(LUMBER)[:3]:
        document["members"][1]["lumber"] = lumber
        assert told(usual, json.dumps(document)) == told(read_closely, json.dumps(document))
        assert read(json.dumps(document)).members[1].lumber == lumber
    assert not quickly._written


def test_a_title_may_say_what_a_key_is_called():
    document = originals()[0]
    usual(json.dumps(document))
    for title in ("members", '"members": []', 'a "title": "b"', 'back\\slash and 24" o.c.', "ünder", "members: }]"):
        titled = json.dumps(document | {"title": title})
        assert same(titled) or "\\\\" in titled
        assert read(titled).title == title


def test_two_like_each_other_share_nothing_that_could_change():
    text = json.dumps(originals()[0])
    usual(text)
    one, other = read(text), read(text)
    written = json.dumps(other.document)
    for part in one.document.values():
        for item in part if isinstance(part, list) else [part]:
            if isinstance(item, dict):
                item.clear()
    one.document.clear()
    assert json.dumps(other.document) == written == json.dumps(read(text).document)


def test_dead_load_in_part_is_stored_and_not_read():
    document = copy.deepcopy(originals()[0])
    next(load for load in document["loads"]["area"] if load["case"] == "dead")["pattern"] = "left"
    for _ in range(2):
        assert read_stored(document).area_loads
        with pytest.raises(DocumentError) as refused:
            read(document)
        assert refused.value.code == "dead-load-in-part"


def test_other_limits_are_kept_although_the_document_is_known():
    document = originals()[0]
    usual(document)
    with pytest.raises(DocumentError):
        read(document, Limits(joints=3))


def test_no_more_is_kept_than_is_stated():
    for n in range(quickly._KEPT + 10):
        quickly._keep(quickly._shapes, n, None)
    assert len(quickly._shapes) <= quickly._KEPT
