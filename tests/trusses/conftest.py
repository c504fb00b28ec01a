"""What several of the set's pages are tested with."""

from __future__ import annotations

import copy

import pytest

from tests.trusses.reading import HOSTILE
from trusses.models import Stage
from trusses.revisions import issue_revision, read_and_analyse


@pytest.fixture
def built(truss):
    truss.copies.update(stage=Stage.BUILT, built_to=truss.current, released_to=truss.current)
    return truss


@pytest.fixture
def here(built):
    built.copies.update(stage=Stage.DELIVERED)
    return built


@pytest.fixture
def second_revision(truss, designer):
    """K1 with its revision 1: a better web and an opening; copies 1 and 2 were built to revision 0."""
    truss.copies.filter(number__lte=2).update(stage=Stage.BUILT, built_to=truss.current)
    document = copy.deepcopy(truss.current.document)
    document["members"][4]["lumber"] = "2x6 SPF No.1/No.2"
    document["openings"] = [
        {"id": "O1", "shape": "circle", "centre_in": [80, 16], "diameter_in": 8, "clearance_in": 1, "note": HOSTILE}
    ]
    return issue_revision(truss, truss.current, *read_and_analyse(document), designer)
