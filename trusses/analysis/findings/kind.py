"""Kinds of trusses that nothing automatic answers for, as far as a truss document says it."""

from __future__ import annotations

from collections.abc import Iterator

from trusses.analysis.checks.check import Finding
from trusses.analysis.format.model import Truss
from trusses.analysis.verdict import never_automatic

_PLACES = {"long-span": "bearings", "carries-trusses": "carries_trusses"}


def kind_findings(truss: Truss) -> Iterator[Finding]:
    """One finding for each reason in the document why the truss is never called passing."""
    for reason in never_automatic(truss):
        yield Finding(reason.code, _PLACES.get(reason.code, "service"), reason.values)
