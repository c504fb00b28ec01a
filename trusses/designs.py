"""The records of stored truss documents, each read once in a process."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from trusses.analysis.alike import mirrored
from trusses.analysis.format.document import canonical, read_stored
from trusses.analysis.format.model import Truss as Design
from trusses.models import Revision


@lru_cache(maxsize=128)
def _read(document: str) -> Design:
    return read_stored(document)


def design_of(document: Mapping[str, Any]) -> Design:
    """The record of a truss document that was stored."""
    return _read(canonical(document).decode())


@lru_cache(maxsize=256)
def stored_design(sha256: str) -> Design:
    """The record of a revision's document, kept by its hash: who only asks about the truss needn't load the row."""
    document = Revision.objects.filter(sha256=sha256).values_list("document", flat=True).first()
    assert document is not None  # noqa: S101 (the caller read the hash from a row that never disappears)
    return read_stored(document)


def turned_design(document: Mapping[str, Any]) -> Design:
    """The wood of copies that stand turned end for end: as they are seen from where the others have their left end.
    Loads are left out: not all of them have a mirror image, and what is built has one always."""
    turned = mirrored({**document, "loads": {}})
    assert turned is not None  # noqa: S101 (only loads can be in the way)
    return design_of(turned)
