"""The ordinary cases of the option search, and what holds of every candidate."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

import pytest

from trusses.analysis.analysis import analyse
from trusses.analysis.clearance.openings import fits
from trusses.analysis.clearance.outline import outline
from trusses.analysis.format.document import read, sha256
from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.frame.solve import solve
from trusses.analysis.loads import arrangements
from trusses.analysis.loads.combinations import cases
from trusses.analysis.lumber import lookup
from trusses.analysis.redesign.search import Candidate
from trusses.analysis.shapes import shapes
from trusses.analysis.words.phrases import Coded

DUCT = Opening("O1", "circle", (132, 20), diameter_in=14, clearance_in=1, note="trunk duct")
CHASE = Opening("O1", "rectangle", (120, 8), width_in=24, height_in=12, clearance_in=0.5)


@cache
def w_truss(lumber: str = "2x6 SPF 2100f-1.8E") -> Truss:
    """36 ft, 6 in 12, 24 in. apart: dead 10 and 10, snow 30 balanced and on each side, wind up and down."""
    loads = {"top_dead": 10, "bottom_dead": 10, "snow": 30, "wind_up": 20, "wind_down": 10, "bottom_live": 10}
    chords = {"top_lumber": lumber, "bottom_lumber": lumber}
    return read(shapes.build("w", span=432, pitch=6, spacing=24, **loads, **chords))


@cache
def floor_truss(lumber: str = "2x4 DF-L No.2") -> Truss:
    """20 ft, 16 in. deep, flat 2x4s, 16 in. apart: live 40, dead 10 and 5, live-load arrangements written in."""
    loads = {"floor_live": 40, "top_dead": 10, "bottom_dead": 5}
    chords = {"top_lumber": lumber, "bottom_lumber": lumber}
    return read(shapes.build("floor", span=240, depth=16, spacing=16, **loads, **chords))


def total_reactions(truss: Truss) -> dict[str, tuple[float, float]]:
    """Each case's reactions summed: up in pounds, and their moment about the origin in inch-pounds."""
    its_cases = cases(truss)
    reactions = solve(truss, its_cases).reactions
    xs = [truss.joint(bearing.joint).x for bearing in truss.bearings]
    return {
        case.name: (float(rows[:, 1].sum()), float((rows[:, 1] * xs).sum()))
        for case, rows in zip(its_cases, reactions, strict=True)
    }


def assert_honest(found: list[Candidate], truss: Truss, openings: list[Opening]) -> None:
    """What holds of every candidate, checked without the search's own words."""
    before, loads = outline(truss), total_reactions(truss)
    for candidate in found:
        changed = read(candidate.document)
        again = analyse(changed)
        assert again.worst_ratio == pytest.approx(candidate.analysis.worst_ratio, rel=1e-9)
        assert sha256(candidate.analysis.truss.document) == sha256(candidate.document)
        clear = all(answer.fits for answer in fits(changed))
        assert candidate.clear is clear
        assert candidate.passes is (clear and again.passes)
        assert {opening.id for opening in openings} <= {opening.id for opening in changed.openings}
        for opening in openings:
            assert next(o for o in changed.openings if o.id == opening.id) == opening
        assert changed.bearings == truss.bearings
        assert all(changed.joint(b.joint) == truss.joint(b.joint) for b in truss.bearings)
        assert outline(changed).region.boundary.hausdorff_distance(before.region.boundary) < 1e-3
        assert chord_depths(changed) == chord_depths(truss)
        assert arrangements.missing(changed) == ()
        after = total_reactions(changed)
        for case, pair in loads.items():
            # where a change opens room for storage its load comes on top, and what acts alone is a case of its own
            kept = f"{case}/alone" if f"{case}/alone" in after else case
            assert after[kept] == pytest.approx(pair, rel=1e-6, abs=1e-2), case
        rose = "attic_storage/alone" in after.keys() - loads.keys()
        assert ("storage-raised" in codes(candidate.told)) is rose
    passing = [candidate.passes for candidate in found]
    assert passing == sorted(passing, reverse=True)
    assert sum(not passes for passes in passing) <= 1
    sizes = [candidate.change.size for candidate in found if candidate.passes]
    assert sizes == sorted(sizes)
    titles = [candidate.title for candidate in found]
    assert len(set(titles)) == len(titles)


def codes(told: Iterable[Coded]) -> list[str]:
    return [one["code"] for one in told]


def chord_depths(truss: Truss) -> set[tuple[str, float]]:
    return {
        (m.role, lookup(m.lumber).thickness_in if m.flat else lookup(m.lumber).width_in)
        for m in truss.members
        if m.is_chord
    }
