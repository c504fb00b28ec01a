"""Strict JSON: which texts are no document, and how a document is written canonically."""

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trusses.analysis.format.strict import LIMITS, DocumentError, canonical, parse, sha256

TEXTS = [
    ("", "the document is empty"),
    ("  \n", "the document is empty"),
    (b"\xff\xfe{", "not UTF-8 text: byte 0"),
    (b"\x00\x01\x02", "not JSON"),
    ("[1, 2]", "must be an object in braces, not a list"),
    ("null", "must be an object in braces, not null"),
    ('"x"', 'must be an object in braces, not the text "x"'),
    ("3", "must be an object in braces, not 3"),
    ("{", "not JSON: expecting property name"),
    ('{"a": 1,}', "not JSON"),
    ('{"a": 1} {}', "not JSON: extra data at line 1, column 10"),
    ('{"a": NaN}', "a: must be a number, not NaN"),
    ('{"a": {"b": [1, -Infinity]}}', "a.b[1]: Infinity is far too large"),
    ('{"a": 1e999}', "a: Infinity is far too large"),
    ('{"a": ' + "9" * 5000 + "}", "a: Infinity is far too large"),
    ('{"a": 123456789012345678901}', "a: 1.23457e+20 is far too large"),
    ('{"mark": "a", "mark": "b"}', 'the document: "mark" stands twice'),
    ('{"members": [{}, {"id": "a", "id": "a"}]}', 'members[1]: "id" stands twice'),
    ('{"joints": {"A": [0, 0], "A": [0, 0]}}', 'joints: "A" stands twice'),
    ('{"a": "\\ud800"}', "a: the text"),
    ('{"\\u0000": 1}', "can't be printed"),
    ("[" * 100_000, "nested deeper than 16 levels"),
    ('{"a":' * 100_000, "nested deeper than 16 levels"),
    ('{"a": ' + "[" * 500 + "]" * 500 + "}", "nested deeper than 16 levels"),
    (" " * (LIMITS.bytes + 1), "larger than 1,000,000 bytes"),
    (b"{" * (LIMITS.bytes + 1), "larger than 1,000,000 bytes"),
    ('{"a": "' + "é" * (LIMITS.bytes // 2) + '"}', "larger than 1,000,000 bytes"),
]


@pytest.mark.parametrize(("text", "says"), TEXTS, ids=range(len(TEXTS)))
def test_text_that_is_no_document_is_refused(text, says):
    with pytest.raises(DocumentError) as refusal:
        parse(text)
    assert says in str(refusal.value)
    assert str(refusal.value).isprintable()


def test_a_byte_order_mark_is_no_part_of_the_document():
    text = json.dumps({"mark": "K1", "spacing_in": 24.0})
    assert sha256(parse(b"\xef\xbb\xbf" + text.encode())) == sha256(parse(text))


def test_canonical_json_by_hand():
    document = {"b": [1.0, -0.0, 0.1, 1e-7, 108.25, -3], "a": {"é": "x y", "B": True, "A": None}}
    expected = '{"a":{"A":null,"B":true,"é":"x y"},"b":[1,0,0.1,1e-07,108.25,-3]}'
    assert canonical(document).decode() == expected


@pytest.mark.parametrize("bad", [math.nan, math.inf, 1e300, "\ud800"])
def test_canonical_refuses_what_json_has_no_word_for(bad):
    with pytest.raises(DocumentError):
        canonical({"a": bad})


numbers = st.integers(-(10**9), 10**9) | st.floats(-1e9, 1e9, allow_nan=False)
texts = st.text(st.characters(categories=["L", "N", "P", "S", "Zs"]), max_size=12)
values = st.recursive(
    st.none() | st.booleans() | numbers | texts,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(texts, inner, max_size=4),
    max_leaves=20,
)


@settings(max_examples=200, deadline=None)
@given(st.dictionaries(texts, values, max_size=5))
def test_canonical_json_comes_back_the_same_whatever_the_order(document):
    back = parse(canonical(document))
    assert back == document
    shuffled = dict(reversed(document.items()))
    assert canonical(back) == canonical(document) == canonical(shuffled)
    assert canonical(parse(json.dumps(document, indent=3))) == canonical(document)
