"""Feet and inches in and out. Expected values are arithmetic: 1 ft = 12 in."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trusses.analysis.format.lengths import UnitsError, parse_length
from trusses.analysis.words.lengths import feet_inches, feet_inches_sixteenths, tape_inches

READS = {
    "12' 3 1/2\"": 147.5,
    "12'-3 1/2\"": 147.5,
    "12'-3-1/2\"": 147.5,
    "12' - 3 1/2\"": 147.5,
    "12'3 1/2\"": 147.5,
    "12', 3 1/2\"": 147.5,
    "12′ 3½″": 147.5,
    "12’ 3 ½”": 147.5,
    "12'3\"": 147,
    "12' 3": 147,
    "12–3": 147,
    "12-3": 147,
    '12-3"': 147,
    "12-3 1/2": 147.5,
    "12-3-1/2": 147.5,
    "12-3.5": 147.5,
    "12-3-8": 147.5,
    "12-03-08": 147.5,
    "0-0-1": 0.0625,
    "147.5": 147.5,
    '147.5"': 147.5,
    "147.5 in.": 147.5,
    '147 1/2"': 147.5,
    "12.5'": 150,
    "12 ft": 144,
    "12 1/2'": 150,
    "12½ ft": 150,
    "3/4'": 9,
    "12'-": 144,
    "12 ft 3 in": 147,
    "12 feet 3 1/2 inches": 147.5,
    "12ft.3in.": 147,
    "12FT 3IN": 147,
    "12' 3''": 147,
    "3/8": 0.375,
    '3/8"': 0.375,
    "12' 3/8\"": 144.375,
    "12'-3/8\"": 144.375,
    "1 1/2": 1.5,
    "11/16": 0.6875,
    "12' 11/16\"": 144.6875,
    '3-1/2"': 3.5,
    "1 1 / 2": 1.5,
    "1¼": 1.25,
    "1⁄2": 0.5,
    ".5": 0.5,
    "5.": 5,
    "0": 0,
    "+6": 6,
    "1,250": 1250,
    "36'": 432,
    "  36 '  ": 432,
    "12'\u200b 3\u00ad 1/2\"\u200e": 147.5,  # nobody sees what a copied line brought along
    "\ufeff\u202a147.5\u202c": 147.5,
    "１２'": 144,  # full-width digits, from a phone's other keyboard
}

REFUSALS = {
    "": "length-empty",
    "   ": "length-empty",
    "-": "length-empty",
    "12' 13\"": "length-a-foot-of-inches",
    "12-13": "length-a-foot-of-inches",
    "12-12-0": "length-a-foot-of-inches",
    "12-3-16": "length-sixteenths",
    "1/0": "length-over-nothing",
    "1/128": "length-too-fine",
    "5/4": "length-improper-fraction",
    "1 4/4": "length-improper-fraction",
    "1.5 1/2": "length-decimals-and-fraction",
    "12.5' 3\"": "length-decimal-feet-and-inches",
    "12.5' 1/2\"": "length-decimal-feet-and-inches",
    "12 3": "length-which-is-feet",
    "12 3 1/2": "length-which-is-feet",
    "3-1/2": "length-mixed-dash",
    "147,5": "length-comma",
    "3 m": "length-unit",
    "300mm": "length-unit",
    "twelve": "length-unit",
    "nan": "length-unit",
    "inf": "length-unit",
    "1e3": "length-unit",
    "-3": "length-negative",
    "-1' 6\"": "length-negative",
    "1001'": "length-too-long",
    "9" * 41: "length-text-too-long",
    "12''3'": "length-unreadable",
    "12' 3' 4\"": "length-unreadable",
    "1.2.3": "length-unreadable",
    ",3": "length-unreadable",
    "--3": "length-unreadable",
    "3-": "length-unreadable",
    "-12' 13\"": "length-a-foot-of-inches",
    "'": "length-unreadable",
    '"': "length-unreadable",
    "12'\x00": "length-unreadable",
    "\u202e12' 3\"": "length-turned",
    "12\u206734\u2069": "length-turned",
    "\u200b": "length-empty",
    "<b>": "length-unit",
    "1//2": "length-unreadable",
    "1.53/4": "length-unreadable",
}


@pytest.mark.parametrize(("text", "inches"), READS.items())
def test_reads_what_people_write(text, inches):
    assert parse_length(text) == pytest.approx(inches, abs=1e-12)


@pytest.mark.parametrize(("text", "code"), REFUSALS.items())
def test_refuses_with_a_sentence(text, code):
    with pytest.raises(UnitsError) as refusal:
        parse_length(text)
    assert refusal.value.code == code
    assert str(refusal.value).endswith(".")
    assert len(str(refusal.value)) < 160
    assert str(refusal.value).isprintable()


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("300mm", {"unit": "mm"}),
        ("12 3 1/2", {"pair": ["12", "3"]}),
        ("3-1/2", {"whole": "3", "fraction": "1/2"}),
        ("12' 13.5\"", {"inches": 13.5}),
    ],
)
def test_a_refusal_has_what_was_read_of_the_text(text, values):
    with pytest.raises(UnitsError) as refusal:
        parse_length(text)
    assert refusal.value.values == {"shown": text, **values}


def test_numbers_are_inches():
    assert parse_length(147.5) == 147.5
    assert parse_length(147) == 147
    for value in (math.nan, math.inf, True, None):
        with pytest.raises(UnitsError):
            parse_length(value)


def test_negative_only_where_allowed():
    assert parse_length("-1' 6\"", negative=True) == -18
    assert parse_length("−3", negative=True) == -3
    with pytest.raises(UnitsError) as refusal:
        parse_length(-3)
    assert refusal.value.code == "length-negative"


def test_bounds_are_named():
    with pytest.raises(UnitsError) as short:
        parse_length("3'", least_in=48)
    assert (short.value.code, short.value.values) == ("length-too-short", {"shown": "3'", "least_in": 48})
    with pytest.raises(UnitsError) as long:
        parse_length("81'", most_in=960)
    assert (long.value.code, long.value.values) == ("length-too-long", {"shown": "81'", "most_in": 960})
    assert parse_length("80'", least_in=48, most_in=960) == 960


@pytest.mark.parametrize(
    ("inches", "written"),
    [
        (147.5, "12'-3 1/2\""),
        (144, "12'-0\""),
        (144.375, "12'-0 3/8\""),
        (3.5, '3 1/2"'),
        (0.5, '1/2"'),
        (0, '0"'),
        (11.99, "1'-0\""),
        (-18, "−1'-6\""),
        (-0.01, '0"'),
        (147.53, "12'-3 1/2\""),
        (147.53125, "12'-3 9/16\""),
    ],
)
def test_writes_as_drawings_do(inches, written):
    assert feet_inches(inches) == written


def test_other_written_forms():
    assert feet_inches(18, signed=True) == "+1'-6\""
    assert feet_inches(-18, signed=True) == "−1'-6\""
    assert feet_inches(0, signed=True) == '0"'
    assert feet_inches(147.53125, to=64) == "12'-3 17/32\""
    assert feet_inches(147.53125, to=1) == "12'-4\""
    assert tape_inches(147.5) == '147 1/2"'
    assert tape_inches(-2.25) == '−2 1/4"'
    assert feet_inches_sixteenths(147.5) == "12-03-08"
    with pytest.raises(ValueError, match="to must be"):
        feet_inches(1, to=10)
    with pytest.raises(ValueError, match="not a length"):
        feet_inches(math.nan)


@given(st.integers(min_value=-12_000 * 16, max_value=12_000 * 16))
def test_what_is_written_reads_back(sixteenths):
    inches = sixteenths / 16
    assert parse_length(feet_inches(inches), negative=True) == inches
    assert parse_length(tape_inches(inches), negative=True) == inches
    if inches >= 0:
        assert parse_length(feet_inches_sixteenths(inches)) == inches


@given(st.text(max_size=45))
def test_any_text_gives_a_length_or_a_sentence(text):
    try:
        said = str(parse_length(text, negative=True, most_in=1e6))
    except UnitsError as refusal:
        said = str(refusal)
    assert said.isprintable()
    assert len(said) < 160
