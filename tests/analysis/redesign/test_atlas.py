"""The atlas of what a redesign would open: each promise is one that the search keeps, and smaller is never less."""

from __future__ import annotations

import json
import random
from dataclasses import replace

import numpy as np
import pytest

from trusses.analysis.clearance.openings import fit, space
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.redesign import survey as surveying
from trusses.analysis.redesign.atlas import Atlas, size
from trusses.analysis.redesign.building import Building, apart
from trusses.analysis.redesign.search import search
from trusses.analysis.redesign.survey import survey
from trusses.demo_set import marks

SEARCHES = 8


def of_demo(mark: str) -> Truss:
    return read(next(one.document for one in marks() if one.mark == mark))


@pytest.fixture(scope="module")
def truss() -> Truss:
    return of_demo("R8")


@pytest.fixture(scope="module")
def atlas(truss) -> Atlas:
    *_, last = survey(truss, most=SEARCHES)
    return Atlas.read(json.loads(json.dumps(last.written)))


def drawn(truss: Truss, count: int) -> list[Opening]:
    """Openings of all sizes anywhere in the truss."""
    dice = random.Random(3)
    (left, right), (low, high) = ((float(xs.min()), float(xs.max())) for xs in truss.xy)
    found = []
    for turn in range(count):
        at, clearance = (dice.uniform(left, right), dice.uniform(low, high)), dice.choice([0.0, 0.5])
        round_one = Opening("A9", "circle", at, diameter_in=dice.uniform(3, 14), clearance_in=clearance)
        flat = Opening("A9", "rectangle", at, dice.uniform(4, 20), dice.uniform(3, 10), clearance_in=clearance)
        found.append(round_one if turn % 2 else flat)
    return found


@pytest.fixture(scope="module")
def promised(truss, atlas):
    room = space(truss)
    return [(one, way) for one in drawn(truss, 800) if (way := atlas.promise(room, one))]


def test_the_search_keeps_what_is_promised(truss, atlas, promised):
    """One promise of each way that makes any, the smallest changes first: five searches."""
    assert len(promised) > 20
    of_each = {id(way): (one, way) for one, way in promised}
    for one, way in sorted(of_each.values(), key=lambda pair: size(pair[1]))[:5]:
        passing = [option for option in search(truss, [one]) if option.passes]
        assert passing, one
        assert min(option.change.size[0] for option in passing) <= way.members


def test_what_is_smaller_within_takes_no_more(truss, atlas, promised):
    room = space(truss)
    for one, way in promised:
        for share in (0.9, 0.6):
            wide, high = (side * share for side in one.size)
            less = replace(one, width_in=wide, height_in=high)
            if one.shape == "circle":
                less = replace(one, diameter_in=wide)
            found = atlas.promise(room, less)
            assert fit(room, less).fits or (found is not None and found.members <= way.members)
        bare = replace(one, clearance_in=0.0)
        assert fit(room, bare).fits or atlas.promise(room, bare) is not None


def test_nothing_is_promised_of_what_fits_or_what_no_redesign_mends(truss, atlas):
    room = space(truss)
    answers = [(fit(room, one), atlas.promise(room, one)) for one in drawn(truss, 400)]
    over = [way for answer, way in answers if answer.fits or answer.cuts_chord or answer.outside]
    assert len(over) > 100
    assert set(over) == {None}
    assert Atlas().promise(room, drawn(truss, 1)[0]) is None


def test_the_survey_asks_within_the_job_s_limits(truss, monkeypatch):
    job_s, asked = Building(from_joints_in=12.0, lumber=frozenset({"2x4 DF-L No.1"})), []

    def none(truss, openings, progress, limits, surroundings, building):
        asked.append(building)
        return []

    monkeypatch.setattr(surveying, "search", none)
    *_, last = survey(truss, most=2, building=job_s)
    assert asked == [job_s] * 2
    assert [found for _, found in last.asked] == [False, False]


def test_what_is_far_from_panel_points_is_promised_no_nearer(truss, atlas, promised):
    """A job that keeps 12 in. is promised less, and nothing of what a panel point stands nearer to."""
    room, far = space(truss), Building(from_joints_in=12.0)
    kept = [(one, way) for one, _ in promised if (way := atlas.promise(room, one, far))]
    assert 0 < len(kept) < len(promised)
    assert all(apart([one], way.points).min() >= 12.0 - 1e-5 for one, way in kept)


def test_ways_keep_the_limits_of_building(truss, atlas, promised):
    """A web that moves keeps 1/4 in. more than one that stays, and 4 in. stay to panel points."""
    for one, way in promised:
        assert way.serves(one)
        corner = way.points[np.abs(way.points - one.centre).sum(axis=1).argmin()]
        assert not way.serves(Opening("A9", "circle", (float(corner[0]), float(corner[1])), diameter_in=0.5))


def test_it_goes_on_where_it_was_left(truss, atlas):
    at_once = list(survey(truss, most=3))
    half = Atlas.read(json.loads(json.dumps(at_once[0].written)))
    assert [one.asked for one in survey(truss, half, most=3)][-1] == at_once[-1].asked
    assert at_once[-1].done
    assert not at_once[0].done
    assert Atlas.read({**atlas.written, "version": 0}) == Atlas()


def test_a_truss_that_nothing_automatic_answers_for_has_no_ways(truss, monkeypatch):
    monkeypatch.setattr(surveying, "search", None)
    (only,) = survey(read({**truss.document, "carries_trusses": True}))
    assert (only.ways, only.done) == ((), True)


def test_what_nothing_opens_is_not_asked_in_larger_sizes(truss, monkeypatch):
    """Every search comes back empty: each that follows is of no opening that holds one asked before."""
    asked: list[Opening] = []
    monkeypatch.setattr(surveying, "search", lambda truss, wanted, *rest: asked.append(wanted[0]) or [])
    *_, last = survey(truss, most=30)
    assert (len(asked), last.ways) == (30, ())
    for i, later in enumerate(asked):
        for before in asked[:i]:
            off = np.abs(np.subtract(later.centre, before.centre))
            holds = (off + np.array(before.size) / 2 <= np.array(later.size) / 2).all()
            assert not (holds and later.shape == "rectangle")
