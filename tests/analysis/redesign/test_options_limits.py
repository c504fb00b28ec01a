"""The search for options: what it refuses, what it never does, and how it behaves."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from tests.option_cases import CHASE, DUCT, assert_honest, floor_truss, w_truss
from tests.refused import refused
from trusses.analysis.format.document import read, sha256
from trusses.analysis.format.model import Opening
from trusses.analysis.redesign.building import USUAL
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.search import Limits, NoOptions, search, written
from trusses.analysis.redesign.trials import Line, Trials, Tried
from trusses.analysis.shapes import shapes
from trusses.analysis.words.options import PROGRESS
from trusses.analysis.words.phrases import Coded, tell


def test_who_only_asks_whether_one_passes_waits_for_the_first(monkeypatch: pytest.MonkeyPatch) -> None:
    counts, computed = [], Trials.computed

    def counted(self: Trials, lines: list[Line]) -> Iterator[Tried]:
        counts[-1] += len(lines)
        return computed(self, lines)

    monkeypatch.setattr(Trials, "computed", counted)
    passes = []
    for limits in (Limits(), Limits(any_one=True)):
        counts.append(0)
        passes.append(any(one.passes for one in search(w_truss(), [DUCT], limits=limits)))
    assert passes == [True, True]
    assert counts[1] < counts[0] / 2


class TestWithoutASearch:
    def test_an_opening_that_fits_gives_today_s_truss_with_it_drawn_in(self) -> None:
        truss = w_truss()
        small = Opening("O9", "circle", (216, 40), diameter_in=14, clearance_in=1)
        (only,) = search(truss, [small])
        assert only.passes
        assert only.change.touched == ()
        assert only.title == "Today's truss, with the opening drawn in"
        bare = {key: value for key, value in only.document.items() if key != "openings"}
        assert sha256(bare) == sha256({key: value for key, value in truss.document.items() if key != "openings"})
        assert [opening["id"] for opening in only.document["openings"]] == ["O9"]

    @pytest.mark.parametrize(
        ("x", "y", "why"), [(200, 2, "cuts-chord"), (216, 300, "reaches-outside"), (-60, 5, "reaches-outside")]
    )
    def test_through_a_chord_or_outside_is_never(self, x: float, y: float, why: str) -> None:
        with pytest.raises(NoOptions) as refusal:
            search(w_truss(), [Opening("O1", "circle", (x, y), diameter_in=14)])
        assert (refusal.value.code, refusal.value.values["opening"]) == ("opening-impossible", "O1")
        assert refusal.value.values["fit"]["code"] == why

    def test_a_truss_without_its_arrangements_is_refused_by_name(self) -> None:
        lacking = read(shapes.build("w", span=432, snow=30, arranged=False))
        with refused(NoOptions, "arrangements-missing", lacking=["snow/left", "snow/right"]):
            search(lacking, [DUCT])

    def test_nothing_of_60_ft_is_called_passing(self) -> None:
        chords = {
            "top_lumber": "2x12 SPF 2400f-2.0E",
            "bottom_lumber": "2x12 SPF 2400f-2.0E",
            "web_lumber": "2x6 SPF 2400f-2.0E",
        }
        wide = read(
            shapes.build("double-w", span=732, pitch=5, top_dead=1, bottom_dead=1, roof_live=4, bottom_live=0, **chords)
        )
        middle = next(m for m in wide.members if m.role == "web")
        a, b = wide.ends(middle)
        found = search(wide, [Opening("O1", "circle", ((a.x + b.x) / 2, (a.y + b.y) / 2), diameter_in=6)])
        assert found
        assert not any(candidate.passes for candidate in found)
        assert any(c.analysis.passes and "60 ft" in c.says for c in found)

    def test_where_no_layout_can_be_built_today_s_truss_says_what_stands(self) -> None:
        """A web that carries a load of its own never moves, so an opening through its middle has no layout."""
        document = json.loads(json.dumps(w_truss().document))
        document["loads"].setdefault("point", []).append({"case": "dead", "member": "W1", "at_in": 12, "down_lb": 20})
        loaded = read(document)
        a, b = loaded.ends(loaded.member("W1"))
        found = search(loaded, [Opening("O1", "circle", ((a.x + b.x) / 2, (a.y + b.y) / 2), diameter_in=10)])
        (only,) = found
        assert not only.clear
        assert not only.passes
        assert "W1" in only.says


def test_an_opening_of_its_own_beside_a_panel_point_keeps_nothing_from_being_offered() -> None:
    """Approved, and clear today, nearer to the foot of two webs than the job leaves by now: it stays, that foot too."""
    own = Opening("N", "circle", (280.0, 4.0), diameter_in=2)
    held = read({**w_truss().document, "openings": [written(own)]})
    found = search(held, [DUCT], building=replace(USUAL, from_joints_in=10.0))
    assert sum(one.passes for one in found) > 1
    for one in found:
        points = Draft(one.document)
        near = {points.at(name) for name in points.joints if math.dist(points.at(name), own.centre) - 1 < 10}
        assert near <= {(288.0, 0.0)}


class TestItself:
    def test_same_question_same_answer(self) -> None:
        # with time enough: what runs out of it ends where it is
        first, second = (search(floor_truss(), [CHASE], limits=Limits(seconds=300)) for _ in range(2))
        assert [sha256(c.document) for c in first] == [sha256(c.document) for c in second]

    def test_nothing_is_made_stronger_twice(self, monkeypatch: pytest.MonkeyPatch) -> None:
        followed: list[Tried] = []
        stronger = Trials.stronger

        def noted(self: Trials, tried: Tried, *rest: Any) -> Iterator[Line]:
            followed.append(tried)
            return stronger(self, tried, *rest)

        monkeypatch.setattr(Trials, "stronger", noted)
        search(w_truss(), [DUCT, Opening("O2", "circle", (300, 20), diameter_in=12, clearance_in=1)])
        assert len(followed) > 20
        assert len(set(followed)) == len(followed)

    def test_the_given_document_is_left_alone(self) -> None:
        before = sha256(w_truss().document)
        search(w_truss(), [DUCT])
        assert sha256(w_truss().document) == before

    def test_it_says_how_far_it_is(self) -> None:
        told: list[tuple[float, Coded]] = []
        search(floor_truss(), [CHASE], progress=lambda fraction, says: told.append((fraction, says)))
        fractions = [fraction for fraction, _ in told]
        assert fractions == sorted(fractions)
        assert 0 <= fractions[0] < 0.2
        assert fractions[-1] == 1.0
        assert all(tell(PROGRESS, [says]) for _, says in told)

    def test_its_limits_hold(self) -> None:
        few = search(floor_truss(), [CHASE], limits=Limits(analyses=5))
        assert 1 <= len(few) <= 6
        none = search(floor_truss(), [CHASE], limits=Limits(seconds=0))
        assert len(none) == 1
        assert not none[0].passes

    def test_a_web_with_a_load_of_its_own_is_never_moved(self) -> None:
        document = json.loads(json.dumps(w_truss().document))
        document["loads"].setdefault("point", []).append({"case": "dead", "member": "W1", "at_in": 12, "down_lb": 20})
        loaded = read(document)
        found = search(loaded, [DUCT])
        for candidate in found:
            changed = read(candidate.document)
            web, was = changed.member("W1"), loaded.member("W1")
            assert changed.ends(web) == loaded.ends(was)

    def test_hung_loads_keep_their_places(self) -> None:
        document = json.loads(json.dumps(w_truss().document))
        joint = min(document["joints"], key=lambda j: math.dist(document["joints"][j], (144, 0)))
        document["loads"].setdefault("point", []).append({"case": "dead", "joint": joint, "down_lb": 40})
        hung = read(document)
        found = search(hung, [DUCT])
        assert_honest(found, hung, [DUCT])
        for candidate in found:
            assert hanging(candidate.document) == pytest.approx([144])


def hanging(document: dict[str, Any]) -> list[float]:
    """Where each point load stands, x in inches."""
    truss = read(document)
    out = []
    for load in truss.point_loads:
        if load.joint is not None:
            out.append(truss.joint(load.joint).x)
            continue
        assert load.member is not None
        assert load.at_in is not None
        a, b = truss.ends(truss.member(load.member))
        out.append(a.x + (b.x - a.x) * load.at_in / math.hypot(b.x - a.x, b.y - a.y))
    return out
