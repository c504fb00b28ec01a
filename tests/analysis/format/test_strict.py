"""Strict JSON: which texts are no document, and how a document is written canonically."""

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trusses.analysis.format.strict import LIMITS, DocumentError, canonical, parse, sha256

TEXTS = [
    ("", "", "document-empty", {}),
    ("  \n", "", "document-empty", {}),
    (b"\xff\xfe{", "", "document-not-utf8", {"byte": 0}),
    (b"\x00\x01\x02", "", "document-not-json", {"line": 1, "column": 1}),
    ("[1, 2]", "", "document-no-object", {"given": []}),
    ("null", "", "document-no-object", {"given": None}),
    ('"x"', "", "document-no-object", {"given": "x"}),
    ("3", "", "document-no-object", {"given": 3}),
    ("{", "", "document-not-json", {"line": 1, "column": 2}),
    ('{"a": 1,}', "", "document-not-json", {"line": 1, "column": 9}),
    ('{"a": 1} {}', "", "document-not-json", {"problem": "extra data", "line": 1, "column": 10}),
    ('{"a": NaN}', "a", "number-nan", {}),
    ('{"a": {"b": [1, -Infinity]}}', "a.b[1]", "number-too-large", {"number": "Infinity"}),
    ('{"a": 1e999}', "a", "number-too-large", {"number": "Infinity"}),
    ('{"a": ' + "9" * 5000 + "}", "a", "number-too-large", {"number": "Infinity"}),
    ('{"a": 123456789012345678901}', "a", "number-too-large", {"number": "1.23457e+20"}),
    ('{"mark": "a", "mark": "b"}', "the document", "key-twice", {"key": "mark"}),
    ('{"members": [{}, {"id": "a", "id": "a"}]}', "members[1]", "key-twice", {"key": "id"}),
    ('{"joints": {"A": [0, 0], "A": [0, 0]}}', "joints", "key-twice", {"key": "A"}),
    ('{"a": "\\ud800"}', "a", "text-unprintable", {"text": "\ud800"}),
    ('{"\\u0000": 1}', "the document", "key-unprintable", {"key": "\x00"}),
    ("[" * 100_000, "", "document-too-deep", {"levels": 16}),
    ('{"a":' * 100_000, "", "document-too-deep", {"levels": 16}),
    ('{"a": ' + "[" * 500 + "]" * 500 + "}", "a[0][0][0]…", "document-too-deep", {"levels": 16}),
    (" " * (LIMITS.bytes + 1), "", "document-too-large", {"most": 1000000}),
    (b"{" * (LIMITS.bytes + 1), "", "document-too-large", {"most": 1000000}),
    ('{"a": "' + "é" * (LIMITS.bytes // 2) + '"}', "", "document-too-large", {"most": 1000000}),
]


@pytest.mark.parametrize(("text", "place", "code", "values"), TEXTS, ids=range(len(TEXTS)))
def test_text_that_is_no_document_is_refused(text, place, code, values):
    with pytest.raises(DocumentError) as refusal:
        parse(text)
    assert (refusal.value.place, refusal.value.code) == (place, code)
    assert values.items() <= refusal.value.values.items()
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
