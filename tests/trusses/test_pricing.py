"""A truss's price by its job's rates. The rates are invented."""

from __future__ import annotations

import copy
from decimal import Decimal

import pytest

from trusses.analysis.compare import board_feet
from trusses.models import JobRates
from trusses.sheets.pricing import price, rates_of


@pytest.fixture
def changed(king_post):
    """A web more, from the foot of the post to the middle of the left top chord, which stays one piece."""
    after = copy.deepcopy(king_post)
    after["joints"] |= {"E": [60, 30]}
    after["members"][0]["joints"] = ["A", "E"]
    after["members"] += [
        {"id": "T3", "role": "top_chord", "joints": ["E", "B"], "lumber": "2x6 DF-L No.1"},
        {"id": "W2", "role": "web", "joints": ["E", "D"], "lumber": "2x4 SPF No.1/No.2"},
    ]
    return after


def test_counts_by_hand(king_post, changed):
    """King post: joints A, B, C, D; two top chords, a bottom chord, a post. A web more brings a joint and a piece."""
    lumber, pieces, joints = price(None, king_post, changed).lines
    assert pieces.quantity == (4, 5)
    assert joints.quantity == (4, 5)
    assert lumber.quantity[1] > lumber.quantity[0]
    assert float(lumber.quantity[0]) == pytest.approx(board_feet(king_post), abs=0.05)


def test_without_rates_there_is_no_price(king_post, changed):
    told = price(None, king_post, changed)
    assert (told.total, told.more) == (None, None)
    assert all(line.amount is None for line in told.lines)
    assert price(JobRates(), king_post, changed).total is None


def test_rates_price_what_they_are_given_for(king_post, changed):
    told = price(JobRates(currency="$", piece=Decimal("1.25"), joint=Decimal("2.00")), king_post, changed)
    lumber, pieces, joints = told.lines
    assert lumber.amount is None
    assert pieces.amount == (Decimal("5.00"), Decimal("6.25"))
    assert joints.amount == (Decimal("8.00"), Decimal("10.00"))
    assert told.total == (Decimal("13.00"), Decimal("16.25"))
    assert told.more == Decimal("3.25")


def test_plies_are_each_cut_and_pressed(king_post):
    both = {**king_post, "plies": 2}
    lumber, pieces, joints = price(None, king_post, both).lines
    assert (pieces.quantity, joints.quantity) == ((4, 8), (4, 8))
    assert float(lumber.quantity[1]) == pytest.approx(2 * board_feet(king_post), abs=0.05)


def test_lumber_is_priced_by_the_tenth_that_is_shown(king_post):
    (lumber, *_) = price(JobRates(board_foot=Decimal("0.90")), king_post, king_post).lines
    assert lumber.amount == ((lumber.quantity[0] * Decimal("0.90")).quantize(Decimal("0.01")),) * 2


def test_rates_are_their_jobs(job):
    assert rates_of(job) is None
    rates = JobRates.objects.create(job=job, piece=Decimal("1.00"))
    assert rates_of(job) == rates
