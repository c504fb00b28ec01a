"""Documents with something wrong in them get an answer, a refusal or a named mechanism, never a traceback or NaN.

`python -m tests.mutated_documents 10000` looks at many more.
"""

import copy
import json

import pytest

from tests.mutated_documents import DECENT, answers, mutated
from trusses.analysis.analysis import analyse
from trusses.analysis.clearance.clear_map import clear_pockets
from trusses.analysis.clearance.free_space import space
from trusses.analysis.clearance.openings import nearest
from trusses.analysis.format.document import read_stored
from trusses.analysis.format.model import Opening
from trusses.analysis.shapes.shapes import build

#: Some that got none before: upright chords beside each other, no load at all on three bearings, tangled outlines.
ONCE_WRONG = (153, 320, 408, 920, 1049, 1088, 1215, 1243, 1704)


@pytest.mark.parametrize("seed", [*range(60), *ONCE_WRONG])
def test_a_mutated_document_gets_a_decent_answer(seed):
    assert set(answers(mutated(seed))) <= {"answer", *(kind.__name__ for kind in DECENT)}


def test_mutants_are_of_every_kind():
    got = [answer for seed in range(30) for answer in answers(mutated(seed))]
    assert min(got.count(kind) for kind in ("answer", "DocumentError", "Mechanism")) > 2


@pytest.mark.parametrize(
    ("kind", "span", "joint", "place"),
    [
        ("howe", 336, "b2", [112.0, 96.0]),
        ("scissors", 288, "b3", [156.0, 120.0]),
        ("flat", 336, "b2", [136.0, 48.0]),
        ("flat", 336, "b3", [168.0, 96.0]),
        ("hip", 336, "b2", [126.0, 120.0]),
    ],
)
def test_an_outline_that_crosses_itself_has_pockets_and_an_analysis(kind, span, joint, place):
    """A panel point of the bottom chord above the top chord: the region between the chords is in several pieces."""
    given = {"snow": 25, "stock": 600} | ({"setback": 96} if kind == "hip" else {})
    document = copy.deepcopy(build(kind, span=span, **given))
    document["joints"][joint] = place
    truss = read_stored(document)
    json.dumps(analyse(truss).document(), allow_nan=False)
    room = space(truss)
    assert room.outline.region.is_valid
    assert all(pocket.circle.diameter_in > 0 for pocket in clear_pockets(room, truss))
    opening = Opening("O1", "circle", (span / 2, 10.0), diameter_in=4.0)
    found = nearest(room, opening)
    assert found is None or found.moved_in < span
