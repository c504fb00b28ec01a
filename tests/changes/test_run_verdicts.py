"""One verdict of each truss that a run crosses, told alike by its headline, its list, its signs and what is asked; no
database."""

from __future__ import annotations

from collections import Counter

import pytest

from changes.asks.live_run import may_be_better
from changes.asks.run import envelope, groups, lettered, shared
from changes.asks.run_verdicts import Counts, answers, counts, said, worst
from changes.pages.run_plan import asked_of, drawn_path, rows_of, tone_of
from tests.analysis.runs.standing import row, run
from trusses.analysis.runs.crossing import cross
from trusses.analysis.runs.run import Section
from trusses.analysis.words.runs import VERDICT_WORDS, headline

LOW = run((0, 216), (250, 216), height=10)
"""Through ten trusses at midspan, where it would cut the bottom chord of each and fits higher up."""

ALL_TEN = "Never as it runs, since in 10 of 10 trusses it would cut a chord or leave the truss"


def told(asked, *, together=False):
    crossed = cross(asked, row(10))
    return crossed, answers(crossed, (), together=together)


@pytest.mark.parametrize(
    "asked",
    [
        LOW,
        run((0, 216), (250, 216), height=40),
        run((0, 126), (250, 126), height=34, section=Section("rectangle", 60, 16)),
        run((0, 100), (250, 330), height=34),
        run((0, 216), (250, 216), height=34, slope=2),
    ],
)
@pytest.mark.parametrize("together", [False, True])
def test_headline_list_signs_and_what_is_asked_say_the_same(asked, together):
    crossed, verdicts = told(asked, together=together)
    met = lettered(crossed)
    by = Counter(verdicts.values())
    signs = {one.letter: one.verdict for one in drawn_path(crossed, verdicts).met}
    assert signs == verdicts
    rows = rows_of(asked, met, verdicts)
    assert {one["word"] for one in rows} == {VERDICT_WORDS[one] for one in verdicts.values()}
    listed = asked_of(crossed, (), {}, together=together)
    assert {one["word"] for one in listed} <= {VERDICT_WORDS[one] for one in verdicts.values()}
    count = counts(crossed, verdicts)
    assert count == Counts(by["never"], 0, by["moves"] + by["redesign"])
    assert said(crossed, verdicts) == headline(len(met), never=count.never, changes=count.changes)
    assert (tone_of(crossed, verdicts) == "stop") is bool(by["never"])
    # and what is answered once it is asked: each group has one opening, and that is what every copy of it was told
    for those in groups(met, together=together):
        assert {VERDICT_KIND[verdicts[name]] for name, _ in those} == {VERDICT_KIND[shared(those)]}


VERDICT_KIND = {"fits": "fits", "moves": "redesign", "redesign": "redesign", "never": "never"}


def test_where_it_would_cut_a_chord_it_is_never_as_it_runs_though_it_fits_elsewhere():
    crossed, verdicts = told(LOW)
    assert set(verdicts.values()) == {"never"}
    (first, *_) = rows_of(LOW, lettered(crossed), verdicts)
    assert first["says"].startswith("It would fit ")
    assert "As it runs it would cut B2" in first["says"]
    assert said(crossed, verdicts) == ALL_TEN


def test_a_truss_that_is_crossed_twice_is_one_truss():
    """Out and back: each of ten is crossed twice."""
    out_and_back = run((0, 216), (300, 216), (300, 260), (0, 260), height=10)
    crossed, verdicts = told(out_and_back)
    assert len(verdicts) == 20
    assert counts(crossed, verdicts) == Counts(10, 0, 0)
    assert said(crossed, verdicts) == ALL_TEN
    on_the_way_out = {name: "never" if name < "K" else "fits" for name in verdicts}
    assert counts(crossed, on_the_way_out) == Counts(10, 0, 0), "one crossing that fits doesn't make up for another"


def test_copies_share_no_opening_for_which_one_of_them_answers_otherwise():
    """It falls 1/8 in. from one to the next: of those within half an inch some clear a web and some don't."""
    for height in (height / 16 for height in range(20 * 16, 44 * 16)):
        asked = run((0, 126), (250, 126), height=height, slope=1 / 16)
        crossed, verdicts = told(asked)
        if len(set(verdicts.values())) > 1:
            break
    kinds = [{verdicts[name] for name, _ in those} for those in groups(lettered(crossed))]
    assert all(len(one) == 1 for one in kinds)
    assert len(kinds) > 1


def test_with_one_design_for_all_each_answers_what_their_one_opening_does():
    falling = run((0, 216), (250, 216), height=26, slope=1, section=Section("circle", 6, 6))
    crossed, alone = told(falling)
    _, verdicts = told(falling, together=True)
    (those,) = groups(lettered(crossed), together=True)
    assert envelope(those)["height_in"] > 20
    assert "fits" in set(alone.values())
    assert set(verdicts.values()) == {shared(those)} != {"fits"}
    (*_, first) = [one for one in rows_of(falling, lettered(crossed), verdicts) if alone[one["letter"]] == "fits"]
    assert first["says"].startswith("By itself it fits; the one opening for all copies of A is larger.")


def test_where_the_one_opening_for_all_never_fits_that_is_told_of_the_run_and_better_lines_are_looked_for():
    falling = run((0, 100), (250, 100), height=46, slope=1, section=Section("circle", 10, 10))
    crossed, alone = told(falling)
    _, verdicts = told(falling, together=True)
    assert (set(alone.values()), set(verdicts.values())) == ({"fits"}, {"never"})
    assert (worst(crossed, alone), worst(crossed, verdicts)) == ("fits", "never")
    assert (may_be_better(crossed, alone), may_be_better(crossed, verdicts)) == (False, True)


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ((1, 0, 0, 0), "Fits through the one truss as it is"),
        ((5, 0, 0, 0), "Fits through all 5 trusses as they are"),
        ((5, 0, 0, 2), "5 trusses crossed, 2 would have to change"),
        ((1, 0, 1, 0), "1 truss crossed, 1 is cut already and can't take it"),
        ((5, 0, 2, 1), "5 trusses crossed, 2 are cut already and can't take it, 1 would have to change"),
        (
            (5, 2, 1, 2),
            "Never as it runs, since in 2 of 5 trusses it would cut a chord or leave the truss; 1 is cut already and"
            " can't take it; 2 more would have to change",
        ),
    ],
)
def test_the_headline_counts_all_that_it_does_not_fit_in(values, says):
    trusses, never, cut, change = values
    assert headline(trusses, never=never, cut=cut, changes=change) == says
