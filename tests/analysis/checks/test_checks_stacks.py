"""A truss that is checked among others of its shape gets what it gets alone, and the worst of it is told truly."""

import copy
import json
from pathlib import Path

import pytest

from tests.beams import beam, check_together, gable, line, push

EXAMPLES = Path(__file__).parents[1] / "examples"

FLAT = {"id": "M", "role": "top_chord", "joints": ["A", "B"], "lumber": "2x4 DF-L No.2", "flat": True}


def varied(document):
    """The document, and others of its shape: heavier, stretched, of weaker chords, held less."""
    heavier, longer, weaker, freer = (copy.deepcopy(document) for _ in range(4))
    for load in heavier["loads"]["area"]:
        load["psf"] *= 1.7
    for place in longer["joints"].values():
        place[0] *= 1.25
    for load in longer["loads"]["area"]:
        for end in ("from_x_in", "to_x_in"):
            if end in load:
                load[end] *= 1.25
    for number, member in enumerate(weaker["members"]):
        if number % 2 and member["role"] != "web":
            member["lumber"] = member["lumber"].split(" ")[0] + " Hem-Fir No.2"
    for bearing in weaker["bearings"]:
        bearing["width_in"] += 2
    freer["lateral_restraint"] = {}
    return [document, heavier, longer, weaker, freer]


def said(found):
    """The words of a check."""
    words = [value for value in found.terms.values() if isinstance(value, str)]
    return [found.of, found.id, found.rule, found.combination, *found.terms, *words]


def figures(found):
    """The numbers of a check."""
    numbers = [value for value in found.terms.values() if not isinstance(value, str)]
    return [found.demand, found.capacity, found.ratio, *([] if found.at_in is None else [found.at_in]), *numbers]


@pytest.mark.parametrize("name", ["E1", "E4", "E7", "E12"])
def test_each_truss_of_a_stack_is_checked_as_if_alone(name):
    document = json.loads((EXAMPLES / f"{name}.truss.json").read_text())
    document["loads"].pop("line", None)
    document["loads"].pop("point", None)
    documents = varied(document)
    together = check_together(documents)
    seen = set()
    for t, one in enumerate(documents):
        alone = check_together([one])
        assert together.worst[t] == pytest.approx(alone.worst[0], rel=1e-9)
        assert len(together.of(t)) == len(alone.of(0)) > len(document["members"])
        for here, there in zip(together.of(t), alone.of(0), strict=True):
            assert said(here) == said(there)
            assert figures(here) == pytest.approx(figures(there), rel=1e-8, abs=1e-9)
        seen.add(tuple(found.ratio for found in together.of(t)))
    assert len(seen) == len(documents)


@pytest.mark.parametrize(
    ("document", "part"),
    [
        pytest.param(beam(96, "2x6 DF-L No.2", loads={"point": [push(-3000)]}), "member", id="pulled"),
        pytest.param(
            beam(96, "2x6 DF-L No.2", loads={"point": [push(0, joint="A", down_lb=3000)]}), "bearing", id="pressed"
        ),
        pytest.param(beam(160, "2x6 DF-L No.2", loads={"line": [line(30)]}), "truss", id="bent"),
        pytest.param(
            beam(60, "2x4 DF-L No.2", loads={"line": [line(-10, "wind")]}, members=[FLAT]), "truss", id="lifted"
        ),
        pytest.param(gable(), "member", id="whole"),
    ],
)
def test_the_worst_ratio_is_the_largest_of_all_checks(document, part):
    found = check_together([document])
    largest = dict.fromkeys(("member", "bearing", "truss"), 0.0)
    for one in found.of(0):
        largest[one.of] = max(largest[one.of], one.ratio)
    assert max(largest, key=largest.__getitem__) == part
    assert found.worst[0] == pytest.approx(largest[part], rel=1e-9)
