"""The records of stored truss documents, each read once in a process."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from trusses.analysis.alike import mirrored
from trusses.analysis.format.document import canonical, read_stored
from trusses.analysis.format.model import Truss as Design


@lru_cache(maxsize=128)
def _read(document: str) -> Design:
    return read_stored(document)


def design_of(document: Mapping[str, Any]) -> Design:
    """The record of a truss document that was stored."""
    return _read(canonical(document).decode())


def turned_design(document: Mapping[str, Any]) -> Design:
    """The same of copies that stand turned end for end: as they are seen from where the others have their left end."""
    return design_of(mirrored(dict(document)) or document)
