"""What the set knows of a mark that its truss document doesn't say, and the verdict on its revisions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from trusses.analysis.format.document import read_stored
from trusses.analysis.verdict import BY_SEAL, PASSES, Known, Verdict, verdict
from trusses.bearings.links import to_carriers
from trusses.bearings.standing import carried
from trusses.models import PlateTable, Revision, Truss
from trusses.sealing.seals import seal_of


def known(truss: Truss) -> Known:
    """The facts of the set that hold for every document of a mark: what stands on it, and of what kind it is."""
    marks = {mark for _, mark, _, carrier, _ in to_carriers([truss.job_id]) if carrier == truss.pk}
    return Known(carries=tuple(sorted(marks)), kinds=tuple(truss.kinds))


def of_document(
    truss: Truss, document: dict[str, Any], analysis: dict[str, Any], table: PlateTable | None = None
) -> Verdict:
    """The verdict on a document that the mark would have."""
    return verdict(read_stored(document), analysis, replace(known(truss), plate_report=table.report if table else ""))


def of_revision(revision: Revision, table: PlateTable | None = None, behind: Sequence[str] = ()) -> Verdict:
    """The verdict on a revision, with its sealed drawing where one stands. `table` is the job's plates, `behind` the
    marks that stand on it with other loads than its drawing has."""
    seal = seal_of(revision)
    beside = replace(
        known(revision.truss),
        behind=tuple(behind) if revision.is_current else (),
        accepted=frozenset(accept["rule"] for accept in revision.accepts),
        plate_report=table.report if table else "",
        seal=seal.told if seal else None,
    )
    return verdict(read_stored(revision.document), revision.analysis, beside)


def builds(revision: Revision) -> bool:
    """Whether a sealed drawing of it counts and each of the sheet's four answers passes, or is that drawing's: what the
    sheet of a current revision says yes to."""
    seal = seal_of(revision)
    if seal is None or not seal.counts:
        return False
    behind = carried(revision.truss).behind if revision.is_current else ()
    return all(one.state in (PASSES, BY_SEAL) for one in of_revision(revision, behind=behind).answers)
