"""Small words that pages put together themselves."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from django import forms

from changes.models import Option
from trusses.templatetags.measures import missing, plan_side, whole
from trusses.words.copies import letter_runs


@pytest.mark.parametrize(
    ("letters", "told"),
    [
        ("ABCDEFGHIJKL", "A–L"),
        ("AB", "A and B"),
        ("ABCF", "A–C and F"),
        ("CBA", "C, B and A"),
        (["Y", "Z", "AA"], "Y–AA"),
    ],
)
def test_letters_that_follow_one_another_are_shortened(letters, told):
    assert letter_runs(letters) == told


def test_a_side_of_the_plan_is_told_by_the_compass_where_that_is_known():
    assert plan_side("bottom", None) == "the bottom of the plan"
    assert plan_side("bottom", 0) == "the south (the bottom of the plan)"
    assert plan_side("bottom", 90) == "the east (the bottom of the plan)"


def test_a_name_with_a_hyphen_is_not_parted_and_stays_text():
    assert whole("R2") == "R2"
    assert whole("R2-b") == '<span class="nowrap">R2-b</span>'
    assert whole("<i>-b") == '<span class="nowrap">&lt;i&gt;-b</span>'


def test_a_field_says_what_is_missing_where_it_can_be_empty():
    class Asked(forms.Form):
        why = forms.CharField(error_messages={"required": "Say why."})
        note = forms.CharField(required=False)
        chosen = forms.ChoiceField(choices=[("a", "A")])
        piece = forms.ChoiceField(choices=[("", "Choose"), ("a", "A")], error_messages={"required": "Choose it."})

    assert [missing(field) for field in Asked()] == ["Say why.", "", "", "Choose it."]


def test_another_ply_alone_changes_no_member(king_post):
    def plies(now):
        return Option.plies_alone.func(SimpleNamespace(revision=SimpleNamespace(document=king_post), document=now))

    assert plies({**king_post, "plies": 2, "ply_fastening": "nailed"}) == 2
    assert plies(king_post) == 0
    assert plies({**king_post, "plies": 2, "members": king_post["members"][:-1]}) == 0
