"""The symmetric twin of a candidate: which drafts have one, and that nothing but the other side changes."""

from __future__ import annotations

import json

from tests.analysis.redesign.test_layouts import girder
from tests.option_cases import DUCT, assert_honest, w_truss
from trusses.analysis.format.document import read
from trusses.analysis.redesign.changes import measured
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.search import search
from trusses.analysis.redesign.twins import mirror, twin


def places(draft: Draft) -> set[tuple[object, ...]]:
    """All wood, as where it stands."""
    return {
        (member["role"], member["lumber"], *sorted((round(x, 3), round(y, 3)) for x, y in draft.ends(name)))
        for name, member in draft.members.items()
    }


def image(draft: Draft, span: float) -> set[tuple[object, ...]]:
    return {(role, key, *sorted((round(span - x, 3), y) for x, y in ends)) for role, key, *ends in places(draft)}


def slid(by: float = 6) -> tuple[Draft, Draft]:
    """Today's 36 ft W, and the same with the foot of W1 and W2 moved toward the left bearing."""
    start = Draft(w_truss().document)
    draft = start.copy()
    foot = next(iter(set(draft.members["W1"]["joints"]) & set(draft.members["W2"]["joints"])))
    draft.slide(foot, draft.at(foot)[0] - by)
    return start, draft


def test_both_feet_are_moved_and_the_names_stay() -> None:
    start, draft = slid()
    about = mirror(start)
    assert about is not None
    found = twin(draft, about)
    assert found is not None
    both, note = found
    assert places(both) == image(both, 432)
    assert places(draft) != image(draft, 432)
    assert note.webs == ("W3", "W4")
    assert both.members.keys() == start.members.keys()
    one, two = (measured(start, each, ()) for each in (draft, both))
    # two webs and the pieces B1, B2 of the bottom chord, spliced there; then two webs more and B3. The webs of a pair
    # are sawn at one set-up
    assert (len(one.touched), one.set_ups) == (4, 2)
    assert (len(two.touched), two.set_ups) == (7, 2)
    assert read(both.document()).plies == 1


def test_a_web_that_is_new_and_a_panel_point_that_is_new_have_images() -> None:
    start = Draft(w_truss().document)
    draft = start.copy()
    joint = draft.split("bottom_chord", 60)
    draft.add_web(joint, draft.members["W1"]["joints"][0], "W1")
    about = mirror(start)
    assert about is not None
    found = twin(draft, about)
    assert found is not None
    both = found[0]
    assert places(both) == image(both, 432)
    assert len(both.members) == len(start.members) + 2 * 2
    assert len(set(both.joints)) == len(start.joints) + 2
    read(both.document())


def test_what_is_changed_on_both_sides_or_not_at_all_has_none() -> None:
    start, draft = slid()
    about = mirror(start)
    assert about is not None
    assert twin(start, about) is None
    foot = next(iter(set(draft.members["W3"]["joints"]) & set(draft.members["W4"]["joints"])))
    draft.slide(foot, draft.at(foot)[0] + 3)
    assert twin(draft, about) is None


def test_a_truss_that_is_not_its_own_image_has_none() -> None:
    assert mirror(Draft(w_truss().document)) is not None
    for change in ("lumber", "place"):
        start = Draft(w_truss().document)
        if change == "lumber":
            start.set_lumber("W1", "2x6 SPF No.1/No.2")
        else:
            start.slide(next(j for j in start.members["W1"]["joints"] if start.straight_through(j)), 100)
        assert mirror(start) is None
    # its diagonals lean one way
    assert mirror(Draft(girder(panels=3))) is None


def test_a_row_of_restraint_goes_along() -> None:
    start, draft = slid()
    draft.rows["W2"] = start.rows.get("W2", 0) + 1
    about = mirror(start)
    assert about is not None
    found = twin(draft, about)
    assert found is not None
    assert found[0].rows["W3"] == found[0].rows["W2"] == start.rows.get("W2", 0) + 1
    assert found[0].rows.get("W4") == start.rows.get("W4")


def test_the_search_offers_one_that_is_stronger() -> None:
    found = search(w_truss(), [DUCT])
    assert_honest(found, w_truss(), [DUCT])
    (both,) = (one for one in found if any(note.kind == "twin" for note in one.change.notes))
    assert both.passes
    changed = Draft(both.document)
    assert places(changed) == image(changed, 432)
    assert "the same on the other side (W3 and W4), so that both ends stay alike" in both.title
    assert all(round(both.analysis.worst_ratio, 2) < round(one.analysis.worst_ratio, 2) for one in found if one != both)


def test_the_other_side_stays_clear_of_what_stands_there() -> None:
    """An opening of the truss's own where the web W4 of the twin above would run."""
    document = json.loads(json.dumps(w_truss().document))
    document["openings"] = [{"id": "K", "shape": "circle", "centre_in": [316, 20], "diameter_in": 16}]
    held = read(document)
    found = search(held, [DUCT])
    assert_honest(found, held, [*held.openings, DUCT])
    assert found[0].passes
    assert not any("(W3 and W4)" in one.title for one in found)
