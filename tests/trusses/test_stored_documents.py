"""A revision from before a rule that refuses its document: it is still shown, and nothing new comes of it."""

from __future__ import annotations

import pytest

from tests.trusses.reading import text
from trusses import verdicts
from trusses.analysis.analysis import analyse
from trusses.analysis.format.document import DocumentError, read, read_stored, sha256
from trusses.models import Revision, Truss
from trusses.refusals import Refused
from trusses.revisions import add_mark, issue_revision


@pytest.fixture
def old(truss, king_post):
    """K1 whose current revision has a web in the top chord's wood and dead load with a pattern, as it may be stored."""
    king_post["members"].append(
        {"id": "W2", "role": "web", "joints": ["A", "E"], "lumber": "2x4 SPF No.1/No.2"},
    )
    king_post["members"].append(
        {"id": "W3", "role": "web", "joints": ["E", "D"], "lumber": "2x4 SPF No.1/No.2"},
    )
    king_post["joints"]["E"] = [100, 49]
    king_post["loads"]["area"][0]["pattern"] = "built"
    analysis = analyse(read_stored(king_post)).document()
    stored = Revision.objects.create(
        truss=truss,
        number=1,
        document=king_post,
        sha256=sha256(king_post),
        analysis=analysis,
        accepts=[],
        issued_by=truss.current.issued_by,
    )
    Truss.objects.filter(pk=truss.pk).update(current=stored)
    return Truss.objects.select_related("current").get(pk=truss.pk)


@pytest.mark.parametrize("page", ["", "revisions/1/", "ask/"])
def test_it_is_shown(client_of, designer, builder, old, page):
    person = builder if page == "ask/" else designer
    answer = client_of(person).get(f"/jobs/{old.job_id}/trusses/{old.pk}/{page}")
    assert answer.status_code == 200
    assert "K1" in text(answer)


def test_its_findings_tell_of_it(old):
    found = {finding["code"] for finding in old.current.analysis["findings"]}
    assert {"shared-wood", "dead-not-whole"} <= found


def test_it_is_not_called_passing(old):
    verdict = verdicts.of_revision(old.current, None)
    assert [reason.code for reason in verdict.why_not] == ["shared-wood"]


def test_nothing_new_is_made_of_it(old, designer, king_post):
    with pytest.raises(DocumentError):
        read(old.current.document)
    with pytest.raises(Refused, match=r"^loads.area\[0\]: dead load"):
        issue_revision(old, old.current, old.current.document, old.current.analysis, designer)
    again = old.current.document | {"mark": "K9"}
    with pytest.raises(Refused, match=r"^loads.area\[0\]: dead load"):
        add_mark(old.job, again, 1, designer)
    assert old.revisions.count() == 2


def test_without_the_pattern_it_is_refused_for_the_wood(old, designer):
    document = old.current.document
    del document["loads"]["area"][0]["pattern"]
    with pytest.raises(Refused, match=r"lies in the wood of T1"):
        issue_revision(old, old.current, document, old.current.analysis, designer)
